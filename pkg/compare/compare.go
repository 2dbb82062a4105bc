// Package compare puts two examinations side by side: which findings are new, gone or
// changed, and which centric stops were kept, lost or made.
//
// It reads the documents alone. Of the same scans the comparison is exact: a finding that
// differs, differs. Heights are said to have changed where they differ by more than
// changedUm, since both are rounded when they are read. Of other scans of the same person it says
// only what both measured, and only what exceeds the smallest change that can be proved: other
// differences are set aside, with the reason.
package compare

import (
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"gonum.org/v1/gonum/spatial/r3"
)

// Place names a finding of a document.
type Place struct {
	Movement findings.Movement `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive,enum=centric"`
	Kind     findings.Kind     `json:"kind"`
	Upper    findings.Part     `json:"upper"`
	Lower    findings.Part     `json:"lower"`
	// travel at which it begins
	FromMM float64 `json:"from_mm"`
	// travel at which it ends
	ToMM float64 `json:"to_mm"`
	// how far it stands in the way of the intended guidance; null where nothing is held up
	HeightUm *float64 `json:"height_um"`
	// it begins beyond edge-to-edge
	PastEdge bool              `json:"past_edge"`
	Text     findings.Sentence `json:"text"`
}

// Change is a finding of both documents.
type Change struct {
	Before Place `json:"before"`
	After  Place `json:"after"`
	// change of the height; null where one has none
	ByUm *float64 `json:"by_um"`
}

// Stop names a centric stop.
type Stop struct {
	Upper findings.Part `json:"upper"`
	Lower findings.Part `json:"lower"`
	// where it is, in the articulator frame
	PointMM findings.Vec      `json:"point_mm"`
	Text    findings.Sentence `json:"text"`
}

// Tooth is how far a tooth clears, before and after.
type Tooth struct {
	Tooth findings.Part `json:"tooth"`
	// gap in intercuspation before and after
	GapUm [2]float64 `json:"gap_um"`
	// least clearance in each movement after it has begun, before and after
	Movement map[string]Nearest `json:"movements"`
}

// Nearest is the least clearance of a tooth in a movement, mm.
type Nearest [2]float64

// Comparison is what differs between two examinations.
type Comparison struct {
	New       []Place  `json:"new"`
	Gone      []Place  `json:"gone"`
	Stronger  []Change `json:"stronger"`
	Weaker    []Change `json:"weaker"`
	Unchanged []Change `json:"unchanged"`
	Stops     Stops    `json:"stops"`
	// teeth of both examinations
	Teeth []Tooth `json:"teeth"`
	// by how much the incisal point stands higher when the casts are closed; null where it is not known
	IncisalDropMM *float64 `json:"incisal_drop_mm"`
	// the condylar settings differ: a change may be of the settings, not of the teeth
	SettingsDiffer bool `json:"settings_differ"`
	// both are of the same scans, or of scans that were worked on: differences are exact
	SameScans bool `json:"same_scans"`
	// smallest change of a height that is told
	ProvableUm float64 `json:"provable_um"`
	// of other scans, what one of them could not measure: the tooth is not on its casts, or it does not
	// follow the movement so far
	Unmeasured Aside `json:"unmeasured"`
	// of other scans, what only one of them shows and is too small to be proved, or has no height
	Unproven Aside `json:"unproven"`
	// what changed on the crowns between the scans, in rising order of the teeth; empty where the scans were
	// not laid over each other
	Crowns []Crown `json:"crowns"`
}

// Aside is what one of two examinations alone shows without being called new or gone.
type Aside struct {
	Before      []Place `json:"before"`
	After       []Place `json:"after"`
	StopsBefore []Stop  `json:"stops_before"`
	StopsAfter  []Stop  `json:"stops_after"`
}

// Stops are the centric stops, matched.
type Stops struct {
	Kept []Stop `json:"kept"`
	Lost []Stop `json:"lost"`
	New  []Stop `json:"new"`
}

// Both are our choice.
const (
	// apartMM is the travel by which a finding may shift and still be the same.
	apartMM = 0.5
	// awayMM is how far a stop may lie from where it was.
	awayMM = 1.0
	// changedUm is the change of height from which a finding is stronger or weaker.
	changedUm = 2.0
)

