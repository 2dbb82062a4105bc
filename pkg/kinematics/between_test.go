package kinematics_test

import (
	"math/rand/v2"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// The stations between the borders are the borders at their ends: with one condyle closed
// the lateral excursion, with equal paths and travels protrusion. In between the distance of
// the condyles stays, and each is as far forward and down as its own path says.
func TestBetweenTheBorders(t *testing.T) {
	side := func(h, b float64) kinematics.Side {
		path, err := kinematics.Straight(s1.Angle(h) * s1.Degree)
		require.NoError(t, err)
		return kinematics.Side{Path: path, SideShiftAngle: s1.Angle(b) * s1.Degree, ImmediateShift: 0.3, ShiftTravel: 0.5}
	}
	set := kinematics.Settings{Intercondylar: 108, Right: side(35, 12), Left: side(30, 8)}
	near := func(a, b r3.Vec) { assert.Less(t, r3.Norm(r3.Sub(a, b)), 1e-12) }
	for _, x := range []float64{0, 0.2, 1, 4} {
		for m, travels := range map[kinematics.Movement][2]float64{kinematics.Right: {0, x}, kinematics.Left: {x, 0}} {
			want, err := set.Station(m, x)
			require.NoError(t, err)
			got, err := set.Between(travels[0], travels[1])
			require.NoError(t, err)
			near(want.Right, got.Right)
			near(want.Left, got.Left)
			assert.InDelta(t, want.SideShift, got.SideShift, 1e-12)
			assert.InDelta(t, want.WorkingShift, got.WorkingShift, 1e-12)
			near(want.Pose(0.05).Apply(r3.Vec{X: 3, Y: -80, Z: -30}), got.Pose(0.05).Apply(r3.Vec{X: 3, Y: -80, Z: -30}))
		}
		alike := kinematics.Settings{Intercondylar: 108, Right: side(33, 10), Left: side(33, 10)}
		want, err := alike.Station(kinematics.Protrusive, x)
		require.NoError(t, err)
		got, err := alike.Between(x, x)
		require.NoError(t, err)
		near(want.Right, got.Right)
		near(want.Left, got.Left)
	}
	rng := rand.New(rand.NewPCG(17, 11))
	for range 100 {
		right, left := 5*rng.Float64(), 5*rng.Float64()
		st, err := set.Between(right, left)
		require.NoError(t, err)
		assert.InDelta(t, 108, r3.Norm(r3.Sub(st.Left, st.Right)), 1e-9)
		f, g := set.Right.Path.At(right)
		assert.InDelta(t, -f, st.Right.Y, 1e-12)
		assert.InDelta(t, -g, st.Right.Z, 1e-12)
	}
	_, err := set.Between(-1, 2)
	require.ErrorIs(t, err, kinematics.ErrTravel)
}
