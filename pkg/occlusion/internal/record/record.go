package record

import (
	"maps"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/stops"
)

// pairGap is the exact least gap (µm) of two teeth in a frame of a movement, or closed
// in intercuspation where it is nil. ok is false where the casts do not show them.
type pairGap func(f *findings.Frame, p findings.Pair) (um float64, ok bool)

// GapOfPair measures on the casts in the poses of the findings.
func GapOfPair(e *frames.Setup, f *findings.Findings) pairGap {
	var s contact.GapScratch
	return func(fr *findings.Frame, p findings.Pair) (float64, bool) {
		q := f.Centric.Pose.Pose
		if fr != nil {
			q = fr.Pose.Pose
		}
		upper, lower := e.Casts.Upper, e.Casts.Lower
		up, lo := slices.Index(upper.ByPart, p.Upper.Tooth()), slices.Index(lower.ByPart, p.Lower.Tooth())
		g, ok := contact.PartGap(upper.Arch, lower.Arch, up, lo, q, &s)
		return 1000 * g.Dist, ok
	}
}

// Compare compares what was seen in the mouth with the findings of the casts;
// nil where nothing was recorded. Teeth of the casts within the doubt of the scans
// beyond the foil are undecided.
func Compare(c *casefile.Case, f *findings.Findings, gap pairGap) (*findings.Record, error) {
	r, limits := c.Record, &c.Thresholds
	if r == nil {
		return nil, nil
	}
	out := &findings.Record{FoilUm: findings.Foil(r.FoilUm), Teeth: []findings.RecordTooth{}, Marks: []findings.RecordMarks{}, Notes: r.Notes}
	var counted tally
	gaps := map[findings.Part]float64{}
	for _, t := range f.Centric.Teeth {
		gaps[t.Tooth] = t.GapUm
	}
	for _, tooth := range slices.Sorted(maps.Keys(r.Foil)) {
		t := findings.RecordTooth{Tooth: findings.Part(tooth), Mouth: r.Foil[tooth], Match: findings.NotOnCasts}
		if gap, ok := gaps[t.Tooth]; ok {
			// The classes are published for foil of 8 µm; another one is taken to
			// differ by its thickness.
			class := stops.Classify(gap-(r.FoilUm-limits.DragsUm), limits)
			t.GapUm, t.Casts = &gap, &class
			t.Match = match(t.Mouth != casefile.Passes, class == findings.ClassHolds || class == findings.ClassDrags,
				class == findings.ClassUndecided)
			if t.Match == findings.OnlyMouth || t.Match == findings.OnlyCasts {
				off := gap - r.FoilUm
				t.OffUm = &off
			}
			if t.Match == findings.OnlyMouth {
				t.YieldsFromN = yieldsFrom(f.Yielding, t.Tooth)
			}
		}
		out.Teeth = append(out.Teeth, t)
		counted.add(t.Match, t.Mouth != casefile.Passes) // mutants: same !=: kappa is alike for yes and no
	}
	out.Agreement = counted.sum(true)
	foil := judge.TouchFoil(c)
	if r.Marks.Centric != nil {
		out.Marks = append(out.Marks, compareMarks("centric", r.Marks.Centric, centricTrace(&f.Centric, foil), gap, foil, limits.ScanDoubtUm))
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		marks := map[findings.Movement][]casefile.Mark{"right": r.Marks.Right, "left": r.Marks.Left, "protrusive": r.Marks.Protrusive}[x.Movement]
		if marks == nil {
			continue
		}
		t, err := movementTrace(x, c)
		if err != nil {
			return nil, err
		}
		out.Marks = append(out.Marks, compareMarks(x.Movement, marks, t, gap, foil, limits.ScanDoubtUm))
	}
	out.Text = describeRecord(out)
	return out, nil
}

// match compares one yes or no of the mouth with one of the casts.
func match(mouth, casts, undecided bool) findings.Match {
	switch {
	case undecided:
		return findings.Unsure
	case mouth == casts:
		return findings.Agree
	case mouth:
		return findings.OnlyMouth
	}
	return findings.OnlyCasts
}

