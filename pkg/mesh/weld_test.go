package mesh_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// weldBrute is the definition of welding, by searching all kept vertices.
func weldBrute(old []r3.Vec, tol float64) ([]r3.Vec, mesh.Remap) {
	var kept []r3.Vec
	remap := make(mesh.Remap, len(old))
	for i, p := range old {
		found := -1
		for k, q := range kept {
			if p == q || tol > 0 && r3.Norm(r3.Sub(q, p)) <= tol {
				found = k
				break
			}
		}
		if found < 0 {
			found = len(kept)
			kept = append(kept, p)
		}
		remap[i] = mesh.VertexID(found)
	}
	return kept, remap
}

func TestWeldAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	for n := range 40 {
		for _, spread := range []float64{1e-9, 1, 100, 9e8} {
			verts := make([]r3.Vec, n*n/2)
			for i := range verts {
				at := func() float64 { return spread * (float64(rng.IntN(9)-4)/4 + 0.02*float64(rng.IntN(2))) }
				verts[i] = r3.Vec{X: at(), Y: at(), Z: at()}
			}
			m := testmesh.New(verts, nil)
			for _, tol := range []float64{0, 0.01 * spread, 0.03 * spread, 0.3 * spread, 1e-300, 1e300, math.Inf(1)} {
				wantVerts, wantRemap := weldBrute(verts, tol)
				w, remap := mesh.Weld(m, tol)
				require.Equal(t, wantRemap, remap, "n %d spread %g tol %g", n, spread, tol)
				require.Len(t, wantVerts, w.NumVertices())
				for i := range wantVerts {
					require.Equal(t, wantVerts[i], w.Vertex(mesh.VertexID(i)))
				}
			}
		}
	}
}

func TestWeldUndoesASoup(t *testing.T) {
	for name, m := range map[string]*mesh.Mesh{"empty": testmesh.New(nil, nil), "tetrahedron": testmesh.Tetrahedron(),
		"grid": testmesh.Grid(30), "trough": testmesh.Trough(60)} {
		t.Run(name, func(t *testing.T) {
			once, _ := mesh.Weld(testmesh.Unwelded(m), 0)
			require.Equal(t, m.NumVertices(), once.NumVertices())
			require.Equal(t, m.NumTriangles(), once.NumTriangles())
			for i := range m.NumTriangles() {
				a, b, c := m.Corners(mesh.TriID(i))
				p, q, r := once.Corners(mesh.TriID(i))
				require.Equal(t, [3]r3.Vec{a, b, c}, [3]r3.Vec{p, q, r})
			}
			twice, remap := mesh.Weld(once, 0)
			require.True(t, testmesh.Equal(once, twice))
			for i, v := range remap {
				require.Equal(t, mesh.VertexID(i), v)
			}
		})
	}
}

func TestWeldSpecialCases(t *testing.T) {
	negative := math.Copysign(0, -1)
	for _, tol := range []float64{0, -1, math.NaN(), 1e-12} {
		t.Run(fmt.Sprint(tol), func(t *testing.T) {
			m := testmesh.New([]r3.Vec{{X: negative}, {X: 0, Z: negative}, {X: 1}, {X: math.Nextafter(1, 2)}, {Y: negative}},
				[][3]mesh.VertexID{{0, 1, 2}, {2, 3, 4}})
			w, remap := mesh.Weld(m, tol)
			last := mesh.VertexID(2)
			want := mesh.Remap{0, 0, 1, 2, 0}
			if tol > 0 {
				last, want = 1, mesh.Remap{0, 0, 1, 1, 0}
			}
			require.Equal(t, want, remap)
			require.Equal(t, [][3]mesh.VertexID{{0, 0, 1}, {1, last, 0}}, w.Triangles(), "triangles that collapse stay")
			require.True(t, math.Signbit(w.Vertex(0).X), "the first of equal vertices is kept as it is")
		})
	}
}

// A chain of vertices half a tolerance apart does not run together.
func TestWeldMovesNothingFurtherThanTheTolerance(t *testing.T) {
	var verts []r3.Vec
	for i := range 100 {
		verts = append(verts, r3.Vec{X: 0.5 * float64(i)})
	}
	w, remap := mesh.Weld(testmesh.New(verts, nil), 1)
	require.Equal(t, 34, w.NumVertices())
	for i, v := range remap {
		require.LessOrEqual(t, r3.Norm(r3.Sub(verts[i], w.Vertex(v))), 1.0)
	}
}
