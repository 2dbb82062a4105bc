package occlusion

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/casefile"
)

// describe tells the comparison in words: what was tried, what differs and by
// how much, and what cannot be told.
func (r *Record) describe() Sentence {
	var out []Sentence
	if len(r.Teeth) > 0 {
		out = append(out, say("Foil of %g µm: %s.", r.FoilUm, r.Agreement.words("teeth")))
		out = append(out, r.differences()...)
	}
	for i := range r.Marks {
		out = append(out, r.Marks[i].describe())
	}
	if len(out) == 0 {
		return say("Neither foil nor marks were recorded.")
	}
	return list(" ", out)
}

// differences names the teeth by how they compare, with how far the casts are
// off.
func (r *Record) differences() []Sentence {
	var mouth, yielding, casts, open, missing []Sentence
	for _, t := range r.Teeth {
		switch t.Match {
		case OnlyMouth:
			mouth = append(mouth, say("%s (casts %.0f µm too far apart)", t.Tooth, *t.OffUm))
			if t.YieldsFromN != nil {
				yielding = append(yielding, say("%s (from %s)", t.Tooth, newtons(*t.YieldsFromN)))
			}
		case OnlyCasts:
			// A touching tooth tells only that it lacks the foil's thickness or more.
			casts = append(casts, say("%s (casts at least %.0f µm too near)", t.Tooth, -*t.OffUm))
		case Unsure:
			verb := map[casefile.Hold]string{casefile.Holds: "held", casefile.LightDrag: "dragged lightly", casefile.Passes: "passed"}[t.Mouth]
			open = append(open, say("%s (%s in the mouth, %.0f µm apart on the casts)", t.Tooth, verb, *t.GapUm))
		case NotOnCasts:
			missing = append(missing, say("%s", t.Tooth))
		}
	}
	var out []Sentence
	for _, g := range []struct {
		title string
		teeth []Sentence
	}{
		{"Only in the mouth", mouth}, {"Of these the casts carry when the teeth yield", yielding}, {"Only on the casts", casts}, {"Too close to tell from scans", open}, {"Not on the casts", missing},
	} {
		if len(g.teeth) > 0 {
			out = append(out, say("%s: %s.", g.title, list(", ", g.teeth)))
		}
	}
	return out
}

// words gives the share that agrees with its uncertainty.
func (a *Agreement) words(what string) string {
	if a.Share == nil {
		return "no " + what + " that can be compared"
	}
	s := fmt.Sprintf("mouth and casts agree on %d of %d %s (%.0f %%, 95 %% interval %.0f to %.0f %%", a.Agree, a.Agree+a.OnlyMouth+a.OnlyCasts, what,
		100**a.Share, 100**a.From, 100**a.To)
	if a.Kappa != nil {
		s += fmt.Sprintf("; kappa %.2f", *a.Kappa+0) // + 0: no minus before a zero
	}
	return s + ")"
}

// markTitles are the movements of marks in words.
var markTitles = map[string]string{
	"centric": "Marks at rest", "right": "Marks to the right", "left": "Marks to the left", "protrusive": "Marks in protrusion",
}

func (m *RecordMarks) describe() Sentence {
	if len(m.Pairs) == 0 {
		return say("%s: none, neither in the mouth nor on the casts.", markTitles[m.Movement])
	}
	groups := map[Match][]Sentence{}
	for _, p := range m.Pairs {
		s := say("%s", pairOf{p.Upper, p.Lower})
		switch {
		case p.Upper == 0:
			s = say("%s", p.Lower)
		case p.Lower == 0:
			s = say("%s", p.Upper)
		}
		if p.Match == OnlyMouth {
			s = say("%s (casts %.0f µm too far apart)", s, *p.OffUm)
		}
		if p.Match == OnlyCasts && p.AtMM != nil {
			s = say("%s (from %.1f mm)", s, *p.AtMM)
		}
		groups[p.Match] = append(groups[p.Match], s)
	}
	var out []Sentence
	for _, g := range []struct {
		match Match
		title string
	}{{Agree, "both show"}, {OnlyMouth, "only in the mouth"}, {OnlyCasts, "only on the casts"}, {Unsure, "too close to tell from scans"}, {NotOnCasts, "not on the casts"}} {
		if s := groups[g.match]; len(s) > 0 {
			out = append(out, say("%s %s", g.title, list(", ", s)))
		}
	}
	return say("%s: %s.", markTitles[m.Movement], list("; ", out))
}
