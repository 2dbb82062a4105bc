// Package trial carries out a trial treatment on copies of the casts: it takes away what is
// in the way, adds wax, and has the result examined anew by the examination that found the
// faults. Nothing of the plan is believed afterwards.
package trial

import (
	"context"
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/treatment"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrTrial says that the casts or the case allow no trial treatment.
var ErrTrial = errors.New("no trial treatment")

// Options are how a trial is run; they never change what it does.
type Options struct {
	// Before, if not nil, is the examination of the same case and scans, which is then not made
	// again.
	Before *Examined
	// Samples is how many samples of what may be wrong the examination before takes: depths then
	// carry their range. 0 leaves them out.
	Samples int
	// Workers is the number of goroutines, 0 for one a processor.
	Workers int
	// AsSet leaves out the re-runs of both examinations under other settings.
	AsSet bool
	// Progress, if not nil, is told what is being done and how far it is: before, samples, steps, after.
	Progress func(what string, done, total int)
}

// Examined is casts with their examination.
type Examined struct {
	Case     *casefile.Case
	Upper    *casts.Scan
	Lower    *casts.Scan
	Casts    *casts.Casts
	Findings *findings.Findings
}

// Result is what a trial leaves.
type Result struct {
	Before, After Examined
	Treatment     *treatment.Treatment
	// Wax is the wax alone, a closed shell for each waxed tooth, in the frame of the scans;
	// nil where there is none.
	Wax *mesh.Mesh
	// PrintUpper and PrintLower are the casts afterwards with a base, closed, in the frame of
	// the scans.
	PrintUpper, PrintLower *mesh.Mesh
	// UpperMM and LowerMM are how far each vertex of the scans afterwards lies from the
	// surface before, mm: above 0 where something was added, below where it was taken away.
	UpperMM, LowerMM []float64
}

// Run carries out the steps of the case on the scans and examines the casts before and
// after. The scans are not changed. Both arches must be labelled; else, and where the case
// names no steps, the error wraps [ErrTrial].
//
// A step that cannot be done within its limits is refused as a whole, with the reason in
// the document; the others are carried out.
func Run(ctx context.Context, c *casefile.Case, upper, lower *casts.Scan, o Options) (*Result, error) {
	if len(c.Trial) == 0 {
		return nil, fmt.Errorf("%w: the case has no steps; give some under trial, such as\n  trial: [{adjust: {what: [premature]}}]", ErrTrial)
	}
	if upper.Teeth == nil || lower.Teeth == nil {
		return nil, fmt.Errorf("%w: the teeth of both arches must be labelled, or found from their shape", ErrTrial)
	}
	first := o.Before
	if first == nil {
		var err error
		if first, err = examine(ctx, c, upper, lower, o, "before"); err != nil {
			return nil, err
		}
	}
	o.Samples = 0
	w := &work{ctx: ctx, o: o, upper: upper, lower: lower, original: first, c: fixed(c, first.Casts), now: first}
	w.doc = &treatment.Treatment{Format: treatment.Format, Version: treatment.Version, Name: c.Name, Steps: []treatment.Step{},
		Stairs: stairs(first)}
	for i := range c.Trial {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := w.step(i, &c.Trial[i]); err != nil {
			return nil, fmt.Errorf("step %d: %w", i+1, err)
		}
	}
	after, err := examine(ctx, w.c, w.upper, w.lower, o, "after")
	if err != nil {
		return nil, err
	}
	w.now = after
	wax, err := w.waxAlone()
	if err != nil {
		return nil, err
	}
	w.sum()
	r := &Result{Before: *first, After: *after, Treatment: w.doc, Wax: wax}
	if r.UpperMM, err = changed(ctx, upper, w.upper); err != nil {
		return nil, err
	}
	if r.LowerMM, err = changed(ctx, lower, w.lower); err != nil {
		return nil, err
	}
	up := after.Casts.Mount.Inverse().Rotate(r3.Vec{Z: 1})
	if r.PrintUpper, err = surface.Closed(w.upper.Mesh, up, baseMM); err != nil {
		return nil, err
	}
	r.PrintLower, err = surface.Closed(w.lower.Mesh, r3.Scale(-1, up), baseMM)
	return r, err
}

// baseMM is how far the base of a printed cast lies beyond its surface, mm; our choice.
const baseMM = 4.0

// changedMost is the largest change that is looked for, mm.
const changedMost = 4.0

// changed measures how far the vertices of a scan lie from the surface of another: from the
// scans alone, not from what was planned.
func changed(ctx context.Context, before, after *casts.Scan) ([]float64, error) {
	out := make([]float64, after.Mesh.NumVertices())
	if before == after {
		return out, nil
	}
	x, err := index.New(ctx, before.Mesh, nil, index.Options{})
	if err != nil {
		return nil, err
	}
	sides := index.NewSides(mesh.BuildTopology(before.Mesh))
	for v, p := range after.Mesh.Vertices() {
		h, ok := x.Nearest(p, changedMost)
		if !ok || h.Dist < 1e-5 { // the rounding of the files
			continue
		}
		out[v] = h.Dist
		if inside, _ := sides.Inside(h, p); inside {
			out[v] = -h.Dist
		}
	}
	return out, ctx.Err()
}

// work is a trial under way.
type work struct {
	ctx          context.Context
	o            Options
	c            *casefile.Case // with the mounting fixed
	original     *Examined
	upper, lower *casts.Scan // as worked on so far
	now          *Examined   // they examined; nil where they were changed since
	doc          *treatment.Treatment
	shells       []shell // of wax
}

// steps is what is said to be examined between the steps, of which only where the casts meet matters.
const steps = "steps"

// examine assembles and examines scans.
func examine(ctx context.Context, c *casefile.Case, upper, lower *casts.Scan, o Options, what string) (*Examined, error) {
	pair, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return nil, err
	}
	x := occlusion.Options{Workers: o.Workers, AsSet: o.AsSet, Samples: o.Samples, Brief: what == steps}
	if o.Progress != nil {
		x.Progress = func(done, total int) { o.Progress(what, done, total) }
		x.Sampled = func(done, total int) { o.Progress("samples", done, total) }
	}
	f, err := occlusion.Examine(ctx, c, pair, x)
	if err != nil {
		return nil, err
	}
	return &Examined{Case: c, Upper: upper, Lower: lower, Casts: pair, Findings: f}, nil
}

