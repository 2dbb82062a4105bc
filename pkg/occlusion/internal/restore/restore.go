package restore

import (
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
)

// All tells what to heed for each tooth that the case names.
func All(e *frames.Setup, f *findings.Findings) []findings.Restoration {
	out := []findings.Restoration{}
	for _, t := range e.Case.Restore {
		r := findings.Restoration{Tooth: findings.Part(t), Keep: []findings.RestoreStop{}, Avoid: []findings.RestoreStop{}, Guides: []findings.RestoreGuide{}, Facets: []int{}, Wear: []findings.RestoreFacet{}, Room: []findings.RestoreRoom{}}
		if _, r.OnCast = casts.Of(e.Casts, t).Frames[t]; r.OnCast {
			restore(e, &r, f)
		}
		r.Text = sayRestoration(&r)
		out = append(out, r)
	}
	return out
}

// notAgain says why contacts of some findings are not built again.
var notAgain = map[findings.Kind]string{
	findings.KindNonworkingCarries: "it carries on the nonworking side", findings.KindNonworkingTouches: "it touches on the nonworking side",
	findings.KindBackCarries: "it carries in protrusion instead of the front teeth", findings.KindBackTouches: "it touches in protrusion beside the guiding teeth",
	findings.KindLingualCarries: "lingual cusps carry on the working side", findings.KindLingualTouches: "lingual cusps touch on the working side",
}

