package judge

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/stretchr/testify/require"
)

// How far the anterior teeth of the side that does not carry stay apart: the least clearance of its
// upper teeth while the others carry, from the first frame of that to the last one.
func TestRuleGapOfTheOtherSide(t *testing.T) {
	frame := func(upper, lower float64) map[string]float64 {
		return map[string]float64{"11": upper + 0.25, "12": upper, "13": upper + 0.125, "41": lower + 0.25, "42": lower, "43": lower + 0.25,
			"21": 0, "31": 0, "16": 0, "46": 0} // of the side that carries, and posterior teeth
	}
	type list = []map[string]float64
	for name, c := range map[string]struct {
		gaps  list
		um    float64 // 0 where nothing is known
		at    float64
		teeth findings.Pair
	}{
		"least in the middle":     {list{nil, frame(0.5, 0.5), frame(0.25, 0.5), frame(0.5, 0.5), nil}, 250, 0.5, pair(12, 42)},
		"of equals the first":     {list{nil, frame(0.5, 0.5), frame(0.25, 0.5), frame(0.25, 0.5), nil}, 250, 0.5, pair(12, 42)},
		"in the first frame":      {list{frame(0.125, 0.5), frame(0.25, 0.5), frame(0.5, 0.5), frame(0.5, 0.5), nil}, 250, 0.25, pair(12, 42)},
		"in the last frame":       {list{nil, frame(0.5, 0.5), frame(0.5, 0.5), frame(0.25, 0.5), frame(0.125, 0.5)}, 250, 0.75, pair(12, 42)},
		"no lower tooth is known": {list{nil, {"12": 0.25}, nil, nil, nil}, 0, 0.25, findings.Pair{}},
		"no upper tooth is known": {list{nil, {"42": 0.25}, nil, nil, nil}, 0, 0.25, findings.Pair{}},
		"nothing is known":        {list{nil, nil, nil, nil, nil}, 0, 0.25, findings.Pair{}},
		"the least of a jaw": {list{nil, {"11": 0.25, "12": 0.5, "41": 0.5, "42": 0.25, "43": 0.375}, nil, nil,
			nil}, 250, 0.25, pair(11, 42)},
		"of equal teeth the first":   {list{nil, {"11": 0.25, "12": 0.25, "41": 0.25, "42": 0.25}, nil, nil, nil}, 250, 0.25, pair(11, 41)},
		"those of the carrying side": {list{nil, {"21": 0.25, "31": 0.25}, nil, nil, nil}, 0, 0.25, findings.Pair{}},
	} {
		m := ruled(t, made("protrusive", 5, func(i int, f *findings.Frame) {
			f.ClearanceMM = c.gaps[i]
			if i != 3 {
				carry(f, pair(21, 31))
			}
		}), -1)
		f := findings.Finding{Kind: findings.KindUneven, Upper: 21, Lower: 31, FromMM: 0.25, ToMM: 0.75, AtMM: 0.25}
		m.gauge(&f)
		require.Equal(t, c.um != 0, f.Value != nil, name)
		require.InDelta(t, c.at, f.AtMM, 0, name)
		text := "21/31: anterior contact on one side only in protrusion, 0.2 to 0.8 mm"
		if f.Value != nil {
			require.InDelta(t, c.um, *f.Value, 0, name)
			require.Equal(t, "um", f.Unit)
			require.Equal(t, c.at == 0.75, f.PointMM == nil, name) // no one carries there
			text += "; " + c.teeth.Upper.String() + "/" + c.teeth.Lower.String() + " is out of contact (gap 250 µm)"
		}
		require.Equal(t, text+".", m.sentence(&f).String(), name)
	}
}

