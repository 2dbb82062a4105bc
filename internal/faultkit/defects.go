package faultkit

import (
	"math/rand/v2"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// InsideOut is m with every triangle turned over: its normals point inwards.
func InsideOut(m *mesh.Mesh) (*mesh.Mesh, error) {
	tris := append([][3]mesh.VertexID(nil), m.Triangles()...)
	for i := range tris {
		tris[i][1], tris[i][2] = tris[i][2], tris[i][1]
	}
	return mesh.New(m.Vertices(), tris)
}

// TwoSided is m with every triangle a second time, turned over, as some programs
// export thin shells.
func TwoSided(m *mesh.Mesh) (*mesh.Mesh, error) {
	tris := append([][3]mesh.VertexID(nil), m.Triangles()...)
	for _, t := range m.Triangles() {
		tris = append(tris, [3]mesh.VertexID{t[0], t[2], t[1]})
	}
	return mesh.New(m.Vertices(), tris)
}

// Flattened is m with all heights set to that of its lowest point: a surface of the
// plan alone.
func Flattened(m *mesh.Mesh) (*mesh.Mesh, error) {
	z := m.Bounds().Min.Z
	return m.Transform(func(p r3.Vec) r3.Vec { p.Z = z; return p })
}

// NoArea is m with every triangle shrunk to its first corner: a surface of area 0.
func NoArea(m *mesh.Mesh) (*mesh.Mesh, error) {
	tris := append([][3]mesh.VertexID(nil), m.Triangles()...)
	for i := range tris {
		tris[i][1], tris[i][2] = tris[i][0], tris[i][0]
	}
	return mesh.New(m.Vertices(), tris)
}

// TJunctions cuts about one triangle in every n (from a seed) in two at the middle of its
// first side, but not its neighbour there: a T-junction, where three triangles meet
// along a line without sharing its ends. New vertices come after the old ones; from
// says the old vertex nearest to each.
func TJunctions(m *mesh.Mesh, n int, seed uint64) (out *mesh.Mesh, from []mesh.VertexID, err error) {
	rng := rand.New(rand.NewPCG(seed, 0x54))
	verts := append([]r3.Vec(nil), m.Vertices()...)
	from = make([]mesh.VertexID, len(verts))
	for v := range from {
		from[v] = mesh.VertexID(v)
	}
	var tris [][3]mesh.VertexID
	for _, t := range m.Triangles() {
		if rng.IntN(n) > 0 {
			tris = append(tris, t)
			continue
		}
		mid := mesh.VertexID(len(verts))
		verts = append(verts, r3.Scale(0.5, r3.Add(verts[t[0]], verts[t[1]])))
		from = append(from, t[0])
		tris = append(tris, [3]mesh.VertexID{t[0], mid, t[2]}, [3]mesh.VertexID{mid, t[1], t[2]})
	}
	out, err = mesh.New(verts, tris)
	return out, from, err
}

// Unwelded gives every triangle three corners of its own and moves each by up to off
// (mm) on every axis, from a seed: corners that should coincide miss each other by a
// hair. from says which old vertex each corner was.
func Unwelded(m *mesh.Mesh, off float64, seed uint64) (out *mesh.Mesh, from []mesh.VertexID, err error) {
	rng := rand.New(rand.NewPCG(seed, 0x55))
	hair := func() float64 { return off * (2*rng.Float64() - 1) }
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for _, t := range m.Triangles() {
		at := mesh.VertexID(len(verts))
		for _, v := range t {
			p := m.Vertex(v)
			verts = append(verts, r3.Vec{X: p.X + hair(), Y: p.Y + hair(), Z: p.Z + hair()})
			from = append(from, v)
		}
		tris = append(tris, [3]mesh.VertexID{at, at + 1, at + 2})
	}
	out, err = mesh.New(verts, tris)
	return out, from, err
}

// Joined is m together with other surfaces that share no vertex with it: tissue,
// loose parts, a base. The vertices of m keep their numbers.
func Joined(m *mesh.Mesh, others ...*mesh.Mesh) (*mesh.Mesh, error) {
	verts := append([]r3.Vec(nil), m.Vertices()...)
	tris := append([][3]mesh.VertexID(nil), m.Triangles()...)
	for _, o := range others {
		shift := mesh.VertexID(len(verts))
		verts = append(verts, o.Vertices()...)
		for _, t := range o.Triangles() {
			tris = append(tris, [3]mesh.VertexID{t[0] + shift, t[1] + shift, t[2] + shift})
		}
	}
	return mesh.New(verts, tris)
}
