package page

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// stopsPart tells where the centric stops lie, how they hold the teeth, and what foil
// would do over the supporting cusps.
func stopsPart(r words.Reader, c *findings.Centric) facts {
	if len(c.Support) == 0 {
		return facts{}
	}
	out := facts{Title: r.Say("stops.title"), Text: r.Write(c.StopsText)}
	t := newTable(r, "stops.table", "head.teeth", "stops.what", "stops.across", "stops.along", "stops.stable", "finding.why")
	t.Note = r.Say("stops.note")
	dash := r.Say("dash")
	for i := range c.Stops {
		s := &c.Stops[i]
		along := dash
		if s.Along != "" {
			along = r.Say("stops.along." + string(s.Along))
		}
		t.Rows = append(t.Rows, []string{pair(r, s.Upper, s.Lower), r.Write(s.Text), orDash(r, string(s.Across)), along,
			yesNo(r, s.Stable), r.Write(s.Reason)})
		t.Go = append(t.Go, &place3D{Point: (*[3]float64)(&s.PointMM)})
	}
	teeth := newTable(r, "stops.teeth", "head.tooth", "stops.count", "stops.axis", "stops.enough", "stops.across",
		"stops.stoppers", "stops.equalisers")
	teeth.Note = r.Say("stops.teeth.note")
	cusps := newTable(r, "stops.cusps", "cusps.cusp", "finding.foil", "head.gap", "stops.count", "stops.stand")
	t.Folded, teeth.Folded, cusps.Folded = true, true, true
	for i := range c.Support {
		s := &c.Support[i]
		if s.Stops > 0 {
			share, enough := dash, dash
			if s.AxialShare != nil {
				share = fmt.Sprintf("%.0f%%", 100**s.AxialShare)
			}
			if s.Axial != nil {
				enough = yesNo(r, *s.Axial)
			}
			teeth.Rows = append(teeth.Rows, []string{s.Tooth.In(r.Notation), fmt.Sprint(s.Stops), share, enough,
				orDash(r, s.Across), fmt.Sprint(s.Stoppers), fmt.Sprint(s.Equalisers)})
		}
		for _, k := range s.Cusps {
			foil, stand := dash, dash
			if k.Class != nil {
				foil = class(r, *k.Class)
			}
			if k.Points != findings.NoPoint {
				stand = r.Say("stops.points." + string(k.Points))
			}
			cusps.Rows = append(cusps.Rows, []string{s.Tooth.In(r.Notation) + " " + r.Term(k.Cusp), foil, optional(r, k.GapUm, "µm"),
				fmt.Sprint(k.Stops), stand})
		}
	}
	for _, t := range [...]factTable{t, teeth, cusps} {
		if len(t.Rows) > 0 {
			out.Tables = append(out.Tables, t)
		}
	}
	return out
}

func orDash(r words.Reader, s string) string {
	if s == "" {
		return r.Say("dash")
	}
	return s
}

func yesNo(r words.Reader, b bool) string {
	if b {
		return r.Say("yes")
	}
	return r.Say("no")
}

func pair(r words.Reader, upper, lower findings.Part) string {
	return findings.PairIn(r.Notation, upper, lower)
}
