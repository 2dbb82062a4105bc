// Package qp solves small dense convex quadratic programs with many linear
// inequalities: a few to a few hundred unknowns, up to hundreds of thousands of
// rows.
package qp

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Reasons for which a program has no solution.
var (
	ErrInfeasible = errors.New("no point satisfies all constraints")
	ErrNotConvex  = errors.New("the quadratic form is not positive definite")
	ErrStalled    = errors.New("the active set does not come to an end")
)

// Problem is: minimise ½·xᵀHx + gᵀx subject to Ax ≥ b. Linear programs are
// solved by a sequence of problems with a small H (proximal points).
type Problem struct {
	// H is symmetric and positive definite, n×n row-major; only its lower
	// triangle is read.
	H []float64
	// G is the linear part; its length is the number n of unknowns.
	G []float64
	// A holds the rows of the constraints one after the other, n numbers each,
	// B their right sides.
	A, B []float64
	// Tolerance is by how much a row may be violated, in units of B; 0 means
	// 1e-12.
	Tolerance float64
}

// Solution is the unique minimum.
type Solution struct {
	X []float64
	// Active are the rows that hold x, in rising order, with their multipliers
	// λ > 0: Hx + g = Σ λ·row.
	Active []Multiplier
}

// Multiplier is the force of one row.
type Multiplier struct {
	Row   int
	Value float64
}

// dependent is the share of a row, squared, below which it counts as a
// combination of active rows: 1e-7 of its length, well above rounding.
const dependent = 1e-14

// Solve finds the minimum by the dual active-set method of Goldfarb and Idnani
// (1983, Math Program 27:1-33): from the unconstrained minimum it adds the most
// violated row (the first of equals) until none is violated, and drops rows
// whose multiplier would become negative. It needs no feasible start, and the
// result depends on the problem alone.
func Solve(p *Problem) (Solution, error) {
	x, err := Prepare(p)
	if err != nil {
		return Solution{}, err
	}
	return x.Solve(p.G)
}

// Prepared is a problem made ready to be solved for more than one linear part.
type Prepared struct {
	p    *Problem
	n    int
	rows sparse
	j    []float64 // L⁻ᵀ of H = LLᵀ, n×n row-major
}

// Prepare does what does not depend on the linear part. The problem must not be changed but
// for G, which is not looked at again.
func Prepare(p *Problem) (*Prepared, error) {
	n := len(p.G)
	if len(p.H) != n*n || len(p.A) != n*len(p.B) {
		return nil, fmt.Errorf("qp: %d unknowns do not go with %d numbers in H, %d in A and %d in B", n, len(p.H), len(p.A), len(p.B))
	}
	x := &Prepared{p: p, n: n, rows: newSparse(p.A, n)}
	if !x.factor() {
		return nil, ErrNotConvex
	}
	return x, nil
}

// Solve is [Solve] with another linear part.
func (x *Prepared) Solve(g []float64) (Solution, error) {
	n := x.n
	s := solver{p: x.p, n: n, tol: x.p.Tolerance, rows: &x.rows, j: slices.Clone(x.j)}
	if s.tol == 0 {
		s.tol = 1e-12
	}
	s.start(g)
	// Each pass raises the dual, so no active set comes twice but by rounding.
	for range 50*n + 1000 {
		row, slack := s.mostViolated()
		if row < 0 {
			return s.solution(), nil
		}
		if !s.add(row, slack) {
			return Solution{}, ErrInfeasible
		}
	}
	return Solution{}, ErrStalled
}

// sparse is the rows of a matrix without their zeros, most of a row where many unknowns meet
// only in a few: entries first[i] to first[i+1] are those of row i.
type sparse struct {
	first  []int
	column []int32
	value  []float64
}

func newSparse(a []float64, n int) sparse {
	s := sparse{first: []int{0}}
	for lo := 0; lo < len(a); lo += n {
		for k, v := range a[lo : lo+n] {
			if v != 0 {
				s.column, s.value = append(s.column, int32(k)), append(s.value, v)
			}
		}
		s.first = append(s.first, len(s.column))
	}
	return s
}

func (s *sparse) row(i int) (column []int32, value []float64) {
	lo, hi := s.first[i], s.first[i+1]
	return s.column[lo:hi], s.value[lo:hi]
}

type solver struct {
	p    *Problem
	n    int
	tol  float64
	rows *sparse
	x    []float64
	// With the active rows N: JᵀN = (R, 0)ᵀ and JJᵀ = H⁻¹.
	j      []float64 // n×n row-major
	r      []float64 // n×n row-major, upper triangle of the first len(active) columns
	active []int
	u      []float64 // multipliers of the active rows
	d      []float64
	back   []float64
}

// factor takes H apart; false where it is not positive definite.
func (x *Prepared) factor() bool {
	n := x.n
	l := make([]float64, n*n)
	for i := range n {
		for k := range i + 1 {
			sum := x.p.H[i*n+k]
			for m, v := range l[i*n : i*n+k] {
				if v != 0 {
					sum -= v * l[k*n+m]
				}
			}
			if i == k {
				if !(sum > 0) || math.IsInf(sum, 1) {
					return false
				}
				l[i*n+i] = math.Sqrt(sum)
			} else {
				l[i*n+k] = sum / l[k*n+k]
			}
		}
	}
	// J = L⁻ᵀ, column by column of L⁻¹.
	x.j = make([]float64, n*n)
	for k := range n {
		for i := k; i < n; i++ {
			v := 0.0
			if i == k {
				v = 1
			}
			for m, w := range l[i*n+k : i*n+i] {
				if w != 0 {
					v -= w * x.j[k*n+k+m]
				}
			}
			x.j[k*n+i] = v / l[i*n+i]
		}
	}
	return true
}

