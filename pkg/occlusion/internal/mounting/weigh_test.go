package mounting

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"gonum.org/v1/gonum/spatial/r3"
)

// record is a record with teeth that agree and some that do not.
func record(agree, differ int, kappa *float64) *findings.Record {
	return &findings.Record{Agreement: findings.Agreement{Agree: agree, OnlyCasts: differ, Kappa: kappa}}
}

func k(v float64) *float64 { return &v }

// Each threshold of the record's voice just below and just above: five teeth to speak,
// eight to overrule, kappa of 0.20 and of 0.61.
func TestVoiceOfTheMouth(t *testing.T) {
	for _, c := range []struct {
		name string
		r    *findings.Record
		want mouth
	}{
		{"none", nil, silent},
		{"four agree", record(4, 0, nil), silent},
		{"five agree", record(5, 0, nil), confirms},
		{"kappa without meaning, one differs", record(5, 1, nil), between},
		{"substantial", record(9, 1, k(0.61)), confirms},
		{"just below substantial", record(9, 1, k(0.6099)), between},
		{"slight", record(8, 16, k(0.20)), denies},
		{"just above slight", record(8, 16, k(0.2001)), between},
		{"slight of eight", record(2, 6, k(0)), denies},
		{"slight of seven", record(2, 5, k(0)), between},
	} {
		assert.Equal(t, c.want, voice(c.r), c.name)
	}
}

// What leads to what: the table of docs/findings.md.
func TestWhatLeadsToWhat(t *testing.T) {
	um := 89.0
	given := map[findings.Shape]*findings.Given{
		"": nil, findings.ShapeLevel: {Shape: findings.ShapeLevel},
		findings.ShapeHigh:    {Shape: findings.ShapeHigh, Upper: 16, Lower: 46, HeightUm: &um},
		findings.ShapeTilted:  {Shape: findings.ShapeTilted, Turn: &findings.SmallTurn{RollDeg: 0.4}},
		findings.ShapeShifted: {Shape: findings.ShapeShifted, Displaced: &findings.Displacement{ShiftMM: findings.Vec{0, -0.2, 0}}},
	}
	for _, c := range []struct {
		areas findings.Verdict
		shape findings.Shape
		r     *findings.Record
		want  findings.Verdict
		tilt  bool
	}{
		{findings.Acceptable, findings.ShapeLevel, nil, findings.Acceptable, false},
		{findings.Acceptable, findings.ShapeHigh, nil, findings.Undecided, false},
		{findings.Remount, findings.ShapeHigh, nil, findings.Undecided, false},
		{findings.Remount, findings.ShapeTilted, nil, findings.Remount, true},
		{findings.Undecided, findings.ShapeLevel, nil, findings.Undecided, true},
		{findings.Remount, "", nil, findings.Remount, true},
		{findings.Acceptable, findings.ShapeShifted, nil, findings.Undecided, false},
		{findings.Remount, findings.ShapeShifted, nil, findings.Remount, true},
		{findings.Acceptable, findings.ShapeShifted, record(5, 0, nil), findings.Acceptable, false},
		{findings.Remount, findings.ShapeHigh, record(5, 0, nil), findings.Acceptable, false},
		{findings.Remount, findings.ShapeTilted, record(9, 1, k(0.8)), findings.Acceptable, false},
		{findings.Acceptable, findings.ShapeLevel, record(8, 16, k(0.08)), findings.Remount, false},
		{findings.Acceptable, findings.ShapeHigh, record(8, 16, k(0.08)), findings.Remount, false},
		{findings.Acceptable, findings.ShapeLevel, record(6, 4, k(0.4)), findings.Acceptable, false},
		{findings.Acceptable, findings.ShapeHigh, record(6, 4, k(0.4)), findings.Undecided, false},
	} {
		f := &findings.Findings{Record: c.r}
		f.Settling.Given = given[c.shape]
		m := &f.Centric.Mounting
		if m.Verdict = c.areas; c.areas != findings.Acceptable {
			m.Tilt = &findings.Tilt{RollDeg: 0.1}
		}
		pair := findings.Pair{Upper: 16, Lower: 46}
		m.Reasons = []findings.Sentence{language.Say(onlyPair, language.With{"pair": pair}), language.Literal("areas")}
		Weigh(f)
		assert.Equal(t, c.want, m.Verdict, "%+v", c)
		assert.Equal(t, c.tilt, m.Tilt != nil, "%+v", c)
		assert.Equal(t, "areas", m.Reasons[len(m.Reasons)-1].String(), "the areas' reasons stay, behind the others")
		asks := slices.ContainsFunc(m.Reasons, func(s findings.Sentence) bool { return s.Key() == onlyPair })
		assert.Equal(t, c.shape != findings.ShapeHigh && voice(c.r) != confirms, asks, "%+v: what is answered is not asked", c)
		if c.shape == findings.ShapeHigh {
			assert.Greater(t, len(m.Reasons), 1, "rocking over one pair never ends in a bare verdict")
		}
	}
}

