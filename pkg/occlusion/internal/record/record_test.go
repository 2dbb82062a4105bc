package record

import (
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// Newcombe 1998, Stat Med 17:857-872, table I, method 3 (from memory), gives
// these intervals to four digits.
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		k, n     int
		from, to float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}, {29, 29, 0.8830, 1}} {
		from, to := wilson(c.k, c.n)
		require.InDelta(t, c.from, from, 5e-5, "%d/%d", c.k, c.n)
		require.InDelta(t, c.to, to, 5e-5, "%d/%d", c.k, c.n)
	}
}

// The first is the worked example of the usual textbooks: of 50 proposals both
// readers say yes to 20 and no to 15, the first alone to 5, the second to 10.
func TestCohen(t *testing.T) {
	for _, c := range []struct {
		a, b, c, d int
		want       float64
		ok         bool
	}{
		{20, 5, 10, 15, 0.4, true}, {7, 0, 0, 3, 1, true}, {0, 5, 5, 0, -1, true}, {4, 4, 4, 4, 0, true},
		{9, 0, 0, 0, 0, false}, {0, 0, 0, 9, 0, false}, {0, 0, 0, 0, 0, false}, {8, 1, 0, 0, 0, true},
	} {
		got, ok := cohen(c.a, c.b, c.c, c.d)
		require.Equal(t, c.ok, ok, c)
		require.InDelta(t, c.want, got, 1e-12, c)
	}
}

// recordCase is findings made by hand: gaps in intercuspation, and a movement to the right.
func recordCase() *findings.Findings {
	f := &findings.Findings{}
	for tooth, gap := range map[findings.Part]float64{16: 0, 46: 0, 15: 93, 45: 120, 14: 30, 44: 30, 26: 7, 36: 7, 27: 200, 37: 200} {
		f.Centric.Teeth = append(f.Centric.Teeth, findings.CentricTooth{Tooth: tooth, GapUm: gap})
	}
	f.Centric.Contacts = []findings.Contact{{Upper: 16, Lower: 46, FoilUm: 8}, {Upper: 16, Lower: 46, FoilUm: 40},
		{Upper: 26, Lower: 36, FoilUm: 40}, {Upper: 14, Lower: 44, FoilUm: 40}}
	frame := func(travel, incisal float64, clear map[string]float64, pairs ...findings.Pair) findings.Frame {
		fr := findings.Frame{TravelMM: travel, ClearanceMM: clear, IncisalPoint: &findings.Vec{0, 0, incisal}}
		for _, p := range pairs {
			fr.Contacts = append(fr.Contacts, findings.Contact{Upper: p.Upper, Lower: p.Lower, FoilUm: 40})
		}
		return fr
	}
	clear := func(v float64) map[string]float64 {
		return map[string]float64{"13": 0, "43": 0, "15": v, "45": v + 0.1, "17": 0.02 + v, "47": 0.02 + v, "27": 1,
			"37": 1, "12": 0.06, "42": 0.01}
	}
	f.Excursions = []findings.Excursion{{Movement: "right", Frames: []findings.Frame{
		frame(0, 0, clear(0), findings.Pair{Upper: 16, Lower: 46}), // stops of the closing
		frame(1, -1, clear(0.5), findings.Pair{Upper: 13, Lower: 43}, findings.Pair{Upper: 14, Lower: 44}),
		frame(2, -2, clear(0.3), findings.Pair{Upper: 13, Lower: 43}), // edge to edge
		frame(3, -1, clear(0.4), findings.Pair{Upper: 23, Lower: 33}, findings.Pair{Upper: 22, Lower: 33}),
	}}, {Movement: "protrusive", Frames: []findings.Frame{frame(0, 0, clear(0)), frame(1, -1, clear(1))}}}
	return f
}

// recorded is a case with a record.
func recorded(r *casefile.Record) *casefile.Case {
	c := casefile.Default()
	c.Record = r
	return c
}

func compare(t *testing.T, c *casefile.Case, f *findings.Findings, gap pairGap) *findings.Record {
	t.Helper()
	r, err := Compare(c, f, gap)
	require.NoError(t, err)
	return r
}

