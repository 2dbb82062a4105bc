package anatomy

import (
	"cmp"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// strayShare is the share of a label's largest piece below which another piece of
	// it is a stray; our choice. Crowns that a groove of no tooth cuts in two keep both.
	strayShare = 0.25
	// holeMost is the largest hole in a crown that is filled, mm²; our choice, well
	// below the smallest crown's 60 mm².
	holeMost = 20.0
	// holeRim is the share of a hole's rim that the tooth must have; our choice. The
	// papilla between two teeth has about half of its rim at each.
	holeRim = 0.75
)

// pieces are the connected parts of a surface of one label each.
type pieces struct {
	label []dentition.ToothID
	root  []int32            // the lowest vertex of a vertex's piece
	area  []float64          // of the piece, at its root, mm², of labels with more than one
	seams [][2]mesh.VertexID // edges between two labels, as the triangles have them
}

func newPieces(m *mesh.Mesh, l *dentition.Labels) *pieces {
	n := m.NumVertices()
	p := &pieces{label: make([]dentition.ToothID, n), root: make([]int32, n), area: make([]float64, n)}
	for v := range n {
		p.label[v], p.root[v] = l.Vertex(mesh.VertexID(v)), int32(v)
	}
	find := func(v int32) int32 {
		for p.root[v] != v {
			p.root[v] = p.root[p.root[v]]
			v = p.root[v]
		}
		return v
	}
	for _, t := range m.Triangles() {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			switch {
			case p.label[a] != p.label[b]:
				p.seams = append(p.seams, [2]mesh.VertexID{a, b})
			case p.root[a] != p.root[b]:
				ra, rb := find(int32(a)), find(int32(b))
				p.root[max(ra, rb)] = min(ra, rb)
			}
		}
	}
	var count [256]int // of the pieces of a label
	for v := range p.root {
		if p.root[v] = find(int32(v)); int(p.root[v]) == v {
			count[p.label[v]]++
		}
	}
	for t, corners := range m.All() {
		if count[p.label[corners[0]]] < 2 && count[p.label[corners[1]]] < 2 && count[p.label[corners[2]]] < 2 {
			continue
		}
		third := math.Sqrt(r3.Norm2(m.AreaVector(t))) / 3
		for _, v := range corners {
			p.area[p.root[v]] += third
		}
	}
	return p
}

// doubtful says of every root whether its piece is a stray of its label or may be a hole.
func (p *pieces) doubtful() []bool {
	var largest [256]float64
	for v, r := range p.root {
		if int32(v) == r {
			largest[p.label[v]] = max(largest[p.label[v]], p.area[v])
		}
	}
	out := make([]bool, len(p.root))
	for v, r := range p.root {
		if int32(v) != r {
			continue
		}
		if t := p.label[v]; t == dentition.NoTooth {
			out[v] = p.area[v] < holeMost && p.area[v] < largest[t]
		} else {
			out[v] = p.area[v] < strayShare*largest[t]
		}
	}
	return out
}

// contact is a length along which a doubtful piece lies beside a label.
type contact struct {
	root   int32
	label  dentition.ToothID
	length float64
}

// tidied is the labels as shapes are measured on them: pieces of a label that lie
// apart from the crown go to what surrounds them, and small holes in a crown are
// filled. Where there is nothing to do it is l.
func tidied(m *mesh.Mesh, l *dentition.Labels) (*dentition.Labels, error) {
	if l.NumVertices() != m.NumVertices() {
		_, err := l.Triangles(m)
		return nil, err
	}
	p := newPieces(m, l)
	doubtful := p.doubtful()
	var rims []contact
	for _, s := range p.seams {
		for _, e := range [2][2]mesh.VertexID{s, {s[1], s[0]}} {
			in, out := p.root[e[0]], p.root[e[1]]
			if doubtful[in] && (!doubtful[out] || p.label[out] == dentition.NoTooth) {
				rims = append(rims, contact{in, p.label[e[1]], r3.Norm(r3.Sub(m.Vertex(e[0]), m.Vertex(e[1])))})
			}
		}
	}
	to := p.settle(rims, doubtful)
	if len(to) == 0 {
		return l, nil
	}
	changed := false
	label := slices.Clone(p.label)
	for v, r := range p.root {
		if t, ok := to[r]; ok && t != label[v] {
			label[v], changed = t, true
		}
	}
	if !changed {
		return l, nil
	}
	return dentition.NewLabels(l.Jaw(), label)
}

// settle says which label each doubtful piece gets.
func (p *pieces) settle(rims []contact, doubtful []bool) map[int32]dentition.ToothID {
	slices.SortStableFunc(rims, func(a, b contact) int {
		return cmp.Or(cmp.Compare(a.root, b.root), cmp.Compare(a.label, b.label))
	})
	to := map[int32]dentition.ToothID{}
	for v, d := range doubtful {
		if d && p.label[v] != dentition.NoTooth {
			to[int32(v)] = dentition.NoTooth // unless a tooth surrounds it
		}
	}
	for i := 0; i < len(rims); {
		root, whole, most, best := rims[i].root, 0.0, 0.0, dentition.NoTooth
		for i < len(rims) && rims[i].root == root {
			label, length := rims[i].label, 0.0
			for ; i < len(rims) && rims[i].root == root && rims[i].label == label; i++ {
				length += rims[i].length
			}
			whole += length
			if length > most {
				most, best = length, label
			}
		}
		if p.label[root] != dentition.NoTooth || most >= holeRim*whole {
			to[root] = best
		}
	}
	return to
}