// Findings compares two examinations, a before and an after. A finding is the same where
// kind, movement and pair of teeth are and its travels overlap or lie at most 0.5 mm apart;
// a stop where the pair is and its place moved at most 1 mm.
//
// crowns, where the scans were laid over each other, is what changed on them; crowns that lie on each
// other exactly tell that the scans are the same.
func Findings(a, b *findings.Findings, crowns ...Crown) *Comparison {
	c := &Comparison{New: []Place{}, Gone: []Place{}, Stronger: []Change{}, Weaker: []Change{}, Unchanged: []Change{}, Teeth: []Tooth{},
		SameScans: sameScans(a, b) || exact(crowns), ProvableUm: changedUm, Unmeasured: newAside(), Unproven: newAside(),
		Crowns: append([]Crown{}, crowns...)}
	if !c.SameScans {
		c.ProvableUm = provable(a.Thresholds.ScanDoubtUm, b.Thresholds.ScanDoubtUm)
	}
	before, after := Places(a), Places(b)
	taken := make([]bool, len(after))
	for _, p := range before {
		best, least := -1, math.Inf(1)
		for i, q := range after {
			if d := apart(&p, &q); !taken[i] && d <= apartMM && d < least {
				best, least = i, d
			}
		}
		if best < 0 {
			c.place(p, b, &c.Gone, &c.Unmeasured.Before, &c.Unproven.Before)
			continue
		}
		taken[best] = true
		c.add(p, after[best])
	}
	for i, q := range after {
		if !taken[i] {
			c.place(q, a, &c.New, &c.Unmeasured.After, &c.Unproven.After)
		}
	}
	c.stops(a, b)
	c.Teeth = teeth(a, b)
	c.SettingsDiffer = fmt.Sprintf("%+v", a.Settings) != fmt.Sprintf("%+v", b.Settings)
	if p, q := closed(a), closed(b); p != nil && q != nil {
		drop := q.Z - p.Z
		c.IncisalDropMM = &drop
	}
	return c
}

// closed is where the incisal point is when the casts are closed.
func closed(f *findings.Findings) *r3.Vec {
	if f.Mount.IncisalPointMM == nil {
		return nil
	}
	p := f.Centric.Pose.Apply(f.Mount.IncisalPointMM.R3())
	return &p
}

// add puts a finding of both to those that changed or did not.
func (c *Comparison) add(p, q Place) {
	ch := Change{Before: p, After: q}
	if p.HeightUm != nil && q.HeightUm != nil {
		by := *q.HeightUm - *p.HeightUm
		ch.ByUm = &by
	}
	switch {
	case ch.ByUm != nil && *ch.ByUm > c.ProvableUm:
		c.Stronger = append(c.Stronger, ch)
	case ch.ByUm != nil && *ch.ByUm < -c.ProvableUm:
		c.Weaker = append(c.Weaker, ch)
	default:
		c.Unchanged = append(c.Unchanged, ch)
	}
}

// Places lists the findings of a document with their places, in its order: those of the
// closing first, without what is only for orientation.
func Places(f *findings.Findings) []Place {
	var out []Place
	add := func(m findings.Movement, list []findings.Finding) {
		for i := range list {
			g := &list[i]
			if g.Kind == findings.KindGuidance {
				continue
			}
			out = append(out, Place{Movement: m, Kind: g.Kind, Upper: g.Upper, Lower: g.Lower, FromMM: g.FromMM, ToMM: g.ToMM,
				HeightUm: g.HeightUm, PastEdge: g.PastEdge, Text: g.Text})
		}
	}
	add(findings.Closed, f.Centric.Findings)
	for i := range f.Excursions {
		add(f.Excursions[i].Movement, f.Excursions[i].Findings)
	}
	return out
}

// apart is by how much travel two findings of one kind and pair lie apart; +Inf for
// others. What lies beyond edge-to-edge is another finding than what lies before.
func apart(p, q *Place) float64 {
	if p.PastEdge != q.PastEdge || p.Movement != q.Movement || p.Kind != q.Kind || p.Upper != q.Upper || p.Lower != q.Lower {
		return math.Inf(1)
	}
	return max(0, max(p.FromMM, q.FromMM)-min(p.ToMM, q.ToMM))
}

// stops matches the stops of two examinations, the nearest first come.
func (c *Comparison) stops(a, b *findings.Findings) {
	c.Stops = Stops{Kept: []Stop{}, Lost: []Stop{}, New: []Stop{}}
	named := func(s *findings.Stop) Stop { return Stop{s.Upper, s.Lower, s.PointMM, s.Text} }
	before, after := a.Centric.Stops, b.Centric.Stops
	taken := make([]bool, len(after))
	for i := range before {
		best, least := -1, awayMM
		for k := range after {
			if taken[k] || before[i].Upper != after[k].Upper || before[i].Lower != after[k].Lower {
				continue
			}
			if d := r3.Norm(r3.Sub(before[i].PointMM.R3(), after[k].PointMM.R3())); d <= least {
				best, least = k, d
			}
		}
		if best < 0 {
			c.stop(named(&before[i]), b, &c.Stops.Lost, &c.Unmeasured.StopsBefore, &c.Unproven.StopsBefore)
			continue
		}
		taken[best] = true
		c.Stops.Kept = append(c.Stops.Kept, named(&after[best]))
	}
	for k := range after {
		if !taken[k] {
			c.stop(named(&after[k]), a, &c.Stops.New, &c.Unmeasured.StopsAfter, &c.Unproven.StopsAfter)
		}
	}
}

