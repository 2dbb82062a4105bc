package staircase_test

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/staircase"
)

// stairs is the staircase of an arch of 14 lower teeth that meet on level surfaces, each as much higher
// than the others as a function of its place tells (mm; x to the left, y from the middle of the arch to the back).
func stairs(high func(t dentition.ToothID, x, y float64) float64) []staircase.Step {
	var out []staircase.Step
	for place := range 7 {
		for side, sign := range []float64{1, -1} { // left, right
			t := dentition.ToothID(31 + 10*side + place)
			x, y := sign*float64(4+3*place), float64(place-3)*6
			at := r3.Vec{X: x, Y: y - 70}
			out = append(out, staircase.Step{Upper: t.Mirror(), Lower: t, Normal: r3.Vec{Z: 1}, Height: math.NaN(),
				Touch: contact.Closing{Point: at, Opening: s1.Angle(0.01 + high(t, x, y)/math.Abs(at.Y))}})
		}
	}
	slices.SortStableFunc(out, func(a, b staircase.Step) int { return cmp.Compare(b.Touch.Opening, a.Touch.Opening) })
	for i := range out[1:] {
		out[i].Height = staircase.Way(kinematics.Pose{}, &out[i].Touch, out[i+1].Touch.Opening)
	}
	return out
}

// What a staircase looks like, by a doubt of 0.05 mm: level where at least half of the lower teeth share one
// opening, or a small turn that at least three more share; those above it are high. Common practice, no source.
func TestRuleWhatAStaircaseLooksLike(t *testing.T) {
	const just = 1e-6
	raised := func(mm float64, teeth ...dentition.ToothID) func(dentition.ToothID, float64, float64) float64 {
		return func(t dentition.ToothID, _, _ float64) float64 {
			if slices.Contains(teeth, t) {
				return mm
			}
			return 0
		}
	}
	scattered := func(n int) func(dentition.ToothID, float64, float64) float64 {
		return func(t dentition.ToothID, _, _ float64) float64 {
			k := int(t%10-1) + 7*int(t/10-3) // 0 to 13
			if k < n {
				return 0
			}
			return -float64(k*k%23+2) * 0.3 // below, by no plane
		}
	}
	for name, c := range map[string]struct {
		high        func(dentition.ToothID, float64, float64) float64
		shape       findings.Shape
		above       int
		roll, pitch float64
	}{
		"level":                {raised(0), findings.ShapeLevel, 0, 0, 0},
		"one within the doubt": {raised(0.05-just, 36), findings.ShapeLevel, 0, 0, 0},
		"one above it":         {raised(0.05+just, 36), findings.ShapeHigh, 1, 0, 0},
		"two above it":         {raised(0.3, 36, 45), findings.ShapeHigh, 2, 0, 0},
		"one below it":         {raised(-0.3, 36), findings.ShapeLevel, 0, 0, 0},
		"left side high":       {func(_ dentition.ToothID, x, _ float64) float64 { return 0.01 * x }, findings.ShapeTilted, 0, 0.01, 0},
		"right side high":      {func(_ dentition.ToothID, x, _ float64) float64 { return -0.01 * x }, findings.ShapeTilted, 0, -0.01, 0},
		"rolled, and one high": {func(t dentition.ToothID, x, _ float64) float64 { return 0.01*x + raised(1, 36)(t, 0, 0) },
			findings.ShapeHigh, 1, 0.01, 0},
		"half of them share a level": {scattered(7), findings.ShapeLevel, 0, 0, 0},
		"less than half":             {scattered(6), findings.ShapeUneven, 0, 0, 0},
		"less than half, one above": {func(t dentition.ToothID, x, y float64) float64 {
			return scattered(6)(t, x, y) + raised(0.051, 31)(t, x, y)
		}, findings.ShapeUneven, 1, 0, 0},
		"one hardly above": {func(t dentition.ToothID, x, y float64) float64 {
			return scattered(6)(t, x, y) + raised(0.049, 31)(t, x, y)
		}, findings.ShapeUneven, 0, 0, 0},
	} {
		r := staircase.Read(kinematics.Pose{}, stairs(c.high), 0.05)
		require.Equal(t, c.shape, r.Shape, "%s: %+v", name, r)
		require.Equal(t, c.above, r.High, "%s: %+v", name, r)
		require.InDelta(t, c.roll, r.Motion.Roll, 1e-9, name)
		require.InDelta(t, c.pitch, r.Motion.Pitch, 1e-9, name)
		require.Equal(t, 14, r.Teeth)
	}
	// Over no level the first step stands high where it stands more than the doubt above the next, just so.
	for height, high := range map[float64]int{0.05: 0, math.Nextafter(0.05, 1): 1} {
		steps := stairs(scattered(6))
		steps[0].Height = height
		require.Equal(t, high, staircase.Read(kinematics.Pose{}, steps, 0.05).High)
	}
}

// Of fewer than seven lower teeth, or fewer than two of a side, no level is told; a lower tooth counts
// once, where it meets first; what is no tooth does not.
func TestRuleHowManyTeethTellALevel(t *testing.T) {
	all := stairs(func(dentition.ToothID, float64, float64) float64 { return 0 })
	of := func(keep func(dentition.ToothID) bool) []staircase.Step {
		return slices.DeleteFunc(slices.Clone(all), func(s staircase.Step) bool { return !keep(s.Lower) })
	}
	for name, c := range map[string]struct {
		steps []staircase.Step
		teeth int
	}{
		"seven":             {of(func(t dentition.ToothID) bool { return t < 36 || t == 41 || t == 42 }), 7},
		"six":               {of(func(t dentition.ToothID) bool { return t < 35 || t == 41 || t == 42 }), 0},
		"two of the right":  {of(func(t dentition.ToothID) bool { return t < 43 }), 9},
		"one of the right":  {of(func(t dentition.ToothID) bool { return t < 42 }), 0},
		"two of the left":   {of(func(t dentition.ToothID) bool { return t > 35 }), 9},
		"one of the left":   {of(func(t dentition.ToothID) bool { return t > 36 }), 0},
		"each counts once":  {append(of(func(t dentition.ToothID) bool { return t < 35 || t == 41 || t == 42 }), all[0], all[1]), 0},
		"nothing is at all": {nil, 0},
	} {
		r := staircase.Read(kinematics.Pose{}, c.steps, 0.05)
		require.Equal(t, c.teeth, r.Teeth, name)
		require.Equal(t, c.teeth == 0, r.Shape == findings.ShapeUnknown, name)
	}
	for i := range all {
		all[i].Lower = dentition.NoTooth
	}
	require.Zero(t, staircase.Read(kinematics.Pose{}, all, 0.05).Teeth)
}
