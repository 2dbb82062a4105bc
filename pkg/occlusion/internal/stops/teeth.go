package stops

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"gonum.org/v1/gonum/spatial/r3"
)

// points tells how the stops of a cusp stand from their loads. Three or more
// enclose the cusp where no half of the plan is free of them.
func points(loads []r3.Vec) findings.Points {
	switch len(loads) {
	case 0:
		return findings.NoPoint
	case 1:
		return findings.Single
	case 2:
		return findings.TwoPoint
	}
	var angles []float64
	for _, l := range loads {
		if math.Hypot(l.X, l.Y) > 1e-9 {
			angles = append(angles, math.Atan2(l.Y, l.X))
		}
	}
	slices.Sort(angles)
	for i, a := range angles {
		next := angles[0] + 2*math.Pi
		if i+1 < len(angles) {
			next = angles[i+1]
		}
		if next-a >= math.Pi {
			return findings.OneSided
		}
	}
	if len(angles) < 3 {
		return findings.OneSided
	}
	return findings.Tripod
}

// Support writes down the stops of the patches in the scratch, which are those of
// the closed casts, and how they hold the teeth.
func Support(ctx context.Context, e *frames.Setup, c *findings.Centric, s *frames.Scratch, pose kinematics.Pose) error {
	c.Stops, c.Support = []findings.Stop{}, []findings.ToothStops{}
	if e.Casts.Upper.Teeth == nil || e.Casts.Lower.Teeth == nil {
		return nil
	}
	t := &e.Case.Thresholds
	found := stops(e.Casts.Upper, e.Casts.Lower, s.Patches, pose, t)
	g := grouped(found)
	for i := range found {
		c.Stops = append(c.Stops, found[i].write(g, t))
	}
	gaps, err := cuspGaps(ctx, e.Casts.Upper, e.Casts.Lower, pose)
	if err != nil {
		return err
	}
	for _, cast := range []*casts.Cast{e.Casts.Upper, e.Casts.Lower} {
		for _, tooth := range cast.ByPart[1:] {
			if _, ok := cast.Frames[tooth]; ok {
				c.Support = append(c.Support, toothStops(tooth, cast, found, g, gaps, t))
			}
		}
	}
	slices.SortFunc(c.Support, func(a, b findings.ToothStops) int { return int(a.Tooth) - int(b.Tooth) })
	c.StopsText = describeStops(c.Stops, c.Support)
	return nil
}

// toothStops says how the stops hold one tooth.
func toothStops(tooth dentition.ToothID, c *casts.Cast, stops []spot, g groups, gaps map[cuspOf]float64,
	t *casefile.Thresholds) findings.ToothStops {
	s := findings.ToothStops{Tooth: findings.Part(tooth), Cusps: []findings.CuspStops{}}
	var loads []r3.Vec
	kinds := map[findings.Across]bool{}
	for i := range stops {
		x := &stops[i]
		switch tooth {
		case x.up.Tooth:
			loads = append(loads, x.up.load)
		case x.lo.Tooth:
			loads = append(loads, x.lo.load)
		default:
			continue
		}
		kinds[x.across] = true
		switch x.along {
		case findings.ClosureStopper:
			s.Stoppers++
		case findings.Equaliser:
			s.Equalisers++
		}
	}
	s.Stops = len(loads)
	sum, share, ok := axial(loads)
	s.Load = findings.VecOf(sum)
	if ok {
		straight := share >= t.AxialShare
		s.AxialShare, s.Axial = &share, &straight
	}
	if !tooth.Type().Anterior() {
		for _, k := range []findings.Across{findings.ContactA, findings.ContactB, findings.ContactC} {
			if kinds[k] {
				s.Across += string(k)
			}
		}
		if s.Stops > 0 {
			stable := kinds[findings.ContactB] && (kinds[findings.ContactA] || kinds[findings.ContactC])
			s.AcrossStable = &stable
		}
		for _, l := range c.Landmarks {
			if l.Tooth != tooth || !l.Feature.Cusp() || l.Feature.Role(tooth) != anatomy.Supporting {
				continue
			}
			loads := g[cuspOf{tooth, l.Feature}]
			k := findings.CuspStops{Cusp: l.Feature.String(), Stops: len(loads), Points: points(loads)}
			if _, share, ok := axial(loads); ok {
				k.AxialShare = &share
			}
			if gap, ok := gaps[cuspOf{tooth, l.Feature}]; ok {
				class := Classify(gap, t)
				if len(loads) > 0 {
					class = Classify(min(gap, t.DragsUm), t) // its stop may lie beside the strip
				}
				k.GapUm, k.Class = &gap, &class
			}
			s.Cusps = append(s.Cusps, k)
		}
	}
	s.Text = describeToothStops(&s)
	return s
}