// start goes to the unconstrained minimum.
func (s *solver) start(g []float64) {
	n := s.n
	s.r = make([]float64, n*n)
	s.d, s.back, s.x = make([]float64, n), make([]float64, n), make([]float64, n)
	for k, g := range g {
		for i, v := range s.j[k*n : k*n+n] {
			s.d[i] -= v * g
		}
	}
	for i := range n {
		for k := range n {
			s.x[i] += s.j[i*n+k] * s.d[k]
		}
	}
}

func (s *solver) mostViolated() (row int, slack float64) {
	row, slack = -1, -s.tol
	for i, b := range s.p.B {
		v := -b
		column, value := s.rows.row(i)
		for m, k := range column {
			v += value[m] * s.x[k]
		}
		if v < slack && !slices.Contains(s.active, i) {
			row, slack = i, v
		}
	}
	return row, slack
}

// add makes a violated row hold; false if that is impossible.
func (s *solver) add(row int, slack float64) bool {
	n := s.n
	column, value := s.rows.row(row)
	mult := 0.0
	for {
		q := len(s.active)
		all, free := 0.0, 0.0
		clear(s.d)
		for m, k := range column {
			for i, v := range s.j[int(k)*n : int(k)*n+n] {
				s.d[i] += v * value[m]
			}
		}
		for i, v := range s.d {
			all += v * v
			if i >= q {
				free += v * v
			}
		}
		// back = R⁻¹·d of the active part: how the multipliers must change.
		for i := q - 1; i >= 0; i-- {
			v := s.d[i]
			for k := i + 1; k < q; k++ {
				v -= s.r[i*n+k] * s.back[k]
			}
			s.back[i] = v / s.r[i*n+i]
		}
		drop, t1 := -1, math.Inf(1)
		for i := range q {
			if s.back[i] > 0 {
				if t := s.u[i] / s.back[i]; t < t1 {
					drop, t1 = i, t
				}
			}
		}
		t2 := math.Inf(1)
		if free > dependent*all {
			t2 = -slack / free
		}
		t := min(t1, t2)
		if math.IsInf(t, 1) {
			return false
		}
		for i := range q {
			s.u[i] -= t * s.back[i]
		}
		mult += t
		if !math.IsInf(t2, 1) {
			for i := range n {
				v := 0.0
				for k := q; k < n; k++ {
					v += s.j[i*n+k] * s.d[k]
				}
				s.x[i] += t * v
			}
			slack += t * free
		}
		if t2 <= t1 {
			s.enter(row, mult)
			return true
		}
		s.leave(drop)
	}
}

// enter puts a row with d = Jᵀ·row into the factors.
func (s *solver) enter(row int, mult float64) {
	n, q := s.n, len(s.active)
	for i := n - 1; i > q; i-- {
		if s.d[i] == 0 {
			continue
		}
		h := math.Hypot(s.d[i-1], s.d[i])
		c, v := s.d[i-1]/h, s.d[i]/h
		s.d[i-1], s.d[i] = h, 0
		for k := range n {
			a, b := s.j[k*n+i-1], s.j[k*n+i]
			s.j[k*n+i-1], s.j[k*n+i] = c*a+v*b, c*b-v*a
		}
	}
	for i := range q + 1 {
		s.r[i*n+q] = s.d[i]
	}
	s.active, s.u = append(s.active, row), append(s.u, mult)
}

// leave takes the k-th active row out of the factors.
func (s *solver) leave(k int) {
	n, q := s.n, len(s.active)
	for c := k + 1; c < q; c++ {
		for i := range c + 1 {
			s.r[i*n+c-1] = s.r[i*n+c]
		}
	}
	for i := k; i < q-1; i++ {
		x, y := s.r[i*n+i], s.r[(i+1)*n+i]
		if y == 0 {
			continue
		}
		h := math.Hypot(x, y)
		c, v := x/h, y/h
		for m := i; m < q-1; m++ {
			a, b := s.r[i*n+m], s.r[(i+1)*n+m]
			s.r[i*n+m], s.r[(i+1)*n+m] = c*a+v*b, c*b-v*a
		}
		s.r[(i+1)*n+i] = 0
		for m := range n {
			a, b := s.j[m*n+i], s.j[m*n+i+1]
			s.j[m*n+i], s.j[m*n+i+1] = c*a+v*b, c*b-v*a
		}
	}
	s.active, s.u = slices.Delete(s.active, k, k+1), slices.Delete(s.u, k, k+1)
}

func (s *solver) solution() Solution {
	out := Solution{X: s.x}
	for i, r := range s.active {
		if s.u[i] > 0 {
			out.Active = append(out.Active, Multiplier{r, s.u[i]})
		}
	}
	slices.SortFunc(out.Active, func(a, b Multiplier) int { return a.Row - b.Row })
	return out
}
