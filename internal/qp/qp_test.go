package qp

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// random is a problem with n unknowns and m rows that the point 0 satisfies.
func random(rng *rand.Rand, n, m int) *Problem {
	p := &Problem{H: make([]float64, n*n), G: make([]float64, n), A: make([]float64, m*n), B: make([]float64, m)}
	f := make([]float64, n*n)
	for i := range f {
		f[i] = rng.NormFloat64()
	}
	for i := range n {
		for j := range n {
			for k := range n {
				p.H[i*n+j] += f[i*n+k] * f[j*n+k]
			}
		}
		p.H[i*n+i] += 0.1
		p.G[i] = 3 * rng.NormFloat64()
	}
	for i := range p.A {
		p.A[i] = rng.NormFloat64()
	}
	for i := range p.B {
		p.B[i] = -rng.Float64()
	}
	return p
}

func value(p *Problem, x []float64) float64 {
	n, v := len(x), 0.0
	for i := range n {
		v += p.G[i] * x[i]
		for j := range n {
			v += 0.5 * x[i] * p.H[i*n+j] * x[j]
		}
	}
	return v
}

// optimal checks the conditions that a point must satisfy to be the minimum.
func optimal(t *testing.T, p *Problem, s Solution) {
	t.Helper()
	n := len(p.G)
	force := make(map[int]float64)
	last := -1
	for _, a := range s.Active {
		require.Greater(t, a.Row, last)
		require.Positive(t, a.Value)
		force[a.Row], last = a.Value, a.Row
	}
	scale := 1.0
	for _, g := range p.G {
		scale = max(scale, math.Abs(g))
	}
	for i := range n {
		v := p.G[i]
		for j := range n {
			v += p.H[i*n+j] * s.X[j]
		}
		for r, l := range force {
			v -= l * p.A[r*n+i]
		}
		require.InDelta(t, 0, v, 1e-8*scale, "balance of unknown %d", i)
	}
	for r, b := range p.B {
		v := -b
		for k := range n {
			v += p.A[r*n+k] * s.X[k]
		}
		require.GreaterOrEqual(t, v, -1e-9, "row %d", r)
		if force[r] > 0 {
			require.InDelta(t, 0, v, 1e-8, "row %d pushes from afar", r)
		}
	}
}

func TestSolveConditions(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 5))
	for range 400 {
		n := 1 + rng.IntN(12)
		p := random(rng, n, rng.IntN(200))
		s, err := Solve(p)
		require.NoError(t, err)
		optimal(t, p, s)
	}
}

// Repeated and nearly repeated rows are what two triangles with a common corner
// give.
func TestSolveRepeatedRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 5))
	for range 200 {
		n := 2 + rng.IntN(6)
		p := random(rng, n, 40)
		for i := range 40 {
			for k := range n {
				p.A = append(p.A, p.A[i*n+k]+1e-9*rng.NormFloat64()*float64(i%2))
			}
			p.B = append(p.B, p.B[i])
		}
		s, err := Solve(p)
		require.NoError(t, err)
		optimal(t, p, s)
	}
}

// A general-purpose optimiser on the exterior penalty comes near from outside.
func TestSolveAgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	for range 30 {
		n := 2 + rng.IntN(4)
		p := random(rng, n, 12)
		s, err := Solve(p)
		require.NoError(t, err)
		const weight = 1e5
		slack := func(r int, x []float64) float64 {
			v := -p.B[r]
			for k := range n {
				v += p.A[r*n+k] * x[k]
			}
			return min(v, 0)
		}
		res, err := optimize.Minimize(optimize.Problem{
			Func: func(x []float64) float64 {
				v := value(p, x)
				for r := range p.B {
					v += 0.5 * weight * slack(r, x) * slack(r, x)
				}
				return v
			},
			Grad: func(g, x []float64) {
				for i := range n {
					g[i] = p.G[i]
					for j := range n {
						g[i] += p.H[i*n+j] * x[j]
					}
				}
				for r := range p.B {
					v := weight * slack(r, x)
					for k := range n {
						g[k] += v * p.A[r*n+k]
					}
				}
			},
		}, make([]float64, n), &optimize.Settings{GradientThreshold: 1e-6}, &optimize.BFGS{})
		if err != nil {
			require.ErrorContains(t, err, "linesearch") // at the end of its precision
		}
		for i := range n {
			require.InDelta(t, res.X[i], s.X[i], 2e-3)
		}
	}
}

// With a small quadratic part it solves linear programs: against gonum's simplex.
func TestSolveLinear(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 5))
	for range 50 {
		n, m := 2+rng.IntN(4), 10
		p := random(rng, n, m)
		for i := range p.H {
			p.H[i] = 0
		}
		for k := range n {
			p.H[k*n+k] = 1e-7
			for _, sign := range []float64{1, -1} {
				row := make([]float64, n)
				row[k] = sign
				p.A, p.B = append(p.A, row...), append(p.B, -5)
			}
		}
		s, err := Solve(p)
		require.NoError(t, err)
		// gonum wants Gx ≤ h with free x, turned to its standard form.
		neg := make([]float64, len(p.A))
		for i, v := range p.A {
			neg[i] = -v
		}
		h := make([]float64, len(p.B))
		for i, v := range p.B {
			h[i] = -v
		}
		c, a, b := lp.Convert(p.G, mat.NewDense(len(p.B), n, neg), h, nil, nil)
		want, _, err := lp.Simplex(c, a, b, 1e-10, nil)
		require.NoError(t, err)
		got := 0.0
		for i := range n {
			got += p.G[i] * s.X[i]
		}
		require.InDelta(t, want, got, 1e-4)
	}
}

func TestSolveRefuses(t *testing.T) {
	id := []float64{1, 0, 0, 1}
	_, err := Solve(&Problem{H: id, G: []float64{0, 0}, A: []float64{1, 0, -1, 0}, B: []float64{1, 0}})
	require.ErrorIs(t, err, ErrInfeasible)
	_, err = Solve(&Problem{H: []float64{1, 0, 0, 0}, G: []float64{0, 0}})
	require.ErrorIs(t, err, ErrNotConvex)
	_, err = Solve(&Problem{H: []float64{math.NaN()}, G: []float64{0}})
	require.ErrorIs(t, err, ErrNotConvex)
	_, err = Solve(&Problem{H: id, G: []float64{0, 0}, A: []float64{1}, B: []float64{1}})
	require.Error(t, err)
	require.False(t, errors.Is(err, ErrInfeasible))
}

// A weight on two springs divides as their stiffnesses.
func TestSolveTwoSprings(t *testing.T) {
	const k1, k2, load = 3.0, 5.0, 4.0
	// Unknown: the plate's height z and the tops of the springs a, b; z ≤ a, z ≤ b
	// pushes them down.
	p := &Problem{
		H: []float64{1e-6, 0, 0, 0, k1, 0, 0, 0, k2}, G: []float64{load, 0, 0},
		A: []float64{1, -1, 0, 1, 0, -1}, B: []float64{0, 0},
	}
	s, err := Solve(p)
	require.NoError(t, err)
	require.Len(t, s.Active, 2)
	require.InDelta(t, load*k1/(k1+k2), s.Active[0].Value, 1e-6)
	require.InDelta(t, load*k2/(k1+k2), s.Active[1].Value, 1e-6)
	require.InDelta(t, -load/(k1+k2), s.X[0], 1e-6)
}
