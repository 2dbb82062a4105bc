// Package portable has elementary functions that give the same bits on every
// processor that does not fuse a·b + c: those of package math have a form of their
// own for some processors, which differs in the last bit.
package portable

import "math"

// Ln 2 in two parts: the first has 32 bits, so that its product with a small whole
// number is exact; the method is that of Cody & Waite, Software Manual for the Elementary
// Functions (from memory), the values are computed and tested here.
const (
	ln2Hi = 0x1.62e42fee00000p-1
	ln2Lo = 0x1.a39ef35793c76p-33
)

// Exp returns e to the x, to within two units in the last place: x = k·ln 2 + r with
// |r| ≤ ln 2 / 2, and the series of e^r.
func Exp(x float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x > 709.79:
		return math.Inf(1)
	case x < -745.14:
		return 0
	}
	k := math.Round(x / math.Ln2)
	r := (x - k*ln2Hi) - k*ln2Lo
	sum := 0.0
	for n := len(series) - 1; n >= 0; n-- {
		sum = series[n] + sum*r
	}
	return math.Ldexp(sum, int(k))
}

// series is 1/n! from n = 0 to 15; 0.35^16 / 16! is under 2^-60.
var series = [...]float64{
	1, 1, 1. / 2, 1. / 6, 1. / 24, 1. / 120, 1. / 720, 1. / 5040, 1. / 40320, 1. / 362880, 1. / 3628800, 1. / 39916800,
	1. / 479001600, 1. / 6227020800, 1. / 87178291200, 1. / 1307674368000,
}

// Log returns the natural logarithm of x, to within two units in the last place off 1
// and absolutely to 1e-16 near it: x = 2^k·m with m from √½ to √2, and the series
// ln m = 2·(s + s³/3 + …) with s = (m − 1)/(m + 1).
func Log(x float64) float64 {
	switch {
	case math.IsNaN(x) || x < 0:
		return math.NaN()
	case x == 0:
		return math.Inf(-1)
	case math.IsInf(x, 1):
		return x
	}
	m, k := math.Frexp(x)
	if m < math.Sqrt2/2 {
		m, k = 2*m, k-1
	}
	s := (m - 1) / (m + 1)
	sum := 0.0
	for n := 23; n >= 3; n -= 2 { // |s| ≤ 0.172, and 0.172^25 is under 2^-63
		sum = (sum + 1/float64(n)) * s * s
	}
	return float64(k)*ln2Hi + (2*s + (2*s*sum + float64(k)*ln2Lo))
}
