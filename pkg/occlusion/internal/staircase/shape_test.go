package staircase_test

import (
	"math"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/staircase"
)

const doubt = 0.0367 // mm

// What is built is what is read: level casts, high spots above a level (one, two, over a
// tilt), rolled casts to a quarter of their roll without a pitch, and pitched ones
// without a roll.
func TestShapes(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	c, err := plain()
	require.NoError(t, err)
	at, _ := stopOf(t, c, 46)
	other, _ := stopOf(t, c, 35)
	middle := c.Lower.Mesh.Bounds().Center()
	for _, v := range []struct {
		name       string
		um, second float64
		motion     faultkit.Motion
		shape      findings.Shape
		high       int
	}{
		{"level", 0, 0, faultkit.Motion{}, findings.ShapeLevel, 0},
		{"below the doubt", 25, 0, faultkit.Motion{}, findings.ShapeLevel, 0},
		{"high", 90, 0, faultkit.Motion{}, findings.ShapeHigh, 1},
		{"two high", 250, 120, faultkit.Motion{}, findings.ShapeHigh, 2},
		{"rolled left up", 0, 0, faultkit.Motion{Roll: 0.4 * s1.Degree, About: middle}, findings.ShapeTilted, 0},
		{"rolled right up", 0, 0, faultkit.Motion{Roll: -0.6 * s1.Degree, About: middle}, findings.ShapeTilted, 0},
		{"back up", 0, 0, faultkit.Motion{Pitch: -0.4 * s1.Degree, About: middle}, findings.ShapeTilted, 0},
	} {
		t.Run(v.name, func(t *testing.T) {
			lower, err := faultkit.Bump(c.Lower.Mesh, at, faultkit.Closing(at), v.um, 1.8, nil)
			require.NoError(t, err)
			lower, err = faultkit.Bump(lower, other, faultkit.Closing(other), v.second, 1.8, nil)
			require.NoError(t, err)
			lower, err = faultkit.Moved(lower, v.motion)
			require.NoError(t, err)
			steps := newCasts(t, c.Upper.Mesh, lower, c.Upper.Labels, c.Lower.Labels).climb(true, all)
			r := staircase.Read(kinematics.Pose{}, steps, doubt)
			t.Logf("%+v", r)
			assert.Equal(t, v.shape, r.Shape)
			assert.Equal(t, v.high, r.High)
			assert.InDelta(t, v.motion.Roll.Degrees(), r.Motion.Roll*180/math.Pi, 0.05+0.25*math.Abs(v.motion.Roll.Degrees()))
			assert.InDelta(t, v.motion.Pitch.Degrees(), r.Motion.Pitch*180/math.Pi, 0.1)
		})
	}
}

// Too few teeth, or those of one side, tell no level; sizes 0, 1 and 2 are harmless.
func TestFewStepsTellNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	c, err := plain()
	require.NoError(t, err)
	steps := newCasts(t, c.Upper.Mesh, c.Lower.Mesh, c.Upper.Labels, c.Lower.Labels).climb(true, all)
	for _, n := range []int{0, 1, 2, 5} {
		assert.Equal(t, findings.ShapeUnknown, staircase.Read(kinematics.Pose{}, steps[:n], doubt).Shape)
	}
	var oneSide []staircase.Step
	for _, s := range steps {
		if s.Lower/10 == 4 {
			oneSide = append(oneSide, s)
		}
	}
	assert.Equal(t, findings.ShapeUnknown, staircase.Read(kinematics.Pose{}, oneSide, doubt).Shape)
}
