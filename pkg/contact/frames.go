package contact

import (
	"context"
	"errors"
	"fmt"
	"iter"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
)

// Frame is one position of a movement.
type Frame struct {
	Station kinematics.Station
	// Opening and Pose are those at which the lower arch stands: at the touch,
	// or as the guidance says. Where nothing touches and nothing else guides,
	// Guided is false, and they mean nothing.
	Opening s1.Angle
	Pose    kinematics.Pose
	Guided  bool
	// Touch is the first touch of the closing at this station, where Touches is
	// set. Under a guidance it lies below the opening, where the arches stay
	// apart, or above it, where they overlap.
	Touch   Closing
	Touches bool
	// Patches are the contacts at [FrameOptions.Foils].
	Patches []Patch
	// Upper and Lower are the clearances of the parts of each arch, in the order
	// of their [Arch.Parts], if [FrameOptions.Clearances] is set.
	Upper, Lower []Gap
}

// Overlaps says whether the surfaces cross in the frame.
func (f *Frame) Overlaps() bool {
	return f.Touches && (f.Touch.AtLimit || f.Touch.Opening > f.Opening)
}

// FrameOptions say what [Closer.Frames] measures. The zero value closes only,
// guided by the teeth.
type FrameOptions struct {
	// Guidance gives the opening; nil leaves it to the teeth: the lower arch
	// closes until it touches.
	Guidance kinematics.Guidance
	// Foils are the thicknesses (mm, at most a few tenths) at which contacts are
	// found; none for no contacts.
	Foils []float64
	// Clearances measures those of all parts.
	Clearances bool
	// Scratch is memory to be used again from one movement to the next; nil for
	// some of its own. It never influences results.
	Scratch *FrameScratch
}

// FrameScratch is the memory of one goroutine for [Closer.Frames]. The zero value
// works and may be used with any arches.
type FrameScratch struct {
	close CloserScratch
	patch PatchScratch
	clear ClearanceScratch
	frame Frame
}

// Frames yields a frame for every station, such as those of
// [kinematics.Settings.Stations]. The frame and its slices are written over by
// the next one: copy what is to be kept. An error, of the stations, the guidance
// or the context, comes with its frame as the last. Once the scratch has grown,
// nothing is allocated per frame.
//
// A Closer may yield several movements at once, each with a scratch of its own.
func (c *Closer) Frames(ctx context.Context, stations iter.Seq2[kinematics.Station, error], o FrameOptions) iter.Seq2[*Frame, error] {
	return func(yield func(*Frame, error) bool) {
		s := o.Scratch
		if s == nil {
			s = &FrameScratch{}
		}
		if ctx.Err() != nil {
			yield(&s.frame, ctx.Err())
			return
		}
		for st, err := range stations {
			if err == nil {
				err = ctx.Err()
			}
			if err == nil {
				err = c.frame(st, &o, s)
			}
			if err != nil {
				yield(&s.frame, fmt.Errorf("%v movement at %g mm: %w", st.Movement, st.Travel, err))
				return
			}
			if !yield(&s.frame, nil) {
				return
			}
		}
	}
}

// frame fills the scratch's frame.
func (c *Closer) frame(st kinematics.Station, o *FrameOptions, s *FrameScratch) error {
	f := &s.frame
	*f = Frame{Station: st, Patches: f.Patches[:0], Upper: f.Upper[:0], Lower: f.Lower[:0]}
	touch, err := c.Close(st.Base(), &s.close)
	switch {
	case err == nil:
		f.Touch, f.Touches = touch, true
		f.Opening, f.Pose, f.Guided = touch.Opening, touch.Pose, true
	case !errors.Is(err, ErrNoTouch):
		return err
	}
	if o.Guidance != nil {
		if f.Opening, err = o.Guidance.Opening(st); err != nil {
			return err
		}
		f.Pose, f.Guided = c.pose(st.Base(), f.Opening), true
	}
	if !f.Guided {
		return nil
	}
	if len(o.Foils) > 0 {
		if f.Patches, err = AppendPatches(f.Patches, c.upper, c.lower, f.Pose, o.Foils, f.Overlaps(), &s.patch); err != nil {
			return err
		}
	}
	if o.Clearances {
		f.Upper, f.Lower, err = AppendClearances(f.Upper, f.Lower, c.upper, c.lower, f.Pose, &s.clear)
	}
	return err
}
