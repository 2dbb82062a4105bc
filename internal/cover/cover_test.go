package cover_test

import (
	"errors"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"

	"github.com/cusptrace/cusptrace/internal/cover"
)

// program is a random covering program of few members.
func program(rng *rand.Rand) (a, b cover.Side, pairs []cover.Pair) {
	side := func() cover.Side {
		var s cover.Side
		for range 1 + rng.IntN(6) {
			s.Cost = append(s.Cost, int64(1+rng.IntN(20)))
			s.Most = append(s.Most, int32(rng.IntN(60)))
		}
		return s
	}
	a, b = side(), side()
	for i := range a.Cost {
		for j := range b.Cost {
			if most := a.Most[i] + b.Most[j]; rng.IntN(2) == 0 && most > 0 {
				pairs = append(pairs, cover.Pair{A: int32(i), B: int32(j), Need: 1 + rng.Int32N(most)})
			}
		}
	}
	return a, b, pairs
}

// simplex is the least cost by gonum's simplex method, on the program in standard form:
// a_i + b_j − surplus = need, amount + slack = most.
func simplex(t *testing.T, a, b cover.Side, pairs []cover.Pair) float64 {
	n := len(a.Cost) + len(b.Cost)
	cols, rows := 2*n+len(pairs), n+len(pairs)
	m, rhs, cost := mat.NewDense(rows, cols, nil), make([]float64, rows), make([]float64, cols)
	for i := range n {
		k, s := i, a
		if i >= len(a.Cost) {
			k, s = i-len(a.Cost), b
		}
		cost[i], rhs[i] = float64(s.Cost[k]), float64(s.Most[k])
		m.Set(i, i, 1)
		m.Set(i, n+i, 1)
	}
	for i, p := range pairs {
		m.Set(n+i, int(p.A), 1)
		m.Set(n+i, len(a.Cost)+int(p.B), 1)
		m.Set(n+i, 2*n+i, -1)
		rhs[n+i] = float64(p.Need)
	}
	least, _, err := lp.Simplex(cost, m, rhs, 1e-9, nil)
	require.NoError(t, err)
	return least
}

// On 200 random programs the amounts cover all pairs within the limits and cost what a
// general solver finds.
func TestCostsWhatTheSimplexFinds(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 200))
	for done := 0; done < 200; {
		a, b, pairs := program(rng)
		if len(pairs) == 0 {
			continue
		}
		done++
		x, y, err := cover.Solve(a, b, pairs)
		require.NoError(t, err)
		var cost int64
		for i, v := range x {
			require.True(t, v >= 0 && v <= a.Most[i])
			cost += a.Cost[i] * int64(v)
		}
		for j, v := range y {
			require.True(t, v >= 0 && v <= b.Most[j])
			cost += b.Cost[j] * int64(v)
		}
		for _, p := range pairs {
			require.GreaterOrEqual(t, x[p.A]+y[p.B], p.Need)
		}
		require.InDelta(t, simplex(t, a, b, pairs), float64(cost), 1e-6, "program %d", done)
	}
}

// More room never costs more.
func TestWiderLimitsNeverCostMore(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 7))
	cost := func(a, b cover.Side, x, y []int32) (c int64) {
		for i, v := range x {
			c += a.Cost[i] * int64(v)
		}
		for j, v := range y {
			c += b.Cost[j] * int64(v)
		}
		return c
	}
	for range 100 {
		a, b, pairs := program(rng)
		x, y, err := cover.Solve(a, b, pairs)
		require.NoError(t, err)
		before := cost(a, b, x, y)
		for i := range a.Most {
			a.Most[i] *= 2
		}
		x, y, err = cover.Solve(a, b, pairs)
		require.NoError(t, err)
		require.LessOrEqual(t, cost(a, b, x, y), before)
	}
}

func TestNothingAndTooMuch(t *testing.T) {
	x, y, err := cover.Solve(cover.Side{}, cover.Side{}, nil)
	require.NoError(t, err)
	assert.Empty(t, x)
	assert.Empty(t, y)
	one := cover.Side{Cost: []int64{1}, Most: []int32{300}}
	x, y, err = cover.Solve(one, cover.Side{Cost: []int64{2}, Most: []int32{300}}, []cover.Pair{{Need: 500}})
	require.NoError(t, err)
	assert.Equal(t, []int32{300}, x)
	assert.Equal(t, []int32{200}, y)
	_, _, err = cover.Solve(one, one, []cover.Pair{{Need: 10}, {Need: 780}, {Need: 700}})
	require.ErrorIs(t, err, cover.ErrInfeasible)
	var bad *cover.InfeasibleError
	require.True(t, errors.As(err, &bad))
	assert.Equal(t, cover.InfeasibleError{Pair: 1, Need: 780, Limit: 600}, *bad)
}
