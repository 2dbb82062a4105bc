package mounting

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// three is a mouth with one nearest pair in each area, at handbook places.
func three(right, front, left float64) []Closeness {
	up := r3.Vec{Z: 1}
	return []Closeness{
		{16, 46, right, r3.Vec{X: -25, Y: -45, Z: -34}, up},
		{11, 41, front, r3.Vec{X: -3, Y: -80, Z: -35}, up},
		{26, 36, left, r3.Vec{X: 25, Y: -45, Z: -34}, up},
		{14, 44, 0, r3.Vec{X: -20, Y: -60, Z: -34}, up}, // premolars count for no area
	}
}

// The rule is common practice, no source: contact in the molar area on both
// sides and between at least two opposing anterior teeth.
func TestMountingVerdict(t *testing.T) {
	for _, c := range []struct {
		name               string
		right, front, left float64
		want               findings.Verdict
		areas              [3]findings.HoldClass
	}{
		{"all hold", 0, 5, 3, findings.Acceptable, [3]findings.HoldClass{findings.ClassHolds, findings.ClassHolds, findings.ClassHolds}},
		{"light drag counts as contact", 0, 7.5, 0, findings.Acceptable,
			[3]findings.HoldClass{findings.ClassHolds, findings.ClassDrags, findings.ClassHolds}},
		{"front within the doubt", 0, 30, 0, findings.Undecided,
			[3]findings.HoldClass{findings.ClassHolds, findings.ClassUndecided, findings.ClassHolds}},
		{"left open", 0, 0, 180, findings.Remount, [3]findings.HoldClass{findings.ClassHolds, findings.ClassHolds, findings.ClassPasses}},
		{"open is worse than undecided", 20, 0, 180, findings.Remount,
			[3]findings.HoldClass{findings.ClassUndecided, findings.ClassHolds, findings.ClassPasses}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := Judge(three(c.right, c.front, c.left), &casefile.Default().Thresholds)
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
	require.Equal(t, findings.Undecided, Judge(nil, &casefile.Default().Thresholds).Verdict)
	m := Judge([]Closeness{{Upper: 16, Lower: 46}, {Upper: 11}, {Upper: 26, Lower: 36}}, &casefile.Default().Thresholds)
	require.Equal(t, findings.Undecided, m.Verdict)
	require.Contains(t, language.Join(language.Text(m.Reasons)).String(),
		"No opposing teeth are known among the anterior teeth: nothing can be said of contact there.")
	m = Judge([]Closeness{{Upper: 11}, {Upper: 26, Lower: 36, Gap: 500}}, &casefile.Default().Thresholds)
	require.Equal(t, findings.Remount, m.Verdict, "an area that is open is worse than one without teeth")
}

// Molars that hold on both sides and anterior teeth that do not may be an open bite, and
// a gap of more than a millimetre is no small tilt.
func TestMountingOpenInFront(t *testing.T) {
	const words = "If the anterior teeth do not meet in the mouth either, the mounting may be right."
	text := func(right, front, left float64) (string, *findings.Tilt) {
		m := Judge(three(right, front, left), &casefile.Default().Thresholds)
		require.Equal(t, findings.Remount, m.Verdict)
		return language.Join(language.Text(m.Reasons)).String(), m.Tilt
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
	const words = "Only 16/46 in contact: too high by themselves, or the casts are tilted."
	require.NotContains(t, language.Join(language.Text(Judge(pairs, &casefile.Default().Thresholds).Reasons)).String(), "Only")
	pairs[3].Gap = 100
	pairs = append(pairs, pairs[0]) // the same pair, from the lower tooth
	require.Contains(t, language.Join(language.Text(Judge(pairs, &casefile.Default().Thresholds).Reasons)).String(), words)
	require.NotContains(t, language.Join(language.Text(Judge(append(pairs, Closeness{Upper: 15, Lower: 45, Gap: 8}),
		&casefile.Default().Thresholds).Reasons)).String(), "Only")
}

// A tilt of 0.2° of roll and −0.1° of pitch about the middle of the areas is found
// again from what it does to gaps of any inclines, however far the hinge has closed
// or opened since: the areas move by ω × r (rigid motion to the first order).
func TestTiltOfKnownTurns(t *testing.T) {
	roll, pitch := 0.2*math.Pi/180, -0.1*math.Pi/180
	inclines := []r3.Vec{{X: 0.3, Y: -0.2, Z: 0.9}, {Y: 0.7, Z: 0.7}, {X: -0.5, Y: 0.1, Z: 0.8}}
	for _, hinge := range []float64{0, 0.3 * math.Pi / 180, -3 * math.Pi / 180} {
		p := three(0, 0, 0)[:3]
		c := r3.Scale(1./3, r3.Add(r3.Add(p[0].At, p[1].At), p[2].At))
		for i := range p {
			p[i].Toward = r3.Unit(inclines[i])
			off := r3.Add(r3.Cross(r3.Vec{X: -pitch, Y: -roll}, r3.Sub(p[i].At, c)), r3.Cross(r3.Vec{X: -hinge}, p[i].At))
			p[i].Gap = 1000 * r3.Dot(off, p[i].Toward)
		}
		got := tilt(p, casefile.Default().Thresholds.ScanDoubtUm)
		require.InDelta(t, 0.2, got.RollDeg, 1e-9)
		require.InDelta(t, -0.1, got.PitchDeg, 1e-9)
		require.Equal(t, "The gaps would fit a lower cast tilted 0.20° down on the left and 0.10° down in the back.", got.Text.String())
		got = tilt(p, 100) // the pitch moves the front by 61 µm against the molars
		require.Equal(t, "The gaps would fit a lower cast tilted 0.20° down on the left.", got.Text.String())
		require.Nil(t, tilt(p, 200))
		p[2].At = r3.Scale(0.5, r3.Add(p[0].At, p[1].At))
		p[2].Toward, p[0].Toward, p[1].Toward = r3.Vec{Z: 1}, r3.Vec{Z: 1}, r3.Vec{Z: 1}
		require.Nil(t, tilt(p, casefile.Default().Thresholds.ScanDoubtUm), "three areas on one line tell no tilt")
	}
}
