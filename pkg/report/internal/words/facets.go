package words

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// FacetLines tell which facets which movement would grind.
func FacetLines(f *findings.Findings) (out []string) {
	of := func(words string, belongs func(w *findings.WearFacet) bool) {
		var list []string
		for i := range f.Facets {
			if w := &f.Facets[i]; belongs(w) {
				s := fmt.Sprintf("%s (%.1f mm²", FacetName(f.Notation, w.Tooth, w.Number), w.AreaMM2)
				if w.Partner != nil {
					s += ", meets " + w.Partner.Tooth.In(f.Notation)
				}
				list = append(list, s+")")
			}
		}
		if len(list) > 0 {
			out = append(out, words+": "+strings.Join(list, ", ")+".")
		}
	}
	for _, x := range f.Excursions {
		of("Would be ground in "+findings.MovementWords(x.Movement), func(w *findings.WearFacet) bool {
			return len(w.GroundBy) == 1 && w.GroundBy[0] == x.Movement
		})
	}
	of("By more than one movement alike", func(w *findings.WearFacet) bool { return len(w.GroundBy) > 1 })
	of("No simulated movement explains", func(w *findings.WearFacet) bool { return len(w.GroundBy) == 0 })
	return slices.Clip(out)
}

// FacetName names a facet in a notation of teeth.
func FacetName(n dentition.Notation, tooth findings.Part, number int) string {
	return fmt.Sprintf("%s facet %d", tooth.In(n), number)
}