// A displacement that seating has brought back leaves the verdict to the areas, and both are
// said.
func TestWeighSaysWhetherACastWasBroughtBack(t *testing.T) {
	for taken, want := range map[bool]findings.Verdict{true: findings.Acceptable, false: findings.Undecided} {
		f := &findings.Findings{}
		f.Settling.Given = &findings.Given{Shape: findings.ShapeShifted, Text: language.Literal("0.20 mm too far forward"),
			Displaced: &findings.Displacement{}}
		f.Settling.Seat = &findings.Seat{Taken: taken}
		f.Centric.Mounting = findings.Mounting{Verdict: findings.Acceptable}
		Weigh(f)
		m := &f.Centric.Mounting
		assert.Equal(t, want, m.Verdict)
		assert.Equal(t, "As given: 0.20 mm too far forward.", m.Reasons[0].String())
		key := "weigh.stands"
		if taken {
			key = "weigh.brought"
		}
		assert.Equal(t, key, m.Reasons[1].Key())
	}
}

// Seating over a high pair is said with its angle, and the question about anterior teeth goes
// where the record answers it.
func TestWeighSaysWhatSeatingDid(t *testing.T) {
	f := &findings.Findings{Record: &findings.Record{Teeth: []findings.RecordTooth{{Tooth: 11, Mouth: casefile.Passes}}}}
	um := 89.0
	f.Settling.Given = &findings.Given{Shape: findings.ShapeHigh, Upper: 16, Lower: 46, HeightUm: &um}
	f.Settling.Pose.Pose = kinematics.Rotation(r3.Vec{Y: 1}, 0.001)
	f.Centric.Mounting = findings.Mounting{Verdict: findings.Acceptable, Reasons: []findings.Sentence{language.Say(askFront)}}
	Weigh(f)
	all := ""
	for _, r := range f.Centric.Mounting.Reasons {
		all += r.String() + " "
	}
	assert.Contains(t, all, "Seating turned the casts by 0.06° over it")
	assert.NotContains(t, all, language.Say(askFront).String())
	f.Record.Teeth[0].Tooth = 16
	f.Centric.Mounting.Reasons = []findings.Sentence{language.Say(askFront)}
	Weigh(f)
	assert.Equal(t, askFront, f.Centric.Mounting.Reasons[len(f.Centric.Mounting.Reasons)-1].Key())
}

