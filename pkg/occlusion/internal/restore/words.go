package restore

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// sayRestoration sums up what to heed for a tooth.
func sayRestoration(r *findings.Restoration) findings.Sentence {
	if !r.OnCast {
		return language.Say("restore.unlabelled", language.With{"tooth": r.Tooth})
	}
	out := slices.Concat(sayContacts(r), sayGuides(r), sayWear(r))
	var room []findings.Sentence
	for _, m := range r.Room {
		with := language.With{"mm": m.LeastMM, "at": m.AtMM}
		if m.Movement == findings.Closed {
			room = append(room, language.Say("restore.clearance.closed", with))
		} else {
			with["movement"] = findings.NameMovement(m.Movement)
			room = append(room, language.Say("restore.clearance.moving", with))
		}
	}
	if len(room) > 0 {
		out = append(out, language.Say("restore.clearance", language.With{"clearances": language.Commas(room)}))
	}
	return language.Join(language.Text(out))
}

// sayContacts says which contacts to keep and which not to reproduce.
func sayContacts(r *findings.Restoration) []findings.Sentence {
	moving := slices.IndexFunc(r.Avoid, func(s findings.RestoreStop) bool { return s.Movement != findings.Closed })
	if moving < 0 {
		moving = len(r.Avoid)
	}
	with := language.With{"tooth": r.Tooth, "stops": sayStops(r.Keep, false)}
	var out []findings.Sentence
	switch {
	case len(r.Keep) > 0:
		out = append(out, language.Say("restore.stops", with))
	case moving > 0:
		out = append(out, language.Say("restore.stops.unstable", with))
	default:
		out = append(out, language.Say("restore.stops.none", with))
	}
	if moving > 0 {
		out = append(out, language.Say("restore.not_stable", language.With{"stops": sayStops(r.Avoid[:moving], true)}))
	}
	for _, s := range r.Avoid[moving:] {
		with := language.With{"other": s.With, "movement": findings.NameMovement(s.Movement),
			"span": findings.Span(s.FromMM, s.ToMM), "depends": depends(s.Robustness)}
		if s.PastEdge {
			with["edge"] = language.Say("restore.beyond")
		}
		if s.NearStop {
			out = append(out, language.Say("restore.contact.stop", with))
			continue
		}
		out = append(out, language.Say("restore.contact", with))
	}
	return out
}

// sayStops lists centric stops, those at one place together.
func sayStops(stops []findings.RestoreStop, reasons bool) language.List {
	type place struct {
		on   string
		with findings.Part
	}
	count := map[place]int{}
	for i := range stops {
		count[place{stops[i].On, stops[i].With}]++
	}
	var out []findings.Sentence
	for i := range stops {
		s := &stops[i]
		p := place{s.On, s.With}
		n := count[p]
		if delete(count, p); n == 0 {
			continue
		}
		with := language.With{"count": n, "place": named(s.On), "other": s.With}
		if reasons {
			with["why"] = s.Why
		}
		out = append(out, language.Say("restore.stop", with))
	}
	return language.Commas(out)
}

// sayGuides says what the tooth guides, or whose guidance it would take over.
func sayGuides(r *findings.Restoration) []findings.Sentence {
	var out []findings.Sentence
	for _, g := range r.Guides {
		with := language.With{
			"tooth": r.Tooth, "movement": findings.NameMovement(g.Movement), "other": g.With, "guide": g.From,
			"deg": g.ToothDeg, "depends": depends(g.Robustness),
		}
		if g.Guides {
			out = append(out, language.Say("restore.guides.itself", with))
		} else {
			out = append(out, language.Say("restore.guides.other", with))
		}
	}
	return out
}

// sayWear says what to do about the facets of the tooth.
func sayWear(r *findings.Restoration) []findings.Sentence {
	var out []findings.Sentence
	var open []int // facets of which nothing is known
	for _, w := range r.Wear {
		with := language.With{"number": w.Number, "why": w.Why}
		switch {
		case w.Do == doKeep:
			out = append(out, language.Say("restore.facet.keep", with))
		case w.Do == doNot:
			out = append(out, language.Say("restore.facet.avoid", with))
		case w.Movement != "":
			out = append(out, language.Say("restore.facet.open", with))
		default:
			open = append(open, w.Number)
		}
	}
	if len(open) > 0 {
		out = append(out, language.Say("restore.facet.unexplained", language.With{"facets": language.Commas(open)}))
	}
	return out
}

// depends says on which settings a finding depends; empty where on none.
func depends(r findings.Robustness) findings.Sentence {
	if r.State != findings.Depends {
		return findings.Sentence{}
	}
	return r.Sentence()
}

// named is a place on a tooth.
func named(feature string) findings.Sentence {
	if feature == "" {
		return language.Say("restore.place.outer")
	}
	return language.Say("restore.place", language.With{"feature": feature})
}
