package display

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// Sectors is the number of directions in which an [Outline] is known.
const Sectors = 16

// Outline is the shape of a contact for drawing: how far it reaches from its middle along the
// surface in evenly spaced directions. Between them it is taken as linear in the angle; a
// contact that winds about its middle is drawn to where a ray first leaves it.
type Outline struct {
	// Middle lies on the upper surface, mm in the articulator frame.
	Middle r3.Vec
	// Normal and Along are perpendicular unit vectors: from the lower to the upper arch, and
	// the direction of the first reach. The others follow as Along turns towards Normal × Along.
	Normal, Along r3.Vec
	// Reach is how far the contact reaches in each direction, mm.
	Reach [Sectors]float64
}

// Share is how far a point near the surface lies from the middle on how far the contact
// reaches in its direction: at most 1 within it.
func (o *Outline) Share(p r3.Vec) float64 {
	d := r3.Sub(p, o.Middle)
	x, y := r3.Dot(d, o.Along), r3.Dot(d, r3.Cross(o.Normal, o.Along))
	turn := math.Atan2(y, x) / (2 * math.Pi) * Sectors
	if turn < 0 {
		turn += Sectors
	}
	k := int(turn) % Sectors
	reach := o.Reach[k] + (turn-math.Floor(turn))*(o.Reach[(k+1)%Sectors]-o.Reach[k])
	return math.Hypot(x, y) / max(reach, 1e-6)
}

// Rim lists the ends of the reaches, mm in the articulator frame, in the tangent plane.
func (o *Outline) Rim() []r3.Vec {
	side := r3.Cross(o.Normal, o.Along)
	var out []r3.Vec
	for k, r := range o.Reach {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / Sectors)
		out = append(out, r3.Add(o.Middle, r3.Add(r3.Scale(r*cos, o.Along), r3.Scale(r*sin, side))))
	}
	return out
}

// Grown is the outline with a mean reach of at least this, mm: a smaller one would not be seen,
// and is drawn larger and half way to a circle.
func (o Outline) Grown(least float64) Outline {
	mean := 0.0
	for _, r := range o.Reach {
		mean += r / Sectors
	}
	if mean >= least {
		return o
	}
	for k, r := range o.Reach {
		o.Reach[k] = least * (1 + r/max(mean, 1e-9)) / 2
	}
	return o
}

// Outlines are those of all contacts of an examination, in the order of the findings.
type Outlines struct {
	Closed []Outline
	Moving [][][]Outline // by movement, frame and contact
}

// Of says whether there is an outline for every contact of an examination.
func (o *Outlines) Of(f *findings.Findings) bool {
	if len(o.Closed) != len(f.Centric.Contacts) || len(o.Moving) != len(f.Excursions) {
		return false
	}
	for i, frames := range o.Moving {
		if len(frames) != len(f.Excursions[i].Frames) {
			return false
		}
		for k, contacts := range frames {
			if len(contacts) != len(f.Excursions[i].Frames[k].Contacts) {
				return false
			}
		}
	}
	return true
}

// newOutlines traces the contacts of an examination.
func newOutlines(ctx context.Context, pair *casts.Casts, f *findings.Findings, o Options) (Outlines, error) {
	trace := func(list []findings.Contact, pose findings.Pose) []Outline {
		t := tracer{upper: pair.Upper.Arch, lower: pair.Scanned.Arch, back: f.Settling.Pose.Then(pose.Pose).Inverse()}
		out := make([]Outline, len(list))
		for i := range list {
			out[i] = t.outline(&list[i])
		}
		return out
	}
	all := Outlines{Closed: trace(f.Centric.Contacts, f.Centric.Pose)}
	for i := range f.Excursions {
		frames := f.Excursions[i].Frames
		moving := make([][]Outline, len(frames))
		err := par.Chunks(ctx, len(frames), 1, o.Workers, func(_, lo, hi int) error {
			for k := lo; k < hi; k++ {
				moving[k] = trace(frames[k].Contacts, frames[k].Pose)
			}
			return nil
		})
		if err != nil {
			return Outlines{}, err
		}
		all.Moving = append(all.Moving, moving)
	}
	return all, nil
}

// tracer looks how far contacts reach.
type tracer struct {
	upper, lower *contact.Arch
	back         kinematics.Pose // from the articulator to the lower scan
}

// The reach is sought between these bounds, mm: a tenth of a usual contact, and half a crown.
const leastReach, mostReach = 0.02, 6.0

func (t *tracer) outline(c *findings.Contact) Outline {
	o := Outline{Middle: c.CentreMM.R3(), Normal: c.Normal.R3()}
	foil := c.FoilUm.MM() + c.OverlapUm/1000
	if h, ok := t.upper.Index.Nearest(o.Middle, 1); ok {
		o.Middle = h.Point
	}
	if !t.within(o.Middle, foil) { // a contact that bends round its middle
		o.Middle = c.PointMM.R3()
	}
	axis := r3.Vec{X: 1}
	if math.Abs(o.Normal.X) > 0.9 {
		axis = r3.Vec{Y: 1}
	}
	o.Along = r3.Unit(r3.Sub(axis, r3.Scale(r3.Dot(axis, o.Normal), o.Normal)))
	side := r3.Cross(o.Normal, o.Along)
	guess := max(leastReach, math.Sqrt(c.AreaMM2/math.Pi))
	for k := range o.Reach {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / Sectors)
		way := r3.Add(r3.Scale(cos, o.Along), r3.Scale(sin, side))
		covered := func(far float64) bool { return t.within(r3.Add(o.Middle, r3.Scale(far, way)), foil) }
		lo, hi := 0.0, guess
		for hi < mostReach && covered(hi) {
			lo, hi = hi, 1.5*hi
		}
		for range 4 {
			if mid := (lo + hi) / 2; covered(mid) {
				lo = mid
			} else {
				hi = mid
			}
		}
		o.Reach[k] = (lo + hi) / 2
	}
	return o
}

// within says whether the upper surface, next to a point of the tangent plane, lies within a
// foil (mm) of the lower one, or behind it by no more.
func (t *tracer) within(p r3.Vec, foil float64) bool {
	h, ok := t.upper.Index.Nearest(p, 1)
	if !ok {
		return false
	}
	_, ok = t.lower.Index.Nearest(t.back.Apply(h.Point), foil)
	return ok
}
