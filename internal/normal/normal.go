// Package normal solves small least squares problems by their normal equations. Its
// sums have one order, so that results are the same bits on every processor that does
// not fuse a·b + c; general matrix libraries order them by processor.
package normal

import "math"

// Most is the largest number of unknowns.
const Most = 6

// Equations are the normal equations AᵀWA·x = AᵀW·b of weighted least squares.
type Equations struct {
	n int
	a [Most][Most]float64
	b [Most]float64
}

// New returns the equations of n unknowns, 1 to [Most], without any row yet.
func New(n int) Equations { return Equations{n: n} }

// Symmetric returns the equations whose matrix is given, by at(row, column) on and
// below the diagonal, with a right side of zeros.
func Symmetric(n int, at func(i, j int) float64) Equations {
	e := New(n)
	for i := range n {
		for j := range i + 1 {
			e.a[i][j], e.a[j][i] = at(i, j), at(i, j)
		}
	}
	return e
}

// Add takes the row·x = value in with a weight. The row has as many entries as there
// are unknowns.
func (e *Equations) Add(row []float64, value, weight float64) {
	for i := range e.n {
		for j := range e.n {
			e.a[i][j] += weight * row[i] * row[j]
		}
		e.b[i] += weight * value * row[i]
	}
}

// Solve returns the unknowns; ok is false where the condition of the equations (in
// the maximum norm) is over worst, so that some motion of the unknowns is free.
func (e *Equations) Solve(worst float64) (x [Most]float64, ok bool) {
	inverse, ok := e.Inverse()
	if !ok || norm(&e.a, e.n)*norm(&inverse, e.n) > worst {
		return x, false
	}
	l, _ := e.factor()
	return l.solve(e.b, e.n), true
}

// Inverse returns the inverse of the equations' matrix; ok is false where it is not
// positive definite.
func (e *Equations) Inverse() (inverse [Most][Most]float64, ok bool) {
	l, ok := e.factor()
	if !ok {
		return inverse, false
	}
	for j := range e.n {
		var unit [Most]float64
		unit[j] = 1
		for i, v := range l.solve(unit, e.n) {
			inverse[i][j] = v
		}
	}
	return inverse, true
}

// lower is a lower triangular matrix L with L·Lᵀ = A (Cholesky; Golub & Van Loan,
// Matrix Computations, 4th ed., algorithm 4.2.1).
type lower [Most][Most]float64

func (e *Equations) factor() (l lower, ok bool) {
	for i := range e.n {
		for j := range i + 1 {
			s := e.a[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = s / l[j][j]
				continue
			}
			if !(s > 0) || math.IsInf(s, 0) {
				return l, false
			}
			l[i][i] = math.Sqrt(s)
		}
	}
	return l, true
}

func (l *lower) solve(b [Most]float64, n int) (x [Most]float64) {
	for i := range n {
		s := b[i]
		for k := range i {
			s -= l[i][k] * x[k]
		}
		x[i] = s / l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		s := x[i]
		for k := i + 1; k < n; k++ {
			s -= l[k][i] * x[k]
		}
		x[i] = s / l[i][i]
	}
	return x
}

func norm(a *[Most][Most]float64, n int) float64 {
	most := 0.0
	for i := range n {
		sum := 0.0
		for j := range n {
			sum += math.Abs(a[i][j])
		}
		most = max(most, sum)
	}
	return most
}
