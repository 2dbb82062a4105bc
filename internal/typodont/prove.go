package typodont

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
)

// A disturbance is proved by closing the arches before and after it: what the truth
// promises must be there, and what cannot be built is refused.
const (
	provedShare = 0.03 // by which the opening of a raised stop may differ from its lever's
	provedMM    = 0.01 // and beside that, along the arc
	clearMM     = 0.002
	evenFrom    = 0.3 // the travels at which one incisor must lead, mm
	evenTo      = 1.5
	shallowDeg  = 0.02 // by which a worn canine must open less to count
)

// A met is one closing: the opening and the teeth that met, 0 where none did.
type met struct {
	opening      s1.Angle
	upper, lower int
	lever        float64 // mm from the hinge axis to the spot
}

// closings is how the arches close in intercuspation and at every sweepStep along the
// movements that a disturbance is proved by, up to spanMost.
type closings struct {
	closed met
	along  map[kinematics.Movement][]met
}

// codeOf is the tooth of a triangle of a scan, 0 for none.
func (s *scan) codeOf(t mesh.TriID) int {
	for _, v := range s.tris[t] {
		if s.tooth[v] >= 0 {
			return s.teeth[s.tooth[v]].code
		}
	}
	return 0
}

// codes are the teeth of all triangles, 0 for none.
func (s *scan) codes() []int32 {
	out := make([]int32, len(s.tris))
	for t := range out {
		out[t] = int32(s.codeOf(mesh.TriID(t)))
	}
	return out
}

// closings closes the scans as disturbance d is proved, ignoring pairs of teeth for which
// without returns true.
func (p *pair) closings(ctx context.Context, up, lo *scan, d Disturbance, without func(upper, lower int) bool) (closings, error) {
	out := closings{along: map[kinematics.Movement][]met{}}
	upper, err := up.surface.arch(ctx, up.codes())
	if err != nil {
		return out, err
	}
	lower, err := lo.surface.arch(ctx, lo.codes())
	if err != nil {
		return out, err
	}
	closer, err := contact.NewCloser(ctx, upper, lower, contact.Options{})
	if err != nil {
		return out, err
	}
	passing := contact.Passing{Parts: func(u, l int32) bool { return without(int(u), int(l)) }}
	var scratch contact.CloserScratch
	at := func(m kinematics.Movement, travel float64) (met, error) {
		st, err := p.settings.Station(m, travel)
		if err != nil {
			return met{}, err
		}
		touch, err := closer.CloseWithout(st.Base(), passing, &scratch)
		if errors.Is(err, contact.ErrNoTouch) {
			return met{opening: contact.OpeningLeast}, nil
		}
		if err != nil {
			return met{}, err
		}
		q := touch.Pose.Inverse().Apply(touch.Point)
		return met{touch.Opening, up.codeOf(touch.Upper), lo.codeOf(touch.Lower), math.Hypot(q.Y, q.Z)}, nil
	}
	if out.closed, err = at(kinematics.Protrusive, 0); err != nil {
		return out, err
	}
	for _, g := range p.guides {
		if !d.movesIn(g.movement) {
			continue
		}
		for i := 1; float64(i)*sweepStep <= spanMost+1e-9; i++ {
			m, err := at(g.movement, float64(i)*sweepStep)
			if err != nil {
				return out, err
			}
			out.along[g.movement] = append(out.along[g.movement], m)
		}
	}
	return out, nil
}

// span is the first and last travel of a movement at which is holds; zeros for none.
func (r *closings) span(m kinematics.Movement, is func(met) bool) (from, to float64) {
	for i, at := range r.along[m] {
		if is(at) {
			if to = float64(i+1) * sweepStep; from == 0 {
				from = to
			}
		}
	}
	return from, to
}

// proved lists the kinds whose truth is proved by closings.
func (k Kind) proved() bool {
	return k == Raise || k == Incisor || k == FlatCanine || k == Interference
}

// movesIn says whether a disturbance is proved along a movement.
func (d Disturbance) movesIn(m kinematics.Movement) bool {
	switch d.Kind {
	case Incisor:
		return m == kinematics.Protrusive
	case FlatCanine:
		return m == kinematics.Right && d.Tooth == 13 || m == kinematics.Left && d.Tooth == 23
	}
	return false
}

// aside ignores the pairs that other disturbances than number k change.
func aside(list []Disturbance, k int) func(upper, lower int) bool {
	other := map[int]bool{}
	for i, d := range list {
		switch d.Kind {
		case Raise, Interference, Drift, Tip, Rotate, Incisor:
			if i != k && d.Tooth != list[k].Tooth {
				other[d.Tooth] = true
			}
		}
	}
	return func(upper, lower int) bool { return other[upper] || other[lower] }
}

