package page

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// facetsPart shows the wear facets, each with the movement that would grind it.
func facetsPart(r words.Reader, f *findings.Findings) facts {
	if len(f.Facets) == 0 {
		return facts{}
	}
	out := facts{Title: r.Say("facets.title"), Text: r.Write(language.Join(language.Text(words.Facets(f))))}
	t := newTable(r, "facets.table", "facets.facet", "head.area", "facets.dip", "facets.faces", "facets.off",
		"facets.ground", "facets.over", "facets.lies")
	t.Note = r.Say("facets.note")
	for i := range f.Facets {
		w := &f.Facets[i]
		at := &place3D{Point: (*[3]float64)(&w.CentreMM)}
		var ground, slides []language.Sentence
		for _, m := range w.GroundBy {
			ground = append(ground, findings.NameMovement(m))
		}
		if len(ground) == 0 {
			ground = append(ground, language.Say("facets.unexplained"))
		}
		for _, s := range w.Slides {
			slides = append(slides, language.Say("facets.slide", language.With{
				"movement": findings.NameMovement(s.Movement), "over": s.Over, "gap": language.Um(s.GapUm), "span": findings.Span(s.FromMM, s.ToMM),
			}))
			if len(w.GroundBy) > 0 && s.Movement == w.GroundBy[0] {
				at.Movement, at.TravelMM = s.Movement, (s.FromMM+s.ToMM)/2
			}
		}
		partner := r.Say("dash")
		if p := w.Partner; p != nil {
			partner = r.Say("facets.partner", language.With{"facet": words.Facet(p.Tooth, p.Number), "deg": p.AngleDeg})
			at.Movement, at.TravelMM = p.Movement, p.TravelMM
		}
		t.Rows = append(t.Rows, []string{
			r.Write(words.Facet(w.Tooth, w.Number)), quantity(r, w.AreaMM2, "mm²"), fmt.Sprintf("%.0f°",
				w.DipDeg), fmt.Sprintf("%.0f°", w.DirectionDeg),
			quantity(r, w.FlatnessUm, "µm"), r.Write(language.Join(language.Commas(ground))), orDash(r,
				r.Write(language.Join(language.Semicolons(slides)))), partner,
		})
		t.Go = append(t.Go, at)
	}
	out.Tables = append(out.Tables, t)
	return out
}
