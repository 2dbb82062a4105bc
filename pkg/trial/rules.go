package trial

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/carve"
	"gonum.org/v1/gonum/spatial/r3"
)

// region is what of a place on a tooth may go: at which weight a unit of volume, and how
// deep (µm).
type region struct{ weight, mostUm float64 }

// Limits by region, µm. Enamel of 90 unworn first molars was 0.93 mm thick where it was
// thinnest, in the central fossa, and dentine never showed after an even removal of 0.6 mm;
// at the base of pits and fissures enamel is far thinner than a probe tells (52 teeth); on
// the palatal face of upper incisors 0.5 to 0.8 mm (handbooks, from memory). Halves of
// these are our choice.
const (
	fissureUm = 300
	palatalUm = 200
)

// Weights of a unit of volume, after the rules that dental schools teach for selective
// grinding: inclines before tips, guiding cusps (upper buccal, lower lingual) before
// supporting ones, outer faces of supporting cusps and canine guidance last. The numbers
// are our choice; only their order matters.
const (
	guidingWeight    = 10
	favouredWeight   = 20 // of a supporting cusp, on the side from which the movement comes
	supportingWeight = 30
	ridgeWeight      = 40
	fissureWeight    = 50
	fossaWeight      = 15 // in closing, where a cusp meets it: it is deepened before the cusp goes
	outerWeight      = 200
	canineWeight     = 200
	rimWeight        = 4 // times, around a stop
	securedWeight    = 1.25
)

// rules tell the regions of all teeth for one stage.
type rules struct {
	charts map[dentition.ToothID]*anatomy.Chart
	stops  map[dentition.ToothID]int
	target target
	mostUm float64
	// tips are teeth whose supporting tips may be lowered: high in closing and in every
	// movement.
	tips map[dentition.ToothID]bool
}

func newRules(x *Examined, t target, a *casefile.Adjust) *rules {
	r := &rules{charts: map[dentition.ToothID]*anatomy.Chart{}, stops: map[dentition.ToothID]int{}, target: t,
		mostUm: a.MostUm(), tips: map[dentition.ToothID]bool{}}
	for _, c := range []*casts.Cast{castOf(x.Casts, dentition.Upper, t.given), castOf(x.Casts, dentition.Lower, t.given)} {
		for k, f := range c.Frames {
			chart := anatomy.NewChart(f, c.Landmarks)
			r.charts[k] = &chart
		}
	}
	for _, s := range x.Findings.Centric.Support {
		r.stops[s.Tooth.Tooth()] = s.Stops
	}
	for i := range x.Findings.Centric.Findings {
		f := &x.Findings.Centric.Findings[i]
		if highThroughout(x.Findings, f) {
			r.tips[f.Upper.Tooth()], r.tips[f.Lower.Tooth()] = true, true
		}
	}
	return r
}

// highThroughout says whether a premature pair also is in the way in every movement that
// was examined: only then is its supporting cusp shortened, otherwise the opposing fossa is
// deepened (handbooks of occlusal adjustment, from memory).
func highThroughout(f *findings.Findings, p *findings.Finding) bool {
	for i := range f.Excursions {
		x := &f.Excursions[i]
		if !slices.ContainsFunc(x.Frames, func(fr findings.Frame) bool {
			return fr.TravelMM >= f.Thresholds.BegunMM && fr.Carrier != nil && fr.Carrier.Upper == p.Upper && fr.Carrier.Lower == p.Lower
		}) {
			return false
		}
	}
	return len(f.Excursions) == 3
}

// region tells what of a point of a tooth may go.
func (r *rules) region(c *casts.Cast, t dentition.ToothID, p r3.Vec) region {
	chart, ok := r.charts[t]
	if !ok {
		return region{weight: outerWeight, mostUm: 0}
	}
	s := chart.At(p)
	out := region{weight: outerWeight, mostUm: r.mostUm}
	supporting := s.Role() == anatomy.Supporting
	switch f := s.Feature; {
	case t.Type().Anterior():
		out.weight = outerWeight
		if t.Type() == dentition.Canine {
			out.weight = canineWeight
		}
		if t.Jaw() == dentition.Upper && (f == anatomy.LingualFossa || f == anatomy.Cingulum) {
			out.mostUm = min(out.mostUm, palatalUm)
		}
	case f == 0:
	case f.Fossa() || f.Groove():
		out.weight, out.mostUm = fissureWeight, min(out.mostUm, fissureUm)
		if r.target.stage == casefile.PrematureContact {
			out.weight = fossaWeight
		}
	case f.MarginalRidge():
		out.weight = ridgeWeight
	case f.Cusp() && s.Slope == anatomy.OnTip && supporting:
		out.weight = supportingWeight
		if !r.tips[t] {
			out.mostUm = 0
		}
	case s.Slope == anatomy.OuterSlope:
		if !supporting {
			out.weight = supportingWeight
		}
	case !supporting:
		out.weight = guidingWeight
	case r.favoured(t, s.Slope):
		out.weight = favouredWeight
	default:
		out.weight = supportingWeight
	}
	out.weight *= r.secured(t)
	return out
}

