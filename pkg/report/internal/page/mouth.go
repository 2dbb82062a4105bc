package page

import (
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// mouth compares the mouth's record with the casts.
func mouth(r words.Reader, m *findings.Record) facts {
	if m == nil {
		return facts{}
	}
	out := facts{Title: r.Say("mouth.title"), Text: r.Write(m.Text)}
	if len(m.Teeth) > 0 {
		t := newTable(r, "", "head.tooth", "mouth.mouth", "mouth.casts", "mouth.gap", "mouth.compared", "mouth.off", "mouth.load")
		t.Title = r.Say("mouth.foil", language.With{"foil": language.Um(m.FoilUm.Um())})
		for _, x := range m.Teeth {
			casts := r.Say("dash")
			if x.Casts != nil {
				casts = class(r, *x.Casts)
			}
			t.Rows = append(t.Rows, []string{
				x.Tooth.In(r.Notation), class(r, findings.HoldClass(x.Mouth)), casts, optional(r, x.GapUm, "µm"), r.Say("match." + string(x.Match)),
				optional(r, x.OffUm, "µm"), optional(r, x.YieldsFromN, "N"),
			})
		}
		out.Tables = append(out.Tables, t)
	}
	for _, k := range m.Marks {
		if len(k.Pairs) == 0 {
			continue
		}
		t := newTable(r, "", "head.teeth", "mouth.compared", "mouth.from", "mouth.beyond")
		t.Title = r.Say("mouth.marks", language.With{"movement": findings.NameMovement(k.Movement)})
		for _, p := range k.Pairs {
			t.Rows = append(t.Rows, []string{pair(r, p.Upper, p.Lower), r.Say("match." + string(p.Match)),
				optional(r, p.AtMM, "mm"), optional(r, p.OffUm, "µm")})
			at := &place3D{}
			if p.AtMM != nil && k.Movement != "centric" {
				at = &place3D{Movement: k.Movement, TravelMM: *p.AtMM}
			}
			t.Go = append(t.Go, at)
		}
		out.Tables = append(out.Tables, t)
	}
	if m.Notes != "" {
		out.Facts = append(out.Facts, fact{r.Say("mouth.notes"), m.Notes})
	}
	return out
}