// Just below and just above what the weighing asks.
func TestWeighBorders(t *testing.T) {
	weigh := func(edit func(*findings.Findings)) (findings.Verdict, []string) {
		um := 89.0
		f := &findings.Findings{}
		f.Settling.Given = &findings.Given{Shape: findings.ShapeHigh, Upper: 16, Lower: 46, HeightUm: &um}
		f.Centric.Mounting.Verdict = findings.Acceptable
		edit(f)
		Weigh(f)
		var keys []string
		for _, r := range f.Centric.Mounting.Reasons {
			keys = append(keys, r.Key())
		}
		return f.Centric.Mounting.Verdict, keys
	}
	turned := func(deg float64) func(*findings.Findings) {
		return func(f *findings.Findings) {
			f.Settling.Pose.Pose = kinematics.Rotation(r3.Vec{Y: 1}, s1.Angle(deg)*s1.Degree)
		}
	}
	_, keys := weigh(turned(0.0099))
	assert.NotContains(t, keys, "weigh.seated")
	_, keys = weigh(turned(0.0101))
	assert.Contains(t, keys, "weigh.seated")
	_, keys = weigh(func(f *findings.Findings) {
		turned(0.1)(f)
		f.Settling.Given.Displaced = &findings.Displacement{}
	})
	assert.NotContains(t, keys, "weigh.seated", "what was displaced was not rocked")

	doubt := casefile.Default().Settle.DoubtUm
	level := func(um float64) func(*findings.Findings) {
		return func(f *findings.Findings) {
			f.Settling.Given.Shape, f.Settling.Seat = findings.ShapeLevel, &findings.Seat{DoubtUm: um}
		}
	}
	v, keys := weigh(level(doubt))
	assert.Equal(t, findings.Acceptable, v)
	assert.Empty(t, keys)
	v, keys = weigh(level(doubt + 1))
	assert.Equal(t, findings.Undecided, v)
	assert.Equal(t, []string{"weigh.relation"}, keys)

	for _, c := range []struct {
		was  findings.Verdict
		turn *findings.SmallTurn
		want findings.Verdict
	}{
		{findings.Acceptable, &findings.SmallTurn{}, findings.Undecided}, {findings.Remount, &findings.SmallTurn{}, findings.Remount},
		{findings.Acceptable, nil, findings.Undecided}, {findings.Remount, nil, findings.Undecided},
	} {
		v, _ := weigh(func(f *findings.Findings) { f.Settling.Given.Turn, f.Centric.Mounting.Verdict = c.turn, c.was })
		assert.Equal(t, c.want, v, "%+v", c)
	}
}

