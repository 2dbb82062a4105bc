package segment

import (
	"cmp"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// ownFrame is a frame that moves with a scan: about the middle of its surface, along the principal axes, the longest
// first. In it a scan is read the same however it lies in its file. Two axes point to where the surface reaches farther
// (positive third moment), those two of which that tells most; the remaining one, in arches mostly that across their
// symmetry, follows from them.
func ownFrame(m *mesh.Mesh) view {
	middle := meanOver(m, func(p r3.Vec) r3.Vec { return p })
	spread := func(from r3.Vec, side r3.Vec) r3.Vec {
		return meanOver(m, func(p r3.Vec) r3.Vec { d := r3.Sub(p, from); return r3.Scale(r3.Dot(d, side), d) })
	}
	var s [3][3]float64
	for i, e := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		row := spread(middle, e)
		s[i] = [3]float64{row.X, row.Y, row.Z}
	}
	axes, variance := principal(s)
	least, weakest := math.Inf(1), 0
	for i, e := range axes {
		third := meanOver(m, func(p r3.Vec) r3.Vec {
			h := r3.Dot(r3.Sub(p, middle), e)
			return r3.Vec{X: h * h * h}
		}).X
		if third < 0 {
			axes[i] = r3.Scale(-1, e)
		}
		if skew := math.Abs(third) / max(variance[i]*math.Sqrt(variance[i]), 1e-12); skew < least {
			least, weakest = skew, i
		}
	}
	axes[weakest] = r3.Cross(axes[(weakest+1)%3], axes[(weakest+2)%3])
	return view{middle, axes[0], axes[1], axes[2]}
}

// meanOver is the mean of f over a surface, from the middles of edges: exact up to squares, whatever the triangles.
func meanOver(m *mesh.Mesh, f func(r3.Vec) r3.Vec) r3.Vec {
	var sum r3.Vec
	total := 0.0
	for t := range m.All() {
		a, b, c := m.Corners(t)
		area := r3.Norm(m.AreaVector(t))
		for _, p := range [3]r3.Vec{r3.Add(a, b), r3.Add(b, c), r3.Add(c, a)} {
			sum = r3.Add(sum, r3.Scale(area/3, f(r3.Scale(0.5, p))))
		}
		total += area
	}
	return r3.Scale(1/max(total, 1e-12), sum)
}

// principal is the eigenvectors of a symmetric matrix and its eigenvalues, the greatest first, by Jacobi's rotations
// (G. Golub, C. Van Loan, Matrix Computations, 8.5; from memory). 12 sweeps are more than it ever takes.
func principal(s [3][3]float64) (axes [3]r3.Vec, values [3]float64) {
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
