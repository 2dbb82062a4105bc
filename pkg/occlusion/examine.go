package occlusion

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"sync"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/yield"
	"gonum.org/v1/gonum/spatial/r3"
)

// Options are how an examination is run; they never change what it finds.
type Options struct {
	// Workers is the number of goroutines, 0 for one a processor.
	Workers int
	// Progress, if not nil, is told how many frames are done. It is called from
	// one goroutine at a time, with rising numbers, and not after the return.
	Progress func(done, total int)
	// AsSet leaves out the re-runs under other settings, which tell of every finding
	// whether it holds and take half as long to three times as long as the examination
	// itself.
	AsSet bool
}

// frameChunk is the frames that one worker takes at a time: neighbours, whose
// searches begin where the last one ended, and after which it looks for
// cancellation, about every 50 ms.
const frameChunk = 9

// Examine takes the casts of a case through its movements.
func Examine(ctx context.Context, c *casefile.Case, pair *casts.Casts, o Options) (*findings.Findings, error) {
	set, err := settings(&c.Settings)
	if err != nil {
		return nil, err
	}
	e := newExamination(c, pair, set, c.FoilsUm)
	if e.guide, err = guidance(&c.Settings.Guidance, pair); err != nil {
		return nil, err
	}
	f := &findings.Findings{
		Format: findings.Format, Version: findings.Version, Name: c.Name, Notation: c.Notation, Settings: c.Settings, Thresholds: c.Thresholds, Warnings: []string{},
		Mount: findings.Mount{ScanToArticulator: pair.Mount.Matrix(), How: casts.How(&c.Mount), PointsFound: pair.Found, IncisalPointMM: e.incisal(kinematics.Pose{})},
	}
	if err := par.BothErr(func() error { f.Scans.Upper = casts.ScanInfo(pair.Upper); return nil }, func() error { f.Scans.Lower = casts.ScanInfo(pair.Lower); return nil }); err != nil {
		return nil, err
	}
	for _, c := range [2]*casts.Cast{pair.Upper, pair.Lower} {
		if w := casts.LabelWarning(c); w != "" {
			f.Warnings = append(f.Warnings, w)
		}
		f.Warnings = append(f.Warnings, casts.ScanWarnings(c)...)
	}
	f.Settling = *pair.Settling
	if f.Centric, err = e.centric(ctx); err != nil {
		return nil, err
	}
	switch f.Yielding, err = yield.Yield(ctx, pair, c.Record, yield.Options{Support: &c.Support}); {
	case errors.Is(err, yield.ErrYield):
		if pair.Upper.Teeth != nil && pair.Lower.Teeth != nil {
			f.Warnings = append(f.Warnings, err.Error())
		}
	case err != nil:
		return nil, err
	}
	e.arches = measureArches(pair)
	f.Arches = e.arches
	if f.Excursions, err = e.excursions(ctx, o); err != nil {
		return nil, err
	}
	f.Record = newRecord(c, f, e.pairGap(f))
	if f.CuspAngles, err = e.followCusps(ctx, f.Excursions, o.Workers); err != nil {
		return nil, err
	}
	if err := e.wear(ctx, f, o.Workers); err != nil {
		return nil, err
	}
	f.Restore = e.restorations(f)
	return f, nil
}

type examination struct {
	c              *casefile.Case
	casts          *casts.Casts
	set            kinematics.Settings
	guide          kinematics.Guidance                                         // nil: by teeth
	foilsUm, foils []float64                                                   // the foils, and in mm
	arches         *findings.Arches                                            // nil without labels
	rows           map[dentition.Jaw]func() map[dentition.ToothID]casts.Placed // reckoned when first asked for
}

func newExamination(c *casefile.Case, pair *casts.Casts, set kinematics.Settings, foilsUm []float64) *examination {
	e := &examination{c: c, casts: pair, set: set, foilsUm: foilsUm, rows: map[dentition.Jaw]func() map[dentition.ToothID]casts.Placed{
		dentition.Upper: sync.OnceValue(pair.Upper.InRows), dentition.Lower: sync.OnceValue(pair.Lower.InRows),
	}}
	for _, f := range foilsUm {
		e.foils = append(e.foils, f/1000)
	}
	return e
}

func guidance(g *casefile.Guidance, pair *casts.Casts) (kinematics.Guidance, error) {
	switch g.By {
	case casefile.ByTable:
		if pair.Incisal == nil {
			return nil, fmt.Errorf("%w: guidance by an incisal table needs landmarks.incisal_point", casts.ErrLandmarks)
		}
		return kinematics.IncisalTable{IncisalPoint: *pair.Incisal, Inclination: degrees(g.InclinationDeg), Wings: degrees(g.WingsDeg), Pin: g.PinMM}, nil
	case casefile.ByNone:
		return kinematics.Free(degrees(g.OpeningDeg)), nil
	}
	return nil, nil
}

// incisal is where the incisal point is under a pose.
func (e *examination) incisal(p kinematics.Pose) *findings.Vec {
	if e.casts.Incisal == nil {
		return nil
	}
	v := findings.VecOf(p.Apply(*e.casts.Incisal))
	return &v
}

// scratch is the memory of one worker.
type scratch struct {
	close   contact.CloserScratch
	free    contact.CloserScratch // of closings without what interferes
	patch   contact.PatchScratch
	clear   contact.ClearanceScratch
	patches []contact.Patch
	up, lo  []contact.Gap
}