func TestRecordTeeth(t *testing.T) {
	require.Nil(t, compare(t, recorded(nil), recordCase(), nil))
	f := recordCase()
	f.Yielding = &findings.Yielding{OnlyYielding: []findings.YieldStop{{Upper: 15, Lower: 45, FromN: 12}}}
	r := compare(t, recorded(&casefile.Record{FoilUm: 8, Notes: "high on the left", Foil: map[dentition.ToothID]casefile.Hold{
		16: casefile.Passes, 15: casefile.Holds, 14: casefile.LightDrag, 44: casefile.Passes, 26: casefile.LightDrag,
		27: casefile.Passes, 46: casefile.Holds, 38: casefile.Holds,
	}}), f, nil)
	require.Equal(t, "high on the left", r.Notes)
	want := []struct {
		tooth findings.Part
		match findings.Match
		off   float64
	}{{14, findings.Unsure, 0}, {15, findings.OnlyMouth, 85}, {16, findings.OnlyCasts, -8}, {26, findings.Agree, 0},
		{27, findings.Agree, 0}, {38, findings.NotOnCasts, 0}, {44, findings.Unsure, 0}, {46, findings.Agree, 0}}
	require.Len(t, r.Teeth, len(want))
	for i, w := range want {
		got := r.Teeth[i]
		require.Equal(t, w.tooth, got.Tooth)
		require.Equal(t, w.match, got.Match, "%v", w.tooth)
		require.Equal(t, w.match == findings.OnlyMouth || w.match == findings.OnlyCasts, got.OffUm != nil, "%v", w.tooth)
		if got.OffUm != nil {
			require.InDelta(t, w.off, *got.OffUm, 1e-9, "%v", w.tooth)
		}
		require.Equal(t, w.match == findings.NotOnCasts, got.GapUm == nil && got.Casts == nil)
		require.Equal(t, w.tooth == 15, got.YieldsFromN != nil)
	}
	a := r.Agreement
	require.Equal(t, [5]int{3, 1, 1, 2, 1}, [5]int{a.Agree, a.OnlyMouth, a.OnlyCasts, a.Undecided, a.NotOnCasts})
	require.InDelta(t, 0.6, *a.Share, 1e-12)
	require.InDelta(t, (5*3-(3*3+2*2.))/(25-(3*3+2*2.)), *a.Kappa, 1e-12)
	require.Equal(t, "Foil of 8 µm: mouth and casts agree on 3 of 5 teeth (60 %, 95 % interval 23 to 88 %; kappa 0.17). "+
		"Only in the mouth: 15 (gap 85 µm too large on the casts). Of these in contact on the casts when the teeth "+
		"yield: 15 (from 12 N). Only on the casts: 16 (at least 8 µm too near on the casts). "+
		"Too close to call: 14 (light drag in the mouth, gap 30 µm on the casts), 44 (pulls through in the mouth, gap 30 "+
		"µm on the casts). Not on the casts: 38.", r.Text.String())
	require.Contains(t, r.Text.In(dentition.Universal), "Only on the casts: 3 (at least 8 µm too near on the casts)")

	// A thicker foil is held by what is farther apart: its thickness counts.
	c := recorded(&casefile.Record{FoilUm: 100,
		Foil: map[dentition.ToothID]casefile.Hold{15: casefile.Holds, 45: casefile.Holds, 27: casefile.Holds}})
	c.Thresholds.ScanDoubtUm = 25
	r = compare(t, c, f, nil)
	require.Equal(t, []findings.Match{findings.Agree, findings.OnlyMouth, findings.Unsure},
		[]findings.Match{r.Teeth[0].Match, r.Teeth[1].Match, r.Teeth[2].Match})
	require.InDelta(t, 100, *r.Teeth[1].OffUm, 1e-9)
}

