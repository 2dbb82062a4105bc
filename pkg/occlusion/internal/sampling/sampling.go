package sampling

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/drift"
	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/sobol"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/mounting"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"gonum.org/v1/gonum/spatial/r3"
)

// Options are how samples are taken.
type Options struct {
	Samples int // 0 for none
	Workers int // 0 for one a processor; it never changes a result
	// Progress, if not nil, is told how many samples are done.
	Progress func(done, total int)
	// RepeatedUm is the distortion of the upper and the lower scan as repeated scans show it (µm,
	// as the case file's `doubt` has it), NaN for none.
	RepeatedUm [2]float64
}

// run is what all samples share.
type run struct {
	e        *frames.Setup
	f        *findings.Findings
	src      *Sources
	modes    [2]*drift.Modes
	upper    *bent
	lower    *bent
	given    *closed // as scanned; nil where nothing is near
	now      *closed // as examined
	pressed  bool
	point    r3.Vec // where the force acts, as examined
	along    r3.Vec
	watches  []*watch
	paths    []path
	inOrder  []path // all stations of each movement in rising order
	sequence *sobol.Sequence
}

// path is the stations at which the incisal point's path is kept.
type path struct {
	motion   kinematics.Movement
	stations []float64
}

// Stations of the incisal point's path: every so many of the grid, and up to there, mm.
const (
	pathEvery = 4
	pathMost  = 4.8
)

// result is what one sample shows.
type result struct {
	z         [factors]float64
	outcomes  []outcome // of the watches
	premature []outcome // of the premature contacts
	holds     []bool    // of the teeth
	firsts    [2]pairOf // that meet first, as given and as examined
	accepted  bool
	drops     [][]float64 // of the paths, NaN for none
}

// Write takes the samples and adds to the findings how likely each is. It does nothing where
// none are asked for.
func Write(ctx context.Context, e *frames.Setup, f *findings.Findings, o Options) error {
	if o.Samples <= 0 {
		return nil
	}
	r, err := newRun(ctx, e, f, o)
	if err != nil {
		return err
	}
	// The casts without errors come first: what the samples' shorter look does not see on them
	// is given no probability.
	var still [factors]float64
	for i := range still {
		still[i] = 0.5
	}
	plain, err := r.sample(&still, newWorker())
	if err != nil {
		return err
	}
	results := make([]*result, o.Samples)
	workers := make([]*worker, par.Workers(o.Workers))
	for i := range workers {
		workers[i] = newWorker()
	}
	done := counter(o.Progress, o.Samples)
	err = par.Chunks(ctx, o.Samples, 1, o.Workers, func(w, i, _ int) (err error) {
		var u [factors]float64
		r.sequence.Point(uint32(i), u[:])
		results[i], err = r.sample(&u, workers[w])
		done()
		return err
	})
	if err != nil {
		return err
	}
	r.tally(plain, results)
	return nil
}

func newRun(ctx context.Context, e *frames.Setup, f *findings.Findings, o Options) (*run, error) {
	r := &run{e: e, f: f, src: NewSources(e.Case, e.Set, &f.Settling, o.RepeatedUm), sequence: sobol.New(factors, uint64(e.Case.Doubt.Seed))}
	for i, c := range [2]*casts.Cast{e.Casts.Upper, e.Casts.Lower} {
		p, err := way(c)
		if err != nil {
			return nil, err
		}
		r.modes[i] = drift.NewModes(p)
	}
	r.upper, r.lower = newBent(e.Casts.Upper, r.modes[0]), newBent(e.Casts.Lower, r.modes[1])
	if err := r.close(ctx, o); err != nil {
		return nil, err
	}
	if e.Guide != nil {
		return r, nil
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		for k := range x.Findings {
			if w, ok := newWatch(e, &x.Findings[k], x, f.Excursions); ok {
				r.watches = append(r.watches, w)
			}
		}
		motion, err := x.Movement.Kinematic()
		if err != nil {
			return nil, err
		}
		p := path{motion: motion}
		if n := len(x.Frames); n > 0 && e.Casts.Incisal != nil {
			p.stations = grid(0, min(pathMost, x.Frames[n-1].TravelMM), pathEvery)
		}
		r.paths = append(r.paths, p)
		all := slices.Clone(p.stations)
		for _, w := range r.watches {
			if w.motion == motion {
				all = append(all, w.stations...)
			}
			if w.other != nil { // compared with the other side at the same travel
				all = append(all, w.stations...)
			}
		}
		slices.Sort(all)
		r.inOrder = append(r.inOrder, path{motion: motion, stations: slices.Compact(all)})
	}
	return r, nil
}

