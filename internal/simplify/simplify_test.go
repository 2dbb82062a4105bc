package simplify_test

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/simplify"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func thinned(t *testing.T, m *mesh.Mesh, kind []uint8, most int) (*mesh.Mesh, []mesh.VertexID) {
	keep, tris := simplify.Cluster(m, kind, most)
	verts := make([]r3.Vec, len(keep))
	for i, v := range keep {
		verts[i] = m.Vertex(v)
	}
	out, err := mesh.New(verts, tris)
	require.NoError(t, err)
	return out, keep
}

// A hilly sheet, given as a function, stays one: the thinned surface has the
// wanted size, its vertices are the sheet's own, and it lies close to it.
func TestThinnedSheetStaysClose(t *testing.T) {
	f := func(x, y float64) float64 { return math.Sin(x) * math.Cos(y) }
	m := testmesh.Sheet(200, 200, func(u, v float64) r3.Vec {
		x, y := 10*u, 10*v
		return r3.Vec{X: x, Y: y, Z: f(x, y)}
	})
	got, keep := thinned(t, m, nil, 4000)
	require.LessOrEqual(t, got.NumVertices(), 4000)
	require.Greater(t, got.NumVertices(), 3000)
	for i, v := range keep {
		require.Equal(t, m.Vertex(v), got.Vertex(mesh.VertexID(i)))
	}
	// A cell is about 10/√4000 mm wide; with a curvature of at most 1/mm a chord of
	// twice that leaves the surface by at most (0.32)²/8 = 0.013 mm, and slanted
	// triangles by a few times that.
	for i := range got.NumTriangles() {
		a, b, c := got.Corners(mesh.TriID(i))
		p := r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		require.InDelta(t, f(p.X, p.Y), p.Z, 0.05)
	}
}

func TestBordersOfKindsStay(t *testing.T) {
	m := testmesh.Sheet(60, 60, func(u, v float64) r3.Vec { return r3.Vec{X: 10 * u, Y: 10 * v} })
	kind := make([]uint8, m.NumVertices())
	for i, v := range m.Vertices() {
		if v.X > 4.9 {
			kind[i] = 1
		}
	}
	_, tris := simplify.Cluster(m, kind, 200)
	require.NotEmpty(t, tris)
	got, keep := thinned(t, m, kind, 200)
	var ones int
	for i, v := range keep {
		if got.Vertex(mesh.VertexID(i)).X > 4.9 {
			require.EqualValues(t, 1, kind[v])
			ones++
		}
	}
	require.Positive(t, ones)
	require.Less(t, ones, len(keep))
}

func TestSmallSurfacesAreGivenBack(t *testing.T) {
	for _, n := range []int{0, 1, 2} {
		verts := []r3.Vec{{}, {X: 1}, {Y: 1}, {X: 1, Y: 1}}[:n+2]
		tris := [][3]mesh.VertexID{{0, 1, 2}, {1, 3, 2}}[:n]
		m, err := mesh.New(verts, tris)
		require.NoError(t, err)
		got, _ := thinned(t, m, nil, 10)
		require.Equal(t, m.Vertices(), got.Vertices())
		require.Equal(t, n, got.NumTriangles())
	}
}

// All vertices in one place cannot be told apart by any grid.
func TestNoExtent(t *testing.T) {
	m, err := mesh.New(make([]r3.Vec, 5), [][3]mesh.VertexID{{0, 1, 2}, {2, 3, 4}})
	require.NoError(t, err)
	keep, tris := simplify.Cluster(m, nil, 3)
	require.Len(t, keep, 1)
	require.Empty(t, tris)
}

// The two faces of a plate stay apart though they lie in the same cells.
func TestOppositeWallsStayApart(t *testing.T) {
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for side := range 2 {
		first := mesh.VertexID(len(verts))
		for i := range 40 {
			for j := range 40 {
				verts = append(verts, r3.Vec{X: float64(i), Y: float64(j), Z: 0.01 * float64(side)})
				if i > 0 && j > 0 {
					k := first + mesh.VertexID(40*i+j)
					a, b := [3]mesh.VertexID{k - 41, k - 1, k}, [3]mesh.VertexID{k - 41, k, k - 40}
					if side == 0 {
						a[0], a[1] = a[1], a[0]
						b[0], b[1] = b[1], b[0]
					}
					tris = append(tris, a, b)
				}
			}
		}
	}
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	_, out := simplify.Cluster(m, nil, 400)
	got, _ := thinned(t, m, nil, 400)
	for i := range out {
		a, b, c := got.Corners(mesh.TriID(i))
		require.True(t, a.Z == b.Z && b.Z == c.Z, "triangle %d joins both faces", i)
	}
}