// prove checks what disturbance d, applied between two profiles, added to the truth from
// entry first on, and completes it.
func (p *pair) prove(d Disturbance, before, after *closings, truth *Truth, first int) error {
	switch d.Kind {
	case Raise:
		return proveRaised(d, after, truth.Expected[first:])
	case Incisor:
		return p.proveIncisor(d, before, after, truth, first)
	case FlatCanine:
		return p.proveFlat(d, before, after, truth, first)
	case Interference:
		open := (after.closed.opening - before.closed.opening).Radians() * after.closed.lever
		if open > clearMM || after.closed.lower == d.Tooth {
			return fmt.Errorf("%w: the interference on %d would hold the casts open in intercuspation, by %.2f°; try "+
				"another tooth, a lower one or another travel",
				ErrParams, d.Tooth, (after.closed.opening - before.closed.opening).Degrees())
		}
	}
	return nil
}

// proveRaised compares the closing on the raised tooth alone with what its lever gives.
func proveRaised(d Disturbance, after *closings, expected []Expected) error {
	if d.Um <= 0 {
		return nil
	}
	if len(expected) == 0 {
		return fmt.Errorf("%w: %d %s holds no stop, so that raising it brings no known contact", ErrParams, d.Tooth, d.Cusp)
	}
	e, at := expected[0], after.closed
	off := math.Abs(at.opening.Degrees() - e.OpeningDeg)
	if at.upper != e.Upper || at.lower != e.Lower || off > provedShare*e.OpeningDeg+provedMM/at.lever*180/pi {
		return fmt.Errorf("%w: raised by %g µm, %d %s would meet %d/%d at %.4f° and not %d/%d at %.4f°, as its stop "+
			"says; try a smaller amount or name a cusp",
			ErrParams, d.Um, d.Tooth, d.Cusp, at.upper, at.lower, at.opening.Degrees(), e.Upper, e.Lower, e.OpeningDeg)
	}
	return nil
}

// proveIncisor says whether one incisor leads protrusion alone, and whether it holds the
// casts open.
func (p *pair) proveIncisor(d Disturbance, before, after *closings, truth *Truth, first int) error {
	e := &truth.Expected[first]
	for i, at := range after.along[kinematics.Protrusive] {
		travel := float64(i+1) * sweepStep
		if travel < evenFrom-1e-9 || travel > evenTo+1e-9 {
			continue
		}
		if e.Lower == 0 || at.lower != e.Lower {
			return fmt.Errorf("%w: an incisor %d that is %+g µm long would not make protrusion uneven: at %.1f mm %d/%d "+
				"carry; only what the closings show is promised",
				ErrParams, d.Tooth, d.Um, travel, at.upper, at.lower)
		}
		e.Upper = at.upper
	}
	e.FromMM, e.ToMM = after.span(kinematics.Protrusive, func(m met) bool { return m.lower == e.Lower })
	if open := (after.closed.opening - before.closed.opening).Radians() * after.closed.lever; after.closed.lower == d.Tooth && open > clearMM {
		truth.Expected = append(truth.Expected, Expected{Kind: "premature_contact", Tooth: d.Tooth, Upper: after.closed.upper, Lower: d.Tooth,
			SizeUm: 1000 * open, OpeningDeg: after.closed.opening.Degrees()})
	}
	return nil
}

// proveFlat says from where on a worn canine opens the jaw less than it did, and which
// other teeth carry then.
func (p *pair) proveFlat(d Disturbance, before, after *closings, truth *Truth, first int) error {
	e := &truth.Expected[first]
	m, err := kinematics.ParseMovement(e.Movement)
	if err != nil {
		return err
	}
	most := 0.0
	e.FromMM, e.ToMM, e.TravelMM = 0, 0, 0
	for i, at := range after.along[m] {
		travel, less := float64(i+1)*sweepStep, (before.along[m][i].opening - at.opening).Degrees()
		if less < shallowDeg {
			continue
		}
		if e.ToMM = travel; e.FromMM == 0 {
			e.FromMM = travel
		}
		if at.upper == d.Tooth && less > most {
			most, e.TravelMM = less, travel
		}
	}
	if most == 0 {
		return fmt.Errorf("%w: worn by %g mm, %d still guides as before", ErrParams, d.MM, d.Tooth)
	}
	movement, own := e.Movement, d.Tooth/10
	if from, to := after.span(m, func(a met) bool { return a.upper/10 == own && a.upper%10 > 3 && a.lower%10 > 3 }); to > 0 {
		truth.Expected = append(truth.Expected, Expected{Kind: "group_function", Movement: movement, Tooth: d.Tooth, FromMM: from, ToMM: to})
	}
	if from, to := after.span(m, func(a met) bool { return a.upper > 0 && a.upper/10 != own && a.upper%10 > 3 }); to > 0 {
		truth.Expected = append(truth.Expected,
			Expected{Kind: "nonworking_interference", Movement: movement, Tooth: d.Tooth, FromMM: from, ToMM: to})
	}
	return nil
}
