package geom

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

func exactOf(x DD) *big.Float {
	f := new(big.Float).SetPrec(2000).SetFloat64(x.Hi)
	return f.Add(f, new(big.Float).SetFloat64(x.Lo))
}

// relative is |got−want|/|want|.
func relative(got DD, want *big.Float) float64 {
	e := new(big.Float).SetPrec(2000).Sub(exactOf(got), want)
	if want.Sign() == 0 {
		f, _ := e.Float64()
		return math.Abs(f)
	}
	f, _ := e.Quo(e, want).Float64()
	return math.Abs(f)
}

func randomDD(rng *rand.Rand) DD {
	x := math.Ldexp(2*rng.Float64()-1, rng.IntN(60)-30)
	return twoSum(x, math.Ldexp(x, -54)*(2*rng.Float64()-1))
}

// The bounds are those of double-double arithmetic without a last correction,
// 2^-102 or better, relative to the result; of sums to the larger summand.
func TestDDAgainstBigFloat(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 1))
	const tol = 0x1p-101
	for i := range 20000 {
		x, y := randomDD(rng), randomDD(rng)
		bx, by := exactOf(x), exactOf(y)
		big2 := func() *big.Float { return new(big.Float).SetPrec(2000) }
		if e := relative(Product(x.Hi, y.Hi), big2().Mul(big2().SetFloat64(x.Hi), big2().SetFloat64(y.Hi))); e != 0 {
			t.Fatalf("case %d: Product is off by %g", i, e)
		}
		if e := relative(Difference(x.Hi, y.Hi), big2().Sub(big2().SetFloat64(x.Hi), big2().SetFloat64(y.Hi))); e != 0 {
			t.Fatalf("case %d: Difference is off by %g", i, e)
		}
		for name, r := range map[string]struct {
			got  DD
			want *big.Float
		}{
			"Add":  {x.Add(y), big2().Add(bx, by)},
			"Sub":  {x.Sub(y), big2().Sub(bx, by)},
			"near": {x.Sub(DD{x.Hi, 0}), big2().Sub(bx, big2().SetFloat64(x.Hi))}, // cancels
			"Mul":  {x.Mul(y), big2().Mul(bx, by)},
			"Div":  {x.Div(y), big2().Quo(bx, by)},
			"Sqrt": {x.Mul(x).Sqrt(), big2().Sqrt(exactOf(x.Mul(x)))},
		} {
			if e := relative(r.got, r.want); e > tol {
				t.Fatalf("case %d: %s of %v and %v is off by %g", i, name, x, y, e)
			}
			if r.got.Hi != r.got.Float() {
				t.Fatalf("case %d: %s is not normal: %v", i, name, r.got)
			}
		}
	}
}

func TestDDAtItsEdges(t *testing.T) {
	for _, x := range []DD{{}, {Hi: -1}, {Hi: math.Copysign(0, -1)}} {
		if got := x.Sqrt(); got != (DD{}) {
			t.Errorf("the root of %v is %v", x, got)
		}
	}
	if got := (DD{Hi: 1, Lo: 0x1p-80}).Neg(); got != (DD{Hi: -1, Lo: -0x1p-80}) {
		t.Error(got)
	}
	// (1+ε)² − 1 − 2ε = ε², which one float64 cannot tell from 0.
	e := 0x1p-50
	if got := Product(1+e, 1+e).Sub(DD{Hi: 1}).Sub(DD{Hi: 2 * e}).Float(); got != e*e {
		t.Errorf("%g, not %g", got, e*e)
	}
}