// fixed is the case with what must not follow from the surfaces as they change: the
// mounting and the incisal point stay where they were on the scans as they came. The
// mouth's record spoke of the teeth before and is left out, and so are the steps.
func fixed(c *casefile.Case, pair *casts.Casts) *casefile.Case {
	out := *c
	out.Trial, out.Record, out.Units, out.SHA256 = nil, nil, mesh.Millimetre, ""
	if a := c.Mount.Average; a != nil && a.IncisalPoint == nil {
		m := pair.Mount.Matrix()
		out.Mount = casefile.Mount{Matrix: &m}
		if pair.Incisal != nil {
			p := pair.Mount.Then(pair.Settling.Pose.Pose).Inverse().Apply(*pair.Incisal)
			out.Landmarks.IncisalPoint = &casefile.Point{p.X, p.Y, p.Z}
		}
	}
	return &out
}

// state is what a refused step goes back to.
type state struct {
	upper, lower *casts.Scan
	now          *Examined
	steps        int
	shells       int
}

func (w *work) state() state {
	return state{w.upper, w.lower, w.now, len(w.doc.Steps), len(w.shells)}
}

// back undoes what was done since.
func (w *work) back(s state) {
	w.upper, w.lower, w.now = s.upper, s.lower, s.now
	w.doc.Steps, w.shells = w.doc.Steps[:s.steps], w.shells[:s.shells]
}

// refusal is why a step is not done.
type refusal struct {
	stage    string
	movement findings.Movement
	why      findings.Sentence
}

func (r *refusal) Error() string { return r.why.String() }

// step carries out one step of the case, or writes down why not.
func (w *work) step(i int, s *casefile.TrialStep) error {
	was := w.state()
	var err error
	kind, tooth := treatment.Adjust, findings.Part(0)
	if s.Wax != nil {
		kind, tooth = treatment.Wax, findings.Part(s.Wax.Tooth)
	}
	if err = w.trusted(); err == nil {
		if s.Adjust != nil {
			err = w.adjust(i, s.Adjust)
		} else {
			err = w.wax(i, s.Wax)
		}
	}
	var no *refusal
	if errors.As(err, &no) {
		w.back(was)
		w.add(treatment.Step{Of: i + 1, Kind: kind, Stage: no.stage, Tooth: tooth, Movement: no.movement, Refused: no.why})
		return nil
	}
	return err
}

// trusted refuses any depth on a mounting that is not acceptable.
func (w *work) trusted() error {
	if v := w.original.Findings.Centric.Mounting.Verdict; v != findings.Acceptable {
		return &refusal{why: language.Say("trial.refused.mounting", language.With{"verdict": language.Say("verdict." + string(v))})}
	}
	return nil
}

// add appends a step to the document.
func (w *work) add(s treatment.Step) {
	s.Number = len(w.doc.Steps) + 1
	if s.Frees == nil {
		s.Frees = []findings.Sentence{}
	}
	w.doc.Steps = append(w.doc.Steps, s)
}

// look examines the casts as they are now, in the given movements alone, without other
// settings.
func (w *work) look(movements ...findings.Movement) (*Examined, error) {
	if w.now != nil {
		return w.now, nil
	}
	c := *w.c
	c.Excursions = nil
	for _, x := range w.c.Excursions {
		for _, m := range movements {
			if findings.MovementOf(x.Movement) == m {
				c.Excursions = append(c.Excursions, x)
			}
		}
	}
	if c.Excursions == nil {
		x := w.c.Excursions[0]
		x.MaxMM = x.StepMM
		c.Excursions = []casefile.Excursion{x}
	}
	o := w.o
	o.AsSet = true
	return examine(w.ctx, &c, w.upper, w.lower, o, steps)
}

// set takes over changed scans.
func (w *work) set(upper, lower *casts.Scan) { w.upper, w.lower, w.now = upper, lower, nil }

// castOf is the cast of a jaw in the relation in which it is worked on: as given, or as seated.
func castOf(pair *casts.Casts, jaw dentition.Jaw, given bool) *casts.Cast {
	switch {
	case jaw == dentition.Upper:
		return pair.Upper
	case given:
		return pair.Scanned
	}
	return pair.Lower
}

// sum writes down what the examinations before and after say.
func (w *work) sum() {
	d := w.doc
	c := compare.Findings(w.original.Findings, w.now.Findings)
	d.Stops, d.IncisalDropMM = c.Stops, c.IncisalDropMM
	d.Findings = treatment.Changes{Gone: c.Gone, New: c.New, Changed: append(append([]compare.Change{}, c.Stronger...), c.Weaker...)}
	words(d, w.original.Findings, w.now.Findings)
}
