package record

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// describeRecord tells the comparison in words: what was tried, what differs and by
// how much, and what cannot be told.
func describeRecord(r *findings.Record) findings.Sentence {
	var out []findings.Sentence
	if len(r.Teeth) > 0 {
		out = append(out, language.Say("record.foil", language.With{"foil": r.FoilUm.Um(), "agreement": agreement(&r.Agreement)}))
		out = append(out, recordDifferences(r)...)
	}
	for i := range r.Marks {
		out = append(out, describeMarks(&r.Marks[i]))
	}
	if len(out) == 0 {
		return language.Say("record.none")
	}
	return language.Join(language.Text(out))
}

// recordDifferences names the teeth by how they compare, with how far the casts are
// off.
func recordDifferences(r *findings.Record) []findings.Sentence {
	var mouth, yielding, casts, open, missing []findings.Sentence
	var contrary []findings.Part
	for _, t := range r.Teeth {
		if t.Mouth == casefile.Passes && r.Marked(t.Tooth) {
			contrary = append(contrary, t.Tooth)
		}
		switch t.Match {
		case findings.OnlyMouth:
			mouth = append(mouth, language.Say("record.apart", language.With{"what": t.Tooth, "um": *t.OffUm}))
			if t.YieldsFromN != nil {
				yielding = append(yielding, language.Say("record.from_force",
					language.With{"tooth": t.Tooth, "force": findings.Newtons(*t.YieldsFromN)}))
			}
		case findings.OnlyCasts:
			// A touching tooth tells only that it lacks the foil's thickness or more.
			casts = append(casts, language.Say("record.near", language.With{"tooth": t.Tooth, "um": -*t.OffUm}))
		case findings.Unsure:
			open = append(open, language.Say("record.gap."+string(t.Mouth), language.With{"tooth": t.Tooth, "um": *t.GapUm}))
		case findings.NotOnCasts:
			missing = append(missing, language.Only(t.Tooth))
		}
	}
	var out []findings.Sentence
	for _, g := range []struct {
		key   string
		teeth []findings.Sentence
	}{
		{"record.only_mouth", mouth}, {"record.yielding", yielding}, {"record.only_casts", casts}, {"record.close", open},
		{"record.missing", missing},
	} {
		if len(g.teeth) > 0 {
			out = append(out, language.Say(g.key, language.With{"teeth": language.Commas(g.teeth)}))
		}
	}
	if len(contrary) > 0 {
		out = append(out, language.Say("record.contrary", language.With{"teeth": language.Commas(contrary)}))
	}
	return out
}

// agreement tells the share that agrees with its uncertainty.
func agreement(a *findings.Agreement) findings.Sentence {
	if a.Share == nil {
		return language.Say("record.agree.none")
	}
	with := language.With{"agree": a.Agree, "all": a.Agree + a.OnlyMouth + a.OnlyCasts, "share": 100 * *a.Share,
		"from": 100 * *a.From, "to": 100 * *a.To}
	if a.Kappa != nil {
		with["kappa"] = *a.Kappa + 0 // + 0: no minus before a zero
	}
	return language.Say("record.agree", with)
}

func describeMarks(m *findings.RecordMarks) findings.Sentence {
	with := language.With{"movement": findings.NameMovement(m.Movement)}
	if len(m.Pairs) == 0 {
		return language.Say("record.marks.none", with)
	}
	groups := map[findings.Match][]findings.Sentence{}
	for _, p := range m.Pairs {
		s := language.Only(findings.Pair{Upper: p.Upper, Lower: p.Lower})
		switch {
		case p.Upper == 0:
			s = language.Only(p.Lower)
		case p.Lower == 0:
			s = language.Only(p.Upper)
		}
		if p.Match == findings.OnlyMouth {
			s = language.Say("record.apart", language.With{"what": s, "um": *p.OffUm})
		}
		if p.Match == findings.OnlyCasts && p.AtMM != nil {
			s = language.Say("record.marks.from", language.With{"pair": s, "at": *p.AtMM})
		}
		groups[p.Match] = append(groups[p.Match], s)
	}
	var out []findings.Sentence
	for _, match := range [...]findings.Match{findings.Agree, findings.OnlyMouth, findings.OnlyCasts, findings.Unsure, findings.NotOnCasts} {
		if s := groups[match]; len(s) > 0 {
			out = append(out, language.Say("record.marks."+string(match), language.With{"pairs": language.Commas(s)}))
		}
	}
	with["pairs"] = language.Semicolons(out)
	return language.Say("record.marks", with)
}
