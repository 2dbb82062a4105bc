package restore

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"gonum.org/v1/gonum/spatial/r3"
)

// All tells what to heed for each tooth that the case names.
func All(e *frames.Setup, f *findings.Findings) ([]findings.Restoration, error) {
	movements, err := judge.Movements(f.Excursions, e.Case)
	if err != nil {
		return nil, err
	}
	out := []findings.Restoration{}
	for _, t := range e.Case.Restore {
		r := findings.Restoration{Tooth: findings.Part(t), Keep: []findings.RestoreStop{}, Avoid: []findings.RestoreStop{},
			Guides: []findings.RestoreGuide{}, Facets: []int{}, Wear: []findings.RestoreFacet{}, Room: []findings.RestoreRoom{}}
		if _, r.OnCast = casts.Of(e.Casts, t).Frames[t]; r.OnCast {
			restore(e, &r, f, movements)
		}
		r.Text = sayRestoration(&r)
		out = append(out, r)
	}
	return out, nil
}

// avoided are the kinds of findings whose contacts are not reproduced.
var avoided = [...]findings.Kind{
	findings.KindNonworkingInterference, findings.KindNonworkingContact, findings.KindProtrusiveInterference, findings.KindProtrusiveContact,
	findings.KindWorkingInterference, findings.KindWorkingContact,
}

// unwanted says whether contacts of a kind are not reproduced.
func unwanted(k findings.Kind) bool { return slices.Contains(avoided[:], k) }

// why says why contacts of a kind are not reproduced.
func why(k findings.Kind) findings.Sentence { return language.Say("avoid." + string(k)) }

// restore fills in what to heed for a tooth; movements are those of the excursions.
func restore(e *frames.Setup, r *findings.Restoration, f *findings.Findings, movements []judge.Movement) {
	tooth := r.Tooth.Tooth()
	upper := tooth.Jaw() == dentition.Upper
	for i := range f.Centric.Stops {
		s := &f.Centric.Stops[i]
		c := findings.RestoreStop{With: s.Lower, On: s.OnUpper.Feature, Against: s.OnLower.Feature,
			Movement: findings.Closed, PointMM: &s.PointMM, Why: s.Reason}
		switch r.Tooth {
		case s.Upper:
		case s.Lower:
			c.With, c.On, c.Against = s.Upper, c.Against, c.On
		default:
			continue
		}
		if s.Stable {
			r.Keep = append(r.Keep, c)
		} else {
			r.Avoid = append(r.Avoid, c)
		}
	}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		for k := range x.Findings {
			g := &x.Findings[k]
			if !unwanted(g.Kind) || g.Doubtful || g.Upper != r.Tooth && g.Lower != r.Tooth {
				continue
			}
			c := findings.RestoreStop{With: g.Lower, On: g.UpperAt, Against: g.LowerAt, Movement: x.Movement, FromMM: g.FromMM,
				ToMM: g.ToMM, PointMM: g.PointMM, Why: why(g.Kind), PastEdge: g.PastEdge, Robustness: g.Robustness}
			if !upper {
				c.With, c.On, c.Against = g.Upper, g.LowerAt, g.UpperAt
			}
			c.NearStop = nearStop(f, x, g, r, upper)
			r.Avoid = append(r.Avoid, c)
		}
		if g, ok := guideFor(tooth, movements[i].Working, x, e.Case.Thresholds.BegunMM); ok {
			if k := slices.IndexFunc(x.Findings, func(f findings.Finding) bool { return f.Kind == findings.KindGuidance }); k >= 0 {
				g.Robustness = x.Findings[k].Robustness
			}
			r.Guides = append(r.Guides, g)
		}
	}
	for i := range f.Facets {
		if w := &f.Facets[i]; w.Tooth == r.Tooth && len(w.GroundBy) > 0 {
			r.Facets = append(r.Facets, w.Number)
		}
	}
	r.Wear = facetsToHeed(r, f, movements)
	for _, t := range f.Centric.Teeth {
		if t.Tooth == r.Tooth {
			r.Room = append(r.Room, findings.RestoreRoom{Movement: findings.Closed, LeastMM: t.GapUm / 1000})
		}
	}
	for i := range f.Excursions {
		least := findings.RestoreRoom{Movement: f.Excursions[i].Movement, LeastMM: math.Inf(1)}
		for k := range f.Excursions[i].Frames {
			fr := &f.Excursions[i].Frames[k]
			if d, ok := fr.Clearance(tooth); ok && d < least.LeastMM && fr.TravelMM >= e.Case.Thresholds.BegunMM {
				least.LeastMM, least.AtMM = d, fr.TravelMM
			}
		}
		if !math.IsInf(least.LeastMM, 1) {
			r.Room = append(r.Room, least)
		}
	}
}

