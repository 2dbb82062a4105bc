package settle

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Press is the force that presses the lower cast against the upper one. It acts
// on a point of the lower cast and keeps its direction while the cast moves; its
// size is the unit of all forces of a settling.
type Press struct {
	Point     r3.Vec // mm, articulator frame, where the cast is given
	Direction r3.Vec // unit vector
}

// tableWithin is the distance to the upper arch, in mm, within which the lower
// surface counts as part of the occlusal table: our choice, somewhat more than a
// fossa is deep.
const tableWithin = 1.5

// table is the occlusal table of the lower arch: the part of its surface that
// lies near the upper one, as weighted points.
type table struct {
	points []r3.Vec
	weight []float64 // mm²
	tooth  []dentition.ToothID
}

// newTable takes the vertices of the lower arch within tableWithin of the upper
// one, each with its share of the area around it.
func newTable(lo *casts.Cast, n *nearby) table {
	m := lo.Mesh()
	area := VertexAreas(m)
	tooth := make([]dentition.ToothID, m.NumVertices())
	for t, c := range m.All() {
		for _, v := range c {
			if k := lo.Tooth(t); k != dentition.NoTooth {
				tooth[v] = k
			}
		}
	}
	var out table
	for _, i := range n.byVertex {
		n := &n.list[i]
		if n.dist <= tableWithin && area[n.vertex] > 0 {
			out.points = append(out.points, m.Vertex(n.vertex))
			out.weight = append(out.weight, area[n.vertex])
			out.tooth = append(out.tooth, tooth[n.vertex])
		}
	}
	return out
}

// VertexAreas is the share of every vertex in the area around it, mm².
func VertexAreas(m *mesh.Mesh) []float64 {
	out := make([]float64, m.NumVertices())
	for t, c := range m.All() {
		a := r3.Norm(m.AreaVector(t)) / 3
		for _, v := range c {
			out[v] += a
		}
	}
	return out
}

func (t *table) box() mesh.Box {
	b := mesh.EmptyBox()
	for _, p := range t.points {
		b = b.Include(p)
	}
	return b
}

// mean is the weighted mean of the points that keep holds, and whether there are
// any.
func (t *table) mean(keep func(i int) bool) (r3.Vec, bool) {
	var sum r3.Vec
	w := 0.0
	for i, p := range t.points {
		if keep(i) {
			sum, w = r3.Add(sum, r3.Scale(t.weight[i], p)), w+t.weight[i]
		}
	}
	if w == 0 {
		return r3.Vec{}, false
	}
	return r3.Scale(1/w, sum), true
}

// centre is the middle between the right and the left half of the posterior
// occlusal table: of premolars and molars, or, without labels, of what lies
// behind the front third. Where there is only one half, it is that one's.
func (t *table) centre() r3.Vec {
	b := t.box()
	behind := b.Min.Y + b.Size().Y/3
	posterior := func(i int) bool {
		if k := t.tooth[i]; k != dentition.NoTooth {
			return !k.Type().Anterior()
		}
		return t.points[i].Y > behind
	}
	mid := b.Center().X
	right, r := t.mean(func(i int) bool { return posterior(i) && t.points[i].X < mid })
	left, l := t.mean(func(i int) bool { return posterior(i) && t.points[i].X >= mid })
	switch {
	case r && l:
		return r3.Scale(0.5, r3.Add(right, left))
	case r:
		return right
	case l:
		return left
	}
	all, _ := t.mean(func(int) bool { return true })
	return all
}

// extremes is the points that lie farthest in each of 98 evenly meant directions:
// what bounds the displacement of the table to within 2 %.
func (t *table) extremes() []r3.Vec {
	var out []r3.Vec
	seen := map[int]bool{}
	const k = 2
	for x := -k; x <= k; x++ {
		for y := -k; y <= k; y++ {
			for z := -k; z <= k; z++ {
				if max(x, -x, y, -y, z, -z) != k {
					continue
				}
				d := r3.Vec{X: float64(x), Y: float64(y), Z: float64(z)}
				best, most := -1, math.Inf(-1)
				for i, p := range t.points {
					if h := r3.Dot(d, p); h > most {
						best, most = i, h
					}
				}
				if best >= 0 && !seen[best] {
					seen[best] = true
					out = append(out, t.points[best])
				}
			}
		}
	}
	return out
}
