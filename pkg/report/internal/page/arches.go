package page

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// archesPart shows what was measured on the arches.
func archesPart(r words.Reader, a *findings.Arches) facts {
	if a == nil {
		return facts{}
	}
	out := facts{Title: r.Say("arches.title")}
	front := newTable(r, "arches.incisors", "head.teeth", "arches.overjet", "arches.overbite")
	front.Note = r.Say("arches.incisors.note")
	for _, x := range a.Incisors {
		bite := quantity(r, x.OverbiteMM, "mm")
		if x.OverbiteMM < 0 {
			bite = r.Say("arches.open", language.With{"bite": language.MM(-x.OverbiteMM)})
		}
		front.Rows = append(front.Rows, []string{pair(r, x.Upper, x.Lower), quantity(r, x.OverjetMM, "mm"), bite})
	}
	molars := newTable(r, "arches.molars", "head.teeth", "head.side", "arches.class", "arches.groove")
	for _, m := range a.Molars {
		stands := r.Say("arches.groove.at")
		if away := language.MM(math.Abs(m.MesialMM)); away.Value >= 0.05 {
			key := "arches.groove.distal"
			if m.MesialMM > 0 {
				key = "arches.groove.mesial"
			}
			stands = r.Say(key, language.With{"away": away})
		}
		molars.Rows = append(molars.Rows, []string{pair(r, m.Upper, m.Lower), side(r, m.Side), m.Class, stands})
	}
	spee := newTable(r, "arches.spee", "head.side", "arches.depth", "arches.deepest")
	for _, d := range a.Spee {
		spee.Rows = append(spee.Rows, []string{side(r, d.Side), quantity(r, d.DepthMM, "mm"), d.Tooth.In(r.Notation) + " " + r.Term(d.Landmark)})
	}
	if s := a.Sphere; s != nil {
		out.Facts = append(out.Facts, fact{r.Say("arches.sphere"),
			r.Say("arches.sphere.text", language.With{"radius": s.RadiusMM, "cusps": s.Cusps, "off": language.MM(s.RMSMM)})})
	}
	if len(a.Tipped) > 0 {
		texts := make([]findings.Sentence, len(a.Tipped))
		for i := range texts {
			texts[i] = a.Tipped[i].Text
		}
		out.Facts = append(out.Facts, fact{r.Say("arches.tipped"), r.Write(language.Join(language.Semicolons(texts)))})
	}
	for _, t := range [...]factTable{front, molars, spee, archWidths(r, a.Widths)} {
		if len(t.Rows) > 0 {
			out.Tables = append(out.Tables, t)
		}
	}
	if len(out.Facts)+len(out.Tables) == 0 {
		out.Text = r.Write(a.Text)
	}
	return out
}

// side names a side of the mouth.
func side(r words.Reader, s string) string { return r.Say("side." + s) }

// archWidths has a row for each kind of cusp, with the upper arch beside the
// lower one.
func archWidths(r words.Reader, widths []findings.ArchWidth) factTable {
	type cusp struct {
		tooth    dentition.Type
		landmark string
	}
	t := newTable(r, "arches.widths", "arches.between", "arches.upper", "arches.width", "arches.lower", "arches.width")
	row := map[cusp]int{}
	dash := r.Say("dash")
	for _, w := range widths {
		id := w.Right.Tooth()
		c := cusp{id.Type(), w.Landmark}
		i, ok := row[c]
		if !ok {
			i, row[c] = len(t.Rows), len(t.Rows)
			what := c.tooth.String() + "s"
			if w.Landmark != "cusp" {
				what += ", " + w.Landmark + "s"
			}
			t.Rows = append(t.Rows, []string{what, dash, dash, dash, dash})
		}
		at := 1
		if id.Jaw() == dentition.Lower {
			at = 3
		}
		t.Rows[i][at], t.Rows[i][at+1] = w.Right.In(r.Notation)+"–"+w.Left.In(r.Notation), quantity(r, w.WidthMM, "mm")
	}
	return t
}
