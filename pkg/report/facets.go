package report

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// facetLines tell which facets which movement would grind.
func facetLines(f *occlusion.Findings) (out []string) {
	of := func(words string, belongs func(w *occlusion.WearFacet) bool) {
		var list []string
		for i := range f.Facets {
			if w := &f.Facets[i]; belongs(w) {
				s := fmt.Sprintf("%s facet %d (%.1f mm²", w.Tooth.In(f.Notation), w.Number, w.AreaMM2)
				if w.Partner != nil {
					s += fmt.Sprintf(", meets %s", w.Partner.Tooth.In(f.Notation))
				}
				list = append(list, s+")")
			}
		}
		if len(list) > 0 {
			out = append(out, words+": "+strings.Join(list, ", ")+".")
		}
	}
	for _, x := range f.Excursions {
		of("Would be ground in "+occlusion.MovementWords(x.Movement), func(w *occlusion.WearFacet) bool {
			return len(w.GroundBy) == 1 && w.GroundBy[0] == x.Movement
		})
	}
	of("By more than one movement alike", func(w *occlusion.WearFacet) bool { return len(w.GroundBy) > 1 })
	of("No simulated movement explains", func(w *occlusion.WearFacet) bool { return len(w.GroundBy) == 0 })
	return slices.Clip(out)
}