// nearStopMM is how near a contact of a movement lies to a stop of the same teeth that is to
// be kept, for both to be told together: half a cusp. Our choice.
const nearStopMM = 1.0

// nearStop says whether an unwanted contact of a movement begins beside a stop that is kept:
// on the tooth to be restored.
func nearStop(f *findings.Findings, x *findings.Excursion, g *findings.Finding, r *findings.Restoration, upper bool) bool {
	if g.PointMM == nil {
		return false
	}
	on := func(p findings.Vec, pose kinematics.Pose) r3.Vec {
		at := r3.Vec{X: p[0], Y: p[1], Z: p[2]}
		if upper {
			return at
		}
		return pose.Inverse().Apply(at)
	}
	k := slices.IndexFunc(x.Frames, func(fr findings.Frame) bool { return fr.TravelMM == g.AtMM })
	if k < 0 {
		return false
	}
	at := on(*g.PointMM, x.Frames[k].Pose.Pose)
	return slices.ContainsFunc(r.Keep, func(s findings.RestoreStop) bool {
		return s.PointMM != nil && r3.Norm(r3.Sub(on(*s.PointMM, f.Centric.Pose.Pose), at)) < nearStopMM
	})
}

// guideFor is the guidance of a movement for a tooth that stands on its guiding
// side: its own, or else that of the nearest tooth of its arch that carries. Pairs
// whose contact is not to be built again do not count, nor do those that carry
// only before the movement has begun: they are stops.
func guideFor(tooth dentition.ToothID, working dentition.Side, x *findings.Excursion, begunMM float64) (findings.RestoreGuide, bool) {
	out := findings.RestoreGuide{Movement: x.Movement}
	if x.Guidance == nil || working != 0 && tooth.Side() != working || working == 0 && !tooth.Type().Anterior() {
		return out, false
	}
	best := math.MaxInt
	for _, g := range x.Guidance.Guides {
		own, other := g.Upper.Tooth(), g.Lower.Tooth()
		if tooth.Jaw() == dentition.Lower {
			own, other = other, own
		}
		avoid := slices.ContainsFunc(x.Findings, func(f findings.Finding) bool {
			return unwanted(f.Kind) && f.Upper == g.Upper && f.Lower == g.Lower
		})
		lasts := slices.ContainsFunc(x.Guidance.Stretches, func(k findings.Stretch) bool {
			return k.Upper == g.Upper && k.Lower == g.Lower && k.ToMM >= begunMM
		})
		if avoid || !lasts || own == dentition.NoTooth || working != 0 && own.Side() != working {
			continue
		}
		// Places along the arch, counted over the midline in protrusion.
		away := own.Position() - tooth.Position()
		if own.Side() != tooth.Side() {
			away = own.Position() + tooth.Position() - 1
		}
		if away = max(away, -away); away < best {
			best = away
			out.From, out.With, out.ToothDeg, out.Guides = findings.Part(own), findings.Part(other), g.ToothDeg, own == tooth
		}
	}
	return out, best < math.MaxInt
}
