package portable

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// Against package math, whose functions are within one unit in the last place.
func TestAgainstMath(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200_000 {
		x := (rng.Float64() - 0.5) * math.Pow(10, 6*rng.Float64()-3)
		require.InEpsilon(t, math.Exp(x), Exp(x), 5e-16, x)
		y := math.Exp((rng.Float64() - 0.5) * 1400)
		require.InDelta(t, math.Log(y), Log(y), 4e-16*max(0.5, math.Abs(math.Log(y))), y)
	}
}

func TestExactValues(t *testing.T) {
	require.Equal(t, 1.0, Exp(0))
	require.InEpsilon(t, math.E, Exp(1), 4e-16)
	require.Equal(t, 0.0, Log(1))
	require.Equal(t, math.Ln2, Log(2))
	require.Equal(t, -math.Ln2, Log(0.5))
	require.InEpsilon(t, math.Ln10, Log(10), 3e-16)
	require.True(t, math.IsInf(Exp(1000), 1))
	require.Equal(t, 0.0, Exp(-1000))
	require.Equal(t, math.SmallestNonzeroFloat64, Exp(-745))
	require.True(t, math.IsNaN(Exp(math.NaN())) && math.IsNaN(Log(-1)) && math.IsNaN(Log(math.NaN())))
	require.True(t, math.IsInf(Log(0), -1) && math.IsInf(Log(math.Inf(1)), 1))
}

// The two parts of ln 2 make it up to 90 bits: ln 2 to 40 digits is OEIS A002162.
func TestLn2InTwoParts(t *testing.T) {
	want, _, err := big.ParseFloat("0.6931471805599453094172321214581765680755", 10, 200, big.ToNearestEven)
	require.NoError(t, err)
	sum := new(big.Float).SetPrec(200).Add(big.NewFloat(ln2Hi), big.NewFloat(ln2Lo))
	d, _ := sum.Sub(sum, want).Float64()
	require.Less(t, math.Abs(d), math.Ldexp(1, -84))
}
