package settle

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testcast"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Around the rest of the synthetic dentition, random places in all six freedoms,
// closed along the press to first touch, are never lower: it is a true minimum.
// Around a place that is not one, they are.
func TestSettleNothingLowerNear(t *testing.T) {
	c := testcast.Synthetic(t)
	upper, lower := testcast.Plain(t, dentition.Upper, c.Upper.Mesh), testcast.Plain(t, dentition.Lower, c.Lower.Mesh)
	s, _, err := NewSeat(context.Background(), upper, lower, contact.Options{})
	require.NoError(t, err)
	set, err := Settle(context.Background(), upper, lower, Options{})
	require.NoError(t, err)
	require.True(t, set.Seat.Taken)
	a := pressing{Press: Press{Point: set.Seat.PressPointMM.R3(), Direction: set.Seat.PressDirection.R3()}}
	rng := rand.New(rand.NewPCG(11, 1))
	lowerNear := func(base kinematics.Pose) int {
		n := 0
		for range 40 {
			var x kinematics.Twist
			size := 0.002 + 0.04*rng.Float64()
			for i := range x {
				x[i] = size * (2*rng.Float64() - 1)
			}
			p := base.Then(s.Frame.Pose(x)).Then(kinematics.Translation(r3.Scale(-0.25, a.Direction)))
			p, err := s.approach(p, a.Direction, 5e-4)
			if err == nil && a.value(p) < a.value(base)-3e-4 {
				n++
			}
		}
		return n
	}
	require.Zero(t, lowerNear(set.Pose.Pose))
	aside, err := s.approach(set.Pose.Pose.Then(kinematics.Translation(r3.Vec{X: 0.03, Z: -0.25})), a.Direction, 5e-4)
	require.NoError(t, err)
	require.Positive(t, lowerNear(aside))
}
