package kinematics_test

import (
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// TestTwistUndone takes random twists there and back.
func TestTwistUndone(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	f := kinematics.TwistFrame{Centre: r3.Vec{X: 3, Y: -60, Z: -30}, Length: 25}
	for range 100 {
		var x kinematics.Twist
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		y := f.Of(f.Pose(x))
		for i := range x {
			require.InDelta(t, x[i], y[i], 1e-11)
		}
	}
}
