package page

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// facetsPart shows the wear facets, each with the movement that would grind it.
func facetsPart(f *findings.Findings) facts {
	if len(f.Facets) == 0 {
		return facts{}
	}
	out := facts{Title: "Wear facets", Text: strings.Join(words.FacetLines(f), " ")}
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
			partner = fmt.Sprintf("%s (%.0f° between them)", words.FacetName(f.Notation, p.Tooth, p.Number), p.AngleDeg)
			at.Movement, at.TravelMM = p.Movement, p.TravelMM
		}
		t.Rows = append(t.Rows, []string{words.FacetName(f.Notation, w.Tooth, w.Number), quantity(w.AreaMM2, "mm²"), fmt.Sprintf("%.0f°", w.DipDeg), fmt.Sprintf("%.0f°", w.DirectionDeg),
			quantity(w.FlatnessUm, "µm"), ground, orDash(strings.Join(slides, "; ")), partner})
		t.Go = append(t.Go, at)
	}
	out.Tables = append(out.Tables, t)
	return out
}
