package geom

import "math"

// DD is a number of about 32 digits: the unevaluated sum of two float64 (Dekker
// 1971, Numer Math 18:224-242). It serves where a difference of nearly equal
// products decides.
type DD struct {
	Hi, Lo float64
}

func twoSum(a, b float64) DD {
	s := a + b
	t := s - a
	return DD{s, (a - (s - t)) + (b - t)}
}

// Product is a·b without rounding.
func Product(a, b float64) DD {
	p := float64(a * b)
	return DD{p, math.FMA(a, b, -p)}
}

// Difference is a−b without rounding.
func Difference(a, b float64) DD { return twoSum(a, -b) }

// Add is x+y.
func (x DD) Add(y DD) DD {
	s, t := twoSum(x.Hi, y.Hi), twoSum(x.Lo, y.Lo)
	s = twoSum(s.Hi, s.Lo+t.Hi)
	return twoSum(s.Hi, s.Lo+t.Lo)
}

// Neg is −x.
func (x DD) Neg() DD { return DD{-x.Hi, -x.Lo} }

// Sub is x−y.
func (x DD) Sub(y DD) DD { return x.Add(y.Neg()) }

// Mul is x·y.
func (x DD) Mul(y DD) DD {
	p := Product(x.Hi, y.Hi)
	return twoSum(p.Hi, p.Lo+(float64(x.Hi*y.Lo)+float64(x.Lo*y.Hi)))
}

// Div is x/y.
func (x DD) Div(y DD) DD {
	q := x.Hi / y.Hi
	r := x.Sub(y.Mul(DD{Hi: q}))
	return twoSum(q, (r.Hi+r.Lo)/y.Hi)
}

// Sqrt is the square root of x, 0 for x ≤ 0.
func (x DD) Sqrt() DD {
	if x.Hi <= 0 {
		return DD{}
	}
	s := math.Sqrt(x.Hi)
	r := x.Sub(Product(s, s))
	return twoSum(s, r.Hi/(2*s))
}

// Float is x rounded.
func (x DD) Float() float64 { return x.Hi + x.Lo }
