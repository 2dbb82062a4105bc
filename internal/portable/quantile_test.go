package portable

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Values of scipy 1.10.1, scipy.special.ndtri (Cephes, another approximation).
func TestNormalQuantileAgainstCephes(t *testing.T) {
	for p, want := range map[float64]float64{
		1e-300: -37.0470962993612, 1e-20: -9.262340089798409, 1e-9: -5.9978070150076865, 0.001: -3.090232306167813,
		0.025: -1.9599639845400545, 0.1: -1.2815515655446004, 0.25: -0.6744897501960817, 0.42: -0.20189347914185088,
		0.5: 0, 0.575: 0.18911842627279238, 0.9: 1.2815515655446004, 0.999999: 4.753424308817087,
	} {
		require.InDelta(t, want, NormalQuantile(p), 1e-14*max(1, math.Abs(want)), p)
	}
}

// The distribution function of what is returned, by the error function, is p again.
func TestNormalQuantileInverts(t *testing.T) {
	for i := 1; i < 4000; i++ {
		p := float64(i) / 4000
		x := NormalQuantile(p)
		require.InDelta(t, p, 0.5*math.Erfc(-x/math.Sqrt2), 1e-15)
		require.InDelta(t, -x, NormalQuantile(1-p), 1e-12)
	}
	require.True(t, math.IsInf(NormalQuantile(0), -1) && math.IsInf(NormalQuantile(1), 1))
	require.True(t, math.IsNaN(NormalQuantile(-0.1)) && math.IsNaN(NormalQuantile(1.1)) && math.IsNaN(NormalQuantile(math.NaN())))
}
