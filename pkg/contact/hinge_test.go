package contact

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// A·cos θ + B·sin θ = C with A, B of an amplitude and a phase is
// cos(θ − φ) = C/amplitude.
func TestSolveAgainstTheCosine(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 1))
	for range 10000 {
		phi, half := 2*math.Pi*rng.Float64()-math.Pi, math.Pi*(0.01+0.98*rng.Float64())
		amp := math.Exp(3 * rng.NormFloat64())
		a, b, c := amp*math.Cos(phi), amp*math.Sin(phi), amp*math.Cos(half)
		ts, ok, near := solve(a, b, c, amp)
		require.True(t, ok)
		require.False(t, near)
		dd, ok := solveDD(geom.DD{Hi: a}, geom.DD{Hi: b}, geom.DD{Hi: c}, amp)
		require.True(t, ok)
		for i, s := range [2]float64{1, -1} {
			want := math.Remainder(phi+s*half, 2*math.Pi)
			require.InDelta(t, 0, math.Remainder(math.Atan2(ts[i].sin, ts[i].cos)-want, 2*math.Pi), 1e-13)
			require.InDelta(t, 0, math.Remainder(math.Atan2(dd[i].sin, dd[i].cos)-want, 2*math.Pi), 1e-13)
			require.InDelta(t, 1, math.Hypot(ts[i].sin, ts[i].cos), 1e-13)
		}
	}
}

func TestSolveSaysWhatItCannot(t *testing.T) {
	_, ok, near := solve(1, 1, 2, 2)
	require.False(t, ok, "never")
	require.False(t, near)
	_, ok, near = solve(3, 4, 5, 7)
	require.False(t, ok, "touching: to be looked at closer")
	require.True(t, near)
	ts, ok := solveDD(geom.DD{Hi: 3}, geom.DD{Hi: 4}, geom.DD{Hi: 5}, 7)
	require.True(t, ok)
	for _, s := range ts {
		require.InDelta(t, 0.8, s.sin, 1e-15)
		require.InDelta(t, 0.6, s.cos, 1e-15)
	}
	_, ok = solveDD(geom.DD{Hi: 3}, geom.DD{Hi: 4}, geom.DD{Hi: 5, Lo: 1e-16}, 7)
	require.False(t, ok, "passes by 1e-16")
	_, ok, near = solve(0, 0, 0, 1)
	require.False(t, ok)
	require.True(t, near)
	_, ok = solveDD(geom.DD{}, geom.DD{}, geom.DD{}, 1)
	require.False(t, ok, "always is no time")
}

// The turns bring what they say together.
func TestTurnsBringFeaturesTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 2))
	faces, edges := 0, 0
	for range 5000 {
		v := func() r3.Vec { return r3.Add(seen(0, 10, 0), testmesh.Vec(rng, 3)) }
		q, a, b, c := v(), v(), v(), v()
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		if ts, ok := vertexFace(q, a, b, c, n); ok {
			faces++
			for _, s := range ts {
				require.InDelta(t, 0, r3.Dot(r3.Unit(n), r3.Sub(s.apply(q), a)), 1e-10)
				require.InDelta(t, 0, r3.Norm(r3.Sub(q, s.back().apply(s.apply(q)))), 1e-12)
			}
		}
		e := v()
		if ts, ok := edgeEdge(q, a, b, c); ok {
			edges++
			for _, s := range ts {
				p0, p1 := s.apply(q), s.apply(a)
				m := r3.Cross(r3.Sub(p1, p0), r3.Sub(c, b))
				if r3.Norm(m) > 1e-2 {
					require.InDelta(t, 0, r3.Dot(r3.Unit(m), r3.Sub(b, p0)), 1e-9)
				}
			}
		}
		// In one plane across the axis: as far from the axis on the segment.
		e.X, q.X, a.X = 2, 2, 2
		ts, k := vertexEdgeInPlane(q, a, e)
		for _, s := range ts[:k] {
			p := s.apply(q)
			along := r3.Dot(r3.Sub(p, a), r3.Sub(e, a)) / r3.Norm2(r3.Sub(e, a))
			require.InDelta(t, 0.5, along, 0.5+1e-9)
			require.InDelta(t, 0, r3.Norm(r3.Cross(r3.Sub(p, a), r3.Sub(e, a)))/r3.Norm(r3.Sub(e, a)), 1e-7)
		}
	}
	require.Greater(t, faces, 1000)
	require.Greater(t, edges, 1000)
}

// Collapsed faces turn beside nothing, whatever the noise of their normal says.
func TestStaysBeside(t *testing.T) {
	flat := [3]r3.Vec{{X: -1, Y: -51}, {X: 1, Y: -51}, {Y: -49}}
	under := func(z float64) [3]r3.Vec {
		return [3]r3.Vec{{Y: -50, Z: z}, {X: 0.1, Y: -50, Z: z - 1}, {X: -0.1, Y: -50, Z: z - 1}}
	}
	q := under(-0.1)
	require.True(t, staysBeside(&flat, &q, 0.3), "it goes away")
	require.True(t, staysBeside(&flat, &q, -0.001), "it comes nearer by 0.05 mm")
	require.False(t, staysBeside(&flat, &q, -0.003), "it comes nearer by 0.15 mm")
	q = under(0.1)
	require.False(t, staysBeside(&flat, &q, 0.3))
	rng := rand.New(rand.NewPCG(41, 3))
	for range 2000 {
		a, b := r3.Add(seen(0, 50, 0), testmesh.Vec(rng, 1)), r3.Add(seen(0, 50, 0), testmesh.Vec(rng, 1))
		s := rng.Float64()
		line := [3]r3.Vec{a, b, r3.Add(r3.Scale(s, a), r3.Scale(1-s, b))} // collapsed, but for rounding
		mid := r3.Add(r3.Scale(0.3, a), r3.Scale(0.7, b))
		d := testmesh.Vec(rng, 1)
		across := [3]r3.Vec{r3.Add(mid, d), r3.Sub(mid, d), r3.Add(mid, testmesh.Vec(rng, 1))}
		require.False(t, staysBeside(&line, &across, 0), "an edge crosses the collapsed face")
	}
}
