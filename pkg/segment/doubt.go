package segment

import (
	"fmt"
	"math"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

// DoubtKind says what a [Doubt] is about.
type DoubtKind string

// The kinds of doubts.
const (
	// LeftOut is what looks like a tooth and belongs to none that was found.
	LeftOut DoubtKind = "left_out"
	// Wide is a tooth as wide as two.
	Wide DoubtKind = "wide"
	// Last is a last tooth that may be tissue.
	Last DoubtKind = "last"
	// Closed is a tooth that is taken to be missing with its space closed, so that all behind it
	// may have another number.
	Closed DoubtKind = "closed"
	// Unsure is a tooth in which there is little confidence.
	Unsure DoubtKind = "unsure"
)

// Doubt is something about the teeth found that a person should look at.
type Doubt struct {
	Kind DoubtKind
	// Teeth are those in doubt, as they were found: the neighbours of what was left out or
	// is missing.
	Teeth []dentition.ToothID
	// At is a point within 0.3 mm of the scan where to look, mm.
	At r3.Vec
	// Correction or Edit, where there is one, is what to say if the doubt is right.
	Correction *Correction
	Edit       *Edit
}

// String is the correction in the form in which the command takes it.
func (c Correction) String() string {
	code := "0"
	if c.Tooth != dentition.NoTooth {
		code = c.Tooth.String()
	}
	return fmt.Sprintf("%s=%.1f,%.1f,%.1f", code, c.Point.X, c.Point.Y, c.Point.Z)
}

// String is the edit in the form in which the command takes it.
func (e Edit) String() string {
	names := func(l []dentition.ToothID) string {
		out := make([]string, len(l))
		for i, t := range l {
			out[i] = t.String()
		}
		return strings.Join(out, "+")
	}
	on := ""
	if e.Onwards {
		on = ".."
	}
	return names(e.Found) + on + "=" + names(e.Are) + on
}

// Of doubts; set on the persons on whom the thresholds of docs/finding-teeth.md were set.
const (
	toothArea   = 12.0 // mm² of what looks like tooth that may be one
	toothRoom   = 0.55 // of a tooth's usual width: the gap in which it may stand
	standShare  = 0.5  // of such a gap that has the relief of crowns
	wideShare   = 1.25 // of the usual width from which a tooth may be two
	closedShare = 0.4  // of the room of missing teeth below which it is closed
	lastShare   = 0.6  // of the usual area below which a last molar may be tissue
	lastSure    = 0.85 // confidence below which it may be
)

// doubts lists what a person should look at, from the patient's right to the left.
func (r *reading) doubts(s *surface) []Doubt {
	var out []Doubt
	for i, t := range r.row {
		if i == 0 {
			out = append(out, r.beyond(s, 0, t.start, t)...)
		} else {
			out = append(out, r.between(s, r.row[i-1], t)...)
		}
		if t.confidence == 1 {
			continue
		}
		place, width := placeOf(t.tooth), float64(t.end-t.start)*pace
		d := Doubt{Teeth: []dentition.ToothID{t.tooth}, At: r.point(s, t.start, t.end)}
		usual := r.usualWidth(place)
		last := (i == 0 || i == len(r.row)-1) && t.tooth.Position() >= 7
		switch {
		case width > wideShare*usual:
			d.Kind = Wide
			if n, ok := r.missingBeside(i); ok {
				d.Edit = &Edit{Found: d.Teeth, Are: r.outwards(t.tooth, n)}
			}
		case last && (t.tooth.Position() == 8 || t.confidence < lastSure ||
			r.looks != nil && r.area(t.start, t.end) < lastShare*usual*r.usualDepth(place)):
			d.Kind, d.Correction = Last, &Correction{Tooth: dentition.NoTooth, Point: d.At}
		case t.confidence < unsure:
			d.Kind, d.Correction = Unsure, &Correction{Tooth: t.tooth, Point: d.At}
		default:
			continue
		}
		out = append(out, d)
	}
	last := r.row[len(r.row)-1]
	return append(out, r.beyond(s, last.end, len(r.top), last)...)
}

// area is how much of tooth the picture shows between two columns, mm².
func (l *looks) area(start, end int) float64 {
	if l == nil {
		return 0
	}
	return (l.mass[end] - l.mass[start]) * pixel * pixel
}

// between is the doubts about what lies between two teeth.
func (r *reading) between(s *surface, a, b span) []Doubt {
	gap := float64(b.start-a.end) * pace
	from, to := placeOf(a.tooth), placeOf(b.tooth)
	room := r.room(from, to)
	d := Doubt{Teeth: []dentition.ToothID{a.tooth, b.tooth}, At: r.point(s, a.end, b.start)}
	least := r.usualWidth(9) * 0.8
	for p := from + 1; p < to; p++ {
		least = min(least, r.usualWidth(p))
	}
	shown := r.area(a.end, b.start) >= toothArea || r.stand[b.start]-r.stand[a.end] >= standShare*float64(b.start-a.end)
	switch {
	case gap >= toothRoom*least && shown:
		d.Kind = LeftOut
		if to-from > 1 {
			d.Correction = &Correction{Tooth: r.fitting(from, to, gap), Point: d.At}
		}
	case room > 0 && gap < closedShare*room:
		d.Kind = Closed
		if behind := r.behind(a.tooth, b.tooth); behind != dentition.NoTooth {
			is := behind - dentition.ToothID(to-from-1)
			d.Edit = &Edit{Found: []dentition.ToothID{behind}, Are: []dentition.ToothID{is}, Onwards: true}
		}
	default:
		return nil
	}
	return []Doubt{d}
}

// behind is that of two neighbours that stands behind the other in one quadrant.
func (r *reading) behind(a, b dentition.ToothID) dentition.ToothID {
	switch {
	case a/10 != b/10:
		return dentition.NoTooth
	case a > b:
		return a
	}
	return b
}

// fitting is the missing tooth between two places whose width is nearest to a gap.
func (r *reading) fitting(from, to int, gap float64) dentition.ToothID {
	best, least := dentition.NoTooth, math.Inf(1)
	for p := from + 1; p < to; p++ {
		if d := math.Abs(r.usualWidth(p) - gap); d < least {
			best, least = toothAt(r.jaw, p), d
		}
	}
	return best
}

// beyond is the doubts about what lies beyond an end of the row.
func (r *reading) beyond(s *surface, start, end int, last span) []Doubt {
	if r.area(start, end) < toothArea {
		return nil
	}
	lo, hi := start, end // the columns that show it
	for lo < hi && r.area(lo, lo+1) == 0 {
		lo++
	}
	for hi > lo && r.area(hi-1, hi) == 0 {
		hi--
	}
	d := Doubt{Kind: LeftOut, Teeth: []dentition.ToothID{last.tooth}, At: r.point(s, lo, hi)}
	if p := last.tooth.Position(); p < 8 {
		d.Correction = &Correction{Tooth: last.tooth + 1, Point: d.At}
	}
	return []Doubt{d}
}

// missingBeside is the place of a missing tooth right beside that of a tooth of the row.
func (r *reading) missingBeside(i int) (dentition.ToothID, bool) {
	p := placeOf(r.row[i].tooth)
	if p < numPlaces && (i == len(r.row)-1 || placeOf(r.row[i+1].tooth) > p+1) {
		return toothAt(r.jaw, p+1), true
	}
	if p > 1 && (i == 0 || placeOf(r.row[i-1].tooth) < p-1) {
		return toothAt(r.jaw, p-1), true
	}
	return dentition.NoTooth, false
}

// outwards is two teeth from the midline backwards.
func (r *reading) outwards(a, b dentition.ToothID) []dentition.ToothID {
	if a.Position() > b.Position() {
		a, b = b, a
	}
	return []dentition.ToothID{a, b}
}

// point is the highest vertex near the middle of the crowns, between two columns about half way.
func (r *reading) point(s *surface, start, end int) r3.Vec {
	mid := r.first + (float64(start+end)/2+0.5)*pace
	i := min(max((start+end)/2, 0), len(r.middle)-1)
	var best r3.Vec
	least := math.Inf(1)
	for v, p := range s.mesh.Vertices() {
		if !s.part[v] {
			continue
		}
		// A millimetre of height is worth one aside.
		along, aside := math.Abs(r.station[v]-mid), math.Abs(r.outside[v]-r.middle[i])
		if c := along + max(0, aside-1) - min(0, r.height[v]); along < 6 && aside < 6 && c < least {
			best, least = p, c
		}
	}
	return best
}
