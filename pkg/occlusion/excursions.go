package occlusion

import (
	"context"
	"errors"
	"fmt"
	"sync"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// excursions takes the casts through every movement and judges what they show.
func (e *examination) excursions(ctx context.Context, o Options) ([]findings.Excursion, error) {
	out, err := e.move(ctx, o)
	if err != nil {
		return nil, err
	}
	for i := range out {
		e.judge(&out[i])
	}
	e.judgeSides(out)
	rank(out)
	if o.AsSet {
		return out, nil
	}
	return out, e.try(ctx, out, o.Workers)
}

// judge adds to a movement what it shows.
func (e *examination) judge(x *findings.Excursion) {
	m := newMovement(x, e.c)
	m.measure(e.c.FoilsUm)
	x.Findings = m.judge(e)
}

// move takes the casts through every movement, frame by frame.
func (e *examination) move(ctx context.Context, o Options) ([]findings.Excursion, error) {
	type job struct {
		excursion int
		movement  kinematics.Movement
		travel    float64
	}
	var jobs []job
	out := make([]findings.Excursion, len(e.c.Excursions))
	for i, x := range e.c.Excursions {
		m, err := kinematics.ParseMovement(string(x.Movement))
		if err != nil {
			return nil, err
		}
		out[i] = findings.Excursion{Movement: m.String(), Findings: []findings.Finding{}}
		travels, err := kinematics.Samples(x.MaxMM, x.StepMM)
		if err != nil {
			return nil, err
		}
		for _, t := range travels {
			jobs = append(jobs, job{i, m, t})
		}
	}
	frames := make([]*findings.Frame, len(jobs))
	scratches := make([]scratch, par.Workers(o.Workers))
	report := progress(o.Progress, len(jobs))
	err := par.Chunks(ctx, len(jobs), frameChunk, o.Workers, func(worker, lo, hi int) error {
		for i := lo; i < hi; i++ {
			f, err := e.frame(jobs[i].movement, jobs[i].travel, measures{true, true}, &scratches[worker])
			if err != nil {
				return fmt.Errorf("%v movement at %g mm: %w", jobs[i].movement, jobs[i].travel, err)
			}
			frames[i] = f
		}
		report(hi - lo)
		return nil
	})
	if err != nil {
		return nil, err
	}
	for i, f := range frames {
		x := &out[jobs[i].excursion]
		switch {
		case x.EndedMM != nil:
		case f == nil:
			t := jobs[i].travel
			x.EndedMM, x.Ended = &t, "from here on the casts no longer meet"
		default:
			x.Frames = append(x.Frames, *f)
		}
	}
	for i := range out {
		out[i].Frames = append([]findings.Frame{}, out[i].Frames...)
	}
	return out, nil
}

// progress makes a counter that calls f in order.
func progress(f func(done, total int), total int) func(n int) {
	if f == nil {
		return func(int) {}
	}
	var mu sync.Mutex
	done := 0
	return func(n int) {
		mu.Lock()
		defer mu.Unlock()
		done += n
		f(done, total)
	}
}

// measures are what is measured in a frame.
type measures struct{ contacts, clearances bool }

// frame is the casts at one travel of a movement; nil where they do not meet.
func (e *examination) frame(m kinematics.Movement, travel float64, what measures, s *scratch) (*findings.Frame, error) {
	st, err := e.set.Station(m, travel)
	if err != nil {
		return nil, err
	}
	touch, err := e.casts.Closer.Close(st.Base(), &s.close)
	ok := err == nil
	if !ok && !errors.Is(err, contact.ErrNoTouch) {
		return nil, err
	}
	f := &findings.Frame{TravelMM: travel}
	var pose kinematics.Pose
	overlap := false
	switch {
	case e.guide != nil:
		opening, err := e.guide.Opening(st)
		if err != nil {
			return nil, err
		}
		pose, f.OpeningDeg = st.Pose(opening), opening.Degrees()
		if overlap = ok && touch.Opening > opening; overlap {
			x := e.touch(&touch)
			f.Interference = &findings.Interference{Touch: x, OpeningDeg: touch.Opening.Degrees(), HeightUm: 1000 * way(&touch, st, float64(touch.Opening-opening))}
		}
	case !ok:
		return nil, nil
	default:
		pose, f.OpeningDeg = touch.Pose, touch.Opening.Degrees()
		x := e.touch(&touch)
		f.Carrier, overlap = &x, touch.AtLimit
		if working := workingSide(m); !place(working, x.Upper, x.Lower).desired() {
			f.Unhindered = e.unhindered(st, working, &touch, false, &s.free)
		}
	}
	f.Pose, f.IncisalPoint = pose.Matrix(), e.incisal(pose)
	if what.contacts {
		if f.Contacts, err = e.contacts(pose, overlap, s); err != nil {
			return nil, err
		}
	}
	if what.clearances {
		if f.ClearanceMM, err = e.clearances(pose, s); err != nil {
			return nil, err
		}
	}
	return f, nil
}