// close prepares the gaps around the closed relations.
func (r *run) close(ctx context.Context, o Options) error {
	c, f := r.e.Casts, r.f
	seat, _, err := settle.NewSeat(ctx, c.Upper, c.Scanned, contact.Options{Workers: o.Workers})
	if err != nil {
		return err
	}
	if r.given, err = newClosed(ctx, c, seat, kinematics.Pose{}, r.modes); err != nil {
		return err
	}
	pose := f.Settling.Pose.Pose
	if r.now, err = newClosed(ctx, c, seat, pose, r.modes); err != nil {
		return err
	}
	if len(r.given.sites) == 0 || len(r.now.sites) == 0 {
		r.given, r.now = nil, nil
		return nil
	}
	if g := f.Settling.Given; g != nil {
		r.given.correct(g.Staircase)
	}
	r.now.correct(f.Centric.Staircase)
	r.now.correctTeeth(f.Centric.Teeth, f.Centric.OpeningDeg*math.Pi/180)
	if s := f.Settling.Seat; s != nil && s.Taken {
		r.point, r.along = pose.Apply(s.PressPointMM.R3()), s.PressDirection.R3()
		r.now.seatZero, r.pressed = r.now.seat(r.now.gapsNow(), r.point, r.along)
	}
	return nil
}

// worker is the memory of one goroutine.
type worker struct {
	frames.Scratch
	free  contact.CloserScratch
	gap   contact.GapScratch
	field [2]drift.Field
	gaps  []float64
	open  []float64
}

func newWorker() *worker { return &worker{} }

// counter makes a function that counts and tells, one call at a time.
func counter(tell func(done, total int), total int) func() {
	if tell == nil {
		return func() {}
	}
	ticks := make(chan int, 1)
	ticks <- 0
	return func() {
		n := <-ticks + 1
		tell(n, total)
		ticks <- n
	}
}

// sample examines one sample.
func (r *run) sample(u *[factors]float64, w *worker) (*result, error) {
	d := r.src.draw(u)
	out := &result{z: d.z}
	sigma := [2]float64{r.src.upperDrift, r.src.lowerDrift}
	for i := range w.field {
		w.field[i] = r.modes[i].Field(w.field[i], sigma[i], d.scans[i][:])
	}
	var x kinematics.Twist
	if r.now != nil {
		r.asGiven(d, out, w)
		x = r.asExamined(d, out, w)
	}
	if len(r.watches) == 0 && len(r.paths) == 0 {
		return out, nil
	}
	s, err := r.moved(d, x, w)
	if err != nil {
		return nil, err
	}
	// Neighbours first: a closing begins where the last one ended.
	for _, p := range r.inOrder {
		for _, t := range p.stations {
			if _, err := s.at(p.motion, t); err != nil {
				return nil, err
			}
		}
	}
	for _, p := range r.paths {
		drops := make([]float64, len(p.stations))
		for i, t := range p.stations {
			c, err := s.at(p.motion, t)
			if err != nil {
				return nil, err
			}
			if drops[i] = math.NaN(); c.ok {
				drops[i] = s.Casts.Incisal.Z - c.touch.Pose.Apply(*s.Casts.Incisal).Z
			}
		}
		out.drops = append(out.drops, drops)
	}
	for _, watch := range r.watches {
		o, err := s.look(watch)
		if err != nil {
			return nil, err
		}
		out.outcomes = append(out.outcomes, o)
	}
	return out, nil
}

