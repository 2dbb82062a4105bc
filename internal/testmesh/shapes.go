package testmesh

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Tetrahedron is closed, with outward normals; its right angle is at the origin.
func Tetrahedron() *mesh.Mesh {
	return New(
		[]r3.Vec{{}, {X: 1}, {Y: 2}, {Z: 0.5}},
		[][3]mesh.VertexID{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}})
}

// Grid is an n by n plate of squares of side 1 in z = 0, normals up.
func Grid(n int) *mesh.Mesh {
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for y := range n + 1 {
		for x := range n + 1 {
			verts = append(verts, r3.Vec{X: float64(x), Y: float64(y)})
		}
	}
	for y := range n {
		for x := range n {
			a := mesh.VertexID(y*(n+1) + x)
			b, c, d := a+1, a+mesh.VertexID(n)+2, a+mesh.VertexID(n)+1
			tris = append(tris, [3]mesh.VertexID{a, b, c}, [3]mesh.VertexID{a, c, d})
		}
	}
	return New(verts, tris)
}

// Strip is a band of n squares closed to a ring, twisted by half a turn to a
// Möbius band if wanted.
func Strip(n int, twist bool) *mesh.Mesh {
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		half := 0.0
		if twist {
			half = math.Pi * float64(i) / float64(n)
		}
		out, up := math.Sin(half), math.Cos(half)
		for _, side := range [2]float64{-1, 1} {
			r := 10 + side*out
			verts = append(verts, r3.Vec{X: r * c, Y: r * s, Z: side * up})
		}
	}
	for i := range n {
		a, b := mesh.VertexID(2*i), mesh.VertexID(2*i+1)
		c, d := a+2, b+2
		if i == n-1 {
			c, d = 0, 1
			if twist {
				c, d = 1, 0
			}
		}
		tris = append(tris, [3]mesh.VertexID{a, c, d}, [3]mesh.VertexID{a, d, b})
	}
	return New(verts, tris)
}

// Unwelded gives each triangle vertices of its own.
func Unwelded(m *mesh.Mesh) *mesh.Mesh {
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for i := range m.NumTriangles() {
		a, b, c := m.Corners(mesh.TriID(i))
		v := mesh.VertexID(len(verts))
		verts = append(verts, a, b, c)
		tris = append(tris, [3]mesh.VertexID{v, v + 1, v + 2})
	}
	return New(verts, tris)
}

// Flip is m with the given triangles turned over.
func Flip(m *mesh.Mesh, flip func(mesh.TriID) bool) *mesh.Mesh {
	tris := append([][3]mesh.VertexID(nil), m.Triangles()...)
	for i := range tris {
		if flip(mesh.TriID(i)) {
			tris[i][1], tris[i][2] = tris[i][2], tris[i][1]
		}
	}
	return New(m.Vertices(), tris)
}

// With is m with more triangles.
func With(m *mesh.Mesh, more ...[3]mesh.VertexID) *mesh.Mesh {
	return New(m.Vertices(), append(append([][3]mesh.VertexID(nil), m.Triangles()...), more...))
}

// Trough is a U-shaped shell of an arch of the given outer width in mm: a
// half ring with walls and a roof, open below. Its normals point outward, its
// roof faces +z.
func Trough(width float64) *mesh.Mesh {
	const steps = 40
	outer, inner, high := width/2, width/2-width/6, width/6
	// The section, from the outer foot over the roof to the inner foot.
	section := []struct{ r, z float64 }{{outer, 0}, {outer, high / 2}, {outer, high}, {inner, high}, {inner, high / 2}, {inner, 0}}
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	k := mesh.VertexID(len(section))
	for i := range steps + 1 {
		s, c := math.Sincos(math.Pi * float64(i) / steps)
		for _, p := range section {
			verts = append(verts, r3.Vec{X: p.r * c, Y: p.r * s, Z: p.z})
		}
	}
	for i := range mesh.VertexID(steps) {
		for j := range k - 1 {
			a, b := i*k+j, i*k+j+1
			tris = append(tris, [3]mesh.VertexID{a, a + k, b + k}, [3]mesh.VertexID{a, b + k, b})
		}
	}
	for _, base := range []mesh.VertexID{0, steps * k} { // ends
		for j := mesh.VertexID(2); j < k; j++ { // a fan around a point of the outer wall, which leaves no flat triangle
			t := [3]mesh.VertexID{base + 1, base + j, base + (j+1)%k}
			if base != 0 {
				t[1], t[2] = t[2], t[1]
			}
			tris = append(tris, t)
		}
	}
	return New(verts, tris)
}

// Wavy is a surface of 2·n² triangles, with 300 those, the size and the spacing
// of a scan; its heights are float32.
func Wavy(n int) *mesh.Mesh {
	return Moved(Grid(n), func(v r3.Vec) r3.Vec {
		return r3.Vec{X: 0.2 * v.X, Y: 0.2 * v.Y, Z: float64(float32(3 * math.Sin(v.X/9) * math.Cos(v.Y/7)))}
	})
}

// Equal says whether two meshes have the same vertices and triangles, in the
// same order.
func Equal(a, b *mesh.Mesh) bool {
	return slices.Equal(a.Vertices(), b.Vertices()) && slices.Equal(a.Triangles(), b.Triangles())
}
