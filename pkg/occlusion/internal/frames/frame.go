package frames

import (
	"errors"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// Scratch is the memory of one worker.
type Scratch struct {
	Close   contact.CloserScratch
	free    contact.CloserScratch // of closings without what interferes
	Patch   contact.PatchScratch
	Clear   contact.ClearanceScratch
	Patches []contact.Patch
	Up, Lo  []contact.Gap
}

// MeasureClearances leaves the clearances of both arches in the scratch.
func (s *Scratch) MeasureClearances(c *casts.Casts, pose kinematics.Pose) (err error) {
	s.Up, s.Lo, err = contact.AppendClearances(s.Up[:0], s.Lo[:0], c.Upper.Arch, c.Lower.Arch, pose, &s.Clear)
	return err
}

// clearances is the least gap of each tooth to the opposing arch under a pose of
// the lower one, in mm.
func (e *Setup) clearances(pose kinematics.Pose, s *Scratch) (map[string]float64, error) {
	if err := s.MeasureClearances(e.Casts, pose); err != nil {
		return nil, err
	}
	out := make(map[string]float64, len(s.Up)+len(s.Lo))
	for _, side := range [2]struct {
		cast *casts.Cast
		gaps []contact.Gap
	}{{e.Casts.Upper, s.Up}, {e.Casts.Lower, s.Lo}} {
		for i, k := range side.cast.Parts {
			name := side.cast.Jaw.String()
			if k > 0 {
				name = side.cast.ByPart[k].String()
			}
			out[name] = side.gaps[i].Dist
		}
	}
	return out, nil
}

// way is how far the touching point of the lower arch moves, in mm, when the jaw
// turns on its hinge by an angle.
func way(t *contact.Closing, st kinematics.Station, angle float64) float64 {
	q := st.Base().Inverse().Apply(t.Point)
	return 2 * math.Hypot(q.Y, q.Z) * math.Sin(math.Abs(angle)/2)
}

func (e *Setup) touch(t *contact.Closing) findings.Touch {
	return findings.Touch{Upper: findings.Part(e.Casts.Upper.Tooth(t.Upper)),
		Lower: findings.Part(e.Casts.Lower.Tooth(t.Lower)), PointMM: findings.VecOf(t.Point)}
}

// Contacts lists the contacts under a pose of the lower arch.
func (e *Setup) Contacts(pose kinematics.Pose, overlap bool, s *Scratch) (_ []findings.Contact, err error) {
	s.Patches, err = contact.AppendPatches(s.Patches[:0], e.Casts.Upper.Arch, e.Casts.Lower.Arch, pose, e.FoilsMM, overlap, &s.Patch)
	if err != nil {
		return nil, err
	}
	out := make([]findings.Contact, len(s.Patches))
	for i, p := range s.Patches {
		up, lo := e.Casts.Upper.Tooth(p.Upper), e.Casts.Lower.Tooth(p.Lower)
		out[i] = findings.Contact{
			Upper: findings.Part(up), Lower: findings.Part(lo),
			PointMM: findings.VecOf(p.Point), CentreMM: findings.VecOf(p.Centre), Normal: findings.VecOf(r3.Scale(-1, p.UpperNormal)),
			AreaMM2: p.Area, GapUm: 1000 * p.Gap, OverlapUm: 1000 * p.Depth,
			FoilUm: e.Foils[slices.Index(e.FoilsMM, p.Foil)],
			InclineDeg: findings.Incline{
				Upper: incline(p.UpperNormal, e.Casts.Upper.Frames, up, kinematics.Pose{}),
				Lower: incline(p.LowerNormal, e.Casts.Lower.Frames, lo, pose),
			},
		}
	}
	return out, nil
}

// incline is the angle in degrees between a normal and the long axis of a tooth
// that stands under a pose, nil where the axis is not known.
func incline(n r3.Vec, frames map[dentition.ToothID]anatomy.Frame, t dentition.ToothID, pose kinematics.Pose) *float64 {
	f, ok := frames[t]
	if !ok {
		return nil
	}
	a := AngleDeg(n, pose.Rotate(f.Occlusal))
	return &a
}

// AngleDeg is the angle between two directions of any length, in degrees; the
// arctangent keeps small angles, which an arccosine would lose.
func AngleDeg(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b)) * 180 / math.Pi
}

// What are what is measured in a frame.
type What struct{ Contacts, Clearances bool }

// Frame is the casts at one travel of a movement; nil where they do not meet.
func (e *Setup) Frame(m kinematics.Movement, travel float64, what What, s *Scratch) (*findings.Frame, error) {
	st, err := e.Set.Station(m, travel)
	if err != nil {
		return nil, err
	}
	touch, err := e.Casts.Closer.Close(st.Base(), &s.Close)
	ok := err == nil
	if !ok && !errors.Is(err, contact.ErrNoTouch) {
		return nil, err
	}
	f := &findings.Frame{TravelMM: travel}
	var pose kinematics.Pose
	overlap := false
	switch {
	case e.Guide != nil:
		opening, err := e.Guide.Opening(st)
		if err != nil {
			return nil, err
		}
		pose, f.OpeningDeg = st.Pose(opening), opening.Degrees()
		if overlap = ok && touch.Opening > opening; overlap {
			x := e.touch(&touch)
			f.Interference = &findings.Interference{Touch: x, OpeningDeg: touch.Opening.Degrees(),
				HeightUm: 1000 * way(&touch, st, float64(touch.Opening-opening))}
		}
	case !ok:
		return nil, nil
	default:
		pose, f.OpeningDeg = touch.Pose, touch.Opening.Degrees()
		x := e.touch(&touch)
		f.Carrier, overlap = &x, touch.AtLimit
		if working := WorkingSide(m); !RegionOf(working, x.Upper, x.Lower).Desired() {
			if f.Unhindered, err = e.Unhindered(st, working, &touch, false, &s.free); err != nil {
				return nil, err
			}
		}
	}
	f.Pose.Pose, f.IncisalPoint = pose, e.Incisal(pose)
	if what.Contacts {
		if f.Contacts, err = e.Contacts(pose, overlap, s); err != nil {
			return nil, err
		}
	}
	if what.Clearances {
		if f.ClearanceMM, err = e.clearances(pose, s); err != nil {
			return nil, err
		}
	}
	return f, nil
}
