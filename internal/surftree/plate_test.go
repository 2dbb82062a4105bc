package surftree

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Every plate holds the corners of all triangles below its box, of parts as of whole meshes,
// as built and moved.
func TestPlatesHoldWhatIsBelow(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	m := testmesh.Moved(testmesh.Sphere(9, 5), func(p r3.Vec) r3.Vec {
		return r3.Add(p, r3.Scale(0.3, r3.Vec{X: rng.Float64(), Y: rng.Float64(), Z: rng.Float64()}))
	})
	parts := make([]int32, m.NumTriangles())
	for i := range parts {
		parts[i] = int32(rng.IntN(4)) - 1
	}
	for _, of := range [][]int32{nil, parts} {
		x, err := Build(context.Background(), m, of, 2)
		require.NoError(t, err)
		require.Greater(t, holds(t, x), m.NumTriangles()/6)
		bent, err := m.Transform(func(p r3.Vec) r3.Vec { return r3.Vec{X: p.Z, Y: p.X + 0.01*p.Z*p.Z, Z: -p.Y} })
		require.NoError(t, err)
		moved, err := x.Moved(bent, nil)
		require.NoError(t, err)
		holds(t, moved)
	}
}

// holds checks all plates and returns how many tell anything.
func holds(t *testing.T, x *Tree) (useful int) {
	t.Helper()
	var corners func(r bvh.Ref) []r3.Vec
	corners = func(r bvh.Ref) (out []r3.Vec) {
		if r.IsLeaf() {
			first, n := r.Leaf()
			for i := range n {
				a, b, c := x.LeafCorners(first + i)
				out = append(out, a, b, c)
			}
			return out
		}
		for k, c := range x.boxes.Nodes[r].Child {
			below := corners(c)
			out = append(out, below...)
			p, box := &x.plates[r][k], &x.boxes.Nodes[r].Box[k]
			if math.IsInf(float64(p.R), 1) {
				continue
			}
			require.LessOrEqual(t, len(below), 3*plateMost)
			useful++
			n := r3.Vec{X: float64(p.N[0]), Y: float64(p.N[1]), Z: float64(p.N[2])}
			require.InDelta(t, 1, r3.Norm(n), 1e-6)
			least, most := math.Inf(1), math.Inf(-1)
			for _, q := range below {
				d := r3.Sub(q, r3.Vec{X: float64(box.C[0]), Y: float64(box.C[1]), Z: float64(box.C[2])})
				least, most = min(least, r3.Dot(n, d)), max(most, r3.Dot(n, d))
				require.LessOrEqual(t, r3.Norm(d), float64(p.R))
			}
			require.LessOrEqual(t, float64(p.Lo), least)
			require.GreaterOrEqual(t, float64(p.Hi), most)
			require.InDelta(t, most-least, float64(p.Hi-p.Lo), 1e-4, "no wider than needed")
		}
		return out
	}
	corners(x.boxes.Top.Ref)
	return useful
}
