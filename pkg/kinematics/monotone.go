package kinematics

import (
	"math"
	"slices"
)

// monotone is a piecewise cubic through points with growing x that rises and falls only
// where the points do (F. N. Fritsch and J. Butland 1984, SIAM J. Sci. Stat. Comput.
// 5:300-304). It is ours because the library that has it brings a whole linear algebra
// into the program that embeds us.
type monotone struct {
	x     []float64
	cubic [][4]float64 // of the piece from x[i] on: a0 + a1·d + a2·d² + a3·d³, d = x − x[i]
}

// newMonotone fits at least two points whose x grow.
func newMonotone(x, y []float64) monotone {
	secant := make([]float64, len(x)-1)
	for i := range secant {
		secant[i] = (y[i+1] - y[i]) / (x[i+1] - x[i])
	}
	slope := slopes(x, secant)
	m := monotone{x: x, cubic: make([][4]float64, len(secant))}
	for i := range m.cubic {
		dx, dy := x[i+1]-x[i], y[i+1]-y[i]
		m.cubic[i] = [4]float64{
			y[i],
			slope[i],
			(3*dy - (2*slope[i]+slope[i+1])*dx) / dx / dx,
			(-2*dy + (slope[i]+slope[i+1])*dx) / dx / dx / dx,
		}
	}
	return m
}

// slopes are the derivatives at the points: inside, a weighted harmonic mean of the secants
// on both sides, none where they change sign; at the ends that of the parabola through three
// points, limited so that it turns nowhere.
func slopes(x, secant []float64) []float64 {
	n := len(x) - 1
	out := make([]float64, len(x))
	if n == 1 {
		out[0], out[1] = secant[0], secant[0]
		return out
	}
	for i := 1; i < n; i++ {
		if before, after := secant[i-1], secant[i]; before*after > 0 {
			out[i] = 3 * (x[i+1] - x[i-1]) /
				((2*x[i+1]-x[i-1]-x[i])/before + (x[i+1]+x[i]-2*x[i-1])/after)
		}
	}
	end := func(near, far, hNear, hFar float64) float64 {
		g := ((2*hNear+hFar)*near - hNear*far) / (hNear + hFar)
		switch {
		case g*near <= 0:
			return 0
		case near*far <= 0 && math.Abs(g) > 3*math.Abs(near):
			return 3 * near
		}
		return g
	}
	out[0] = end(secant[0], secant[1], x[1]-x[0], x[2]-x[1])
	out[n] = end(secant[n-1], secant[n-2], x[n]-x[n-1], x[n-1]-x[n-2])
	return out
}

// at is the value and the derivative at x between the first and the last point.
func (m *monotone) at(x float64) (y, slope float64) {
	i, found := slices.BinarySearch(m.x, x)
	if !found {
		i--
	}
	i = min(max(i, 0), len(m.cubic)-1)
	a, d := &m.cubic[i], x-m.x[i]
	return ((a[3]*d+a[2])*d+a[1])*d + a[0], (3*a[3]*d+2*a[2])*d + a[1]
}
