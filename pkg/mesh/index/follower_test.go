package index_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Along walks with small and large steps, standing still at times, on vertices of the
// mesh and far from it, a follower finds what a fresh search finds.
func TestFollowerIsNearest(t *testing.T) {
	rng := rand.New(rand.NewPCG(37, 1))
	m := testmesh.Moved(testmesh.Sphere(3, 12), func(p r3.Vec) r3.Vec {
		return r3.Add(p, r3.Vec{X: 50 + 0.3*math.Sin(5*p.Y), Y: 0.2 * math.Cos(4*p.Z)})
	})
	x := newIndex(t, m, nil)
	met, missed := 0, 0
	for range 60 {
		var f index.Follower
		p := r3.Add(m.Vertex(mesh.VertexID(rng.IntN(m.NumVertices()))), testmesh.Vec(rng, 2))
		size := math.Pow(10, -13+14*rng.Float64())
		limit := []float64{0, 1e-9, 0.05, 0.6, 2, math.Inf(1)}[rng.IntN(6)]
		for range 80 {
			switch rng.IntN(6) {
			case 0:
			case 1:
				p = m.Vertex(mesh.VertexID(rng.IntN(m.NumVertices())))
			default:
				p = r3.Add(p, testmesh.Vec(rng, size))
			}
			if rng.IntN(10) == 0 {
				limit = 3 * rng.Float64()
			}
			want, ok := x.Nearest(p, limit)
			got, there := f.Nearest(x, p, limit)
			require.Equal(t, ok, there)
			if ok {
				met++
				require.Equal(t, want, got)
			} else {
				missed++
				require.Equal(t, mesh.None, got.Tri)
			}
		}
	}
	require.Greater(t, min(met, missed), 300)
}

func TestOrderHoldsEveryUsedVertexOnce(t *testing.T) {
	ball := testmesh.Sphere(1, 6)
	verts := append([]r3.Vec{{X: 9}}, ball.Vertices()...) // one without a triangle
	var tris [][3]mesh.VertexID
	for _, c := range ball.All() {
		tris = append(tris, [3]mesh.VertexID{c[0] + 1, c[1] + 1, c[2] + 1})
	}
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	order := slices.Clone(newIndex(t, m, nil).Order())
	way := 0.0
	for i := range order[1:] {
		way += r3.Norm(r3.Sub(m.Vertex(order[i]), m.Vertex(order[i+1])))
	}
	require.Less(t, way/float64(len(order)), 0.5, "neighbours lie close together")
	slices.Sort(order)
	require.Len(t, order, ball.NumVertices())
	for i, v := range order {
		require.Equal(t, mesh.VertexID(i+1), v)
	}
	require.Empty(t, newIndex(t, &mesh.Mesh{}, nil).Order())
}

func TestFollowerAllocatesNothing(t *testing.T) {
	x := newIndex(t, testmesh.Sphere(1, 8), nil)
	var f index.Follower
	require.Zero(t, testing.AllocsPerRun(50, func() { f.Nearest(x, r3.Vec{X: 1.1}, 1) }))
}
