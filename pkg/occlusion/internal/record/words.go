package record

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// describeRecord tells the comparison in words: what was tried, what differs and by
// how much, and what cannot be told.
func describeRecord(r *findings.Record) findings.Sentence {
	var out []findings.Sentence
	if len(r.Teeth) > 0 {
		out = append(out, findings.Say("Foil of %g µm: %s.", r.FoilUm, agreementWords(&r.Agreement, "teeth")))
		out = append(out, recordDifferences(r)...)
	}
	for i := range r.Marks {
		out = append(out, describeMarks(&r.Marks[i]))
	}
	if len(out) == 0 {
		return findings.Say("Neither foil nor marks were recorded.")
	}
	return findings.List(" ", out)
}

// recordDifferences names the teeth by how they compare, with how far the casts are
// off.
func recordDifferences(r *findings.Record) []findings.Sentence {
	var mouth, yielding, casts, open, missing []findings.Sentence
	for _, t := range r.Teeth {
		switch t.Match {
		case findings.OnlyMouth:
			mouth = append(mouth, findings.Say("%s (casts %.0f µm too far apart)", t.Tooth, *t.OffUm))
			if t.YieldsFromN != nil {
				yielding = append(yielding, findings.Say("%s (from %s)", t.Tooth, findings.Newtons(*t.YieldsFromN)))
			}
		case findings.OnlyCasts:
			// A touching tooth tells only that it lacks the foil's thickness or more.
			casts = append(casts, findings.Say("%s (casts at least %.0f µm too near)", t.Tooth, -*t.OffUm))
		case findings.Unsure:
			verb := map[casefile.Hold]string{casefile.Holds: "held", casefile.LightDrag: "dragged lightly", casefile.Passes: "passed"}[t.Mouth]
			open = append(open, findings.Say("%s (%s in the mouth, %.0f µm apart on the casts)", t.Tooth, verb, *t.GapUm))
		case findings.NotOnCasts:
			missing = append(missing, findings.Say("%s", t.Tooth))
		}
	}
	var out []findings.Sentence
	for _, g := range []struct {
		title string
		teeth []findings.Sentence
	}{
		{"Only in the mouth", mouth}, {"Of these the casts carry when the teeth yield", yielding}, {"Only on the casts", casts}, {"Too close to tell from scans", open}, {"Not on the casts", missing},
	} {
		if len(g.teeth) > 0 {
			out = append(out, findings.Say("%s: %s.", g.title, findings.List(", ", g.teeth)))
		}
	}
	return out
}

// agreementWords gives the share that agrees with its uncertainty.
func agreementWords(a *findings.Agreement, what string) string {
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
var markTitles = map[findings.Movement]string{
	"centric": "Marks at rest", "right": "Marks to the right", "left": "Marks to the left", "protrusive": "Marks in protrusion",
}

func describeMarks(m *findings.RecordMarks) findings.Sentence {
	if len(m.Pairs) == 0 {
		return findings.Say("%s: none, neither in the mouth nor on the casts.", markTitles[m.Movement])
	}
	groups := map[findings.Match][]findings.Sentence{}
	for _, p := range m.Pairs {
		s := findings.Say("%s", findings.Pair{Upper: p.Upper, Lower: p.Lower})
		switch {
		case p.Upper == 0:
			s = findings.Say("%s", p.Lower)
		case p.Lower == 0:
			s = findings.Say("%s", p.Upper)
		}
		if p.Match == findings.OnlyMouth {
			s = findings.Say("%s (casts %.0f µm too far apart)", s, *p.OffUm)
		}
		if p.Match == findings.OnlyCasts && p.AtMM != nil {
			s = findings.Say("%s (from %.1f mm)", s, *p.AtMM)
		}
		groups[p.Match] = append(groups[p.Match], s)
	}
	var out []findings.Sentence
	for _, g := range []struct {
		match findings.Match
		title string
	}{{findings.Agree, "both show"}, {findings.OnlyMouth, "only in the mouth"}, {findings.OnlyCasts, "only on the casts"}, {findings.Unsure, "too close to tell from scans"}, {findings.NotOnCasts, "not on the casts"}} {
		if s := groups[g.match]; len(s) > 0 {
			out = append(out, findings.Say("%s %s", g.title, findings.List(", ", s)))
		}
	}
	return findings.Say("%s: %s.", markTitles[m.Movement], findings.List("; ", out))
}
