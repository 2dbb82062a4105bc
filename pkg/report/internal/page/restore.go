package page

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// restorePart shows what to heed for the teeth that will be restored.
func restorePart(f *findings.Findings) facts {
	if len(f.Restore) == 0 {
		return facts{}
	}
	out := facts{Title: "Teeth to be restored", Text: "What the casts show today, for the tooth as it stands. It is no plan of treatment: tooth reduction cannot be undone, and a new surface is tried in the mouth."}
	for i := range f.Restore {
		out.Parts = append(out.Parts, restoreTooth(f.Notation, &f.Restore[i]))
	}
	return out
}

func restoreTooth(n dentition.Notation, r *findings.Restoration) facts {
	code := r.Tooth.In(n)
	part := facts{Title: code + ", " + dentition.ToothID(r.Tooth).Name(), Text: r.Text.In(n)}
	contacts := factTable{Title: "Contacts of " + code, Head: []string{"With", "What to do", "On this tooth", "Against", "When", "Why"}}
	add := func(what string, list []findings.RestoreStop) {
		for i := range list {
			s := &list[i]
			when, at := "at rest", &place3D{Point: (*[3]float64)(s.PointMM)}
			if s.Movement != "rest" {
				when = findings.MovementWords(s.Movement) + ", " + stretchWords(s.FromMM, s.ToMM)
				at.Movement, at.TravelMM = s.Movement, s.FromMM
			}
			why := s.Why.In(n)
			if s.PastEdge {
				why += ", past the edge-to-edge position"
			}
			if s.Holds.State == findings.Depends {
				why += "; " + s.Holds.String()
			}
			contacts.Rows = append(contacts.Rows, []string{s.With.In(n), what, orDash(s.On), orDash(s.Against), when, why})
			contacts.Go = append(contacts.Go, at)
		}
	}
	add("keep", r.Keep)
	add("do not build again", r.Avoid)
	guides := factTable{Title: "Guidance of " + code, Head: []string{"Movement", "Part of the tooth in it", "Inclination", "Guided today by", "Sliding on"}}
	for _, g := range r.Guides {
		what := "could take it over"
		if g.Guides {
			what = "carries; must stay or be given to others"
		}
		guides.Rows = append(guides.Rows, []string{findings.MovementWords(g.Movement), what, optional(g.ToothDeg, "°"), g.From.In(n), g.With.In(n)})
	}
	wear := factTable{Title: "Wear facets of " + code, Head: []string{"Facet", "What to do", "Decided by", "Why"}}
	for _, w := range r.Wear {
		what := map[string]string{"keep": "must stay or be given to others", "not_again": "do not copy"}[w.Do]
		if what == "" {
			what = "the casts speak for neither"
		}
		by := "–"
		if w.Movement != "" {
			by = "at rest"
			if w.Movement != "rest" {
				by = findings.MovementWords(w.Movement)
			}
		}
		wear.Rows = append(wear.Rows, []string{fmt.Sprint(w.Number), what, by, w.Why.In(n)})
	}
	room := factTable{Title: "Room over " + code, Head: []string{"Movement", "Least clearance", "At"}, Note: "As a map on the tooth: " + words.RoomFile(dentition.ToothID(r.Tooth)) + ", and among the colours of a 3D view."}
	for _, m := range r.Room {
		at, when, travel := place3D{TravelMM: m.AtMM}, "at rest", "–"
		if m.Movement != "rest" {
			at.Movement, when, travel = m.Movement, findings.MovementWords(m.Movement), fmt.Sprintf("%.1f mm", m.AtMM)
		}
		room.Rows = append(room.Rows, []string{when, quantity(m.LeastMM, "mm"), travel})
		room.Go = append(room.Go, &at)
	}
	for _, t := range [...]factTable{contacts, guides, wear, room} {
		if len(t.Rows) > 0 {
			part.Tables = append(part.Tables, t)
		}
	}
	return part
}
