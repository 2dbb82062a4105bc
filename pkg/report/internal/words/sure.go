package words

import (
	"cmp"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Sure says how sure what the casts show is, beside the findings: how often in samples, what the
// closed casts show there, and always what no sampling knows. Empty where no samples were taken.
func Sure(f *findings.Findings) []language.Sentence {
	if f.Doubt == nil {
		return nil
	}
	return slices.Concat([]language.Sentence{SureNote(f)}, SureClosed(f), []language.Sentence{f.Doubt.Text})
}

// SureNote says what the probabilities of the findings mean.
func SureNote(f *findings.Findings) language.Sentence {
	return language.Say("sure.note", language.With{"samples": f.Doubt.Samples})
}

// SureClosed says how sure what the closed casts show is: what meets first, whether the
// mounting is acceptable, which teeth hold foil.
func SureClosed(f *findings.Findings) []language.Sentence {
	var out []language.Sentence
	steps := slices.Clone(f.Centric.Staircase)
	slices.SortStableFunc(steps, func(a, b findings.Step) int { return -cmp.Compare(share(a.FirstShare), share(b.FirstShare)) })
	var firsts []findings.Sentence
	for _, s := range steps {
		if findings.Tenths(share(s.FirstShare)) > 0 {
			firsts = append(firsts, language.Say("sure.first", language.With{
				"pair": findings.Pair{Upper: s.Upper, Lower: s.Lower}, "share": findings.ShareWords(*s.FirstShare)}))
		}
	}
	if len(firsts) > 0 {
		out = append(out, language.Say("sure.firsts", language.With{"pairs": language.Commas(firsts)}))
	}
	if s := f.Centric.Mounting.AcceptableShare; s != nil && Labelled(f) {
		out = append(out, language.Say("sure.mounting", language.With{"share": findings.ShareWords(*s)}))
	}
	if s := foilSure(f); !s.Empty() {
		out = append(out, s)
	}
	return out
}

// foilSure lists the teeth by how sure they hold foil.
func foilSure(f *findings.Findings) language.Sentence {
	teeth := map[string][]findings.Part{}
	for _, t := range f.Centric.Teeth {
		if t.HoldsShare != nil {
			class := findings.Likelihood(*t.HoldsShare)
			teeth[class] = append(teeth[class], t.Tooth)
		}
	}
	var groups []findings.Sentence
	for _, class := range [...]string{"sure", "likely", "open"} {
		if len(teeth[class]) > 0 {
			groups = append(groups, language.Say("sure.foil.group", language.With{
				"share": language.Say("sure.foil." + class), "teeth": language.Commas(teeth[class])}))
		}
	}
	if len(groups) == 0 {
		return language.Sentence{}
	}
	return language.Say("sure.foil", language.With{"groups": language.Semicolons(groups)})
}

func share(s *float64) float64 {
	if s == nil {
		return 0
	}
	return *s
}