// yieldsFrom is the least closing force at which a tooth of the mouth's record
// carries that does so only when the teeth yield; nil where it does not.
func yieldsFrom(y *findings.Yielding, tooth findings.Part) *float64 {
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

// trace is where the casts touch in a movement, or in intercuspation.
type trace struct {
	// first is the travel at which a pair touches first, wanted says that this is
	// in the part of the movement in which the mouth would show it too.
	first  map[findings.Pair]float64
	wanted map[findings.Pair]bool
	// gaps is the gap (µm) of each tooth to the opposing arch, frame by frame; frames
	// is nil in intercuspation.
	gaps   []map[findings.Part]float64
	frames []*findings.Frame
}

func centricTrace(c *findings.Centric, foil findings.Foil) trace {
	t := trace{first: map[findings.Pair]float64{}, wanted: map[findings.Pair]bool{},
		gaps: []map[findings.Part]float64{{}}, frames: []*findings.Frame{nil}}
	for _, x := range c.Contacts {
		if x.FoilUm == foil {
			t.first[findings.Pair{Upper: x.Upper, Lower: x.Lower}], t.wanted[findings.Pair{Upper: x.Upper, Lower: x.Lower}] = 0, true
		}
	}
	for _, x := range c.Teeth {
		t.gaps[0][x.Tooth] = x.GapUm
	}
	return t
}

// movementTrace is that of a movement once it has left the stops in intercuspation. What
// touches only after the guiding teeth stood edge to edge confirms a mark of the
// mouth, but is not expected there.
func movementTrace(x *findings.Excursion, c *casefile.Case) (trace, error) {
	t := trace{first: map[findings.Pair]float64{}, wanted: map[findings.Pair]bool{}}
	m, err := judge.NewMovement(x, c)
	if err != nil {
		return t, err
	}
	for i := range x.Frames {
		f := &x.Frames[i]
		if f.TravelMM < m.Limits.BegunMM {
			continue
		}
		pairs, _ := m.Touching(f)
		for _, p := range pairs {
			if _, ok := t.first[p]; !ok {
				t.first[p] = f.TravelMM
			}
			t.wanted[p] = t.wanted[p] || i <= m.End
		}
		gaps := map[findings.Part]float64{}
		for tooth := range dentition.All {
			if mm, ok := f.Clearance(tooth); ok {
				gaps[findings.Part(tooth)] = 1000 * mm
			}
		}
		t.gaps, t.frames = append(t.gaps, gaps), append(t.frames, f)
	}
	return t, nil
}

// nearest is the least gap (µm) of a pair, or of a tooth where the other is not named,
// over the movement and its travel. ok is false where the casts do not show a tooth.
func (t *trace) nearest(p findings.Pair, exact pairGap) (gapUm, travel float64, ok bool) {
	for i, gaps := range t.gaps {
		g := 0.0 // of the tooth that stays farther from its opponents: of a pair at least
		for _, tooth := range [2]findings.Part{p.Upper, p.Lower} {
			if tooth == 0 {
				continue
			}
			d, there := gaps[tooth]
			if !there {
				return 0, 0, false
			}
			g = max(g, d)
		}
		if ok && g >= gapUm { // mutants: same >=: what is measured is no nearer than its bound
			continue
		}
		if p.Upper != 0 && p.Lower != 0 {
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
func (t *trace) touches(p findings.Pair) (travel float64, ok bool) {
	for q, at := range t.first {
		if covers(p, q) && (!ok || at < travel) { // mutants: same <: the same travel
			travel, ok = at, true
		}
	}
	return travel, ok
}

// covers says whether a mark that may name one tooth only is on a pair.
func covers(p findings.Pair, q findings.Pair) bool {
	return (p.Upper == 0 || p.Upper == q.Upper) && (p.Lower == 0 || p.Lower == q.Lower)
}

// compareMarks compares the marks of the mouth with where the casts touch.
func compareMarks(movement findings.Movement, marks []casefile.Mark, t trace, gap pairGap, foil findings.Foil,
	doubtUm float64) findings.RecordMarks {
	out := findings.RecordMarks{Movement: movement, FoilUm: foil, Pairs: []findings.RecordMark{}}
	named := func(q findings.Pair) bool {
		return slices.ContainsFunc(marks, func(m casefile.Mark) bool {
			return covers(findings.Pair{Upper: findings.Part(m.Upper), Lower: findings.Part(m.Lower)}, q)
		})
	}
	for _, m := range marks {
		p := findings.Pair{Upper: findings.Part(m.Upper), Lower: findings.Part(m.Lower)}
		if slices.ContainsFunc(out.Pairs, func(x findings.RecordMark) bool { return x.Upper == p.Upper && x.Lower == p.Lower }) {
			continue // marked twice
		}
		x := findings.RecordMark{Upper: p.Upper, Lower: p.Lower, Match: findings.Agree}
		at, touches := t.touches(p)
		if um, nearest, ok := t.nearest(p, gap); !touches && ok {
			at = nearest
			if x.Match = findings.Unsure; um-foil.Um() > doubtUm {
				x.Match = findings.OnlyMouth
				off := um - foil.Um()
				x.OffUm = &off
			}
		} else if !touches {
			x.Match = findings.NotOnCasts
		}
		if movement != "centric" && x.Match != findings.NotOnCasts {
			x.AtMM = &at
		}
		out.Pairs = append(out.Pairs, x)
	}
	for q, wanted := range t.wanted {
		if q.Upper == 0 && q.Lower == 0 || !wanted || named(q) {
			continue
		}
		x := findings.RecordMark{Upper: q.Upper, Lower: q.Lower, Match: findings.OnlyCasts}
		if movement != "centric" {
			at := t.first[q]
			x.AtMM = &at
		}
		out.Pairs = append(out.Pairs, x)
	}
	slices.SortFunc(out.Pairs, func(a, b findings.RecordMark) int {
		return 256*(int(a.Upper)-int(b.Upper)) + int(a.Lower) - int(b.Lower)
	})
	var counted tally
	for _, x := range out.Pairs {
		counted.add(x.Match, true)
	}
	out.Agreement = counted.sum(false)
	return out
}
