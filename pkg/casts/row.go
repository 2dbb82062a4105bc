package casts

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"gonum.org/v1/gonum/spatial/r3"
)

// The place of a tooth in its row shows against that of its twin in the row of the
// other side: mirrored, the one row is laid on the other without the two, and the
// one crown on the other. Without a twin nothing is said.

// Placed is how a tooth stands in its row, measured from how its twin stands in its
// own. The twin stands off by the same to the other side, so that one of the two,
// or half of it each, is out of place: the one that left a space, if only one did.
type Placed struct {
	// mesial and buccal are how far the neck stands off, mm: what a crown that only
	// tips about its neck leaves where it is.
	mesial, buccal float64
	// tip is the angle between the long axis and that of the twin, in degrees; from which
	// of the two it comes it does not tell.
	tip float64
	// turn is how far the crown is turned about the long axis, in degrees, above 0
	// its mesial side to buccal.
	turn float64
}

// From these on a tooth counts as out of its place in the row, mm and degrees: half
// as much again as the half millimetre from which board examiners mark spaces and
// teeth out of line (Casko et al. 1998, Am J Orthod Dentofacial Orthop 114:589-599,
// from memory), since the rows of both sides differ by nature too; the turn is our
// choice.
const (
	driftedMM = 0.75
	turnedDeg = 10.0
)

// By how much a tooth's place and that of its twin, seen from each other, may
// contradict each other and still be told, mm and degrees; our choice. Crowns of
// unlike shape do.
const (
	twinDoubtMM  = 0.3
	twinDoubtDeg = 4.0
)

// Of laying rows on each other: how many teeth they have at least beside the one in
// question, the distance, mm, within which teeth count alike, the length that makes
// a turn a shift, mm, the most steps, and the shift from which one is the last, mm.
const (
	rowTeeth = 3
	rowNear  = 0.05
	rowSize  = 15.0
	rowSteps = 60
	rowStill = 1e-4
)

// InRows is how the teeth of a cast stand in their rows, as far as their twins tell.
func (c *Cast) InRows() map[dentition.ToothID]Placed {
	seen := map[dentition.ToothID]Placed{}
	if c.Labels == nil {
		return seen
	}
	var rows [9][]stander
	for _, t := range c.ByPart[1:] {
		if t.Type() == dentition.ThirdMolar {
			continue
		}
		if p, ok := c.onTwin(t); ok {
			n := c.neck(t)
			rows[t.Quadrant()] = append(rows[t.Quadrant()], stander{t, p, n, p.Inverse().Apply(n)})
		}
	}
	for _, row := range rows {
		for i, s := range row {
			on, ok := onRow(slices.Concat(row[:i], row[i+1:]))
			if !ok {
				continue
			}
			f := c.Frames[s.tooth]
			d, turned := r3.Sub(s.neck, on.Apply(s.twin)), on.Inverse().Then(s.onto)
			m := turned.Rotate(f.Mesial)
			seen[s.tooth] = Placed{
				mesial: r3.Dot(d, f.Mesial), buccal: r3.Dot(d, f.Buccal), tip: angleDeg(turned.Rotate(f.Occlusal), f.Occlusal),
				turn: math.Atan2(r3.Dot(m, f.Buccal), r3.Dot(m, f.Mesial)) * 180 / math.Pi,
			}
		}
	}
	out := map[dentition.ToothID]Placed{}
	for t, a := range seen {
		b, ok := seen[t.Mirror()]
		if !ok || math.Hypot(a.mesial+b.mesial, a.buccal+b.buccal)/2 > twinDoubtMM || math.Abs(a.turn+b.turn)/2 > twinDoubtDeg {
			continue
		}
		p := Placed{mesial: (a.mesial - b.mesial) / 2, buccal: (a.buccal - b.buccal) / 2, turn: (a.turn - b.turn) / 2}
		if math.Abs(a.tip-b.tip)/2 <= twinDoubtDeg {
			p.tip = (a.tip + b.tip) / 2
		}
		if far := math.Abs(p.mesial); far >= driftedMM && c.spaceLeft(t.Mirror(), -p.mesial)-c.spaceLeft(t, p.mesial) >= cameFrom*far {
			p.mesial = 0 // its twin is the one that drifted
		}
		out[t] = p
	}
	return out
}

// TippedDeg is how far a tooth leans against its twin on the other side, in degrees, whichever
// of the two it is that leans; 0 where that is not known.
func (p Placed) TippedDeg() float64 { return p.tip }