// teeth sets the clearances of the teeth of both side by side.
func teeth(a, b *findings.Findings) []Tooth {
	out := []Tooth{}
	for _, t := range a.Centric.Teeth {
		for _, u := range b.Centric.Teeth {
			if t.Tooth != u.Tooth {
				continue
			}
			c := Tooth{Tooth: t.Tooth, GapUm: [2]float64{t.GapUm, u.GapUm}, Movement: map[string]Nearest{}}
			for _, x := range a.Excursions {
				for _, y := range b.Excursions {
					p, ok := leastOf(&x, t.Tooth, a.Thresholds.BegunMM)
					q, also := leastOf(&y, t.Tooth, b.Thresholds.BegunMM)
					if x.Movement == y.Movement && ok && also {
						c.Movement[string(x.Movement)] = Nearest{p, q}
					}
				}
			}
			out = append(out, c)
		}
	}
	return out
}

// leastOf is the least clearance of a tooth after a movement has begun, mm.
func leastOf(x *findings.Excursion, t findings.Part, begun float64) (least float64, ok bool) {
	least = math.Inf(1)
	for i := range x.Frames {
		if d, has := x.Frames[i].Clearance(t.Tooth()); has && x.Frames[i].TravelMM >= begun {
			least, ok = min(least, d), true
		}
	}
	return least, ok
}

// ErrOther says that two examinations are not of the same person's casts.
var ErrOther = errors.New("not the same person or jaw")

// All are our choice; the first follows what told persons apart by their palatal rugae,
// 0.43 mm (Sci Rep 2020;10:2676).
const (
	// widthMM is the root mean square difference of arch widths between the same cusps up to
	// which two examinations can be of one person.
	widthMM = 0.43
	// missing is how many teeth may be on one of the casts only.
	missing = 4
)

// SamePerson checks, as far as the documents tell, that two examinations are of one person:
// the teeth on the casts are the same but for a few, and the widths of the arches between the
// same cusps agree. Otherwise the error wraps [ErrOther]. Where neither has labels nothing is
// told and nil is returned.
func SamePerson(a, b *findings.Findings) error {
	has := func(f *findings.Findings) map[findings.Part]bool {
		out := map[findings.Part]bool{}
		for _, t := range f.Centric.Teeth {
			out[t.Tooth] = true
		}
		return out
	}
	left, right := has(a), has(b)
	one := 0
	for t := range left {
		if !right[t] {
			one++
		}
	}
	for t := range right {
		if !left[t] {
			one++
		}
	}
	if one > missing {
		return fmt.Errorf("%w: %d teeth are on one of the casts only", ErrOther, one)
	}
	if a.Arches == nil || b.Arches == nil {
		return nil
	}
	sum, n := 0.0, 0
	for _, w := range a.Arches.Widths {
		for _, v := range b.Arches.Widths {
			if w.Right == v.Right && w.Left == v.Left && w.Landmark == v.Landmark {
				sum += (w.WidthMM - v.WidthMM) * (w.WidthMM - v.WidthMM)
				n++
			}
		}
	}
	if n > 0 && math.Sqrt(sum/float64(n)) > widthMM {
		return fmt.Errorf("%w: the widths of the arches differ by %.2f mm (root mean square of %d)", ErrOther, math.Sqrt(sum/float64(n)), n)
	}
	return nil
}

// Score is how well one list finds what a reference holds.
type Score struct {
	// in both
	Both int `json:"both"`
	// in the first, the reference, only
	Missed int `json:"missed"`
	// in the second only
	Extra int `json:"extra"`
	// share of the reference that was found; null where it is empty
	Recall *float64 `json:"recall"`
	// share of what was named that is right; null where nothing was named
	Precision *float64 `json:"precision"`
}

// Scores are those of the second examination against the first, as of a student's against a
// teacher's.
func (c *Comparison) Scores() (found, stops Score) {
	found = score(len(c.Stronger)+len(c.Weaker)+len(c.Unchanged), len(c.Gone), len(c.New))
	return found, score(len(c.Stops.Kept), len(c.Stops.Lost), len(c.Stops.New))
}

func score(both, missed, extra int) Score {
	s := Score{Both: both, Missed: missed, Extra: extra}
	share := func(of int) *float64 {
		if of == 0 {
			return nil
		}
		x := float64(both) / float64(of)
		return &x
	}
	s.Recall, s.Precision = share(both+missed), share(both+extra)
	return s
}
