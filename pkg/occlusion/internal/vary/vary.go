package vary

import (
	"context"
	"errors"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Settings are averages unless recorded, so every finding is tried with other
// ones: a condylar inclination and a side shift angle 5° less and more (less than
// half the spread of 12° found in 154 patients, Appl Sci 2025, 15:10231), and a
// hinge axis 5 mm off in each direction of the sagittal plane (the error of
// arbitrary axes that the studies quote).
const (
	otherAngle = 5 * s1.Degree
	otherAxis  = 5.0 // mm
)

// sameSpot is how far apart, in mm of travel, a finding and its twin under other
// settings may lie.
const sameSpot = 1.0

// variant is one other set of settings.
type variant struct {
	of    findings.Setting // what it changes
	set   kinematics.Settings
	shift r3.Vec // of the hinge axis
}

func variants(e *frames.Setup) []variant {
	var out []variant
	for _, sign := range [2]float64{-1, 1} {
		set := e.Set
		by := s1.Angle(sign) * otherAngle
		set.Right.Path, set.Left.Path = kinematics.Tilt(set.Right.Path, by), kinematics.Tilt(set.Left.Path, by)
		out = append(out, variant{of: findings.CondylarInclination, set: set})
	}
	for _, sign := range [2]float64{-1, 1} {
		set := e.Set
		by := s1.Angle(sign) * otherAngle
		set.Right.SideShiftAngle += by
		set.Left.SideShiftAngle += by
		out = append(out, variant{of: findings.SideShiftAngle, set: set})
	}
	for _, d := range [...]r3.Vec{{Y: -otherAxis}, {Y: otherAxis}, {Z: -otherAxis}, {Z: otherAxis}} {
		out = append(out, variant{of: findings.AxisPosition, set: e.Set, shift: d})
	}
	return out
}

// Try says of every finding whether it survives other settings. The re-runs close
// the casts at every second sample, and at every one within sameSpot of a finding,
// where they also measure contacts; the indexes are used again. Where the guidance
// is not by teeth nothing is tried.
func Try(ctx context.Context, e *frames.Setup, out []findings.Excursion, workers int) error {
	if e.Guide != nil || !slices.ContainsFunc(out, func(x findings.Excursion) bool { return len(x.Findings) > 0 }) {
		return nil
	}
	variants := variants(e)
	reruns := make([][]rerun, len(variants))
	// Each variant about another axis has a copy of the lower cast, until it is done.
	err := par.Chunks(ctx, len(variants), 1, e.Copies(workers), func(_, v, _ int) (err error) {
		reruns[v], err = rerunAll(ctx, e, variants[v], out)
		return err
	})
	if err != nil {
		return err
	}
	for i := range out {
		for k := range out[i].Findings {
			f := &out[i].Findings[k]
			f.Robustness = holding(variants, func(v int) (survives, tried bool) {
				return slices.ContainsFunc(reruns[v][i].found, func(g judge.Outlined) bool { return sameFinding(f, &g.Finding) }),
					triable(f, i, reruns[v])
			})
		}
	}
	return nil
}

// rerunAll takes the casts through all movements again under other settings.
func rerunAll(ctx context.Context, e *frames.Setup, v variant, out []findings.Excursion) ([]rerun, error) {
	other, err := vary(ctx, e, v)
	if err != nil {
		return nil, err
	}
	reruns, xs := make([]rerun, len(out)), make([]*findings.Excursion, len(out))
	for i := range out {
		if reruns[i], err = repeat(ctx, other, &out[i]); err != nil {
			return nil, err
		}
		xs[i] = reruns[i].x
	}
	compared, err := judge.CompareSides(other, xs)
	if err != nil {
		return nil, err
	}
	for i, f := range compared {
		if f != nil {
			reruns[i].found = append(reruns[i].found, judge.Outlined{Finding: *f})
		}
	}
	return reruns, nil
}

// rerun is a movement under other settings and what it shows.
type rerun struct {
	x     *findings.Excursion
	found []judge.Outlined
	// impossible is set where the condyles cannot go that way: a steep recorded path
	// turned by 5° can lead backwards.
	impossible bool
}

// triable reports whether a finding of movement i could be tried in the re-runs under
// other settings: what compares the movements to both sides needs all of them.
func triable(f *findings.Finding, i int, reruns []rerun) bool {
	if f.Kind == findings.KindShallow {
		return !slices.ContainsFunc(reruns, func(r rerun) bool { return r.impossible })
	}
	return !reruns[i].impossible
}

// holding says on which settings a finding depends, and with which it could not be
// tried.
func holding(variants []variant, survives func(v int) (survives, tried bool)) findings.Robustness {
	var changed, untried []findings.Setting
	for v := range variants {
		ok, tried := survives(v)
		switch of := variants[v].of; {
		case tried && !ok && !slices.Contains(changed, of):
			changed = append(changed, of)
		case !tried && !slices.Contains(untried, of):
			untried = append(untried, of)
		}
	}
	return findings.NewRobustness(changed, untried)
}

// sameFinding says whether g is the same finding as f under other settings: of the same
// kind, at about the same travel, and of the same teeth, or of the same pattern
// where it says who guides.
func sameFinding(f, g *findings.Finding) bool {
	near := func(from, to float64) bool { return from <= f.ToMM+sameSpot && to >= f.FromMM-sameSpot }
	if f.Kind != g.Kind || !near(g.FromMM, g.ToMM) && (g.Beyond == nil || !near(g.Beyond.FromMM, g.Beyond.ToMM)) {
		return false
	}
	switch f.Kind {
	case findings.KindGuidance:
		return f.Pattern == g.Pattern
	case findings.KindLateDisclusion:
		return true // whichever teeth come late
	}
	return f.Upper == g.Upper && f.Lower == g.Lower
}

// vary is the examination under other settings.
func vary(ctx context.Context, e *frames.Setup, v variant) (*frames.Setup, error) {
	other := frames.NewSetup(e.Case, e.Casts, v.set, []findings.Foil{judge.TouchFoil(e.Case)})
	if v.shift == (r3.Vec{}) {
		return other, nil
	}
	casts := *e.Casts
	other.Casts = &casts
	var err error
	casts.Closer, err = contact.NewCloserAbout(ctx, e.Casts.Upper.Arch, e.Casts.Lower.Arch,
		kinematics.Translation(r3.Scale(-1, v.shift)), contact.Options{})
	return other, err
}

// repeat takes the casts through a movement again, as far as its findings need.
func repeat(ctx context.Context, e *frames.Setup, of *findings.Excursion) (rerun, error) {
	x := &findings.Excursion{Movement: of.Movement}
	mv, err := of.Movement.Kinematic()
	if err != nil {
		return rerun{}, err
	}
	var s frames.Scratch
	for i := range of.Frames {
		travel := of.Frames[i].TravelMM
		near := func(f findings.Finding) bool { return travel >= f.FromMM-sameSpot && travel <= f.ToMM+sameSpot }
		what := frames.What{Contacts: slices.ContainsFunc(of.Findings, near)}
		what.Clearances = slices.ContainsFunc(of.Findings, func(f findings.Finding) bool { return f.Kind == findings.KindLateDisclusion })
		if !what.Contacts && !what.Clearances && i%2 > 0 {
			continue
		}
		if err := ctx.Err(); err != nil {
			return rerun{}, err
		}
		f, err := e.Frame(mv, travel, what, &s)
		if errors.Is(err, kinematics.ErrTravel) {
			return rerun{x: &findings.Excursion{Movement: of.Movement}, impossible: true}, nil
		}
		if err != nil {
			return rerun{}, err
		}
		if f == nil {
			break
		}
		x.Frames = append(x.Frames, *f)
	}
	m, err := judge.NewMovement(x, e.Case)
	if err != nil {
		return rerun{}, err
	}
	m.Measure(e.Foils)
	return rerun{x: x, found: m.Outline(e)}, nil
}
