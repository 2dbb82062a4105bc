package geom

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Quadric fits z = a + b·x + c·y + d·x² + e·xy + f·y² by least squares.
type Quadric struct {
	// N is how many points were added.
	N   int
	xtx [6][6]float64 // on and above the diagonal
	xtz [6]float64
}

// Add takes a point in.
func (q *Quadric) Add(x, y, z float64) {
	row := [6]float64{1, x, y, x * x, x * y, y * y}
	for i, a := range row {
		for j := i; j < len(row); j++ {
			q.xtx[i][j] += a * row[j]
		}
		q.xtz[i] += a * z
	}
	q.N++
}

// Solve is the coefficients a to f; false where the points do not hold the surface.
func (q *Quadric) Solve() (k [6]float64, ok bool) {
	if q.N < 8 {
		return k, false
	}
	a := mat.NewSymDense(6, nil)
	for i := range 6 {
		for j := i; j < 6; j++ {
			a.SetSym(i, j, q.xtx[i][j])
		}
	}
	var ch mat.Cholesky
	if !ch.Factorize(a) || ch.Cond() > 1e10 {
		return k, false
	}
	var x mat.VecDense
	if err := ch.SolveVecTo(&x, mat.NewVecDense(6, q.xtz[:])); err != nil {
		return k, false
	}
	copy(k[:], x.RawVector().Data)
	return k, true
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