// Where late disclusion is shown: the last frame up to the edge-to-edge position in which one of
// those teeth touches; and when the last of them disoccludes, where all do.
func TestRuleSizeOfLateDisclusion(t *testing.T) {
	at := func(mm float64) *float64 { return &mm }
	for name, c := range map[string]struct {
		tooth  []findings.Disclusion
		touch  map[int]findings.Pair
		end    int
		want   findings.Pair
		atMM   float64
		value  *float64
		number int
	}{
		"the last of two": {[]findings.Disclusion{{Tooth: 16, ClearsMM: at(3.5)}, {Tooth: 46,
			ClearsMM: at(3.25)}}, nil, -1, findings.Pair{}, 0, at(3.5), 2},
		"in time": {[]findings.Disclusion{{Tooth: 16, ClearsMM: at(3)}, {Tooth: 46, ClearsMM: at(3.25)}},
			nil, -1, findings.Pair{}, 0, at(3.25), 1},
		"one never does": {[]findings.Disclusion{{Tooth: 16}, {Tooth: 46, ClearsMM: at(3.25)}}, nil, -1, findings.Pair{}, 0, nil, 2},
		"the last touch": {[]findings.Disclusion{{Tooth: 16}}, map[int]findings.Pair{2: pair(16, 46),
			3: pair(16, 47)}, -1, pair(16, 47), 0.75, nil, 1},
		"of a lower tooth": {[]findings.Disclusion{{Tooth: 46}}, map[int]findings.Pair{2: pair(16, 46),
			3: pair(17, 47)}, -1, pair(16, 46), 0.5, nil, 1},
		"of another tooth":    {[]findings.Disclusion{{Tooth: 16}}, map[int]findings.Pair{3: pair(17, 47)}, -1, findings.Pair{}, 0, nil, 1},
		"in the first frame":  {[]findings.Disclusion{{Tooth: 16}}, map[int]findings.Pair{0: pair(16, 46)}, -1, pair(16, 46), 0, nil, 1},
		"at the edge-to-edge": {[]findings.Disclusion{{Tooth: 16}}, map[int]findings.Pair{2: pair(16, 46)}, 2, pair(16, 46), 0.5, nil, 1},
		"beyond the edge-to-edge": {[]findings.Disclusion{{Tooth: 16}}, map[int]findings.Pair{1: pair(16, 46),
			3: pair(16, 46)}, 2, pair(16, 46), 0.25, nil, 1},
		"none is late, none is not": {nil, nil, -1, findings.Pair{}, 0, at(0), 0},
	} {
		m := ruled(t, made(findings.Right, 5, func(i int, f *findings.Frame) {
			if p, ok := c.touch[i]; ok {
				touch(f, p, float64(i))
			}
		}), c.end)
		m.x.Disclusion = c.tooth
		f := findings.Finding{Kind: findings.KindLateDisclusion}
		m.gauge(&f)
		require.Equal(t, c.value, f.Value, name)
		require.Equal(t, c.value != nil, f.Unit == "mm", name)
		require.Equal(t, c.want, pair(f.Upper, f.Lower), name)
		require.InDelta(t, c.atMM, f.AtMM, 0, name)
		require.Len(t, f.Teeth, c.number, name)
	}
}

// The size of a kink is its angle, of a leap its height; that of a guidance the inclination of the
// path of the tooth, within the movement's foil. Those of another travel are of another finding.
func TestRuleSizeOfKinksAndGuidance(t *testing.T) {
	from, to := findings.Touch{Upper: 13, Lower: 43}, findings.Touch{Upper: 14, Lower: 44}
	deg := 40.0
	m := ruled(t, made(findings.Right, 9, func(int, *findings.Frame) {}), -1)
	m.x.Smoothness = &findings.Smoothness{Kinks: []findings.Kink{{TravelMM: 0.5, ChangeDeg: 99, From: to, To: from},
		{TravelMM: 1, ChangeDeg: 12, From: from, To: to},
		{TravelMM: 1.5, ChangeDeg: -12, JumpMM: -0.25, From: from, To: to}, {TravelMM: 2, ChangeDeg: -12, From: from, To: to}}}
	m.x.Guidance = &findings.Course{Patterns: []findings.Pattern{
		{AtMM: 0.5, TravelMM: 0.5, FoilUm: 40, Pattern: findings.Mixed}, {AtMM: 1, TravelMM: 1, FoilUm: 8, Pattern: findings.NoContact},
		{AtMM: 1, TravelMM: 1, FoilUm: 40, Pattern: findings.CanineGuidance, ToothDeg: &deg, Pairs: []findings.Sentence{}}}}
	for _, c := range []struct {
		kind  findings.Kind
		at    float64
		value float64
		unit  string
		text  string
	}{
		{findings.KindKink, 1, 12, "deg", "13/43: guidance passes to 14/44 at 1.0 mm in right lateral movement and steepens abruptly (12°)."},
		{findings.KindKink, 2, -12, "deg", "13/43: guidance passes to 14/44 at 2.0 mm in right lateral movement and flattens abruptly (12°)."},

		{findings.KindKink, 1.5, -0.25, "mm",
			"13/43: guidance passes to 14/44 at 1.5 mm in right lateral movement and the incisal point jumps by -0.25 mm."},
		{findings.KindKink, 1.25, 0, "", "an unlabelled place: right lateral movement, at 1.2 mm."},
		{findings.KindGuidance, 1, 40, "deg", "Canine guidance in right lateral movement at 1 mm (; foil 40 µm)."},
		{findings.KindGuidance, 0.5, 0, "", "Mixed guidance in right lateral movement at 0.5 mm (; foil 40 µm)."},
		{findings.KindGuidance, 0.75, 0, "", "an unlabelled place: right lateral movement, at 0.8 mm."},
	} {
		f := findings.Finding{Kind: c.kind, AtMM: c.at, FromMM: c.at, ToMM: c.at}
		m.gauge(&f)
		require.Equal(t, c.unit, f.Unit)
		if c.unit != "" {
			require.InDelta(t, c.value, *f.Value, 0)
		}
		require.Equal(t, c.text, m.sentence(&f).String())
	}
	// A bend of no angle, where a case's threshold is 0, steepens.
	require.Equal(t, "13/43: guidance passes to 14/44 at 1.0 mm in right lateral movement and steepens abruptly (0°).",
		kink(&findings.Kink{From: from, To: to}, 1, language.With{"movement": findings.NameMovement(findings.Right)}).String())
}
