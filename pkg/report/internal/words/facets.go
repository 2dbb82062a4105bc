package words

import (
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Facets tell which facets which movement would grind.
func Facets(f *findings.Findings) (out []language.Sentence) {
	of := func(key string, with language.With, belongs func(w *findings.WearFacet) bool) {
		var list []language.Sentence
		for i := range f.Facets {
			if w := &f.Facets[i]; belongs(w) {
				size := language.With{"facet": Facet(w.Tooth, w.Number), "mm2": w.AreaMM2}
				if w.Partner != nil {
					size["partner"] = w.Partner.Tooth
				}
				list = append(list, language.Say("facets.size", size))
			}
		}
		if len(list) > 0 {
			with["facets"] = language.Commas(list)
			out = append(out, language.Say(key, with))
		}
	}
	for _, x := range f.Excursions {
		of("facets.by", language.With{"movement": findings.NameMovement(x.Movement)}, func(w *findings.WearFacet) bool {
			return len(w.GroundBy) == 1 && w.GroundBy[0] == x.Movement
		})
	}
	of("facets.several", language.With{}, func(w *findings.WearFacet) bool { return len(w.GroundBy) > 1 })
	of("facets.none", language.With{}, func(w *findings.WearFacet) bool { return len(w.GroundBy) == 0 })
	return out
}

// Facet names a facet of a tooth.
func Facet(tooth findings.Part, number int) language.Sentence {
	return language.Say("facets.one", language.With{"tooth": tooth, "number": number})
}
