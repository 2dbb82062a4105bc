package occlusion

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// three is a mouth with one nearest pair in each area, at handbook places.
func three(right, front, left float64) []reach {
	return []reach{
		{16, 46, right, r3.Vec{X: -25, Y: -45}, right / 1000},
		{11, 41, front, r3.Vec{X: -3, Y: -80}, front / 1000},
		{26, 36, left, r3.Vec{X: 25, Y: -45}, left / 1000},
		{14, 44, 0, r3.Vec{X: -20, Y: -60}, 0}, // premolars count for no area
	}
}

// The rule is common practice, no source: contact in the molar area on both
// sides and between at least two opposing front teeth.
func TestMountingVerdict(t *testing.T) {
	for _, c := range []struct {
		name               string
		right, front, left float64
		want               Verdict
		areas              [3]HoldClass
	}{
		{"all hold", 0, 5, 3, Acceptable, [3]HoldClass{ClassHolds, ClassHolds, ClassHolds}},
		{"light drag counts as contact", 0, 7.5, 0, Acceptable, [3]HoldClass{ClassHolds, ClassDrags, ClassHolds}},
		{"front within the doubt", 0, 30, 0, Undecided, [3]HoldClass{ClassHolds, ClassUndecided, ClassHolds}},
		{"left open", 0, 0, 180, Remount, [3]HoldClass{ClassHolds, ClassHolds, ClassPasses}},
		{"open is worse than undecided", 20, 0, 180, Remount, [3]HoldClass{ClassUndecided, ClassHolds, ClassPasses}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := judge(three(c.right, c.front, c.left), &defaults.Thresholds)
			require.Equal(t, c.want, m.Verdict)
			require.Len(t, m.Reasons, 3)
			for i, a := range m.Areas {
				require.Equal(t, c.areas[i], a.Class, a.Area)
			}
			require.Equal(t, c.want == Acceptable, m.Tilt == nil)
		})
	}
}

func TestMountingWithoutLabelsOrTeeth(t *testing.T) {
	require.Equal(t, Undecided, judge(nil, &defaults.Thresholds).Verdict)
	m := judge([]reach{{16, 46, 0, r3.Vec{}, 0}, {11, dentition.NoTooth, 0, r3.Vec{}, 0}, {26, 36, 0, r3.Vec{}, 0}}, &defaults.Thresholds)
	require.Equal(t, Remount, m.Verdict)
	require.Contains(t, list(" ", m.Reasons).String(), "No opposing teeth meet among the front teeth.")
}

// Borders: Harper & Setchell 2002, Int J Prosthodont 15:347-352.
func TestFoilClasses(t *testing.T) {
	for _, c := range []struct {
		gap  float64
		want HoldClass
	}{{0, ClassHolds}, {6, ClassHolds}, {6.1, ClassDrags}, {8, ClassDrags}, {8.1, ClassUndecided}, {8 + 36.7, ClassUndecided}, {45, ClassPasses}, {400, ClassPasses}} {
		require.Equal(t, c.want, classify(c.gap, &defaults.Thresholds), "%g µm", c.gap)
	}
}

// A tilt of 0.2° of roll and −0.1° of pitch, taken from a plane, is found again.
func TestTiltIsThePlaneThroughTheGaps(t *testing.T) {
	roll, pitch := 0.2, -0.1
	gap := func(p r3.Vec) float64 {
		return 1000 * (5 + p.X*math.Tan(roll*math.Pi/180) - p.Y*math.Tan(pitch*math.Pi/180))
	}
	p := three(0, 0, 0)[:3]
	for i := range p {
		p[i].rise = gap(p[i].at) / 1000
	}
	got := tilt(p)
	require.InDelta(t, roll, got.RollDeg, 1e-9)
	require.InDelta(t, pitch, got.PitchDeg, 1e-9)
	require.Equal(t, "the lower cast stands 0.20° too low on the left and 0.10° too low at the back", got.Words)
	p[2].at = r3.Scale(0.5, r3.Add(p[0].at, p[1].at))
	require.Nil(t, tilt(p), "three areas on one line tell no tilt")
}
