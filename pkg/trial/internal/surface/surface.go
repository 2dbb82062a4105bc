// Package surface changes labelled surfaces as a trial treatment does: it refines them
// where they will be worked on and moves vertices along their normals.
package surface

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Surface is a scan's surface with the tooth of each vertex. It is immutable.
type Surface struct {
	Mesh   *mesh.Mesh
	Labels []dentition.ToothID
}

// Of returns the surface of a labelled scan.
func Of(s *casts.Scan) Surface {
	labels := make([]dentition.ToothID, s.Mesh.NumVertices())
	for v := range labels {
		labels[v] = s.Labels.Vertex(mesh.VertexID(v))
	}
	return Surface{s.Mesh, labels}
}

// Scan returns the surface as a scan, as it would be read from an STL file: coordinates are
// rounded to float32, vertices are numbered in the order in which the triangles name them,
// and those that no triangle names are gone. from says which vertex of the surface each
// was. Rounding moves points within 128 mm of the origin by less than 4 nm an axis.
func (s Surface) Scan(jaw dentition.Jaw) (scan *casts.Scan, from []mesh.VertexID, err error) {
	number := make([]mesh.VertexID, s.Mesh.NumVertices())
	for v := range number {
		number[v] = -1
	}
	var verts []r3.Vec
	tris := make([][3]mesh.VertexID, s.Mesh.NumTriangles())
	for t, c := range s.Mesh.All() {
		for k, v := range c {
			if number[v] < 0 {
				number[v] = mesh.VertexID(len(verts))
				verts = append(verts, single(s.Mesh.Vertex(v)))
				from = append(from, v)
			}
			tris[t][k] = number[v]
		}
	}
	m, err := mesh.Adopt(verts, tris)
	if err != nil {
		return nil, nil, err
	}
	welded, remap := mesh.Weld(m, 0)
	labels := make([]dentition.ToothID, welded.NumVertices())
	kept := make([]mesh.VertexID, welded.NumVertices())
	for v := len(from) - 1; v >= 0; v-- { // the first of vertices that are joined decides
		labels[remap[v]], kept[remap[v]] = s.Labels[from[v]], from[v]
	}
	scan = &casts.Scan{Mesh: welded}
	if scan.Labels, err = dentition.NewLabels(jaw, labels); err != nil {
		return nil, nil, err
	}
	scan.Teeth, err = scan.Labels.Triangles(welded)
	return scan, kept, err
}

func single(p r3.Vec) r3.Vec {
	return r3.Vec{X: float64(float32(p.X)), Y: float64(float32(p.Y)), Z: float64(float32(p.Z))}
}

// Normals returns the unit outward normal at each vertex: of the sum of the areas around
// it; zero where there is none.
func Normals(m *mesh.Mesh) []r3.Vec {
	out := make([]r3.Vec, m.NumVertices())
	for t, c := range m.All() {
		a := m.AreaVector(t)
		for _, v := range c {
			out[v] = r3.Add(out[v], a)
		}
	}
	for v, n := range out {
		if l := r3.Norm(n); l > 0 {
			out[v] = r3.Scale(1/l, n)
		}
	}
	return out
}

// Directions returns the unit directions along which vertices are moved: the outward normal
// of the surface averaged over what lies within reach (mm) of each, so that the vertices of
// a sharp edge move together. Vertices for which of says no get their plain normal.
func Directions(m *mesh.Mesh, reach float64, of func(mesh.VertexID) bool) []r3.Vec {
	out := Normals(m)
	areas := Areas(m)
	type cell [3]int32
	cellOf := func(p r3.Vec) cell {
		return cell{int32(math.Floor(p.X / reach)), int32(math.Floor(p.Y / reach)), int32(math.Floor(p.Z / reach))}
	}
	cells := map[cell][]mesh.VertexID{}
	for v, p := range m.Vertices() {
		if of(mesh.VertexID(v)) {
			cells[cellOf(p)] = append(cells[cellOf(p)], mesh.VertexID(v))
		}
	}
	plain := append([]r3.Vec(nil), out...)
	for v, p := range m.Vertices() {
		if !of(mesh.VertexID(v)) {
			continue
		}
		var sum r3.Vec
		c := cellOf(p)
		for k := range 27 {
			for _, u := range cells[cell{c[0] + int32(k%3) - 1, c[1] + int32(k/3%3) - 1, c[2] + int32(k/9) - 1}] {
				if d := r3.Norm(r3.Sub(p, m.Vertex(u))) / reach; d < 1 {
					sum = r3.Add(sum, r3.Scale(areas[u]*(1-d*d), plain[u]))
				}
			}
		}
		if l := r3.Norm(sum); l > 0 {
			out[v] = r3.Scale(1/l, sum)
		}
	}
	return out
}