// asGiven closes the casts of a sample in the relation that was given.
func (r *run) asGiven(d *draw, out *result, w *worker) {
	g := r.given
	w.gaps = g.distorted(w.gaps, w.field[0], w.field[1])
	g.move(w.gaps, g.twist(d.shift, d.turn, g.frame.Centre))
	w.open = g.openings(w.open, w.gaps, d.axis)
	steps := g.steps(w.open, w.gaps, d.axis)
	if len(steps) > 0 {
		out.firsts[0] = pairOf{steps[0].Upper, steps[0].Lower}
	}
	if r.f.Settling.Given == nil || r.f.Settling.Given.Displaced == nil {
		out.premature = r.prematures(steps)
	}
}

// asExamined seats the casts of a sample as the case wants it and closes them: the twist of
// the lower cast from where it was examined.
func (r *run) asExamined(d *draw, out *result, w *worker) (x kinematics.Twist) {
	c := r.now
	w.gaps = c.distorted(w.gaps, w.field[0], w.field[1])
	x = c.twist(d.shift, d.turn, c.frame.Centre)
	if r.pressed {
		if y, ok := c.seat(w.gaps, r3.Add(r.point, d.press), r.along); ok {
			for i := range x {
				x[i] = y[i] - c.seatZero[i]
			}
		}
	}
	c.move(w.gaps, x)
	w.open = c.openings(w.open, w.gaps, d.axis)
	if out.premature == nil { // told where the casts lock
		out.premature = r.prematures(c.steps(w.open, w.gaps, d.axis))
	}
	first := 0
	for k, o := range w.open {
		if o > w.open[first] {
			first = k
		}
	}
	if math.IsInf(w.open[first], -1) {
		return x
	}
	out.firsts[1] = c.pairs[first]
	gaps := c.toothGaps(w.gaps, w.open[first], d.axis)
	limits := &r.e.Case.Thresholds
	var near []mounting.Closeness
	for i := range r.f.Centric.Teeth {
		t := r.f.Centric.Teeth[i].Tooth.Tooth()
		n, ok := gaps[t]
		out.holds = append(out.holds, ok && 1000*n.gap <= limits.HoldsUm)
		if ok {
			g, p := c.gapAsPair(n), c.pairs[c.sites[n.site].pair]
			near = append(near, mounting.Closeness{Upper: p.upper, Lower: p.lower, Gap: 1000 * n.gap, At: g.UpperPoint,
				Toward: r3.Scale(-1, c.sites[n.site].normal)})
		}
	}
	out.accepted = mounting.Judge(near, limits).Verdict == findings.Acceptable
	return x
}

// moved is the casts of a sample, ready to be moved.
func (r *run) moved(d *draw, x kinematics.Twist, w *worker) (*sample, error) {
	own := kinematics.Pose{}
	if r.now != nil {
		own = r.now.frame.Pose(x)
	}
	c := *r.e.Casts
	var err error
	if c.Upper, err = r.upper.moved(w.field[0], d.hinge); err != nil {
		return nil, err
	}
	if c.Lower, err = r.lower.moved(w.field[1], own.Then(d.hinge)); err != nil {
		return nil, err
	}
	if c.Closer, err = r.e.Casts.Closer.Moved(c.Upper.Arch, c.Lower.Arch); err != nil {
		return nil, err
	}
	if p := r.e.Casts.Incisal; p != nil {
		place := r.modes[1].Place(*p)
		q := own.Then(d.hinge).Apply(r3.Add(*p, w.field[1].At(&place)))
		c.Incisal = &q
	}
	setup := frames.NewSetup(r.e.Case, &c, d.set, []findings.Foil{judge.TouchFoil(r.e.Case)})
	return &sample{Setup: setup, s: &w.Scratch, free: &w.free, gaps: &w.gap, known: map[station]*closing{}}, nil
}

// prematures looks which premature contacts stand on a staircase.
func (r *run) prematures(steps []step) []outcome {
	out := []outcome{}
	high := readHigh(steps, r.e.Case.Thresholds.ScanDoubtUm/1000)
	for i := range r.f.Centric.Findings {
		g := &r.f.Centric.Findings[i]
		o := outcome{height: math.NaN()}
		k := slices.IndexFunc(steps, func(s step) bool {
			return s.Upper == g.Upper.Tooth() && s.Lower == g.Lower.Tooth()
		})
		if k >= 0 && k < high {
			o.stands, o.height = true, heightOver(steps, k)
		}
		out = append(out, o)
	}
	return out
}
