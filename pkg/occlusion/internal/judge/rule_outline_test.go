package judge

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// told is what of a movement a dentist would read, a line a finding.
func told(t *testing.T, m *Movement) []string {
	t.Helper()
	e := bare()
	list, err := m.weigh(e, NewShape(e.Casts, nil))
	require.NoError(t, err)
	var out []string
	for i := range list {
		out = append(out, list[i].Text.String())
	}
	return out
}

// What is told of a nonworking interference: its height where it carries, that it lies below the
// scan uncertainty (36.7 µm) up to just below that, that it is beyond adjusting from just above 300
// µm (common practice, no source), and no height beyond the edge-to-edge position.
func TestRuleHowAnInterferenceIsTold(t *testing.T) {
	const begins = "26/36: nonworking interference in right lateral movement, 0.5 to 1.0 mm; the working side is separated."
	const stands = begins + " It stands "
	for _, c := range []struct {
		um   float64
		end  int
		want string
	}{
		{36.7, -1, stands + "37 µm in the way of the intended guidance at 0.5 mm."},
		{36.6999, -1, stands + "37 µm in the way of the intended guidance at 0.5 mm, below the scan uncertainty (37 µm)."},
		{300, -1, stands + "300 µm in the way of the intended guidance at 0.5 mm."},
		{300.0001, -1, stands + "300 µm in the way of the intended guidance at 0.5 mm. That is beyond adjusting."},
		{300, 2, stands + "300 µm in the way of the intended guidance at 0.5 mm."},
		{300, 1, begins + " This is beyond edge-to-edge."},
	} {
		x := made(findings.Right, 5, func(i int, f *findings.Frame) {
			if i < 2 {
				return
			}
			touch(f, pair(26, 36), 1)
			carry(f, pair(26, 36))
			f.Unhindered = &findings.Unhindered{HeightUm: c.um}
		})
		if c.end == 2 { // it goes on beyond, as a finding of its own
			x.Frames = x.Frames[:3]
			c.want = "26/36: nonworking interference in right lateral movement, at 0.5 mm; the working side is separated." + c.want[len(begins):]
		}
		require.Equal(t, []string{c.want}, told(t, ruled(t, x, c.end)))
	}
}

// clears gives teeth a clearance that foil of 40 µm fills up to just before a travel, and just not
// from there on.
func clears(f *findings.Frame, from map[string]float64) {
	f.ClearanceMM = map[string]float64{}
	for tooth, mm := range from {
		f.ClearanceMM[tooth] = 0.04
		if f.TravelMM >= mm {
			f.ClearanceMM[tooth] = 0.0400001
		}
	}
}

// When posterior teeth disocclude late: not by 3 mm of travel (within 2 to 4 mm in canine-guided
// persons: Narang et al. 2012, Indian J Dent Res 23:814), or not at all; of anterior teeth nothing is asked.
func TestRuleLateDisclusion(t *testing.T) {
	const late = " in right lateral movement (late posterior disocclusion)."
	for _, c := range []struct {
		from map[string]float64
		want []string
	}{
		{map[string]float64{"16": 3}, nil},
		{map[string]float64{"16": 3.5}, []string{"16 disoccludes only from 3.5 mm" + late}},
		{map[string]float64{"16": 4}, []string{"16 disoccludes only from 4.0 mm" + late}},
		{map[string]float64{"16": 9}, []string{"16 stays in contact to 4.0 mm" + late}},
		{map[string]float64{"16": 9, "17": 3.5, "46": 9}, []string{"16, 46 stay in contact to 4.0 mm; 17 disoccludes only from 3.5 mm" + late}},
		{map[string]float64{"13": 9, "43": 9}, nil},
		{nil, nil},
	} {
		x := made(findings.Right, 17, func(_ int, f *findings.Frame) { clears(f, c.from) })
		m := ruled(t, x, -1)
		m.Measure([]findings.Foil{40})
		require.Equal(t, c.want, told(t, m), "%v", c.from)
		require.Nil(t, x.Guidance, "no one carries")
	}
	// A movement in which the casts do not meet tells nothing.
	m := ruled(t, made(findings.Right, 0, nil), -1)
	m.Measure([]findings.Foil{40})
	require.Empty(t, told(t, m))
}

