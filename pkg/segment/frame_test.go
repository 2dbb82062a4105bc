package segment

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"

	"gonum.org/v1/gonum/num/quat"
	"gonum.org/v1/gonum/spatial/r3"
)

// anyMotion is a rotation drawn evenly from all, upside down as often as not, and a shift by up to 200 mm.
func anyMotion(rng *rand.Rand) func(r3.Vec) r3.Vec {
	q := quat.Number{Real: rng.NormFloat64(), Imag: rng.NormFloat64(), Jmag: rng.NormFloat64(), Kmag: rng.NormFloat64()}
	turn := r3.Rotation(quat.Scale(1/quat.Abs(q), q))
	shift := r3.Vec{X: 400*rng.Float64() - 200, Y: 400*rng.Float64() - 200, Z: 400*rng.Float64() - 200}
	return func(p r3.Vec) r3.Vec { return r3.Add(turn.Rotate(p), shift) }
}

// The same teeth are found however a scan lies in its file: at rotations drawn at random, upside down included, on the very same
// vertices but for a few in a thousand that rounding may move, with the same doubts at the same places.
func TestAnyFrame(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 20000, Disturbances: []typodont.Disturbance{
		{Kind: typodont.Noise, Um: 20, MM: 0.8}, {Kind: typodont.Missing, Tooth: 25}, {Kind: typodont.Missing, Tooth: 36},
		{Kind: typodont.Drift, Tooth: 26, MM: 1}, {Kind: typodont.Drift, Tooth: 37, MM: 1},
	}})
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(14, 4))
	for _, a := range []typodont.Arch{c.Upper, c.Lower} {
		want, err := Find(context.Background(), a.Mesh, a.Labels.Jaw(), Options{})
		require.NoError(t, err)
		for range 3 {
			move := anyMotion(rng)
			m, err := a.Mesh.Transform(move)
			require.NoError(t, err)
			got, err := Find(context.Background(), m, a.Labels.Jaw(), Options{})
			require.NoError(t, err)
			require.Equal(t, want.Labels.Teeth(), got.Labels.Teeth())
			require.Greater(t, right(got.Labels, want.Labels), 0.998)
			for i, tooth := range want.Teeth {
				require.InDelta(t, tooth.Confidence, got.Teeth[i].Confidence, 1e-3)
			}
			require.Equal(t, len(want.Doubts), len(got.Doubts))
			for i, d := range want.Doubts {
				require.Equal(t, d.Kind, got.Doubts[i].Kind)
				require.Less(t, r3.Norm(r3.Sub(move(d.At), got.Doubts[i].At)), 0.5)
			}
		}
	}
}

// The own frame moves with a surface, whatever its triangles.
func TestOwnFrame(t *testing.T) {
	m := sheet(t, 30, func(x, y float64) r3.Vec { return r3.Vec{X: 60 * x * x, Y: 20*y + 5*x, Z: 3*x*y + y*y} })
	f := ownFrame(m)
	require.InDelta(t, 1, r3.Dot(r3.Cross(f.x, f.y), f.z), 1e-12)
	p := r3.Vec{X: 3, Y: -7, Z: 11}
	require.Less(t, r3.Norm(r3.Sub(p, f.back(f.at(p)))), 1e-12)
	finer := ownFrame(subdivided(t, m))
	require.Less(t, r3.Norm(r3.Sub(f.at(p), finer.at(p))), 1e-9)
	rng := rand.New(rand.NewPCG(14, 5))
	for range 100 {
		move := anyMotion(rng)
		moved, err := m.Transform(move)
		require.NoError(t, err)
		g := ownFrame(moved)
		require.Less(t, r3.Norm(r3.Sub(f.at(p), g.at(move(p)))), 1e-9)
	}
	for _, flat := range []*mesh.Mesh{
		sheet(t, 2, func(x, y float64) r3.Vec { return r3.Vec{X: x, Y: y} }), sheet(t, 2, func(x, y float64) r3.Vec { return r3.Vec{} }),
	} {
		f := ownFrame(flat)
		require.InDelta(t, 1, r3.Dot(r3.Cross(f.x, f.y), f.z), 1e-12)
	}
}

// Principal axes of matrices made of known ones.
func TestPrincipal(t *testing.T) {
	rng := rand.New(rand.NewPCG(14, 6))
	for range 100 {
		move := anyMotion(rng)
		want := [3]float64{9 * rng.Float64(), 4 * rng.Float64(), rng.Float64()}
		slices.SortFunc(want[:], func(a, b float64) int { return cmp.Compare(b, a) })
		var s [3][3]float64
		var e [3]r3.Vec
		for k, unit := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
			e[k] = r3.Sub(move(unit), move(r3.Vec{}))
			v := [3]float64{e[k].X, e[k].Y, e[k].Z}
			for i := range 3 {
				for j := range 3 {
					s[i][j] += want[k] * v[i] * v[j]
				}
			}
		}
		axes, values := geom.Principal(s)
		for k := range 3 {
			require.InDelta(t, want[k], values[k], 1e-9)
			require.InDelta(t, 1, r3.Norm(axes[k]), 1e-12)
			if k == 0 && want[0]-want[1] > 0.01 {
				require.InDelta(t, 1, math.Abs(r3.Dot(axes[0], e[0])), 1e-9)
			}
		}
	}
}