// An open area says why it is open: the mouth shows the same, or a high tooth keeps it open. Where neither
// does, a record that agrees elsewhere leaves the mounting undecided.
func TestOpenAreas(t *testing.T) {
	passes := func(teeth ...findings.Part) (out []findings.RecordTooth) {
		for _, x := range teeth {
			out = append(out, findings.RecordTooth{Tooth: x, Mouth: casefile.Passes, Match: findings.Agree})
		}
		return out
	}
	drags := findings.RecordTooth{Tooth: 17, Mouth: casefile.LightDrag, Match: findings.OnlyMouth}
	unsure := []findings.RecordTooth{{Tooth: 16, Mouth: casefile.Passes, Match: findings.Unsure}}
	const mouth, held = "so it is in the mouth, where foil pulls through at ", "as long as 26/36 keeps the teeth apart"
	marked := func(p findings.RecordMark, in findings.Movement) []findings.RecordMarks {
		return []findings.RecordMarks{{Movement: in, Pairs: []findings.RecordMark{p}}}
	}
	elsewhere := findings.RecordMark{Upper: 15, Lower: 45, Match: findings.Agree}
	casts := findings.RecordMark{Upper: 16, Lower: 46, Match: findings.OnlyCasts}
	mark := findings.RecordMark{Upper: 17, Lower: 46, Match: findings.OnlyMouth}
	for name, c := range map[string]struct {
		teeth   []findings.RecordTooth
		marks   []findings.RecordMarks
		high    bool
		laterUm float64 // of the pair of the area, behind the level
		want    findings.Verdict
		says    []string
	}{
		"the same in the mouth":     {teeth: passes(16), want: findings.Acceptable, says: []string{mouth + "16"}},
		"of two teeth":              {teeth: passes(17, 46), want: findings.Acceptable, says: []string{mouth + "17, 46"}},
		"foil holds at one of them": {teeth: append(passes(46), drags), want: findings.Undecided},
		"not compared":              {teeth: unsure, want: findings.Undecided},
		"a mark of closing there":   {teeth: passes(16), marks: marked(mark, findings.Closed), want: findings.Undecided},
		"a mark of a movement":      {teeth: passes(16), marks: marked(mark, "right"), want: findings.Acceptable, says: []string{mouth + "16"}},
		"a mark elsewhere": {teeth: passes(16), marks: marked(elsewhere, findings.Closed),
			want: findings.Acceptable, says: []string{mouth + "16"}},
		"a mark of the casts": {teeth: passes(16), marks: marked(casts, findings.Closed),
			want: findings.Acceptable, says: []string{mouth + "16"}},
		"of other areas":      {teeth: passes(26, 11, 15), want: findings.Undecided},
		"a tooth is high":     {high: true, want: findings.Acceptable, says: []string{held}},
		"it would meet later": {high: true, laterUm: 73.3, want: findings.Acceptable, says: []string{held}},
		"too late":            {high: true, laterUm: 73.5, want: findings.Undecided},
		"both":                {teeth: passes(16), high: true, want: findings.Acceptable, says: []string{mouth + "16", held}},
	} {
		f := &findings.Findings{Thresholds: casefile.Default().Thresholds, Record: record(5, 0, nil)}
		f.Record.Teeth, f.Record.Marks = c.teeth, c.marks
		f.Centric.Mounting = Judge(three(180, 0, 0), &f.Thresholds)
		if c.high {
			at := findings.Vec{-25, -40, -30} // 50 mm from the axis
			next := findings.Pair{Upper: 21, Lower: 31}
			f.Centric.Findings = []findings.Finding{{Upper: 26, Lower: 36, Next: &next}}
			f.Settling.Given = &findings.Given{Shape: findings.ShapeHigh, Staircase: []findings.Step{{Upper: 26, Lower: 36, OpeningDeg: 0.1},
				{Upper: 21, Lower: 31}, {Upper: 16, Lower: 46, OpeningDeg: -c.laterUm / 50e3 * 180 / math.Pi, PointMM: at}}}
		}
		Weigh(f)
		m := &f.Centric.Mounting
		all := language.Join(language.Text(m.Reasons)).String()
		assert.Equal(t, c.want, m.Verdict, name)
		for _, s := range []string{mouth, held} {
			says := slices.ContainsFunc(c.says, func(x string) bool { return strings.HasPrefix(x, s) })
			assert.Equal(t, says, strings.Contains(all, s), "%s: %s", name, all)
		}
		for _, s := range c.says {
			assert.Contains(t, all, s, name)
		}
		assert.Equal(t, c.want == findings.Undecided, strings.Contains(all, "no contact at the right molars: try foil there"), name)
		assert.Equal(t, c.want == findings.Acceptable, strings.Contains(all, "the casts stand to each other as the teeth do"), name)
	}
	// A record that decides nothing says so, over an open area too.
	f := &findings.Findings{Thresholds: casefile.Default().Thresholds, Record: record(6, 4, k(0.4))}
	f.Centric.Mounting = Judge(three(180, 0, 0), &f.Thresholds)
	Weigh(f)
	assert.Contains(t, language.Join(language.Text(f.Centric.Mounting.Reasons)).String(), "which decides nothing")
	// What tells no level explains nothing.
	for name, edit := range map[string]func(*findings.Findings){
		"no height":      func(f *findings.Findings) { f.Centric.Findings[0].Next = nil },
		"no finding":     func(f *findings.Findings) { f.Centric.Findings = nil },
		"turned too":     func(f *findings.Findings) { f.Settling.Given.Turn = &findings.SmallTurn{} },
		"displaced":      func(f *findings.Findings) { f.Settling.Given.Displaced = &findings.Displacement{} },
		"level":          func(f *findings.Findings) { f.Settling.Given.Shape = findings.ShapeLevel },
		"not given":      func(f *findings.Findings) { f.Settling.Given = nil },
		"no next step":   func(f *findings.Findings) { f.Settling.Given.Staircase[1].Upper = 22 },
		"no own step":    func(f *findings.Findings) { f.Settling.Given.Staircase[2].Upper = 15 },
		"nothing edited": func(*findings.Findings) {},
	} {
		next := findings.Pair{Upper: 21, Lower: 31}
		f := &findings.Findings{Thresholds: casefile.Default().Thresholds}
		f.Centric.Findings = []findings.Finding{{Upper: 26, Lower: 36, Next: &next}}
		f.Settling.Given = &findings.Given{Shape: findings.ShapeHigh, Staircase: []findings.Step{{Upper: 26, Lower: 36},
			{Upper: 21, Lower: 31}, {Upper: 16, Lower: 46}}}
		edit(f)
		_, ok := keptOpen(f, &findings.Area{Upper: 16, Lower: 46})
		assert.Equal(t, name == "nothing edited", ok, name)
	}
}