// Areas returns the area that belongs to each vertex, mm²: a third of the triangles around
// it.
func Areas(m *mesh.Mesh) []float64 {
	out := make([]float64, m.NumVertices())
	for t, c := range m.All() {
		a := r3.Norm(m.AreaVector(t)) / 3
		for _, v := range c {
			out[v] += a
		}
	}
	return out
}

// Moved returns the mesh with each vertex moved by by (mm) along a direction.
func Moved(m *mesh.Mesh, along []r3.Vec, by func(mesh.VertexID) float64) (*mesh.Mesh, error) {
	verts := append([]r3.Vec(nil), m.Vertices()...)
	for v := range verts {
		if d := by(mesh.VertexID(v)); d != 0 {
			verts[v] = r3.Add(verts[v], r3.Scale(d, along[v]))
		}
	}
	return mesh.New(verts, m.Triangles())
}

// splitRounds bounds the refinement: each round halves the edges.
const splitRounds = 6

// Refine halves the edges of triangles with a near vertex until none of them is longer than
// edge (mm); the surface stays where it is. near is true for the new vertices between
// vertices of such triangles too. A new vertex belongs to the tooth of both ends of its
// edge, else of the end with the lower number. Vertices keep their numbers, new ones
// follow; the result has near for all of them, and parents gives for each vertex the two
// ends of the edge on which it was made (twice itself for an old one).
func (s Surface) Refine(near []bool, edge float64) (fine Surface, nearFine []bool, parents [][2]mesh.VertexID, err error) {
	verts := append([]r3.Vec(nil), s.Mesh.Vertices()...)
	labels := append([]dentition.ToothID(nil), s.Labels...)
	near = append([]bool(nil), near...)
	parents = make([][2]mesh.VertexID, len(verts))
	for v := range parents {
		parents[v] = [2]mesh.VertexID{mesh.VertexID(v), mesh.VertexID(v)}
	}
	tris := append([][3]mesh.VertexID(nil), s.Mesh.Triangles()...)
	for range splitRounds {
		middle := map[[2]mesh.VertexID]mesh.VertexID{}
		split := func(a, b mesh.VertexID) {
			k := [2]mesh.VertexID{min(a, b), max(a, b)}
			if _, ok := middle[k]; ok || r3.Norm(r3.Sub(verts[a], verts[b])) <= edge {
				return
			}
			middle[k] = mesh.VertexID(len(verts))
			verts = append(verts, r3.Scale(0.5, r3.Add(verts[k[0]], verts[k[1]])))
			labels = append(labels, labels[k[0]])
			near = append(near, near[a] || near[b])
			parents = append(parents, k)
		}
		for _, c := range tris {
			if near[c[0]] || near[c[1]] || near[c[2]] {
				split(c[0], c[1])
				split(c[1], c[2])
				split(c[2], c[0])
			}
		}
		if len(middle) == 0 {
			break
		}
		tris = divide(tris, middle)
	}
	m, err := mesh.Adopt(verts, tris)
	return Surface{m, labels}, near, parents, err
}