// What of the disclusion of a tooth is written: clear from just above the foil, at once up to
// 0.5 mm, where the movement has begun; clearances at 1, 2 and 3 mm where it goes so far, at the
// edge-to-edge position where there is one, and at the end.
func TestRuleDisclusion(t *testing.T) {
	of := func(n int, from float64, f func(i int) float64) findings.Disclusion {
		m := ruled(t, made(findings.Right, n, func(i int, fr *findings.Frame) {
			clears(fr, map[string]float64{"16": from})
			if f != nil {
				fr.IncisalPoint = &findings.Vec{0, 0, f(i)}
			}
		}), -1)
		return m.disclusions()[0]
	}
	require.True(t, of(9, 0.5, nil).Immediate)
	require.False(t, of(9, 0.75, nil).Immediate)
	require.InDelta(t, 2, *of(9, 2, nil).ClearsMM, 0, "in the last frame alone")
	require.Nil(t, of(9, 2.25, nil).ClearsMM)
	keys := func(d findings.Disclusion) (out []string) {
		for _, k := range []string{"1", "2", "3", "edge", "end"} {
			if _, ok := d.ClearanceMM[k]; ok {
				out = append(out, k)
			}
		}
		return out
	}
	require.Equal(t, []string{"1", "2", "end"}, keys(of(9, 0, nil)))
	require.Equal(t, []string{"end"}, keys(of(4, 0, nil)))
	valley := func(i int) float64 { return math.Abs(float64(i - 4)) }
	require.Equal(t, []string{"1", "2", "edge", "end"}, keys(of(9, 0, valley)))
	// Of two frames as near the first is meant, and none beyond the end.
	list := []findings.Frame{{TravelMM: 0.75}, {TravelMM: 1.25}}
	i, ok := nearestFrame(list, 1)
	require.True(t, ok)
	require.Zero(t, i)
	_, ok = nearestFrame(list, 1.26)
	require.False(t, ok)
	_, ok = nearestFrame(nil, 0)
	require.False(t, ok)
}

// When one side carries protrusion alone: where anterior teeth of the other side touch in less than
// a fifth of the frames (common practice, no source). Of 20 frames from the beginning on the left touches in all.
func TestRuleUnevenProtrusion(t *testing.T) {
	left, right := pair(21, 31), pair(11, 41)
	uneven := func(movement findings.Movement, rights int, who func(i int) findings.Pair) (findings.Finding, bool) {
		x := made(movement, 22, func(i int, f *findings.Frame) {
			touch(f, left, 1)
			carry(f, who(i))
			if i < 2+rights {
				touch(f, right, 1)
			}
		})
		m := ruled(t, x, -1)
		m.Measure([]findings.Foil{40})
		return m.uneven()
	}
	always := func(int) findings.Pair { return left }
	for rights, want := range map[int]bool{0: true, 3: true, 4: false, 20: false} {
		_, ok := uneven("protrusive", rights, always)
		require.Equal(t, want, ok, rights)
	}
	_, ok := uneven("right", 0, always)
	require.False(t, ok)
	// Named is the pair that carries in most frames, of equals the first, from its first frame to
	// its last one; frames before the beginning do not count.
	for _, c := range []struct {
		who      func(i int) findings.Pair
		want     findings.Pair
		from, to float64
	}{
		{func(i int) findings.Pair { return map[bool]findings.Pair{true: left, false: pair(22, 32)}[i < 12] }, left, 0.5, 2.75},
		{func(i int) findings.Pair { return map[bool]findings.Pair{true: left, false: pair(22, 32)}[i < 11] }, pair(22, 32), 2.75, 5.25},
		{func(i int) findings.Pair { return map[bool]findings.Pair{true: left, false: pair(26, 36)}[i == 5] }, left, 1.25, 1.25},
	} {
		f, ok := uneven("protrusive", 0, c.who)
		require.True(t, ok)
		require.Equal(t, c.want, pair(f.Upper, f.Lower))
		require.Equal(t, []float64{c.from, c.from, c.to}, []float64{f.FromMM, f.AtMM, f.ToMM})
		require.Equal(t, c.from, f.PointMM[0])
	}
	_, ok = uneven("protrusive", 0, func(int) findings.Pair { return pair(26, 36) })
	require.False(t, ok, "posterior teeth carry")
}

// Frames count to the evenness of protrusion from the beginning on, where anterior teeth touch.
func TestRuleEvennessCountsFramesOfEachSide(t *testing.T) {
	for name, c := range map[string]struct {
		left, right func(i int) bool
		want        float64 // -1 where nothing is known
	}{
		"alike":                    {func(i int) bool { return i >= 2 }, func(i int) bool { return i >= 2 }, 1},
		"half":                     {func(i int) bool { return i >= 2 }, func(i int) bool { return i >= 6 }, 0.5},
		"half, on the other side":  {func(i int) bool { return i >= 6 }, func(i int) bool { return i >= 2 }, 0.5},
		"before the beginning too": {func(int) bool { return true }, func(i int) bool { return i >= 6 }, 0.5},
		"one side":                 {func(int) bool { return true }, func(int) bool { return false }, 0},
		"neither":                  {func(i int) bool { return i < 2 }, func(int) bool { return false }, -1},
	} {
		x := made("protrusive", 10, func(i int, f *findings.Frame) {
			if touch(f, pair(26, 36), 1); c.left(i) {
				touch(f, pair(21, 31), 1)
				touch(f, pair(22, 32), 1) // a side counts once
			}
			if c.right(i) {
				touch(f, pair(11, 41), 1)
			}
		})
		e := ruled(t, x, -1).evenness()
		require.Equal(t, c.want < 0, e == nil, name)
		if e != nil {
			require.InDelta(t, c.want, *e, 0, name)
		}
	}
}

