package mesh

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func newMesh(t testing.TB, verts []r3.Vec, tris [][3]VertexID) *Mesh {
	t.Helper()
	m, err := New(verts, tris)
	require.NoError(t, err)
	return m
}

// tetrahedron is closed, with outward normals; its right angle is at the origin.
func tetrahedron(t testing.TB) *Mesh {
	return newMesh(t,
		[]r3.Vec{{}, {X: 1}, {Y: 2}, {Z: 0.5}},
		[][3]VertexID{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}})
}

// grid is an n by n plate of squares of side 1 in z = 0, normals up.
func grid(t testing.TB, n int) *Mesh {
	var verts []r3.Vec
	var tris [][3]VertexID
	for y := range n + 1 {
		for x := range n + 1 {
			verts = append(verts, r3.Vec{X: float64(x), Y: float64(y)})
		}
	}
	for y := range n {
		for x := range n {
			a := VertexID(y*(n+1) + x)
			b, c, d := a+1, a+VertexID(n)+2, a+VertexID(n)+1
			tris = append(tris, [3]VertexID{a, b, c}, [3]VertexID{a, c, d})
		}
	}
	return newMesh(t, verts, tris)
}

// strip is a band of n squares closed to a ring, twisted by half a turn to a
// Möbius band if wanted.
func strip(t testing.TB, n int, twist bool) *Mesh {
	var verts []r3.Vec
	var tris [][3]VertexID
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
		a, b := VertexID(2*i), VertexID(2*i+1)
		c, d := a+2, b+2
		if i == n-1 {
			c, d = 0, 1
			if twist {
				c, d = 1, 0
			}
		}
		tris = append(tris, [3]VertexID{a, c, d}, [3]VertexID{a, d, b})
	}
	return newMesh(t, verts, tris)
}

// soup gives each triangle vertices of its own.
func soup(t testing.TB, m *Mesh) *Mesh {
	var verts []r3.Vec
	var tris [][3]VertexID
	for i := range m.NumTriangles() {
		a, b, c := m.Corners(TriID(i))
		v := VertexID(len(verts))
		verts = append(verts, a, b, c)
		tris = append(tris, [3]VertexID{v, v + 1, v + 2})
	}
	return newMesh(t, verts, tris)
}

// turned is m with the given triangles turned over.
func turned(t testing.TB, m *Mesh, flip func(TriID) bool) *Mesh {
	tris := append([][3]VertexID(nil), m.Triangles()...)
	for i := range tris {
		if flip(TriID(i)) {
			tris[i][1], tris[i][2] = tris[i][2], tris[i][1]
		}
	}
	return newMesh(t, m.Vertices(), tris)
}

// with is m with more triangles.
func with(t testing.TB, m *Mesh, more ...[3]VertexID) *Mesh {
	return newMesh(t, m.Vertices(), append(append([][3]VertexID(nil), m.Triangles()...), more...))
}

// trough is a U-shaped shell of an arch of the given outer width in mm: a
// half ring with walls and a roof, open below. Its normals point outward, its
// roof faces +z.
func trough(t testing.TB, width float64) *Mesh {
	const steps = 40
	outer, inner, high := width/2, width/2-width/6, width/6
	// The section, from the outer foot over the roof to the inner foot.
	section := []struct{ r, z float64 }{{outer, 0}, {outer, high / 2}, {outer, high}, {inner, high}, {inner, high / 2}, {inner, 0}}
	var verts []r3.Vec
	var tris [][3]VertexID
	k := VertexID(len(section))
	for i := range steps + 1 {
		s, c := math.Sincos(math.Pi * float64(i) / steps)
		for _, p := range section {
			verts = append(verts, r3.Vec{X: p.r * c, Y: p.r * s, Z: p.z})
		}
	}
	for i := range VertexID(steps) {
		for j := range k - 1 {
			a, b := i*k+j, i*k+j+1
			tris = append(tris, [3]VertexID{a, a + k, b + k}, [3]VertexID{a, b + k, b})
		}
	}
	for _, base := range []VertexID{0, steps * k} { // ends
		for j := VertexID(2); j < k; j++ { // a fan around a point of the outer wall, which leaves no flat triangle
			t := [3]VertexID{base + 1, base + j, base + (j+1)%k}
			if base != 0 {
				t[1], t[2] = t[2], t[1]
			}
			tris = append(tris, t)
		}
	}
	return newMesh(t, verts, tris)
}

func sameMesh(t testing.TB, want, got *Mesh) {
	t.Helper()
	require.Equal(t, want.Triangles(), got.Triangles())
	require.Equal(t, want.NumVertices(), got.NumVertices())
	for i, v := range want.Vertices() {
		if got.Vertices()[i] != v {
			t.Fatalf("vertex %d: want %v, got %v", i, v, got.Vertices()[i])
		}
	}
}
