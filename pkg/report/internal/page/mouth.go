package page

import (
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// mouth is the mouth's record beside the casts.
func mouth(n dentition.Notation, r *findings.Record) facts {
	if r == nil {
		return facts{}
	}
	out := facts{Title: "Comparison with the mouth", Text: r.Text.In(n)}
	if len(r.Teeth) > 0 {
		t := factTable{Title: "Foil of " + quantity(r.FoilUm, "µm"), Head: []string{"Tooth", "In the mouth", "On the casts", "Gap on the casts", "Compared", "Casts off by", "Carries under load from"}}
		for _, x := range r.Teeth {
			casts := "–"
			if x.Casts != nil {
				casts = spaced(string(*x.Casts))
			}
			t.Rows = append(t.Rows, []string{x.Tooth.In(n), spaced(string(x.Mouth)), casts, optional(x.GapUm, "µm"), matchWords(x.Match), optional(x.OffUm, "µm"), optional(x.YieldsFromN, "N")})
		}
		out.Tables = append(out.Tables, t)
	}
	for _, m := range r.Marks {
		if len(m.Pairs) == 0 {
			continue
		}
		t := factTable{Title: "Marks: " + markMovement(m.Movement), Head: []string{"Teeth", "Compared", "On the casts from", "Casts apart beyond the foil"}}
		for _, p := range m.Pairs {
			t.Rows = append(t.Rows, []string{words.Pair(n, p.Upper, p.Lower), matchWords(p.Match), optional(p.AtMM, "mm"), optional(p.OffUm, "µm")})
			at := &place3D{}
			if p.AtMM != nil && m.Movement != "centric" {
				at = &place3D{Movement: m.Movement, TravelMM: *p.AtMM}
			}
			t.Go = append(t.Go, at)
		}
		out.Tables = append(out.Tables, t)
	}
	if r.Notes != "" {
		out.Facts = append(out.Facts, fact{"Notes of the record", r.Notes})
	}
	return out
}

func spaced(s string) string { return strings.ReplaceAll(s, "_", " ") }

func matchWords(m findings.Match) string {
	switch m {
	case findings.Agree:
		return "agree"
	case findings.OnlyMouth:
		return "only in the mouth"
	case findings.OnlyCasts:
		return "only on the casts"
	case findings.Unsure:
		return "too close to tell"
	}
	return "not on the casts"
}

func markMovement(m string) string {
	if m == "centric" {
		return "closing at rest"
	}
	return strings.ToLower(words.MovementTitle(m))
}
