package occlusion

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// three is a mouth with one nearest pair in each area, at handbook places.
func three(right, front, left float64) []reach {
	up := r3.Vec{Z: 1}
	return []reach{
		{16, 46, right, r3.Vec{X: -25, Y: -45, Z: -34}, up},
		{11, 41, front, r3.Vec{X: -3, Y: -80, Z: -35}, up},
		{26, 36, left, r3.Vec{X: 25, Y: -45, Z: -34}, up},
		{14, 44, 0, r3.Vec{X: -20, Y: -60, Z: -34}, up}, // premolars count for no area
	}
}

// The rule is common practice, no source: contact in the molar area on both
// sides and between at least two opposing front teeth.
func TestMountingVerdict(t *testing.T) {
	for _, c := range []struct {
		name               string
		right, front, left float64
		want               findings.Verdict
		areas              [3]findings.HoldClass
	}{
		{"all hold", 0, 5, 3, findings.Acceptable, [3]findings.HoldClass{findings.ClassHolds, findings.ClassHolds, findings.ClassHolds}},
		{"light drag counts as contact", 0, 7.5, 0, findings.Acceptable, [3]findings.HoldClass{findings.ClassHolds, findings.ClassDrags, findings.ClassHolds}},
		{"front within the doubt", 0, 30, 0, findings.Undecided, [3]findings.HoldClass{findings.ClassHolds, findings.ClassUndecided, findings.ClassHolds}},
		{"left open", 0, 0, 180, findings.Remount, [3]findings.HoldClass{findings.ClassHolds, findings.ClassHolds, findings.ClassPasses}},
		{"open is worse than undecided", 20, 0, 180, findings.Remount, [3]findings.HoldClass{findings.ClassUndecided, findings.ClassHolds, findings.ClassPasses}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := judge(three(c.right, c.front, c.left), &defaults.Thresholds)
			require.Equal(t, c.want, m.Verdict)
			require.Len(t, m.Reasons, 3)
			for i, a := range m.Areas {
				require.Equal(t, c.areas[i], a.Class, a.Area)
			}
			require.Equal(t, c.want != findings.Remount, m.Tilt == nil)
		})
	}
}

func TestMountingWithoutLabelsOrTeeth(t *testing.T) {
	require.Equal(t, findings.Undecided, judge(nil, &defaults.Thresholds).Verdict)
	m := judge([]reach{{upper: 16, lower: 46}, {upper: 11}, {upper: 26, lower: 36}}, &defaults.Thresholds)
	require.Equal(t, findings.Undecided, m.Verdict)
	require.Contains(t, findings.List(" ", m.Reasons).String(), "No opposing teeth are known among the front teeth, so that contact there cannot be told.")
	m = judge([]reach{{upper: 11}, {upper: 26, lower: 36, gap: 500}}, &defaults.Thresholds)
	require.Equal(t, findings.Remount, m.Verdict, "an area that is open is worse than one without teeth")
}

// Molars that hold on both sides and front teeth that do not may be an open bite, and
// a gap of more than a millimetre is no small tilt.
func TestMountingOpenInFront(t *testing.T) {
	const words = "If the front teeth do not meet in the mouth either, the mounting may be right."
	text := func(right, front, left float64) (string, *findings.Tilt) {
		m := judge(three(right, front, left), &defaults.Thresholds)
		require.Equal(t, findings.Remount, m.Verdict)
		return findings.List(" ", m.Reasons).String(), m.Tilt
	}
	s, tilt := text(0, 900, 7)
	require.Contains(t, s, words)
	require.NotNil(t, tilt)
	s, tilt = text(0, 1100, 7)
	require.Contains(t, s, words)
	require.Nil(t, tilt)
	s, _ = text(0, 900, 300)
	require.NotContains(t, s, words)
	s, _ = text(300, 0, 0)
	require.NotContains(t, s, words)
}

// One pair that touches alone may be a high spot or a tilted cast; two tell of no spot.
func TestMountingHeldByOnePair(t *testing.T) {
	pairs := three(0, 200, 300)
	const words = "Only 16/46 touch: they may be too high by themselves, or the casts tilted."
	require.NotContains(t, findings.List(" ", judge(pairs, &defaults.Thresholds).Reasons).String(), "Only")
	pairs[3].gap = 100
	pairs = append(pairs, pairs[0]) // the same pair, from the lower tooth
	require.Contains(t, findings.List(" ", judge(pairs, &defaults.Thresholds).Reasons).String(), words)
	require.NotContains(t, findings.List(" ", judge(append(pairs, reach{upper: 15, lower: 45, gap: 8}), &defaults.Thresholds).Reasons).String(), "Only")
}

// Borders: Harper & Setchell 2002, Int J Prosthodont 15:347-352.
func TestFoilClasses(t *testing.T) {
	for _, c := range []struct {
		gap  float64
		want findings.HoldClass
	}{{0, findings.ClassHolds}, {6, findings.ClassHolds}, {6.1, findings.ClassDrags}, {8, findings.ClassDrags}, {8.1, findings.ClassUndecided}, {8 + 36.7, findings.ClassUndecided}, {45, findings.ClassPasses}, {400, findings.ClassPasses}} {
		require.Equal(t, c.want, classify(c.gap, &defaults.Thresholds), "%g µm", c.gap)
	}
}

// A tilt of 0.2° of roll and −0.1° of pitch about the middle of the areas is found
// again from what it does to gaps of any inclines, however far the hinge has closed
// or opened since: the areas move by ω × r (rigid motion to the first order).
func TestTiltOfKnownTurns(t *testing.T) {
	roll, pitch := 0.2*math.Pi/180, -0.1*math.Pi/180
	inclines := []r3.Vec{{X: 0.3, Y: -0.2, Z: 0.9}, {Y: 0.7, Z: 0.7}, {X: -0.5, Y: 0.1, Z: 0.8}}
	for _, hinge := range []float64{0, 0.3 * math.Pi / 180, -3 * math.Pi / 180} {
		p := three(0, 0, 0)[:3]
		c := r3.Scale(1./3, r3.Add(r3.Add(p[0].at, p[1].at), p[2].at))
		for i := range p {
			p[i].toward = r3.Unit(inclines[i])
			off := r3.Add(r3.Cross(r3.Vec{X: -pitch, Y: -roll}, r3.Sub(p[i].at, c)), r3.Cross(r3.Vec{X: -hinge}, p[i].at))
			p[i].gap = 1000 * r3.Dot(off, p[i].toward)
		}
		got := tilt(p, defaults.Thresholds.ScanDoubtUm)
		require.InDelta(t, 0.2, got.RollDeg, 1e-9)
		require.InDelta(t, -0.1, got.PitchDeg, 1e-9)
		require.Equal(t, "the lower cast stands 0.20° too low on the left and 0.10° too low at the back", got.Words)
		got = tilt(p, 100) // the pitch moves the front by 61 µm against the molars
		require.Equal(t, "the lower cast stands 0.20° too low on the left", got.Words)
		require.Nil(t, tilt(p, 200))
		p[2].at = r3.Scale(0.5, r3.Add(p[0].at, p[1].at))
		p[2].toward, p[0].toward, p[1].toward = r3.Vec{Z: 1}, r3.Vec{Z: 1}, r3.Vec{Z: 1}
		require.Nil(t, tilt(p, defaults.Thresholds.ScanDoubtUm), "three areas on one line tell no tilt")
	}
}
