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
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/mounting"
	"gonum.org/v1/gonum/spatial/r3"
)

// Options are how samples are taken.
type Options struct {
	Samples int // 0 for none
	Workers int // 0 for one a processor; it never changes a result
	// Progress, if not nil, is told how many samples are done.
	Progress func(done, total int)
	Drifts   Drifts // of [Repeated]
}

// run is what all samples share.
type run struct {
	e        *frames.Setup
	f        *findings.Findings
	src      *Sources
	modes    [2]*drift.Modes
	upper    *bent
	lower    *bent
	given    *closed       // as scanned; nil where nothing is near
	now      *closed       // as examined
	teeth    []facingTooth // in the order of findings.Centric.Teeth
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

// place is a station of the incisal point's path: the opening (degrees) and how far down it
// lies (mm); not ok where the casts do not meet.
type place struct {
	ok            bool
	opening, drop float64
}

// result is what one sample shows.
type result struct {
	z         [factors]float64
	outcomes  []outcome // of the watches
	premature []outcome // of the premature contacts
	holds     []bool    // of the teeth that face others
	firsts    [2]pairOf // that meet first, as given and as examined
	accepted  bool
	paths     [][]place // of the paths
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
	plain, err := r.sample(&still, new(worker))
	if err != nil {
		return err
	}
	results := make([]*result, o.Samples)
	workers := make([]*worker, e.Copies(o.Workers))
	for i := range workers {
		workers[i] = new(worker)
	}
	done := frames.Counter(o.Progress, o.Samples)
	err = par.Chunks(ctx, o.Samples, 1, len(workers), func(w, i, _ int) (err error) {
		var u [factors]float64
		r.sequence.Point(uint32(i), u[:])
		results[i], err = r.sample(&u, workers[w])
		done(1)
		return err
	})
	if err != nil {
		return err
	}
	r.tally(plain, results)
	return nil
}

func newRun(ctx context.Context, e *frames.Setup, f *findings.Findings, o Options) (*run, error) {
	r := &run{e: e, f: f, src: NewSources(e.Case, e.Set, &f.Settling, o.Drifts), sequence: sobol.New(factors, uint64(e.Case.Doubt.Seed))}
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

// close prepares the gaps around the closed relations, and what of each tooth comes nearest.
func (r *run) close(ctx context.Context, o Options) error {
	c, f := r.e.Casts, r.f
	var err error
	if r.given, err = newClosed(ctx, c.Upper, c.Scanned, r.modes, o.Workers); err != nil {
		return err
	}
	r.now = r.given
	s := f.Settling.Seat
	if s != nil && s.Taken {
		r.now = newPressed(c.Upper, c.Lower, r.modes)
	}
	if len(r.given.sites) < sitesLeast || len(r.now.sites) < sitesLeast {
		r.given, r.now = nil, nil
		return nil
	}
	if g := f.Settling.Given; g != nil {
		r.given.correct(g.Staircase)
	}
	if s != nil && s.Taken {
		r.point, r.along = f.Settling.Pose.Apply(s.PressPointMM.R3()), s.PressDirection.R3()
		r.now.seatZero, r.pressed = r.now.seat(r.now.gapsNow(), r.point, r.along)
	}
	var scratch contact.ClearanceScratch
	add := func(cast *casts.Cast, gaps []contact.Gap) {
		for i, k := range cast.Parts {
			if k > 0 {
				r.teeth = append(r.teeth, facingTooth{cast.ByPart[k], k, pairOf{c.Upper.Tooth(gaps[i].Upper), c.Lower.Tooth(gaps[i].Lower)}})
			}
		}
	}
	gaps, err := contact.AppendUpperClearances(nil, c.Upper.Arch, c.Lower.Arch, f.Centric.Pose.Pose, &scratch)
	if err != nil {
		return err
	}
	add(c.Upper, gaps)
	if gaps, err = contact.AppendLowerClearances(gaps[:0], c.Upper.Arch, c.Lower.Arch, f.Centric.Pose.Pose, &scratch); err != nil {
		return err
	}
	add(c.Lower, gaps)
	return nil
}

// sitesLeast is the fewest places near each other from which casts are seated: as many as a
// motion has numbers; our choice.
const sitesLeast = 6

// facingTooth is a tooth, its part of the cast and the pair in which it comes nearest, closed.
type facingTooth struct {
	tooth dentition.ToothID
	part  int
	pair  pairOf
}

// worker is the memory of one goroutine.
type worker struct {
	frames.Scratch
	free  contact.CloserScratch
	gap   contact.GapScratch
	field [2]drift.Field
	gaps  []float64
	open  []float64
	// The casts of the last sample, whose memory the next one takes over.
	copies [2]bentCopy
	closer *contact.Closer
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
		x = r.seat(d, w)
	}
	s, err := r.moved(d, x, w)
	if err != nil {
		return nil, err
	}
	if r.now != nil {
		if err := r.closes(s, out); err != nil {
			return nil, err
		}
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
		places := make([]place, len(p.stations))
		for i, t := range p.stations {
			c, err := s.at(p.motion, t)
			if err != nil {
				return nil, err
			}
			if c.ok {
				places[i] = place{true, c.touch.Opening.Degrees(), s.Casts.Incisal.Z - c.touch.Pose.Apply(*s.Casts.Incisal).Z}
			}
		}
		out.paths = append(out.paths, places)
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
	out.premature = r.prematures(steps)
}

// seat brings the casts of a sample to where they are examined: the twist of the lower cast
// from there.
func (r *run) seat(d *draw, w *worker) (x kinematics.Twist) {
	c := r.now
	x = c.twist(d.shift, d.turn, c.frame.Centre)
	if !r.pressed {
		return x
	}
	w.gaps = c.distorted(w.gaps, w.field[0], w.field[1])
	if y, ok := c.seat(w.gaps, r3.Add(r.point, d.press), r.along); ok {
		for i := range x {
			x[i] = y[i] - c.seatZero[i]
		}
	}
	return x
}

// closes looks what the casts of a sample show closed: which pair meets first, which teeth
// hold foil, and whether the mounting is acceptable by its areas of contact.
func (r *run) closes(s *sample, out *result) error {
	c, err := s.at(kinematics.Protrusive, 0)
	if err != nil || !c.ok {
		return err
	}
	out.firsts[1] = c.pair
	limits := &r.e.Case.Thresholds
	// What is farther than this passes.
	most := limits.DragsUm + limits.ScanDoubtUm
	near := make([]mounting.Closeness, 0, len(r.teeth))
	for i := range r.teeth {
		t := &r.teeth[i]
		up, lo := contact.WholeArch, t.part
		if t.tooth.Jaw() == dentition.Upper {
			up, lo = t.part, contact.WholeArch
		}
		g, ok := contact.PartsWithin(s.Casts.Upper.Arch, s.Casts.Lower.Arch, up, lo, c.touch.Pose, most/1000, s.gaps)
		at := mounting.Closeness{Upper: t.pair.upper, Lower: t.pair.lower, Gap: most + 1, Toward: r3.Vec{Z: 1}}
		if ok {
			at = mounting.Closeness{Upper: s.Casts.Upper.Tooth(g.Upper), Lower: s.Casts.Lower.Tooth(g.Lower), Gap: 1000 * g.Dist,
				At: g.UpperPoint, Toward: mounting.Toward(&g, s.Casts.Upper.Mesh())}
		}
		near = append(near, at)
		out.holds = append(out.holds, ok && at.Gap <= limits.HoldsUm)
	}
	out.accepted = mounting.Judge(near, limits).Verdict == findings.Acceptable
	return nil
}

// moved is the casts of a sample, ready to be moved. Those of the worker's last sample are lost.
func (r *run) moved(d *draw, x kinematics.Twist, w *worker) (*sample, error) {
	own := kinematics.Pose{}
	if r.now != nil {
		own = r.now.frame.Pose(x)
	}
	c := *r.e.Casts
	var err error
	if c.Upper, err = r.upper.moved(w.field[0], d.hinge, &w.copies[0]); err != nil {
		return nil, err
	}
	if c.Lower, err = r.lower.moved(w.field[1], own.Then(d.hinge), &w.copies[1]); err != nil {
		return nil, err
	}
	if c.Closer, err = r.e.Casts.Closer.Moved(c.Upper.Arch, c.Lower.Arch, w.closer); err != nil {
		return nil, err
	}
	w.closer = c.Closer
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
