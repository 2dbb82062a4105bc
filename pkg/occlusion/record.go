package occlusion

import (
	"maps"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// Match is how the mouth and the casts stand to each other at a tooth or a pair
// of teeth.
type Match string

// The matches. Undecided are the casts where they are apart by no more than the
// scans can tell, whatever the mouth shows.
const (
	Agree      Match = "agree"
	OnlyMouth  Match = "only_mouth"
	OnlyCasts  Match = "only_casts"
	Unsure     Match = "undecided"
	NotOnCasts Match = "not_on_casts" // a tooth that the casts do not show, or not by name
)

// Record is the mouth's record beside what the casts show.
type Record struct {
	Text      Sentence      `json:"text" jsonschema_description:"the comparison in words"`
	FoilUm    float64       `json:"foil_um" jsonschema_description:"thickness of the foil that was used in the mouth"`
	Teeth     []RecordTooth `json:"teeth" jsonschema_description:"the teeth that were tried with foil"`
	Agreement Agreement     `json:"agreement" jsonschema_description:"how well mouth and casts agree on the teeth that hold foil"`
	Marks     []RecordMarks `json:"marks" jsonschema_description:"the movements after which somebody looked for marks"`
	Notes     string        `json:"notes,omitempty" jsonschema_description:"notes of the record"`
}

// RecordTooth is a tooth that was tried with foil.
type RecordTooth struct {
	Tooth Part          `json:"tooth"`
	Mouth casefile.Hold `json:"mouth" jsonschema:"enum=holds,enum=light_drag,enum=passes" jsonschema_description:"what the foil did in the mouth"`
	Casts *HoldClass    `json:"casts" jsonschema:"enum=holds,enum=light_drag,enum=undecided,enum=passes" jsonschema_description:"what it would do on the casts; null where they do not show the tooth"`
	GapUm *float64      `json:"gap_um" jsonschema_description:"gap of the tooth on the casts; null where they do not show it"`
	Match Match         `json:"match" jsonschema:"enum=agree,enum=only_mouth,enum=only_casts,enum=undecided,enum=not_on_casts"`
	// OffUm is the gap beyond the foil: above 0 the casts are too far apart, below
	// 0 they are too near, by at least as much.
	OffUm *float64 `json:"off_um" jsonschema_description:"gap of the casts less the foil, where they differ from the mouth: above 0 too far apart, below 0 too near by at least as much; null elsewhere"`
	// YieldsFromN is set where the teeth that yield explain the mouth's contact.
	YieldsFromN *float64 `json:"yields_from_n" jsonschema_description:"closing force from which the tooth carries on the casts when the teeth yield, where only the mouth holds the foil; null elsewhere"`
}

// RecordMarks are the marks of one movement.
type RecordMarks struct {
	Movement  string       `json:"movement" jsonschema:"enum=centric,enum=right,enum=left,enum=protrusive"`
	FoilUm    float64      `json:"foil_um" jsonschema_description:"gap up to which teeth of the casts count as marked"`
	Pairs     []RecordMark `json:"pairs"`
	Agreement Agreement    `json:"agreement"`
}

// RecordMark is a mark, in the mouth, on the casts or on both.
type RecordMark struct {
	Upper Part     `json:"upper" jsonschema_description:"null where only the lower tooth was named"`
	Lower Part     `json:"lower" jsonschema_description:"null where only the upper tooth was named"`
	Match Match    `json:"match" jsonschema:"enum=agree,enum=only_mouth,enum=only_casts,enum=undecided,enum=not_on_casts"`
	AtMM  *float64 `json:"at_mm" jsonschema_description:"travel at which the casts touch there first, or come nearest; null at rest and where they do not show the teeth"`
	OffUm *float64 `json:"off_um" jsonschema_description:"where only the mouth shows the mark: least gap of the casts there less the foil; null elsewhere"`
}

// pairGap is the exact least gap (µm) of two teeth in a frame of a movement, or closed
// at rest where it is nil. ok is false where the casts do not show them.
type pairGap func(f *Frame, p pairOf) (um float64, ok bool)

// pairGap measures on the casts in the poses of the findings.
func (e *examination) pairGap(f *Findings) pairGap {
	var s contact.GapScratch
	return func(fr *Frame, p pairOf) (float64, bool) {
		pose := f.Centric.Pose
		if fr != nil {
			pose = fr.Pose
		}
		q, err := kinematics.FromMatrix(pose)
		if err != nil {
			return 0, false
		}
		upper, lower := e.casts.Upper, e.casts.Lower
		up, lo := slices.Index(upper.ByPart, dentition.ToothID(p.upper)), slices.Index(lower.ByPart, dentition.ToothID(p.lower))
		g, ok := contact.PartGap(upper.Arch, lower.Arch, up, lo, q, &s)
		return 1000 * g.Dist, ok
	}
}

// newRecord compares what was seen in the mouth with the findings of the casts;
// nil where nothing was recorded. Teeth of the casts within the doubt of the scans
// beyond the foil are undecided.
func newRecord(c *casefile.Case, f *Findings, gap pairGap) *Record {
	r, limits := c.Record, &c.Thresholds
	if r == nil {
		return nil
	}
	out := &Record{FoilUm: r.FoilUm, Teeth: []RecordTooth{}, Marks: []RecordMarks{}, Notes: r.Notes}
	gaps := map[Part]float64{}
	for _, t := range f.Centric.Teeth {
		gaps[t.Tooth] = t.GapUm
	}
	for _, tooth := range slices.Sorted(maps.Keys(r.Foil)) {
		t := RecordTooth{Tooth: Part(tooth), Mouth: r.Foil[tooth], Match: NotOnCasts}
		if gap, ok := gaps[t.Tooth]; ok {
			// The classes are published for foil of 8 µm; another one is taken to
			// differ by its thickness.
			class := classify(gap-(r.FoilUm-limits.DragsUm), limits)
			t.GapUm, t.Casts = &gap, &class
			t.Match = match(t.Mouth != casefile.Passes, class == ClassHolds || class == ClassDrags, class == ClassUndecided)
			if t.Match == OnlyMouth || t.Match == OnlyCasts {
				off := gap - r.FoilUm
				t.OffUm = &off
			}
			if t.Match == OnlyMouth {
				t.YieldsFromN = f.Yielding.explains(t.Tooth)
			}
		}
		out.Teeth = append(out.Teeth, t)
		out.Agreement.add(t.Match, t.Mouth != casefile.Passes)
	}
	out.Agreement.sum(true)
	foil := touchFoil(c)
	if r.Marks.Centric != nil {
		out.Marks = append(out.Marks, compareMarks("centric", r.Marks.Centric, centricTrace(&f.Centric, foil), gap, foil, limits.ScanDoubtUm))
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		marks := map[string][]casefile.Mark{"right": r.Marks.Right, "left": r.Marks.Left, "protrusive": r.Marks.Protrusive}[x.Movement]
		if marks != nil {
			out.Marks = append(out.Marks, compareMarks(x.Movement, marks, movementTrace(x, c), gap, foil, limits.ScanDoubtUm))
		}
	}
	out.Text = out.describe()
	return out
}

// match compares one yes or no of the mouth with one of the casts.
func match(mouth, casts, undecided bool) Match {
	switch {
	case undecided:
		return Unsure
	case mouth == casts:
		return Agree
	case mouth:
		return OnlyMouth
	}
	return OnlyCasts
}

// explains is the least closing force at which a tooth of the mouth's record
// carries that does so only when the teeth yield; nil where it does not.
func (y *Yielding) explains(tooth Part) *float64 {
	if y == nil {
		return nil
	}
	for _, s := range y.OnlyYielding {
		if s.Upper == tooth || s.Lower == tooth {
			return &s.FromN
		}
	}
	return nil
}

// trace is where the casts touch in a movement, or at rest.
type trace struct {
	// first is the travel at which a pair touches first, wanted says that this is
	// in the part of the movement in which the mouth would show it too.
	first  map[pairOf]float64
	wanted map[pairOf]bool
	// gaps is the gap (µm) of each tooth to the opposing arch, frame by frame; frames
	// is nil at rest.
	gaps   []map[Part]float64
	frames []*Frame
}

func centricTrace(c *Centric, foilUm float64) trace {
	t := trace{first: map[pairOf]float64{}, wanted: map[pairOf]bool{}, gaps: []map[Part]float64{{}}, frames: []*Frame{nil}}
	for _, x := range c.Contacts {
		if x.FoilUm == foilUm {
			t.first[pairOf{x.Upper, x.Lower}], t.wanted[pairOf{x.Upper, x.Lower}] = 0, true
		}
	}
	for _, x := range c.Teeth {
		t.gaps[0][x.Tooth] = x.GapUm
	}
	return t
}

// movementTrace is that of a movement once it has left the stops at rest. What
// touches only after the guiding teeth stood edge to edge confirms a mark of the
// mouth, but is not expected there.
func movementTrace(x *Excursion, c *casefile.Case) trace {
	t := trace{first: map[pairOf]float64{}, wanted: map[pairOf]bool{}}
	m := newMovement(x, c)
	for i := range x.Frames {
		f := &x.Frames[i]
		if f.TravelMM < m.limits.BegunMM {
			continue
		}
		pairs, _ := m.touching(f)
		for _, p := range pairs {
			if _, ok := t.first[p]; !ok {
				t.first[p] = f.TravelMM
			}
			t.wanted[p] = t.wanted[p] || i <= m.end
		}
		gaps := map[Part]float64{}
		for code, mm := range f.ClearanceMM {
			if tooth, err := dentition.ParseTooth(code); err == nil {
				gaps[Part(tooth)] = 1000 * mm
			}
		}
		t.gaps, t.frames = append(t.gaps, gaps), append(t.frames, f)
	}
	return t
}

// nearest is the least gap (µm) of a pair, or of a tooth where the other is not named,
// over the movement and its travel. ok is false where the casts do not show a tooth.
func (t *trace) nearest(p pairOf, exact pairGap) (gapUm, travel float64, ok bool) {
	for i, gaps := range t.gaps {
		g := 0.0 // of the tooth that stays farther from its opponents: of a pair at least
		for _, tooth := range [2]Part{p.upper, p.lower} {
			if tooth == 0 {
				continue
			}
			d, there := gaps[tooth]
			if !there {
				return 0, 0, false
			}
			g = max(g, d)
		}
		if ok && g >= gapUm {
			continue
		}
		if p.upper != 0 && p.lower != 0 {
			var there bool
			if g, there = exact(t.frames[i], p); !there {
				return 0, 0, false
			}
		}
		if !ok || g < gapUm {
			gapUm, ok = g, true
			if t.frames[i] != nil {
				travel = t.frames[i].TravelMM
			}
		}
	}
	return gapUm, travel, ok
}

// touches is the travel at which a pair, or a tooth where the other is not
// named, touches first.
func (t *trace) touches(p pairOf) (travel float64, ok bool) {
	for q, at := range t.first {
		if p.covers(q) && (!ok || at < travel) {
			travel, ok = at, true
		}
	}
	return travel, ok
}

// covers says whether a mark that may name one tooth only is on a pair.
func (p pairOf) covers(q pairOf) bool {
	return (p.upper == 0 || p.upper == q.upper) && (p.lower == 0 || p.lower == q.lower)
}

// compareMarks compares the marks of the mouth with where the casts touch.
func compareMarks(movement string, marks []casefile.Mark, t trace, gap pairGap, foilUm, doubtUm float64) RecordMarks {
	out := RecordMarks{Movement: movement, FoilUm: foilUm, Pairs: []RecordMark{}}
	named := func(q pairOf) bool {
		return slices.ContainsFunc(marks, func(m casefile.Mark) bool { return pairOf{Part(m.Upper), Part(m.Lower)}.covers(q) })
	}
	for _, m := range marks {
		p := pairOf{Part(m.Upper), Part(m.Lower)}
		if slices.ContainsFunc(out.Pairs, func(x RecordMark) bool { return x.Upper == p.upper && x.Lower == p.lower }) {
			continue // marked twice
		}
		x := RecordMark{Upper: p.upper, Lower: p.lower, Match: Agree}
		at, touches := t.touches(p)
		if um, nearest, ok := t.nearest(p, gap); !touches && ok {
			at = nearest
			if x.Match = Unsure; um-foilUm > doubtUm {
				x.Match = OnlyMouth
				off := um - foilUm
				x.OffUm = &off
			}
		} else if !touches {
			x.Match = NotOnCasts
		}
		if movement != "centric" && x.Match != NotOnCasts {
			x.AtMM = &at
		}
		out.Pairs = append(out.Pairs, x)
	}
	for q, wanted := range t.wanted {
		if q.upper == 0 && q.lower == 0 || !wanted || named(q) {
			continue
		}
		x := RecordMark{Upper: q.upper, Lower: q.lower, Match: OnlyCasts}
		if movement != "centric" {
			at := t.first[q]
			x.AtMM = &at
		}
		out.Pairs = append(out.Pairs, x)
	}
	slices.SortFunc(out.Pairs, func(a, b RecordMark) int {
		return 256*(int(a.Upper)-int(b.Upper)) + int(a.Lower) - int(b.Lower)
	})
	for _, x := range out.Pairs {
		out.Agreement.add(x.Match, true)
	}
	out.Agreement.sum(false)
	return out
}
