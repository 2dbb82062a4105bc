package report

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// facetLines tell which facets which movement would grind.
func facetLines(f *occlusion.Findings) (out []string) {
	of := func(words string, belongs func(w *occlusion.WearFacet) bool) {
		var list []string
		for i := range f.Facets {
			if w := &f.Facets[i]; belongs(w) {
				s := fmt.Sprintf("%s (%.1f mm²", facetName(f.Notation, w.Tooth, w.Number), w.AreaMM2)
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
		of("Would be ground in "+occlusion.MovementWords(x.Movement), func(w *occlusion.WearFacet) bool {
			return len(w.GroundBy) == 1 && w.GroundBy[0] == x.Movement
		})
	}
	of("By more than one movement alike", func(w *occlusion.WearFacet) bool { return len(w.GroundBy) > 1 })
	of("No simulated movement explains", func(w *occlusion.WearFacet) bool { return len(w.GroundBy) == 0 })
	return slices.Clip(out)
}

// facetsPart shows the wear facets, each with the movement that would grind it.
func facetsPart(f *occlusion.Findings) facts {
	if len(f.Facets) == 0 {
		return facts{}
	}
	out := facts{Title: "Wear facets", Text: strings.Join(facetLines(f), " ")}
	t := factTable{Title: "Wear facets, by tooth", Head: []string{"Facet", "Area", "Dip", "Faces", "Off its plane", "Would be ground in", "What passes over it", "Lies on"},
		Note: "Dip is the angle of the facet to the horizontal plane; it faces mesially at 0°, buccally at 90°, distally at 180° and lingually at -90°. A facet that no movement explains was ground in another way, or with other settings than these."}
	for i := range f.Facets {
		w := &f.Facets[i]
		at := &place3D{Point: (*[3]float64)(&w.CentreMM)}
		ground := "no simulated movement"
		if len(w.GroundBy) > 0 {
			ground = strings.Join(w.GroundBy, ", ")
		}
		var slides []string
		for _, s := range w.Slides {
			slides = append(slides, fmt.Sprintf("%s: %s within %s, %s", s.Movement, s.Over.In(f.Notation), quantity(s.GapUm, "µm"), stretchWords(s.FromMM, s.ToMM)))
			if len(w.GroundBy) > 0 && s.Movement == w.GroundBy[0] {
				at.Movement, at.TravelMM = s.Movement, (s.FromMM+s.ToMM)/2
			}
		}
		partner := "–"
		if p := w.Partner; p != nil {
			partner = fmt.Sprintf("%s (%.0f° between them)", facetName(f.Notation, p.Tooth, p.Number), p.AngleDeg)
			at.Movement, at.TravelMM = p.Movement, p.TravelMM
		}
		t.Rows = append(t.Rows, []string{facetName(f.Notation, w.Tooth, w.Number), quantity(w.AreaMM2, "mm²"), fmt.Sprintf("%.0f°", w.DipDeg), fmt.Sprintf("%.0f°", w.DirectionDeg),
			quantity(w.FlatnessUm, "µm"), ground, orDash(strings.Join(slides, "; ")), partner})
		t.Go = append(t.Go, at)
	}
	out.Tables = append(out.Tables, t)
	return out
}

// facetName names a facet in a notation of teeth.
func facetName(n dentition.Notation, tooth occlusion.Part, number int) string {
	return fmt.Sprintf("%s facet %d", tooth.In(n), number)
}