// What is said to guide: the pattern at 1 mm of the incisal point's way, or at 0.5 mm where it does
// not go so far, within the movement's foil; nothing where teeth do not touch or are not labelled.
func TestRuleGuidanceIsToldAtOneMillimetre(t *testing.T) {
	at := func(mm float64, foil findings.Foil, class findings.PatternClass) findings.Pattern {
		return findings.Pattern{AtMM: mm, TravelMM: mm, FoilUm: foil, Pattern: class, Pairs: []findings.Sentence{}}
	}
	for name, c := range map[string]struct {
		list []findings.Pattern
		want findings.PatternClass
		mm   float64
	}{
		"at 0.5, 1 and 2":   {[]findings.Pattern{at(0.5, 40, "a"), at(1, 40, "b"), at(2, 40, "c")}, "b", 1},
		"at 0.5 alone":      {[]findings.Pattern{at(0.5, 40, "a")}, "a", 0.5},
		"of another foil":   {[]findings.Pattern{at(0.5, 40, "a"), at(1, 8, "b")}, "a", 0.5},
		"at 2 alone":        {[]findings.Pattern{at(2, 40, "a")}, "", 0},
		"none in contact":   {[]findings.Pattern{at(1, 40, findings.NoContact)}, "", 0},
		"none labelled":     {[]findings.Pattern{at(1, 40, findings.NotLabelled)}, "", 0},
		"no one carries":    {[]findings.Pattern{at(1.5, 40, "c"), at(0.25, 40, "a")}, "a", 0.25},
		"nothing was asked": {nil, "", 0},
	} {
		x := made(findings.Right, 9, func(i int, f *findings.Frame) {
			if i != 1 {
				carry(f, pair(13, 43))
			}
		})
		m := ruled(t, x, -1)
		if c.list != nil {
			x.Guidance = &findings.Course{Patterns: c.list}
		}
		f, ok := m.guided()
		require.Equal(t, c.want != "", ok, name)
		require.Equal(t, c.want, f.Pattern, name)
		require.InDelta(t, c.mm, f.AtMM, 0, name)
		require.Equal(t, ok && c.mm != 0.25, f.PointMM != nil, name)
		if f.PointMM != nil {
			require.InDelta(t, c.mm, f.PointMM[0], 0, name)
			require.Equal(t, pair(13, 43), pair(f.Upper, f.Lower))
		}
	}
}

// Where on the teeth a finding lies is told where both are known, and where it has a place.
func TestRuleSitesAreToldOfBothTeeth(t *testing.T) {
	m := ruled(t, made(findings.Right, 4, func(int, *findings.Frame) {}), -1)
	for upper, lower := range map[string]string{"cusp": "fossa", "": "fossa"} {
		for _, c := range [][2]string{{upper, lower}, {lower, upper}} {
			f := findings.Finding{Kind: findings.KindNonworkingContact, Upper: 26, Lower: 36, UpperAt: c[0], LowerAt: c[1]}
			text := m.sentence(&f).String()
			if c[0] != "" && c[1] != "" {
				require.Contains(t, text, "Upper "+c[0]+" on lower "+c[1])
			} else {
				require.NotContains(t, text, "Upper")
			}
		}
	}
	e := bare(upright(26), upright(36))
	f := findings.Finding{Upper: 26, Lower: 36}
	locate(e, m.x, &f)
	require.Empty(t, f.UpperAt+f.LowerAt)
	f.PointMM = &findings.Vec{}
	locate(e, m.x, &f)
	require.Equal(t, Site(e.Casts.Upper, 26, r3.Vec{}), f.UpperAt)
	require.Empty(t, Site(e.Casts.Upper, 27, r3.Vec{}))
}

// What explains an interference is listed with it; what explains late disclusion with that alone.
func TestRuleCausesStandWithTheirFinding(t *testing.T) {
	e := ridged(map[dentition.ToothID][2]float64{35: {0, 0}, 36: {0.5, 0}, 45: {0, 0}, 46: {0.5, 0}})
	m := ruled(t, made(findings.Right, 17, func(i int, f *findings.Frame) {
		clears(f, map[string]float64{"46": 9})
		carry(f, pair(13, 43))
		f.IncisalPoint = &findings.Vec{-step4 * float64(i), 0, 0}
		if touch(f, rightCanines, 1); i > 1 {
			touch(f, pair(26, 36), 1)
		}
	}), -1)
	m.Measure([]findings.Foil{40})
	list, err := m.weigh(e, NewShape(e.Casts, nil))
	require.NoError(t, err)
	got := map[findings.Kind][]string{}
	for i := range list {
		got[list[i].Kind] = texts(list[i].Causes)
	}
	const step = " stand 0.5 mm more occlusal than those of its neighbours"
	require.Equal(t, map[findings.Kind][]string{
		findings.KindNonworkingContact: {"the marginal ridges of 36" + step},
		findings.KindLateDisclusion:    {"the marginal ridges of 46" + step},
		findings.KindGuidance:          nil,
	}, got)
}