// Tipped is the angle, in degrees, between a tooth's long axis and the mean of those of its
// neighbours on the same side, front and posterior teeth apart.
func (c *Cast) Tipped(t dentition.ToothID) (float64, bool) {
	f, ok := c.Frames[t]
	if !ok {
		return 0, false
	}
	var sum r3.Vec
	n := 0
	for _, k := range []dentition.ToothID{t - 1, t + 1} {
		if g, ok := c.Frames[k]; ok && k.Quadrant() == t.Quadrant() && k.Type().Anterior() == t.Type().Anterior() &&
			k.Type() != dentition.ThirdMolar {
			sum = r3.Add(sum, g.Occlusal)
			n++
		}
	}
	if n == 0 {
		return 0, false
	}
	return angleDeg(sum, f.Occlusal), true
}

// angleDeg is the angle between two directions of any length, in degrees.
func angleDeg(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b)) * 180 / math.Pi
}

// cameFrom is the share of a drift by which the space behind one tooth is wider than
// that behind its twin where only the one has drifted; our choice.
const cameFrom = 0.7

// spaceLeft is the space, in mm, where a tooth would come from that stands too far to
// mesial, or to distal for less than 0; 0 where it has no neighbour there.
func (c *Cast) spaceLeft(t dentition.ToothID, mesial float64) float64 {
	from := t + 1
	if mesial < 0 {
		from = t - 1
	}
	mm, ok := c.space(t, from)
	if !ok || from.Quadrant() != t.Quadrant() {
		return 0
	}
	return mm
}

// stander is a tooth of a row and the motion that lays its mirrored twin onto it.
type stander struct {
	tooth dentition.ToothID
	onto  kinematics.Pose
	// neck is the tooth's, twin the same spot of its mirrored twin.
	neck, twin r3.Vec
}

// neck is the middle of a crown at the lower end of what the cast shows of it.
func (c *Cast) neck(t dentition.ToothID) r3.Vec {
	f, low := c.Frames[t], 0.0
	for _, p := range c.crown(t, twinPoints) {
		_, _, o := f.Local(p)
		low = min(low, o)
	}
	return f.World(0, 0, low)
}

// onRow lays the mirrored row of the twins on a row, with the least sum of
// distances (by iterated weights, as Weiszfeld 1937), which a few teeth out of place
// do not sway. ok is false for too few teeth.
func onRow(row []stander) (pose kinematics.Pose, ok bool) {
	if len(row) < rowTeeth {
		return pose, false
	}
	var wishes []wish
	for range rowSteps {
		wishes = wishes[:0]
		for _, s := range row {
			p := pose.Apply(s.twin)
			d := r3.Sub(s.neck, p)
			w := 1 / max(r3.Norm(d), rowNear)
			wishes = append(wishes, wish{p, r3.Vec{X: 1}, d.X, w}, wish{p, r3.Vec{Y: 1}, d.Y, w}, wish{p, r3.Vec{Z: 1}, d.Z, w})
		}
		step, size, ok := meet(kinematics.TwistFrame{Centre: row[0].neck, Length: rowSize}, wishes)
		if !ok {
			return pose, false
		}
		if pose = pose.Then(step); size < rowStill {
			break
		}
	}
	return pose, true
}

// Drifted lists how far a tooth stands out of its place in the row.
func Drifted(t dentition.ToothID, p Placed) []findings.Cause {
	var out []findings.Cause
	toward := func(x float64, plus, minus string) string {
		if x < 0 {
			return minus
		}
		return plus
	}
	with := func(unit string, size float64) language.With {
		return language.With{"tooth": findings.Part(t), "twin": findings.Part(t.Mirror()), unit: math.Abs(size)}
	}
	if math.Abs(p.mesial) >= driftedMM {
		out = append(out, findings.Cause{Cause: "drifted_tooth", Value: p.mesial, Unit: "mm",
			Text: language.Say(toward(p.mesial, "cause.drifted.mesial", "cause.drifted.distal"), with("mm", p.mesial))})
	}
	if math.Abs(p.buccal) >= driftedMM {
		out = append(out, findings.Cause{Cause: "out_of_row", Value: p.buccal, Unit: "mm",
			Text: language.Say(toward(p.buccal, "cause.row.buccal", "cause.row.lingual"), with("mm", p.buccal))})
	}
	if math.Abs(p.turn) >= turnedDeg {
		out = append(out, findings.Cause{Cause: "rotated_tooth", Value: p.turn, Unit: "deg",
			Text: language.Say(toward(p.turn, "cause.rotated.buccal", "cause.rotated.lingual"), with("deg", p.turn))})
	}
	return out
}