func TestRecordMarks(t *testing.T) {
	// The gap of a pair is exact: in intercuspation 27/37 meet other teeth at 200 µm, each other
	// at 240, and 15/45 are nearest to each other where neither is to others.
	gaps := func(f *findings.Frame, p findings.Pair) (float64, bool) {
		switch {
		case p == findings.Pair{Upper: 27, Lower: 37} && f == nil:
			return 240, true
		case p == findings.Pair{Upper: 15, Lower: 45}:
			return map[float64]float64{1: 700, 2: 450, 3: 510}[f.TravelMM], true
		case p == findings.Pair{Upper: 12, Lower: 42}:
			return 60, true
		}
		return 0, false
	}
	r := compare(t, recorded(&casefile.Record{FoilUm: 8, Marks: casefile.Marks{
		Centric:    []casefile.Mark{{Upper: 16, Lower: 46}, {Lower: 36}, {Upper: 27, Lower: 37}, {Upper: 16, Lower: 46}},
		Right:      []casefile.Mark{{Upper: 13}, {Upper: 15, Lower: 45}, {Upper: 12, Lower: 42}, {Upper: 22, Lower: 33}, {Upper: 18}},
		Left:       []casefile.Mark{},
		Protrusive: []casefile.Mark{},
	}}), recordCase(), gaps)
	require.Nil(t, r.Agreement.Share)
	require.Len(t, r.Marks, 3, "the left movement was not examined")
	type row struct {
		upper, lower findings.Part
		match        findings.Match
		off, at      float64
	}
	rows := func(m *findings.RecordMarks) (out []row) {
		for _, p := range m.Pairs {
			x := row{p.Upper, p.Lower, p.Match, -1, -1}
			if p.OffUm != nil {
				x.off = *p.OffUm
			}
			if p.AtMM != nil {
				x.at = *p.AtMM
			}
			out = append(out, x)
		}
		return out
	}
	require.Equal(t, []row{{0, 36, findings.Agree, -1, -1}, {14, 44, findings.OnlyCasts, -1, -1},
		{16, 46, findings.Agree, -1, -1}, {27, 37, findings.OnlyMouth, 200, -1}}, rows(&r.Marks[0]))
	require.Equal(t, []row{
		{12, 42, findings.Unsure, -1, 1},     // 60 µm apart, 20 beyond the foil
		{13, 0, findings.Agree, -1, 1},       // one tooth is enough
		{14, 44, findings.OnlyCasts, -1, 1},  //
		{15, 45, findings.OnlyMouth, 410, 2}, //
		{18, 0, findings.NotOnCasts, -1, -1}, //
		{22, 33, findings.Agree, -1, 3},      // confirmed past the edge; 23/33 there is not expected in the mouth
	}, rows(&r.Marks[1]))
	require.Empty(t, r.Marks[2].Pairs)
	require.Equal(t, "Marks in intercuspation: both show 36, 16/46; only in the mouth 27/37 (gap 200 µm too large on "+
		"the casts); only on the casts 14/44. "+
		"Marks in right lateral movement: both show 13, 22/33; only in the mouth 15/45 (gap 410 µm too large on the "+
		"casts); only on the casts 14/44 (from 1.0 mm); too close to call 12/42; not on the casts 18. "+
		"Marks in protrusion: none, neither in the mouth nor on the casts.", r.Text.String())
	require.Nil(t, r.Marks[1].Agreement.Kappa)
	require.InDelta(t, 0.5, *r.Marks[1].Agreement.Share, 1e-12)
}

// Foil that pulls through in the mouth at a tooth with a mark of closing there is said.
func TestFoilAgainstMarks(t *testing.T) {
	for name, c := range map[string]struct {
		foil    casefile.Hold
		centric []casefile.Mark
		right   []casefile.Mark
		want    bool
	}{
		"both teeth":  {casefile.Passes, []casefile.Mark{{Upper: 14, Lower: 44}}, nil, true},
		"one tooth":   {casefile.Passes, []casefile.Mark{{Upper: 14}}, nil, true},
		"foil drags":  {casefile.LightDrag, []casefile.Mark{{Upper: 14, Lower: 44}}, nil, false},
		"others":      {casefile.Passes, []casefile.Mark{{Upper: 16, Lower: 46}}, nil, false}, // 14/44 meet on the casts
		"in movement": {casefile.Passes, nil, []casefile.Mark{{Upper: 14, Lower: 44}}, false},
	} {
		exact := func(*findings.Frame, findings.Pair) (float64, bool) { return 0, true }
		r := compare(t, recorded(&casefile.Record{FoilUm: 8, Foil: map[dentition.ToothID]casefile.Hold{14: c.foil},
			Marks: casefile.Marks{Centric: c.centric, Right: c.right}}), recordCase(), exact)
		require.Equal(t, c.want, strings.Contains(r.Text.String(),
			"In the mouth foil pulls through at 14, which carries a mark of closing"), "%s: %s", name, r.Text.String())
	}
}

// without labels nothing can be compared, which is said.
func TestRecordWithoutLabels(t *testing.T) {
	f := &findings.Findings{Excursions: []findings.Excursion{{Movement: "right", Frames: []findings.Frame{
		{TravelMM: 1, ClearanceMM: map[string]float64{"upper": 0}, Contacts: []findings.Contact{{FoilUm: 40}}}}}}}
	r := compare(t, recorded(&casefile.Record{FoilUm: 8, Foil: map[dentition.ToothID]casefile.Hold{16: casefile.Holds},
		Marks: casefile.Marks{Right: []casefile.Mark{{Upper: 13}}}}), f, nil)
	require.Equal(t, "Foil of 8 µm: no teeth that can be compared. Not on the casts: 16. Marks in right lateral "+
		"movement: not on the casts 13.", r.Text.String())
	require.Equal(t, "Neither foil nor marks were recorded.", compare(t, recorded(&casefile.Record{FoilUm: 8}), f, nil).Text.String())
}

// A stop that comes to bear when teeth yield is that of both its teeth and of no other.
func TestYieldsFrom(t *testing.T) {
	y := &findings.Yielding{OnlyYielding: []findings.YieldStop{{Upper: 15, Lower: 45, FromN: 12}}}
	for tooth, there := range map[findings.Part]bool{15: true, 45: true, 16: false, 46: false} {
		got := yieldsFrom(y, tooth)
		require.Equal(t, there, got != nil, tooth)
		if there {
			require.InDelta(t, 12, *got, 0)
		}
	}
	require.Nil(t, yieldsFrom(nil, 15))
}

