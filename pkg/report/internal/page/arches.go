package page

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// archesPart shows what was measured on the arches.
func archesPart(n dentition.Notation, a *findings.Arches) facts {
	if a == nil {
		return facts{}
	}
	out := facts{Title: "Measurements of the arches"}
	front := factTable{Title: "Central incisors", Head: []string{"Teeth", "Overjet", "Overbite"},
		Note: "Along and across the occlusal plane of the lower arch, with the casts as examined."}
	for _, x := range a.Incisors {
		bite := quantity(x.OverbiteMM, "mm")
		if x.OverbiteMM < 0 {
			bite = "open by " + quantity(-x.OverbiteMM, "mm")
		}
		front.Rows = append(front.Rows, []string{words.Pair(n, x.Upper, x.Lower), quantity(x.OverjetMM, "mm"), bite})
	}
	molars := factTable{Title: "First molars", Head: []string{"Teeth", "Side", "Angle's class", "Upper mesiobuccal cusp to lower buccal groove"}}
	for _, m := range a.Molars {
		stands := "at it"
		if math.Abs(m.MesialMM) >= 0.05 {
			stands = quantity(math.Abs(m.MesialMM), "mm") + map[bool]string{true: " in front of it", false: " behind it"}[m.MesialMM > 0]
		}
		molars.Rows = append(molars.Rows, []string{words.Pair(n, m.Upper, m.Lower), m.Side, m.Class, stands})
	}
	spee := factTable{Title: "Curve of Spee", Head: []string{"Side", "Depth", "Deepest cusp"}}
	for _, d := range a.Spee {
		spee.Rows = append(spee.Rows, []string{d.Side, quantity(d.DepthMM, "mm"), d.Tooth.In(n) + " " + d.Landmark})
	}
	if s := a.Sphere; s != nil {
		out.Facts = append(out.Facts, fact{"Sphere over the lower cusps", fmt.Sprintf("radius %.0f mm; the %d cusps lie %s off it (root mean square)", s.RadiusMM, s.Cusps, quantity(s.RMSMM, "mm"))})
	}
	for _, t := range [...]factTable{front, molars, spee, archWidths(n, a.Widths)} {
		if len(t.Rows) > 0 {
			out.Tables = append(out.Tables, t)
		}
	}
	if len(out.Facts)+len(out.Tables) == 0 {
		out.Text = a.Text.In(n)
	}
	return out
}

// archWidths has a row for each kind of cusp, with the upper arch beside the
// lower one.
func archWidths(n dentition.Notation, widths []findings.ArchWidth) factTable {
	type cusp struct {
		tooth    dentition.Type
		landmark string
	}
	t := factTable{Title: "Widths between like cusps", Head: []string{"Between", "Upper teeth", "Width", "Lower teeth", "Width"}}
	row := map[cusp]int{}
	for _, w := range widths {
		id := dentition.ToothID(w.Right)
		c := cusp{id.Type(), w.Landmark}
		i, ok := row[c]
		if !ok {
			i, row[c] = len(t.Rows), len(t.Rows)
			what := c.tooth.String() + "s"
			if w.Landmark != "cusp" {
				what += ", " + w.Landmark + "s"
			}
			t.Rows = append(t.Rows, []string{what, "–", "–", "–", "–"})
		}
		at := 1
		if id.Jaw() == dentition.Lower {
			at = 3
		}
		t.Rows[i][at], t.Rows[i][at+1] = w.Right.In(n)+"–"+w.Left.In(n), quantity(w.WidthMM, "mm")
	}
	return t
}
