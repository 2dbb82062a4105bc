package page

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// stopsPart tells where the stops lie, how they hold the teeth, and what foil
// would do over the supporting cusps.
func stopsPart(n dentition.Notation, c *findings.Centric) facts {
	if len(c.Support) == 0 {
		return facts{}
	}
	out := facts{Title: "Where the stops lie", Text: c.StopsText.In(n)}
	t := factTable{Title: "Stops", Head: []string{"Teeth", "What meets what", "Across", "Along the arch", "Stable", "Why"},
		Note: "Across a back tooth: A between buccal cusps, B between the upper lingual and the lower buccal cusp, C between lingual cusps."}
	for i := range c.Stops {
		s := &c.Stops[i]
		t.Rows = append(t.Rows, []string{words.Pair(n, s.Upper, s.Lower), s.Text.In(n), orDash(string(s.Across)), orDash(spaced(string(s.Along))), yesNo(s.Stable), s.Reason.In(n)})
		t.Go = append(t.Go, &place3D{Point: (*[3]float64)(&s.PointMM)})
	}
	teeth := factTable{Title: "How the stops hold the teeth", Head: []string{"Tooth", "Stops", "Along its axis", "Enough", "Across", "Closure stoppers", "Equalisers"},
		Note: "Along its axis: the share of the sum of the directions in which the stops push the tooth."}
	cusps := factTable{Title: "Narrow foil over the supporting cusps", Folded: true, Head: []string{"Cusp", "Foil", "Gap", "Stops", "How they stand"}}
	for i := range c.Support {
		s := &c.Support[i]
		if s.Stops > 0 {
			share, enough := "–", "–"
			if s.AxialShare != nil {
				share = fmt.Sprintf("%.0f%%", 100**s.AxialShare)
			}
			if s.Axial != nil {
				enough = yesNo(*s.Axial)
			}
			teeth.Rows = append(teeth.Rows, []string{s.Tooth.In(n), fmt.Sprint(s.Stops), share, enough, orDash(s.Across), fmt.Sprint(s.Stoppers), fmt.Sprint(s.Equalisers)})
		}
		for _, k := range s.Cusps {
			class, stand := "–", "–"
			if k.Class != nil {
				class = spaced(string(*k.Class))
			}
			if k.Points != findings.NoPoint {
				stand = spaced(string(k.Points))
			}
			cusps.Rows = append(cusps.Rows, []string{s.Tooth.In(n) + " " + k.Cusp, class, optional(k.GapUm, "µm"), fmt.Sprint(k.Stops), stand})
		}
	}
	for _, t := range [...]factTable{t, teeth, cusps} {
		if len(t.Rows) > 0 {
			out.Tables = append(out.Tables, t)
		}
	}
	return out
}

func orDash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}
