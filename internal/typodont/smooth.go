package typodont

import "math"

// smax is the larger of a and b with the edge between them rounded over a
// width k (in the unit of a and b). It is once differentiable, exact where the
// two differ by k or more, and never less than the larger one.
func smax(a, b, k float64) float64 {
	h := k - math.Abs(a-b)
	if h <= 0 {
		return max(a, b)
	}
	return max(a, b) + h*h/(4*k)
}

// smin is the smaller of a and b, rounded like [smax].
func smin(a, b, k float64) float64 { return -smax(-a, -b, k) }

// bump falls from 1 at r² = 0 to 0 at r² = 1, twice differentiable.
func bump(r2 float64) float64 {
	if r2 >= 1 {
		return 0
	}
	q := 1 - r2
	return q * q * q
}

// step rises from 0 at x ≤ 0 to 1 at x ≥ 1, twice differentiable.
func step(x float64) float64 {
	x = min(max(x, 0), 1)
	return x * x * x * (x*(6*x-15) + 10)
}

// A profile is a smooth function of the height on the crown, 0 at the cervical
// line and 1 at the level of the cusp tips.
type profile struct{ y [profileCells + 1]float64 }

const (
	profileLow   = -0.5 // below this the profile stays constant
	profileHigh  = 1.25
	profileCells = 42
)

// newProfile passes a monotone cubic (Fritsch and Carlson 1980) through the
// given pairs of height and value, heights rising.
func newProfile(knots ...[2]float64) profile {
	n := len(knots)
	slope := make([]float64, n)
	for i := 1; i < n-1; i++ {
		a := (knots[i][1] - knots[i-1][1]) / (knots[i][0] - knots[i-1][0])
		b := (knots[i+1][1] - knots[i][1]) / (knots[i+1][0] - knots[i][0])
		if a*b > 0 {
			slope[i] = 2 * a * b / (a + b)
		}
	}
	if n > 1 {
		slope[0] = (knots[1][1] - knots[0][1]) / (knots[1][0] - knots[0][0])
		slope[n-1] = (knots[n-1][1] - knots[n-2][1]) / (knots[n-1][0] - knots[n-2][0])
	}
	var p profile
	for c := range p.y {
		u := profileLow + (profileHigh-profileLow)*float64(c)/profileCells
		i := 0
		for i < n-2 && u > knots[i+1][0] {
			i++
		}
		switch {
		case u <= knots[0][0]:
			p.y[c] = knots[0][1] + slope[0]*(u-knots[0][0])
		case u >= knots[n-1][0]:
			p.y[c] = knots[n-1][1] + slope[n-1]*(u-knots[n-1][0])
		default:
			w := knots[i+1][0] - knots[i][0]
			p.y[c] = hermite(knots[i][1], knots[i+1][1], slope[i]*w, slope[i+1]*w, (u-knots[i][0])/w)
		}
	}
	return p
}

// scale multiplies the values by k.
func (p *profile) scale(k float64) {
	for i := range p.y {
		p.y[i] *= k
	}
}

// at is the value at height u.
func (p *profile) at(u float64) float64 {
	x := (u - profileLow) / (profileHigh - profileLow) * profileCells
	if x <= 0 {
		return p.y[0]
	}
	if x >= profileCells {
		return p.y[profileCells]
	}
	i := int(x)
	before, after := p.y[max(i-1, 0)], p.y[min(i+2, profileCells)]
	a, b := p.y[i], p.y[i+1]
	return hermite(a, b, (b-before)/2, (after-a)/2, x-float64(i))
}

func hermite(a, b, da, db, t float64) float64 {
	d := b - a
	return a + t*(da+t*(3*d-2*da-db+t*(da+db-2*d)))
}