func restore(e *frames.Setup, r *findings.Restoration, f *findings.Findings) {
	tooth := dentition.ToothID(r.Tooth)
	upper := tooth.Jaw() == dentition.Upper
	for i := range f.Centric.Stops {
		s := &f.Centric.Stops[i]
		c := findings.RestoreStop{With: s.Lower, On: s.OnUpper.Feature, Against: s.OnLower.Feature, Movement: "rest", PointMM: &s.PointMM, Why: s.Reason}
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
			why, unwanted := notAgain[g.Kind]
			if !unwanted || g.Upper != r.Tooth && g.Lower != r.Tooth {
				continue
			}
			c := findings.RestoreStop{With: g.Lower, On: g.UpperAt, Against: g.LowerAt, Movement: x.Movement, FromMM: g.FromMM, ToMM: g.ToMM, PointMM: g.PointMM, Why: findings.Say("%s", why), PastEdge: g.PastEdge, Holds: g.Holds}
			if !upper {
				c.With, c.On, c.Against = g.Upper, g.LowerAt, g.UpperAt
			}
			r.Avoid = append(r.Avoid, c)
		}
		if g, ok := guideFor(tooth, judge.NewMovement(x, e.Case).Working, x, e.Case.Thresholds.BegunMM); ok {
			if k := slices.IndexFunc(x.Findings, func(f findings.Finding) bool { return f.Kind == findings.KindGuidance }); k >= 0 {
				g.Holds = x.Findings[k].Holds
			}
			r.Guides = append(r.Guides, g)
		}
	}
	for i := range f.Facets {
		if w := &f.Facets[i]; w.Tooth == r.Tooth && len(w.GroundBy) > 0 {
			r.Facets = append(r.Facets, w.Number)
		}
	}
	r.Wear = facetsToHeed(e, r, f)
	for _, t := range f.Centric.Teeth {
		if t.Tooth == r.Tooth {
			r.Room = append(r.Room, findings.RestoreRoom{Movement: "rest", LeastMM: t.GapUm / 1000})
		}
	}
	for i := range f.Excursions {
		least := findings.RestoreRoom{Movement: f.Excursions[i].Movement, LeastMM: math.Inf(1)}
		for k := range f.Excursions[i].Frames {
			fr := &f.Excursions[i].Frames[k]
			if d, ok := fr.ClearanceMM[tooth.String()]; ok && d < least.LeastMM && fr.TravelMM >= e.Case.Thresholds.BegunMM {
				least.LeastMM, least.AtMM = d, fr.TravelMM
			}
		}
		if !math.IsInf(least.LeastMM, 1) {
			r.Room = append(r.Room, least)
		}
	}
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
		own, other := dentition.ToothID(g.Upper), dentition.ToothID(g.Lower)
		if tooth.Jaw() == dentition.Lower {
			own, other = other, own
		}
		unwanted := slices.ContainsFunc(x.Findings, func(f findings.Finding) bool {
			return notAgain[f.Kind] != "" && f.Upper == g.Upper && f.Lower == g.Lower
		})
		lasts := slices.ContainsFunc(x.Guidance.Stretches, func(k findings.Stretch) bool {
			return k.Upper == g.Upper && k.Lower == g.Lower && k.ToMM >= begunMM
		})
		if unwanted || !lasts || own == dentition.NoTooth || working != 0 && own.Side() != working {
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

// sayRestoration tells a restoration in words.
func sayRestoration(r *findings.Restoration) findings.Sentence {
	if !r.OnCast {
		return findings.Say("%s is not labelled on its cast.", r.Tooth)
	}
	text, args := "%s", []any{r.Tooth}
	add := func(format string, a ...any) { text, args = text+format, append(args, a...) }
	atRest := func(stops []findings.RestoreStop, why bool) {
		places := map[[2]string]int{}
		key := func(s *findings.RestoreStop) [2]string { return [2]string{s.On, s.With.String()} }
		for i := range stops {
			places[key(&stops[i])]++
		}
		separator := ""
		for i := range stops {
			s := &stops[i]
			n := places[key(s)]
			if delete(places, key(s)); n == 0 {
				continue
			}
			what := "the stop"
			if n > 1 {
				what = fmt.Sprintf("the %d stops", n)
			}
			add(separator+"%s on %s with %s", what, named(s.On), s.With)
			if why {
				add(" (%s)", s.Why)
			}
			separator = ", "
		}
	}
	moving := slices.IndexFunc(r.Avoid, func(s findings.RestoreStop) bool { return s.Movement != "rest" })
	if moving < 0 {
		moving = len(r.Avoid)
	}
	switch {
	case len(r.Keep) > 0:
		add(": keep ")
		atRest(r.Keep, false)
		add(".")
	case moving > 0:
		add(" has no stable stop: build one.")
	default:
		add(" has no stop at rest: build one.")
	}
	if moving > 0 {
		add(" Not stable, not to be built again: ")
		atRest(r.Avoid[:moving], true)
		add(".")
	}
	for _, s := range r.Avoid[moving:] {
		edge := ""
		if s.PastEdge {
			edge = ", past the edge-to-edge position"
		}
		add(" Do not build again the contact with %s in %s (%s%s%s).", s.With, findings.MovementWords(s.Movement), judge.Span(s.FromMM, s.ToMM), edge, doubtful(s.Holds))
	}
	for _, g := range r.Guides {
		deg := ""
		if g.ToothDeg != nil {
			deg = fmt.Sprintf(" at %.0f°", *g.ToothDeg)
		}
		if g.Guides {
			add(" It guides %s on %s%s%s: keep that.", findings.MovementWords(g.Movement), g.With, deg, doubtful(g.Holds))
		} else {
			add(" In %s %s guides%s%s: the inclination to take over if %s shall guide.", findings.MovementWords(g.Movement), g.From, deg, doubtful(g.Holds), r.Tooth)
		}
	}
	var open []findings.Sentence // facets of which nothing is known
	for _, w := range r.Wear {
		switch {
		case w.Do == doKeep:
			add(" Facet %d must stay: %s.", w.Number, w.Why)
		case w.Do == doNot:
			add(" Facet %d is not to be copied: %s.", w.Number, w.Why)
		case w.Movement != "":
			add(" Facet %d: %s.", w.Number, w.Why)
		default:
			open = append(open, findings.Say("%d", w.Number))
		}
	}
	if len(open) > 0 {
		add(" Unexplained by the simulated movements: facet %s.", findings.List(", ", open))
	}
	if len(r.Room) > 0 {
		add(" Room today: ")
		for i, m := range r.Room {
			if i > 0 {
				add(", ")
			}
			if m.Movement == "rest" {
				add("%s at rest", fmt.Sprintf("%.2f mm", m.LeastMM))
			} else {
				add("%s in %s (at %s)", fmt.Sprintf("%.2f mm", m.LeastMM), findings.MovementWords(m.Movement), fmt.Sprintf("%.1f mm", m.AtMM))
			}
		}
		add(".")
	}
	return findings.Say(text, args...)
}

// doubtful adds to a sentence on which settings its finding depends.
func doubtful(r findings.Robustness) string {
	if r.State != findings.Depends {
		return ""
	}
	return ", which " + r.String()
}

// named is a place on a tooth in words.
func named(s string) string {
	if s == "" {
		return "an outer face"
	}
	return "the " + s
}
