package occlusion

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/measure"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/mounting"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/premature"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/record"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/restore"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/sampling"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/stops"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/tissue"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/wear"
	"github.com/cusptrace/cusptrace/pkg/yield"
)

// DefaultSamples is how many samples programs take where a person does not say: with as many
// a share errs by about three in a hundred.
const DefaultSamples = 64

// Options are how an examination is run; they never change what it finds.
type Options struct {
	// Workers is the number of goroutines, 0 for one a processor.
	Workers int
	// Progress, if not nil, is told how many frames are done. It is called from
	// one goroutine at a time, with rising numbers, and not after the return.
	Progress func(done, total int)
	// Frame, if not nil, is given every position of a movement in which the casts meet as
	// soon as it is computed, so that a viewer can draw it while the examination goes on.
	// It is called from one goroutine at a time and not after the return, in no fixed
	// order: travels tell the place. The frame must not be changed.
	Frame func(m findings.Movement, f *findings.Frame)
	// AsSet leaves out the re-runs under other settings, which tell of every finding
	// whether it holds and take half as long to three times as long as the examination
	// itself.
	AsSet bool
	// Brief leaves out what says nothing about where and how the casts meet: teeth that yield, facets,
	// paths of cusps, other tissue, and what to heed in restoring a tooth.
	Brief bool
	// Samples is how many samples of what may be wrong are examined for the probabilities of the
	// findings; 0 leaves them out. The findings themselves do not depend on it.
	Samples int
	// Sampled, if not nil, is told how many samples are done, as Progress is of frames.
	Sampled func(done, total int)
}

// Examine takes the casts of a case through its movements.
func Examine(ctx context.Context, c *casefile.Case, pair *casts.Casts, o Options) (*findings.Findings, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	set, err := c.Settings.Kinematics()
	if err != nil {
		return nil, err
	}
	e := frames.NewSetup(c, pair, set, findings.Foils(c.FoilsUm))
	if e.Guide, err = frames.Guidance(&c.Settings.Guidance, pair); err != nil {
		return nil, err
	}
	f := &findings.Findings{
		Format: findings.Format, Version: findings.Version, Name: c.Name, Date: c.Date, Notation: c.Notation,
		Settings: c.Settings, Thresholds: c.Thresholds, Warnings: []findings.Sentence{},
		Mount: findings.Mount{ScanToArticulator: findings.Pose{Pose: pair.Mount}, How: casts.How(&c.Mount),
			PointsFound: pair.Found, IncisalPointMM: e.Incisal(kinematics.Pose{})},
	}
	drifts, err := sampling.Repeated(ctx, pair.Upper, pair.Lower) // early, since it may find a scan of another arch
	if err != nil {
		return nil, err
	}
	f.Inputs = inputs(c, pair)
	if err := par.BothErr(func() error { f.Scans.Upper = casts.ScanInfo(pair.Upper); return nil },
		func() error { f.Scans.Lower = casts.ScanInfo(pair.Lower); return nil }); err != nil {
		return nil, err
	}
	f.Warnings = append(f.Warnings, warnings(pair)...)
	f.Settling = *pair.Settling
	if f.Centric, err = centric(ctx, e); err != nil {
		return nil, err
	}
	if err := premature.Write(ctx, e, f); err != nil {
		return nil, err
	}
	if !o.Brief {
		if err := yielding(ctx, c, pair, f); err != nil {
			return nil, err
		}
	}
	shape := judge.NewShape(pair, measure.Arches(pair))
	f.Arches = shape.Tipped()
	if f.Excursions, err = excursions(ctx, e, shape, f.Centric.Findings, o); err != nil {
		return nil, err
	}
	if !o.Brief {
		if err := tissue.Write(ctx, e, f); err != nil {
			return nil, err
		}
	}
	for i := range f.Tissue {
		f.Warnings = append(f.Warnings, f.Tissue[i].Text)
	}
	premature.Renumber(f)
	if f.Record, err = record.Compare(c, f, record.GapOfPair(e, f)); err != nil {
		return nil, err
	}
	mounting.Weigh(f)
	taken := sampling.Options{Samples: o.Samples, Workers: o.Workers, Progress: o.Sampled, Drifts: drifts}
	if err := sampling.Write(ctx, e, f, taken); err != nil {
		return nil, err
	}
	if o.Brief {
		return f, nil
	}
	if f.CuspAngles, err = measure.FollowCusps(ctx, e, f.Excursions, o.Workers); err != nil {
		return nil, err
	}
	if err := wear.Measure(ctx, e, f, o.Workers); err != nil {
		return nil, err
	}
	if f.Restore, err = restore.All(e, f); err != nil {
		return nil, err
	}
	return f, nil
}

