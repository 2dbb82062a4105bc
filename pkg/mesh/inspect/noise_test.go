package inspect_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
)

// noiseOf is the estimated noise of a surface to which some was added, µm.
func noiseOf(t *testing.T, m *mesh.Mesh, um float64, seed uint64) float64 {
	t.Helper()
	if um > 0 {
		var err error
		m, err = faultkit.Noisy(m, um, seed)
		require.NoError(t, err)
	}
	return 1000 * inspect.Noise(mesh.BuildTopology(m))
}

// Noise of 0.1 mm and more is told on coarse arches, as large as it is, and on fine ones; where there
// is none, none is. The estimate was set on other dentitions (docs/hostile-input.md).
func TestNoiseOfCoarseArches(t *testing.T) {
	for _, triangles := range []int{20000, 50000} {
		c, err := typodont.Generate(t.Context(), typodont.Params{Triangles: triangles, Seed: 9, Overjet: 2.8})
		require.NoError(t, err)
		for i, m := range []*mesh.Mesh{c.Upper.Mesh, c.Lower.Mesh} {
			require.Zero(t, noiseOf(t, m, 0, 0), "%d triangles", triangles)
			for _, um := range []float64{100, 150, 200} {
				require.InEpsilon(t, um, noiseOf(t, m, um, uint64(i)+5), 0.12, "%d triangles", triangles)
			}
		}
	}
}

// Over a plane and over a round surface all that corners are off is noise, however small; what is too
// small to matter is not told, nor is anything of surfaces without corners inside.
func TestNoiseOfPlainSurfaces(t *testing.T) {
	sheet := testmesh.Sheet(60, 60, func(u, v float64) r3.Vec { return r3.Vec{X: 30 * u, Y: 30 * v} })
	bowl := testmesh.Sheet(60, 60, func(u, v float64) r3.Vec {
		return r3.Vec{X: 30 * u, Y: 30 * v, Z: math.Sqrt(900 - 400*((u-0.5)*(u-0.5)+(v-0.5)*(v-0.5)))}
	})
	for _, m := range []*mesh.Mesh{sheet, bowl} {
		require.Zero(t, noiseOf(t, m, 0, 0))
		require.Zero(t, noiseOf(t, m, 3, 1))
		for _, um := range []float64{6, 40, 100} {
			require.InEpsilon(t, um, noiseOf(t, m, um, 1), 0.1)
		}
	}
	for n := range 3 {
		m := testmesh.New([]r3.Vec{{}, {X: 1}, {Y: 1}, {X: 1, Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}, {1, 3, 2}}[:n])
		require.Zero(t, inspect.Noise(mesh.BuildTopology(m)))
	}
	require.Zero(t, inspect.Noise(mesh.BuildTopology(testmesh.Tetrahedron())))
}
