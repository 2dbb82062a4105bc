package geom

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/normal"
)

// Quadric fits z = a + b·x + c·y + d·x² + e·xy + f·y² by least squares.
type Quadric struct {
	// N is how many points were added.
	N         int
	equations normal.Equations
}

// Add takes a point in.
func (q *Quadric) Add(x, y, z float64) {
	if q.N == 0 {
		q.equations = normal.New(6)
	}
	q.equations.Add([]float64{1, x, y, x * x, x * y, y * y}, z, 1)
	q.N++
}

// Solve is the coefficients a to f; false where the points do not hold the surface.
func (q *Quadric) Solve() (k [6]float64, ok bool) {
	if q.N < 8 {
		return k, false
	}
	return q.equations.Solve(1e10)
}

// Top is the highest point of the fitted surface; false where it has none.
func (q *Quadric) Top() (x, y, z float64, ok bool) {
	k, ok := q.Solve()
	if !ok {
		return 0, 0, 0, false
	}
	det := 4*k[3]*k[5] - k[4]*k[4]
	if !(k[3] < 0 && det > 0) {
		return 0, 0, 0, false
	}
	x, y = (k[4]*k[2]-2*k[5]*k[1])/det, (k[4]*k[1]-2*k[3]*k[2])/det
	z = k[0] + (k[1]*x+k[2]*y)/2
	return x, y, z, !math.IsNaN(z)
}
