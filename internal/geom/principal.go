package geom

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Principal is the eigenvectors of a symmetric matrix and its eigenvalues, the greatest first, by Jacobi's rotations
// (G. Golub, C. Van Loan, Matrix Computations, 8.5; from memory). 12 sweeps are more than it ever takes.
func Principal(s [3][3]float64) (axes [3]r3.Vec, values [3]float64) {
	v := [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}} // columns
	for range 12 {
		for _, pq := range [3][2]int{{0, 1}, {0, 2}, {1, 2}} {
			p, q := pq[0], pq[1]
			if s[p][q] == 0 {
				continue
			}
			tau := (s[q][q] - s[p][p]) / (2 * s[p][q])
			t := math.Copysign(1, tau) / (math.Abs(tau) + math.Sqrt(1+tau*tau))
			cos := 1 / math.Sqrt(1+t*t)
			sin := t * cos
			for k := range 3 {
				s[k][p], s[k][q] = cos*s[k][p]-sin*s[k][q], sin*s[k][p]+cos*s[k][q]
			}
			for k := range 3 {
				s[p][k], s[q][k] = cos*s[p][k]-sin*s[q][k], sin*s[p][k]+cos*s[q][k]
			}
			for k := range 3 {
				v[k][p], v[k][q] = cos*v[k][p]-sin*v[k][q], sin*v[k][p]+cos*v[k][q]
			}
		}
	}
	order := [3]int{0, 1, 2}
	slices.SortStableFunc(order[:], func(a, b int) int { return cmp.Compare(s[b][b], s[a][a]) })
	for i, k := range order {
		axes[i], values[i] = r3.Vec{X: v[0][k], Y: v[1][k], Z: v[2][k]}, max(0, s[k][k])
	}
	return axes, values
}
