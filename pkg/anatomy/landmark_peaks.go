package anatomy

import (
	"cmp"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Relief is the labelled surface of one tooth as a net of vertices in the
// coordinates of its frame: X mesial, Y buccal, Z occlusal of its centre, mm.
type Relief struct {
	Frame     Frame
	Points    []r3.Vec
	IDs       []mesh.VertexID
	Triangles [][3]int32
	Next      [][]int32 // neighbours of a vertex
	// Border says whether a vertex lies on the rim of the label.
	Border []bool
}

// Reliefs makes the net of every tooth that [Frames] gives a frame, in their order,
// from labels without strays and holes. Errors are those of Frames.
func Reliefs(m *mesh.Mesh, l *dentition.Labels) ([]Relief, error) {
	l, err := tidied(m, l)
	if err != nil {
		return nil, err
	}
	crowns, err := collectCrowns(m, l)
	if err != nil {
		return nil, err
	}
	return reliefs(m, l, frames(crowns)), nil
}

func reliefs(m *mesh.Mesh, l *dentition.Labels, frames []Frame) []Relief {
	var place [256]int32
	for i := range place {
		place[i] = -1
	}
	out := make([]Relief, len(frames))
	for i, f := range frames {
		place[f.Tooth] = int32(i)
		out[i].Frame = f
	}
	local := make([]int32, m.NumVertices())
	for v, p := range m.Vertices() {
		k := place[l.Vertex(mesh.VertexID(v))]
		if k < 0 {
			continue
		}
		r := &out[k]
		local[v] = int32(len(r.Points))
		x, y, z := r.Frame.Local(p)
		r.Points = append(r.Points, r3.Vec{X: x, Y: y, Z: z})
		r.IDs = append(r.IDs, mesh.VertexID(v))
	}
	for i := range out {
		out[i].Next = make([][]int32, len(out[i].Points))
		out[i].Border = make([]bool, len(out[i].Points))
	}
	for _, t := range m.Triangles() {
		if k := place[l.Vertex(t[0])]; k >= 0 && l.Vertex(t[0]) == l.Vertex(t[1]) && l.Vertex(t[1]) == l.Vertex(t[2]) {
			out[k].Triangles = append(out[k].Triangles, [3]int32{local[t[0]], local[t[1]], local[t[2]]})
		}
		for k := range 3 {
			a, b, c := t[k], t[(k+1)%3], t[(k+2)%3]
			tooth := l.Vertex(a)
			r := place[tooth]
			if r < 0 {
				continue
			}
			for _, o := range [2]mesh.VertexID{b, c} {
				if l.Vertex(o) != tooth {
					out[r].Border[local[a]] = true
				} else if !slices.Contains(out[r].Next[local[a]], local[o]) {
					out[r].Next[local[a]] = append(out[r].Next[local[a]], local[o])
				}
			}
		}
	}
	return out
}

// peak is a place that is higher than all around it.
type peak struct {
	vertex int32
	// prominence is how far one must go down from it to reach a higher place,
	// mm; for the highest it is the height above the lowest.
	prominence float64
}

// peaks lists the places where height is greatest, by falling prominence of at
// least least. Vertices are flooded from the top: where two hills meet, the
// lower one ends.
func (r *Relief) peaks(height func(int32) float64, least float64) []peak {
	n := len(r.Points)
	order := make([]int32, n)
	z := make([]float64, n)
	for i := range order {
		order[i], z[i] = int32(i), height(int32(i))
	}
	slices.SortFunc(order, func(a, b int32) int { return cmp.Or(cmp.Compare(z[b], z[a]), cmp.Compare(a, b)) })
	rank := make([]int32, n)
	for i, v := range order {
		rank[v] = int32(i)
	}
	hill := make([]int32, n) // union-find; the root is the hill's highest vertex
	for i := range hill {
		hill[i] = -1
	}
	find := func(v int32) int32 {
		for hill[v] != v {
			hill[v] = hill[hill[v]]
			v = hill[v]
		}
		return v
	}
	var out []peak
	for _, v := range order {
		hill[v] = v
		for _, w := range r.Next[v] {
			if hill[w] < 0 {
				continue
			}
			a, b := find(v), find(w)
			if a == b {
				continue
			}
			if rank[a] > rank[b] {
				a, b = b, a
			}
			if p := z[b] - z[v]; p >= least {
				out = append(out, peak{b, p})
			}
			hill[b] = a
		}
	}
	for v := range hill {
		if hill[v] == int32(v) {
			if p := z[v] - z[order[n-1]]; p >= least {
				out = append(out, peak{int32(v), p})
			}
		}
	}
	slices.SortFunc(out, func(a, b peak) int {
		return cmp.Or(cmp.Compare(b.prominence, a.prominence), cmp.Compare(a.vertex, b.vertex))
	})
	return out
}