// centric closes the casts with the condyles at rest.
func (e *examination) centric(ctx context.Context) (findings.Centric, error) {
	var s scratch
	touch, err := e.casts.Closer.Close(kinematics.Pose{}, &s.close)
	if err != nil {
		return findings.Centric{}, fmt.Errorf("%w: closed on the hinge from %g° to %g° nothing touches", casts.ErrApart, contact.OpeningMost.Degrees(), contact.OpeningLeast.Degrees())
	}
	if touch.AtLimit {
		return findings.Centric{}, fmt.Errorf("%w: opened by %g° they still overlap; the scans may be exchanged, or not in one frame", casts.ErrSwapped, contact.OpeningMost.Degrees())
	}
	c := findings.Centric{OpeningDeg: touch.Opening.Degrees(), Pose: touch.Pose.Matrix()}
	if c.Contacts, err = e.contacts(touch.Pose, false, &s); err != nil {
		return findings.Centric{}, err
	}
	if err := s.measureClearances(e.casts, touch.Pose); err != nil {
		return findings.Centric{}, err
	}
	c.Teeth = []findings.CentricTooth{}
	var near []reach
	add := func(cast *casts.Cast, gaps []contact.Gap) {
		for i, k := range cast.Parts {
			if k == 0 {
				continue
			}
			g := &gaps[i]
			near = append(near, reach{e.casts.Upper.Tooth(g.Upper), e.casts.Lower.Tooth(g.Lower), 1000 * g.Dist, g.UpperPoint, toward(g, e.casts.Upper.Mesh())})
			t := findings.CentricTooth{Tooth: findings.Part(cast.ByPart[k]), GapUm: 1000 * g.Dist, Class: classify(1000*g.Dist, &e.c.Thresholds), Foil: map[string]string{}}
			for j, foil := range e.foils {
				t.Foil[micrometres(e.foilsUm[j])] = "free"
				if g.Dist <= foil {
					t.Foil[micrometres(e.foilsUm[j])] = "holds"
				}
			}
			c.Teeth = append(c.Teeth, t)
		}
	}
	add(e.casts.Upper, s.up)
	add(e.casts.Lower, s.lo)
	c.Mounting = judge(near, &e.c.Thresholds)
	if err := e.support(ctx, &c, &s, touch.Pose); err != nil {
		return findings.Centric{}, err
	}
	c.FoilText = describeFoil(&c, &e.c.Thresholds)
	return c, nil
}

func micrometres(um float64) string { return strconv.FormatFloat(um, 'g', -1, 64) }

// measureClearances leaves the clearances of both arches in the scratch.
func (s *scratch) measureClearances(c *casts.Casts, pose kinematics.Pose) (err error) {
	if s.up, err = contact.AppendUpperClearances(s.up[:0], c.Upper.Arch, c.Lower.Arch, pose, &s.clear); err != nil {
		return err
	}
	s.lo, err = contact.AppendLowerClearances(s.lo[:0], c.Upper.Arch, c.Lower.Arch, pose, &s.clear)
	return err
}

// clearances is the least gap of each tooth to the opposing arch under a pose of
// the lower one, in mm.
func (e *examination) clearances(pose kinematics.Pose, s *scratch) (map[string]float64, error) {
	if err := s.measureClearances(e.casts, pose); err != nil {
		return nil, err
	}
	out := make(map[string]float64, len(s.up)+len(s.lo))
	for _, side := range [2]struct {
		cast *casts.Cast
		gaps []contact.Gap
	}{{e.casts.Upper, s.up}, {e.casts.Lower, s.lo}} {
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

func (e *examination) touch(t *contact.Closing) findings.Touch {
	return findings.Touch{Upper: findings.Part(e.casts.Upper.Tooth(t.Upper)), Lower: findings.Part(e.casts.Lower.Tooth(t.Lower)), PointMM: findings.VecOf(t.Point)}
}

// contacts lists the contacts under a pose of the lower arch.
func (e *examination) contacts(pose kinematics.Pose, overlap bool, s *scratch) (_ []findings.Contact, err error) {
	s.patches, err = contact.AppendPatches(s.patches[:0], e.casts.Upper.Arch, e.casts.Lower.Arch, pose, e.foils, overlap, &s.patch)
	if err != nil {
		return nil, err
	}
	out := make([]findings.Contact, len(s.patches))
	for i, p := range s.patches {
		up, lo := e.casts.Upper.Tooth(p.Upper), e.casts.Lower.Tooth(p.Lower)
		out[i] = findings.Contact{
			Upper: findings.Part(up), Lower: findings.Part(lo),
			PointMM: findings.VecOf(p.Point), CentreMM: findings.VecOf(p.Centre), Normal: findings.VecOf(r3.Scale(-1, p.UpperNormal)),
			AreaMM2: p.Area, GapUm: 1000 * p.Gap, OverlapUm: 1000 * p.Depth,
			FoilUm: e.foilsUm[slices.Index(e.foils, p.Foil)],
			InclineDeg: findings.Incline{
				Upper: incline(p.UpperNormal, e.casts.Upper.Frames, up, kinematics.Pose{}),
				Lower: incline(p.LowerNormal, e.casts.Lower.Frames, lo, pose),
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
	a := angleDeg(n, pose.Rotate(f.Occlusal))
	return &a
}

// angleDeg is the angle between two directions of any length, in degrees; the
// arctangent keeps small angles, which an arccosine would lose.
func angleDeg(a, b r3.Vec) float64 {
	return math.Atan2(r3.Norm(r3.Cross(a, b)), r3.Dot(a, b)) * 180 / math.Pi
}
