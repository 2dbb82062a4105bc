package judge

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// descending is a movement whose incisal point goes a quarter of a millimetre forward and down by
// the drops (mm) from frame to frame, carried by another pair in each.
func descending(t *testing.T, drops ...float64) *Movement {
	t.Helper()
	z := 0.0
	return ruled(t, made(findings.Right, len(drops)+1, func(i int, f *findings.Frame) {
		if i > 0 {
			z -= drops[i-1]
		}
		f.IncisalPoint = &findings.Vec{0, -step4 * float64(i), z}
		carry(f, pair(13, findings.Part(41+i%7)))
	}), -1)
}

// Where the path of the incisal point kinks: where it turns by at least kink_deg (10°, our choice) at
// one sample, or over two between which the bend lies. A drop of 0.25 mm a frame is a slope of 45°.
func TestRuleKinks(t *testing.T) {
	type kink struct{ at, deg, jump float64 }
	const s = 0.25                     // a slope of 45°
	q := s * math.Tan(math.Pi/8)       // of 22.5°
	steep := s * math.Tan(3*math.Pi/8) // of 67.5°
	for name, c := range map[string]struct {
		drops []float64
		want  []kink
	}{
		"straight":                   {[]float64{s, s, s, s}, nil},
		"at the first sample":        {[]float64{0, s, s, s}, []kink{{0.25, 45, 0}}},
		"in the middle":              {[]float64{0, 0, s, s}, []kink{{0.5, 45, 0}}},
		"at the last sample":         {[]float64{0, 0, 0, s}, []kink{{0.75, 45, 0}}},
		"flatter":                    {[]float64{s, s, 0, 0}, []kink{{0.5, -45, 0}}},
		"between two samples":        {[]float64{0, 0, q, s, s, s}, []kink{{0.5, 45, 0}}},
		"over three samples":         {[]float64{0, q, s, steep}, []kink{{0.25, 45, 0}, {0.75, 22.5, 0}}},
		"two that follow each other": {[]float64{0, 0, s, 0, 0}, []kink{{0.5, 45, 0.25}}}, // a leap
		"a leap up":                  {[]float64{s, s, 0, s, s}, []kink{{0.5, -45, -0.25}}},
		"a bend and back at the end": {[]float64{0, 0, s, 0}, []kink{{0.5, 45, 0.25}}},
		"a bend at the end":          {[]float64{0, 0, s}, []kink{{0.5, 45, 0}}},
		"steeper and on":             {[]float64{0, s, 2 * s}, []kink{{0.25, 63.43494882292201, 0}}},
		"bent, then bent back later": {[]float64{0, 0, s, s, 0, 0}, []kink{{0.5, 45, 0}, {1, -45, 0}}},
	} {
		got := descending(t, c.drops...).smoothness().Kinks
		require.Len(t, got, len(c.want), name)
		for i, k := range got {
			require.InDelta(t, c.want[i].at, k.TravelMM, 0, name)
			require.InDelta(t, c.want[i].deg, k.ChangeDeg, 1e-9, name)
			require.InDelta(t, c.want[i].jump, k.JumpMM, 1e-9, name)
		}
	}
	// On the thresholds themselves: kink_deg counts, jump_mm does not yet.
	m := descending(t, 0, 0, s, 0, 0)
	m.Limits.KinkDeg = 45
	require.Len(t, m.smoothness().Kinks, 1)
	m.Limits.KinkDeg = math.Nextafter(45, 46)
	require.Empty(t, m.smoothness().Kinks)
	m.Limits.KinkDeg, m.Limits.JumpMM = 10, 0.25
	require.Zero(t, m.smoothness().Kinks[0].JumpMM)
	m.Limits.JumpMM = math.Nextafter(0.25, 0)
	require.InDelta(t, 0.25, m.smoothness().Kinks[0].JumpMM, 0)
	// Where no one carries on one side of it nothing kinks, nor where the incisal point is not known.
	for _, i := range []int{2, 3} {
		m := descending(t, 0, 0, s, s)
		m.x.Frames[i].Carrier = nil
		require.Empty(t, m.smoothness().Kinks)
	}
	m = descending(t, 0, 0, s, s)
	m.x.Frames[3].IncisalPoint = nil
	require.Empty(t, m.smoothness().Kinks)
	for i := range m.x.Frames {
		m.x.Frames[i].IncisalPoint = nil
	}
	require.Nil(t, m.smoothness().TurningDegPerMM)
	require.Empty(t, ruled(t, made(findings.Right, 0, nil), -1).smoothness().Kinks)
}

// Which part of a bend the second of two samples shows: that of a turn the same way, unless what turns
// before and after is more than half of both, or the turn after more than the first.
func TestRuleABendBetweenTwoSamples(t *testing.T) {
	for _, c := range []struct{ before, here, next, after, want float64 }{
		{0, 20, 10, 0, 10}, {0, -20, -10, 0, -10}, {0, 20, -10, 0, 0}, {0, 20, 0, 0, 0}, {0, 0, 20, 0, 0},
		{15, 20, 10, 0, 10}, {15.001, 20, 10, 0, 0}, {-15.001, 20, 10, 0, 0}, {0, 20, 10, 15, 10}, {0, 20, 10, -15.001, 0}, {8, 20, 10, 7.001, 0},
		{0, 10, 20, 10, 20}, {0, 10, 20, 10.001, 0}, {0, -10, -20, 10.001, 0},
	} {
		require.InDelta(t, c.want, half(c.before, c.here, c.next, c.after), 0, "%v", c)
	}
}

// How often the guidance passes on: where another pair carries than in the frame before. A letter is
// a frame, - is no one.
func TestRuleSwitches(t *testing.T) {
	for course, want := range map[string]int{"aaa": 0, "aab": 1, "aba": 2, "a-b": 0, "-ab": 1, "": 0} {
		m := ruled(t, made(findings.Right, len(course), func(i int, f *findings.Frame) {
			if course[i] != '-' {
				carry(f, pair(13, findings.Part(43+course[i]-'a')))
			}
		}), -1)
		require.Equal(t, want, m.smoothness().Switches, course)
	}
	// Evenness is of protrusion.
	for name, even := range map[findings.Movement]bool{"right": false, "protrusive": true} {
		m := ruled(t, made(name, 4, func(_ int, f *findings.Frame) { touch(f, pair(11, 41), 1) }), -1)
		require.Equal(t, even, m.smoothness().Evenness != nil)
	}
}