// divide replaces triangles by those that the middles of their edges make. Triangles keep
// their order, and their direction of turn.
func divide(tris [][3]mesh.VertexID, middle map[[2]mesh.VertexID]mesh.VertexID) [][3]mesh.VertexID {
	out := make([][3]mesh.VertexID, 0, len(tris)+4*len(middle))
	for _, c := range tris {
		var m [3]mesh.VertexID // of the edge from corner k on; −1 for none
		n := 0
		for k := range 3 {
			a, b := c[k], c[(k+1)%3]
			m[k] = -1
			if v, ok := middle[[2]mesh.VertexID{min(a, b), max(a, b)}]; ok {
				m[k] = v
				n++
			}
		}
		turn := 0 // so that the split edges come first
		switch n {
		case 0:
			out = append(out, c)
			continue
		case 1:
			for m[turn] < 0 {
				turn++
			}
		case 2:
			for m[(turn+2)%3] >= 0 {
				turn++
			}
		}
		c = [3]mesh.VertexID{c[turn], c[(turn+1)%3], c[(turn+2)%3]}
		m = [3]mesh.VertexID{m[turn], m[(turn+1)%3], m[(turn+2)%3]}
		switch n {
		case 1:
			out = append(out, [3]mesh.VertexID{c[0], m[0], c[2]}, [3]mesh.VertexID{m[0], c[1], c[2]})
		case 2:
			out = append(out, [3]mesh.VertexID{m[0], c[1], m[1]}, [3]mesh.VertexID{c[0], m[0], m[1]}, [3]mesh.VertexID{c[0], m[1], c[2]})
		case 3:
			out = append(out, [3]mesh.VertexID{c[0], m[0], m[2]}, [3]mesh.VertexID{m[0], c[1], m[1]}, [3]mesh.VertexID{m[2], m[1],
				c[2]}, [3]mesh.VertexID{m[0], m[1], m[2]})
		}
	}
	return out
}

// Near returns the vertices within reach (mm) of marked ones, found by their distance in
// space.
func Near(m *mesh.Mesh, marked []bool, reach float64) []bool {
	type cell [3]int32
	cellOf := func(p r3.Vec) cell {
		return cell{int32(math.Floor(p.X / reach)), int32(math.Floor(p.Y / reach)), int32(math.Floor(p.Z / reach))}
	}
	cells := map[cell][]r3.Vec{}
	for v, yes := range marked {
		if yes {
			p := m.Vertex(mesh.VertexID(v))
			cells[cellOf(p)] = append(cells[cellOf(p)], p)
		}
	}
	out := append([]bool(nil), marked...)
	if len(cells) == 0 {
		return out
	}
	for v, p := range m.Vertices() {
		c := cellOf(p)
		for i := 0; i < 27 && !out[v]; i++ {
			for _, q := range cells[cell{c[0] + int32(i%3) - 1, c[1] + int32(i/3%3) - 1, c[2] + int32(i/9) - 1}] {
				if r3.Norm2(r3.Sub(p, q)) <= reach*reach {
					out[v] = true
					break
				}
			}
		}
	}
	return out
}

// Part is some triangles of a surface as a mesh of its own.
type Part struct {
	Mesh *mesh.Mesh
	// Whole is the vertex of the whole surface for each vertex of the part, Of the other
	// way round, −1 for vertices that are not in it.
	Whole []mesh.VertexID
	Of    []mesh.VertexID
	// Tris is the triangle of the whole surface for each of the part.
	Tris []mesh.TriID
}

// Cut returns the part of the triangles that take says.
func Cut(m *mesh.Mesh, take func(mesh.TriID) bool) (Part, error) {
	p := Part{Of: make([]mesh.VertexID, m.NumVertices())}
	for v := range p.Of {
		p.Of[v] = -1
	}
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for t, c := range m.All() {
		if !take(t) {
			continue
		}
		var n [3]mesh.VertexID
		for k, v := range c {
			if p.Of[v] < 0 {
				p.Of[v] = mesh.VertexID(len(verts))
				p.Whole = append(p.Whole, v)
				verts = append(verts, m.Vertex(v))
			}
			n[k] = p.Of[v]
		}
		tris = append(tris, n)
		p.Tris = append(p.Tris, t)
	}
	var err error
	p.Mesh, err = mesh.Adopt(verts, tris)
	return p, err
}

// Between returns the volume between a surface before and after its vertices moved, mm³,
// above 0 where it was taken away. Only triangles for which of says so count; the others
// must not have moved, so that old and new close to a body.
func Between(before, after *mesh.Mesh, of func(mesh.TriID) bool) float64 {
	sum := 0.0
	for t := range before.All() {
		if !of(t) {
			continue
		}
		a, b, c := before.Corners(t)
		d, e, f := after.Corners(t)
		sum += volume(a, b, c) - volume(d, e, f)
	}
	return sum
}

func volume(a, b, c r3.Vec) float64 { return r3.Dot(a, r3.Cross(b, c)) / 6 }
