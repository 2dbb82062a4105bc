package staircase

import (
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// at is teeth that are lifted by closing alone, at some heights.
func at(heights ...float64) (out []tooth) {
	for _, h := range heights {
		out = append(out, tooth{height: h, by: [numbers]float64{hinge: 1}})
	}
	return out
}

// The level of one opening is that which most teeth share, within the doubt (here 0.05, just so); of as many the one
// from which they are less far, of equals the first.
func TestRuleTheLevelThatMostShare(t *testing.T) {
	for name, c := range map[string]struct {
		heights []float64
		level   float64
		within  int
	}{
		"on the doubt":            {[]float64{0, 0.05}, 0, 2},
		"just beyond":             {[]float64{0, 0.0501}, 0, 1},
		"most":                    {[]float64{1, 0, 0.01, 0.02}, 0.01, 3},
		"nearer, told first":      {[]float64{0, 0.01, 1, 1.04}, 0, 2},
		"nearer, told last":       {[]float64{1, 1.04, 0, 0.01}, 0, 2},
		"fewer are never better":  {[]float64{0, 0.03, 0.04, 5}, 0.03, 3},
		"of equals the first one": {[]float64{0, 0.01}, 0, 2},
	} {
		m := consensus(at(c.heights...), []int{hinge}, 0.05)
		require.Equal(t, c.within, m.within, name)
		require.InDelta(t, c.level, m.k[hinge], 1e-15, name)
	}
}

// A level with more numbers is preferred where it wins three teeth for each; of as many numbers that with more teeth,
// or as many that are less far from it.
func TestRuleWhatAFurtherNumberMustWin(t *testing.T) {
	plain := model{numbers: 1, within: 5, sum: 0.1}
	rolled := model{numbers: 2, within: 8, sum: 0.1}
	for name, c := range map[string]struct {
		m, than model
		want    bool
	}{
		"three more":               {model{numbers: 2, within: 8, sum: 9}, plain, true},
		"two more":                 {model{numbers: 2, within: 7}, plain, false},
		"two numbers, six more":    {model{numbers: 3, within: 11, sum: 9}, plain, true},
		"two numbers, five more":   {model{numbers: 3, within: 10}, plain, false},
		"as many numbers, nearer":  {model{numbers: 2, within: 8, sum: 0.09}, rolled, true},
		"as many numbers, alike":   {model{numbers: 2, within: 8, sum: 0.1}, rolled, false},
		"as many numbers, farther": {model{numbers: 2, within: 8, sum: 0.2}, rolled, false},
		"as many numbers, more":    {model{numbers: 2, within: 9, sum: 9}, rolled, true},
		"as many numbers, fewer":   {model{numbers: 2, within: 7}, rolled, false},
	} {
		require.Equal(t, c.want, c.m.over(&c.than), name)
	}
}

// Teeth that a turn lifts may miss the level by 0.15 of that beside the doubt.
func TestRuleReachOfALevel(t *testing.T) {
	m := model{k: [numbers]float64{0, 0.01, 0.02}}
	require.InDelta(t, 0.05+0.15*0.3, m.reach(&tooth{by: [numbers]float64{1, 10, 10}}, 0.05), 1e-12)
	require.InDelta(t, 0.05+0.15*0.1, m.reach(&tooth{by: [numbers]float64{1, 10, -10}}, 0.05), 1e-12)
}

// A level lies through as many teeth as it has numbers, unless they lie on one line: from a determinant of 1 on.
func TestRuleLevelsThroughTeeth(t *testing.T) {
	unit := func(scale float64) []tooth {
		return []tooth{{height: 1, by: [numbers]float64{scale, 0, 0}}, {height: 2, by: [numbers]float64{0, 1, 0}},
			{height: 3, by: [numbers]float64{0, 0, 1}}}
	}
	for scale, want := range map[float64]bool{1: true, 0.999: false, 1.05: true, -1: true, -0.999: false} {
		two, ok := through(unit(scale), []int{hinge, rolls}, []int{0, 1})
		require.Equal(t, want, ok, "%g", scale)
		three, ok := through(unit(scale), []int{hinge, rolls, pitches}, []int{0, 1, 2})
		require.Equal(t, want, ok, "%g", scale)
		if want {
			require.Equal(t, [numbers]float64{1 / scale, 2, 0}, two)
			require.Equal(t, [numbers]float64{1 / scale, 2, 3}, three)
		}
	}
}

// A spot 5 mm from the hinge that faces the closing gains by its opening alone; on an incline it is lifted the more by a
// turn the less it faces the closing, down to a cosine of 0.3.
func TestRuleWhatATurnLifts(t *testing.T) {
	spot := func(n r3.Vec, opening float64) Step {
		return Step{Lower: 46, Normal: n, Touch: contact.Closing{Point: r3.Vec{X: 2, Y: -3, Z: -4}, Opening: s1.Angle(opening)}}
	}
	closing := r3.Vec{Y: -0.8, Z: 0.6}
	across := r3.Vec{Y: 0.6, Z: 0.8}
	incline := func(cos float64) r3.Vec { return r3.Add(r3.Scale(cos, closing), r3.Scale(1-cos*cos, across)) }
	for cos, along := range map[float64]float64{0.5: 0.5, 0.301: 0.301, 0.299: 0.3, 0.1: 0.3} {
		s := spot(incline(cos), 0.01)
		got := arm(kinematics.Pose{}, &s, r3.Vec{X: 1, Y: -3, Z: -4})
		require.InDelta(t, 0.05, got.height, 1e-15)
		require.InDelta(t, 5, got.by[hinge], 1e-15)
		// A roll about the line along y through the middle lifts what lies a millimetre to the left by 1.
		require.InDelta(t, s.Normal.Z/along, got.by[rolls], 1e-12, "%g", cos)
	}
	steps := []Step{spot(closing, 0.02), spot(closing, 0.01), spot(closing, 0)}
	level := model{}
	require.Equal(t, 1, level.above(kinematics.Pose{}, steps, 0.05), "what stands on the doubt is not above it")
	require.Equal(t, 2, level.above(kinematics.Pose{}, steps, 0.0499))
}