// favoured says whether an incline is one on which obstacles of the stage usually sit:
// mesial of upper and distal of lower teeth in closing, the other way round in protrusion.
func (r *rules) favoured(t dentition.ToothID, s anatomy.Slope) bool {
	upper := t.Jaw() == dentition.Upper
	switch r.target.stage {
	case casefile.PrematureContact:
		return s == anatomy.MesialSlope && upper || s == anatomy.DistalSlope && !upper
	case casefile.ProtrusiveInterference:
		return s == anatomy.DistalSlope && upper || s == anatomy.MesialSlope && !upper
	}
	return s == anatomy.InnerSlope
}

// secured is dearer for a tooth that has fewer stops than those that it meets: the tooth
// whose stops are better secured gives.
func (r *rules) secured(t dentition.ToothID) float64 {
	for _, g := range r.target.goals {
		up, lo := g.upper.Tooth(), g.lower.Tooth()
		switch t {
		case up:
			if r.stops[up] < r.stops[lo] {
				return securedWeight
			}
		case lo:
			if r.stops[lo] <= r.stops[up] {
				return securedWeight
			}
		}
	}
	return 1
}

// site is the place of a point in words.
func (r *rules) site(c *casts.Cast, t dentition.ToothID, p r3.Vec) string {
	if chart, ok := r.charts[t]; ok {
		return chart.At(p).Words()
	}
	return ""
}

// hold is how a place belongs to a centric stop.
type hold uint8

const (
	free hold = iota
	rim       // close around a stop
	core      // the stop itself
)

// rimMM is how wide the rim of a stop is that is spared where something else can go, mm;
// our choice.
const rimMM = 0.3

// held tells for both casts which places belong to centric stops that are to be kept: what
// lies within the thinnest foil of the other cast when the casts are closed. In the closing
// stage nothing is held: the stops there are those that are too high.
func (r *rules) held(ctx context.Context, x *Examined, t target) (out [2]func(r3.Vec) hold, err error) {
	none := func(r3.Vec) hold { return free }
	out = [2]func(r3.Vec) hold{none, none}
	if t.given {
		return out, nil
	}
	foil := slices.Min(x.Case.FoilsUm) / 1000
	up, lo := x.Casts.Upper, x.Casts.Lower
	pose := x.Findings.Centric.Pose.Pose
	var s contact.GapScratch
	pairs := contact.AppendPairs(nil, up.Index, lo.Index, pose, foil, &s)
	back := pose.Inverse()
	var at [2][]r3.Vec
	for _, p := range pairs {
		if up.Tooth(p.Upper) == dentition.NoTooth || lo.Tooth(p.Lower) == dentition.NoTooth {
			continue
		}
		at[0], at[1] = append(at[0], p.UpperPoint), append(at[1], back.Apply(p.LowerPoint))
	}
	for i := range out {
		out[i] = holder(at[i])
	}
	return out, nil
}

// coreMM is how near to a touching point a place is part of the stop, mm: about the
// distance of samples on the surface.
const coreMM = 0.12

// holder looks points up among those of stops.
func holder(points []r3.Vec) func(r3.Vec) hold {
	cell := func(p r3.Vec) [3]int32 {
		return [3]int32{int32(math.Floor(p.X / rimMM)), int32(math.Floor(p.Y / rimMM)), int32(math.Floor(p.Z / rimMM))}
	}
	cells := map[[3]int32][]r3.Vec{}
	for _, p := range points {
		cells[cell(p)] = append(cells[cell(p)], p)
	}
	return func(p r3.Vec) hold {
		out, c := free, cell(p)
		for k := range 27 {
			for _, q := range cells[[3]int32{c[0] + int32(k%3) - 1, c[1] + int32(k/3%3) - 1, c[2] + int32(k/9) - 1}] {
				switch d := r3.Norm(r3.Sub(p, q)); {
				case d <= coreMM:
					return core
				case d <= rimMM:
					out = rim
				}
			}
		}
		return out
	}
}

// refuse says why a target cannot be reached.
func (r *rules) refuse(t target, sides [2]*bench, no *carve.InfeasibleError) error {
	g := &t.goals[no.Goal]
	up, lo := sides[0], sides[1]
	u, l := up.scan.Labels[up.part.Whole[no.Upper]], lo.scan.Labels[lo.part.Whole[no.Lower]]
	with := language.With{
		"pair": findings.Pair{Upper: findings.Part(u), Lower: findings.Part(l)}, "need": float64(no.NeedUm) / 1000,
		"limit": float64(no.LimitUm) / 1000,
	}
	key := "trial.refused.closed"
	if g.movement != findings.Closed {
		key = "trial.refused.limit"
		with["movement"], with["at"] = language.Say("movement."+string(g.movement)), g.travel
	}
	return &refusal{stage: string(t.stage), movement: g.movement,
		why: language.Say(key, with)}
}