// What touches counts from the beginning of a movement, just so, and is expected in the mouth up to
// the edge-to-edge position, that included.
func TestTraceOfAMovement(t *testing.T) {
	c := casefile.Default()
	c.Thresholds.BegunMM = 0.5
	x := &findings.Excursion{Movement: "right"}
	for i, at := range []float64{0, 0.4999, 0.5, 1, 2} {
		down := []float64{0, -1, -2, -3, -2}[i] // edge to edge at 1 mm
		x.Frames = append(x.Frames, findings.Frame{TravelMM: at, IncisalPoint: &findings.Vec{0, 0, down},
			Contacts: []findings.Contact{{Upper: findings.Part(11 + i), Lower: findings.Part(41 + i), FoilUm: 40}}})
	}
	tr, err := movementTrace(x, c)
	require.NoError(t, err)
	pair := func(i int) findings.Pair {
		return findings.Pair{Upper: findings.Part(11 + i), Lower: findings.Part(41 + i)}
	}
	require.Equal(t, map[findings.Pair]float64{pair(2): 0.5, pair(3): 1, pair(4): 2}, tr.first)
	require.Equal(t, map[findings.Pair]bool{pair(2): true, pair(3): true, pair(4): false}, tr.wanted)
}

// The nearest that a tooth comes to the other arch is known from its gaps, that of a pair is
// measured where both are near enough; of positions that are alike the first counts.
func TestNearestOfAPair(t *testing.T) {
	tr := trace{frames: []*findings.Frame{{TravelMM: 1}, {TravelMM: 2}, {TravelMM: 3}, {TravelMM: 4}},
		gaps: []map[findings.Part]float64{{15: 300, 45: 100}, {15: 200, 45: 100}, {15: 200, 45: 150}, {15: 400, 45: 10}}}
	for name, c := range map[string]struct {
		of       findings.Pair
		exact    map[float64]float64 // by travel
		gap, at  float64
		measured []float64
	}{
		"a tooth":          {findings.Pair{Upper: 15}, nil, 200, 2, nil},
		"the lower tooth":  {findings.Pair{Lower: 45}, nil, 10, 4, nil},
		"a pair":           {findings.Pair{Upper: 15, Lower: 45}, map[float64]float64{1: 350, 2: 250, 3: 210}, 210, 3, []float64{1, 2, 3}},
		"as near as first": {findings.Pair{Upper: 15, Lower: 45}, map[float64]float64{1: 350, 2: 250, 3: 250}, 250, 2, []float64{1, 2, 3}},
		"enough at once":   {findings.Pair{Upper: 15, Lower: 45}, map[float64]float64{1: 300, 2: 200}, 200, 2, []float64{1, 2}},
	} {
		var asked []float64
		um, at, ok := tr.nearest(c.of, func(f *findings.Frame, _ findings.Pair) (float64, bool) {
			asked = append(asked, f.TravelMM)
			um, ok := c.exact[f.TravelMM]
			return um, ok
		})
		require.True(t, ok, name)
		require.InDelta(t, c.gap, um, 0, name)
		require.InDelta(t, c.at, at, 0, name)
		require.Equal(t, c.measured, asked, name)
	}
	_, _, ok := tr.nearest(findings.Pair{Upper: 15, Lower: 46}, nil)
	require.False(t, ok, "46 is not on the casts")
}

// A mark of the mouth is too close to call up to the doubt of the scans beyond the foil, that
// included; where one tooth of a pair on the casts is not labelled the other one is told, where
// neither is nothing.
func TestMarksAtTheirThresholds(t *testing.T) {
	none := trace{first: map[findings.Pair]float64{}, wanted: map[findings.Pair]bool{},
		gaps: []map[findings.Part]float64{{16: 0, 46: 0}}, frames: []*findings.Frame{nil}}
	marks := []casefile.Mark{{Upper: 16, Lower: 46}}
	for um, want := range map[float64]findings.Match{76: findings.Unsure, 76.01: findings.OnlyMouth} {
		m := compareMarks("centric", marks, none, func(*findings.Frame, findings.Pair) (float64, bool) { return um, true }, 40, 36)
		require.Len(t, m.Pairs, 1)
		require.Equal(t, want, m.Pairs[0].Match, um)
	}
	for p, listed := range map[findings.Pair]bool{{Upper: 13}: true, {Lower: 43}: true, {Upper: 13, Lower: 43}: true, {}: false} {
		touching := trace{first: map[findings.Pair]float64{p: 1}, wanted: map[findings.Pair]bool{p: true}}
		m := compareMarks("right", []casefile.Mark{}, touching, nil, 40, 36)
		require.Equal(t, listed, len(m.Pairs) == 1, "%v", p)
	}
}
