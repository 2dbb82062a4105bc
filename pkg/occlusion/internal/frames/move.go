package frames

import (
	"context"
	"fmt"
	"sync"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Options is how the casts are taken through movements.
type Options struct {
	Workers  int                   // goroutines, 0 for one a processor
	Progress func(done, total int) // nil for nobody to be told
	// Frame, if not nil, is given every frame in which the casts meet.
	Frame func(findings.Movement, *findings.Frame)
}

// frameChunk is the frames that one worker takes at a time: neighbours, whose
// searches begin where the last one ended, and after which it looks for
// cancellation, about every 50 ms.
const frameChunk = 9

// Move takes the casts through every movement, frame by frame.
func (e *Setup) Move(ctx context.Context, o Options) ([]findings.Excursion, error) {
	type job struct {
		excursion int
		movement  kinematics.Movement
		travel    float64
	}
	var jobs []job
	out := make([]findings.Excursion, len(e.Case.Excursions))
	for i, x := range e.Case.Excursions {
		out[i] = findings.Excursion{Movement: findings.MovementOf(x.Movement), Findings: []findings.Finding{}}
		travels, err := kinematics.Samples(x.MaxMM, x.StepMM)
		if err != nil {
			return nil, err
		}
		for _, t := range travels {
			jobs = append(jobs, job{i, x.Movement, t})
		}
	}
	frames := make([]*findings.Frame, len(jobs))
	scratches := make([]Scratch, par.Workers(o.Workers))
	report := Counter(o.Progress, len(jobs))
	var one sync.Mutex // calls Frame
	err := par.Chunks(ctx, len(jobs), frameChunk, o.Workers, func(worker, lo, hi int) error {
		for i := lo; i < hi; i++ {
			f, err := e.Frame(jobs[i].movement, jobs[i].travel, What{true, true}, &scratches[worker])
			if err != nil {
				return fmt.Errorf("%v movement at %g mm: %w", jobs[i].movement, jobs[i].travel, err)
			}
			frames[i] = f
		}
		if o.Frame != nil {
			one.Lock()
			defer one.Unlock()
			for i := lo; i < hi; i++ {
				if frames[i] != nil {
					o.Frame(findings.MovementOf(jobs[i].movement), frames[i])
				}
			}
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
			x.EndedMM, x.Ended = &t, language.Say("movement.ended", language.With{"at": t})
		default:
			x.Frames = append(x.Frames, *f)
		}
	}
	for i := range out {
		out[i].Frames = append([]findings.Frame{}, out[i].Frames...)
	}
	return out, nil
}

// Counter makes a counter that calls f in order.
func Counter(f func(done, total int), total int) func(n int) {
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