// yielding writes down what carries as teeth give way; that it could not be found is a warning.
func yielding(ctx context.Context, c *casefile.Case, pair *casts.Casts, f *findings.Findings) (err error) {
	f.Yielding, err = yield.Yield(ctx, pair, c.Record, yield.Options{Support: &c.Support})
	if !errors.Is(err, yield.ErrYield) {
		return err
	}
	if pair.Upper.Teeth != nil && pair.Lower.Teeth != nil {
		f.Warnings = append(f.Warnings, language.Literal(err.Error()))
	}
	return nil
}

// inputs are the files that were read.
func inputs(c *casefile.Case, pair *casts.Casts) []findings.Input {
	out := []findings.Input{}
	if c.SHA256 != "" {
		out = append(out, findings.Input{Role: findings.CaseFile, File: c.File, SHA256: c.SHA256})
	}
	return slices.Concat(out, pair.Upper.Inputs, pair.Lower.Inputs)
}

// warnings says what of the casts limits what can be found on them.
func warnings(pair *casts.Casts) []language.Sentence {
	var out []language.Sentence
	if pair.Incisal == nil {
		out = append(out, language.Say("input.incisal", language.With{"why": fmt.Sprint(pair.NoIncisal)}))
	}
	if pair.Upper.Teeth == nil || pair.Lower.Teeth == nil {
		out = append(out, language.Say("input.surfaces"))
	}
	if w := casts.Wider(pair.Upper, pair.Lower); !w.Empty() {
		out = append(out, w)
	}
	for _, c := range [2]*casts.Cast{pair.Upper, pair.Lower} {
		if w := casts.LabelWarning(c); !w.Empty() {
			out = append(out, w)
		}
		out = append(out, casts.ScanWarnings(c)...)
		out = append(out, casts.UnlabelledWarnings(c)...)
	}
	return out
}

// centric closes the casts with the condyles in their closed position.
func centric(ctx context.Context, e *frames.Setup) (findings.Centric, error) {
	var s frames.Scratch
	touch, err := e.Casts.Closer.Close(kinematics.Pose{}, &s.Close)
	if err != nil {
		return findings.Centric{}, fmt.Errorf("%w: closed on the hinge from %g° to %g° nothing touches", casts.ErrApart,
			contact.OpeningMost.Degrees(), contact.OpeningLeast.Degrees())
	}
	if touch.AtLimit {
		return findings.Centric{}, fmt.Errorf("%w: opened by %g° they still overlap; the scans may be exchanged, or not "+
			"in one frame", casts.ErrSwapped, contact.OpeningMost.Degrees())
	}
	c := findings.Centric{OpeningDeg: touch.Opening.Degrees(), Pose: findings.Pose{Pose: touch.Pose}}
	if c.Contacts, err = e.Contacts(touch.Pose, false, &s); err != nil {
		return findings.Centric{}, err
	}
	if err := s.MeasureClearances(e.Casts, touch.Pose); err != nil {
		return findings.Centric{}, err
	}
	c.Teeth = []findings.CentricTooth{}
	var near []mounting.Closeness
	add := func(cast *casts.Cast, gaps []contact.Gap) {
		for i, k := range cast.Parts {
			if k == 0 {
				continue
			}
			g := &gaps[i]
			near = append(near, mounting.Closeness{Upper: e.Casts.Upper.Tooth(g.Upper), Lower: e.Casts.Lower.Tooth(g.Lower),
				Gap: 1000 * g.Dist, At: g.UpperPoint, Toward: mounting.Toward(g, e.Casts.Upper.Mesh())})
			t := findings.CentricTooth{Tooth: findings.Part(cast.ByPart[k]), GapUm: 1000 * g.Dist,
				Class: stops.Classify(1000*g.Dist, &e.Case.Thresholds), Foil: map[findings.Foil]findings.FoilResult{}}
			for _, foil := range e.Foils {
				t.Foil[foil] = findings.FoilFree
				if g.Dist <= foil.MM() {
					t.Foil[foil] = findings.FoilHolds
				}
			}
			c.Teeth = append(c.Teeth, t)
		}
	}
	add(e.Casts.Upper, s.Up)
	add(e.Casts.Lower, s.Lo)
	c.Mounting = mounting.Judge(near, &e.Case.Thresholds)
	if err := stops.Support(ctx, e, &c, &s, touch.Pose); err != nil {
		return findings.Centric{}, err
	}
	c.FoilText = stops.DescribeFoil(&c, &e.Case.Thresholds)
	return c, nil
}
