package page

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// restorePart shows what to heed for the teeth that will be restored.
func restorePart(r words.Reader, f *findings.Findings) facts {
	if len(f.Restore) == 0 {
		return facts{}
	}
	out := facts{Title: r.Say("restore.title"), Text: r.Say("restore.text")}
	for i := range f.Restore {
		out.Parts = append(out.Parts, restoreTooth(r, &f.Restore[i]))
	}
	return out
}

func restoreTooth(r words.Reader, x *findings.Restoration) facts {
	code := x.Tooth.In(r.Notation)
	part := facts{Title: code + ", " + x.Tooth.Tooth().Name(), Text: r.Write(x.Text)}
	for _, t := range [...]factTable{restoreContacts(r, x), restoreGuidance(r, x), restoreWear(r, x), restoreRoom(r, x)} {
		if len(t.Rows) > 0 {
			part.Tables = append(part.Tables, t)
		}
	}
	return part
}

// titled gives a table a title that names a tooth.
func titled(r words.Reader, t factTable, key string, tooth findings.Part) factTable {
	t.Title = r.Say(key, language.With{"tooth": tooth})
	return t
}

// when names the movement of a restoration's contact, or the closed position.
func when(r words.Reader, movement findings.Movement) string {
	if movement == findings.Closed {
		return r.Say("closed.position")
	}
	return r.Write(findings.NameMovement(movement))
}

func restoreContacts(r words.Reader, x *findings.Restoration) factTable {
	t := titled(r, newTable(r, "", "restore.with", "restore.do", "restore.on", "restore.against", "restore.when",
		"finding.why"), "restore.contacts", x.Tooth)
	add := func(what string, list []findings.RestoreStop) {
		for i := range list {
			s := &list[i]
			at, moment := &place3D{Point: (*[3]float64)(s.PointMM)}, when(r, s.Movement)
			if s.Movement != findings.Closed {
				moment += ", " + r.Write(findings.Span(s.FromMM, s.ToMM))
				at.Movement, at.TravelMM = s.Movement, s.FromMM
			}
			why := language.With{"why": s.Why}
			if s.PastEdge {
				why["edge"] = language.Say("restore.beyond")
			}
			if s.Robustness.State == findings.Depends {
				why["depends"] = s.Robustness.Sentence()
			}
			t.Rows = append(t.Rows, []string{s.With.In(r.Notation), r.Say(what), orDash(r, s.On), orDash(r, s.Against), moment,
				r.Say("restore.why", why)})
			t.Go = append(t.Go, at)
		}
	}
	add("restore.keep", x.Keep)
	add("restore.avoid", x.Avoid)
	return t
}

func restoreGuidance(r words.Reader, x *findings.Restoration) factTable {
	t := titled(r, newTable(r, "", "head.movement", "restore.part", "restore.inclination", "restore.guided",
		"restore.sliding"), "restore.guidance", x.Tooth)
	for _, g := range x.Guides {
		what := "restore.could"
		if g.Guides {
			what = "restore.guides"
		}
		t.Rows = append(t.Rows, []string{when(r, g.Movement), r.Say(what), optional(r, g.ToothDeg, "°"),
			g.From.In(r.Notation), g.With.In(r.Notation)})
	}
	return t
}

func restoreWear(r words.Reader, x *findings.Restoration) factTable {
	t := titled(r, newTable(r, "", "facets.facet", "restore.do", "restore.decided", "finding.why"), "restore.wear", x.Tooth)
	for _, w := range x.Wear {
		what := map[string]string{"keep": "restore.wear.keep", "not_again": "restore.wear.avoid"}[w.Do]
		if what == "" {
			what = "restore.wear.open"
		}
		by := r.Say("dash")
		if w.Movement != "" {
			by = when(r, w.Movement)
		}
		t.Rows = append(t.Rows, []string{fmt.Sprint(w.Number), r.Say(what), by, r.Write(w.Why)})
	}
	return t
}

func restoreRoom(r words.Reader, x *findings.Restoration) factTable {
	t := titled(r, newTable(r, "", "head.movement", "restore.least", "head.at"), "restore.room", x.Tooth)
	t.Note = r.Say("restore.room.note", language.With{"file": words.RoomFile(x.Tooth.Tooth())})
	for _, m := range x.Room {
		at, travel := place3D{TravelMM: m.AtMM}, r.Say("dash")
		if m.Movement != findings.Closed {
			at.Movement, travel = m.Movement, r.Write(language.Say("mm", language.With{"mm": m.AtMM}))
		}
		t.Rows = append(t.Rows, []string{when(r, m.Movement), quantity(r, m.LeastMM, "mm"), travel})
		t.Go = append(t.Go, &at)
	}
	return t
}
