package kinematics

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/interp"
)

// gonum's interpolator of the same name is written from the same paper by others.
func TestMonotoneAgainstGonum(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	for range 300 {
		n := 2 + r.IntN(7)
		x, y := make([]float64, n), make([]float64, n)
		for i := 1; i < n; i++ {
			x[i] = x[i-1] + 0.05 + 3*r.Float64()
			y[i] = y[i-1] + 4*(r.Float64()-0.3)
			if r.IntN(5) == 0 {
				y[i] = y[i-1]
			}
		}
		var want interp.FritschButland
		require.NoError(t, want.Fit(x, y))
		got := newMonotone(x, y)
		for range 50 {
			at := x[n-1] * r.Float64()
			value, slope := got.at(at)
			require.InDelta(t, want.Predict(at), value, 1e-12)
			require.InDelta(t, want.PredictDerivative(at), slope, 1e-11)
		}
		for i := range x {
			value, _ := got.at(x[i])
			require.InDelta(t, y[i], value, 1e-12)
		}
	}
}
