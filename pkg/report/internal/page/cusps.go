package page

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// cuspPaths are the paths of the supporting cusps in a movement.
func cuspPaths(r words.Reader, x *findings.Excursion) []factTable {
	if len(x.CuspPaths) == 0 {
		return nil
	}
	t := newTable(r, "paths.title", "cusps.cusp", "cusps.over", "paths.direction", "paths.groove", "paths.leaves")
	t.Folded, t.Note = true, r.Say("paths.note")
	for i := range x.CuspPaths {
		p := &x.CuspPaths[i]
		groove, direction := r.Say("dash"), r.Say("dash")
		if p.GrooveDeg != nil {
			groove = r.Say("paths.groove.off", language.With{"groove": p.Groove, "deg": *p.GrooveDeg})
		}
		if p.DirectionDeg != nil {
			direction = fmt.Sprintf("%.0f°", *p.DirectionDeg)
		}
		t.Rows = append(t.Rows, []string{p.Tooth.In(r.Notation) + " " + r.Term(p.Cusp), p.Over.In(r.Notation), direction, groove,
			orDash(r, r.Write(words.Leaves(p.Leaves)))})
	}
	return []factTable{t}
}

// cuspAngles compares the two lateral movements.
func cuspAngles(r words.Reader, f *findings.Findings) facts {
	if len(f.CuspAngles) == 0 {
		return facts{}
	}
	t := newTable(r, "angles.table", "cusps.cusp", "cusps.working", "cusps.nonworking", "angles.between", "angles.rotation", "angles.shift")
	t.Note = r.Say("angles.note")
	for _, a := range f.CuspAngles {
		row := []string{a.Tooth.In(f.Notation) + " " + r.Term(a.Cusp)}
		for _, v := range [...]float64{a.WorkingDeg, a.NonworkingDeg, a.BetweenDeg, a.RotationDeg, a.ShiftDeg} {
			row = append(row, fmt.Sprintf("%.0f°", v))
		}
		t.Rows = append(t.Rows, row)
	}
	return facts{Title: r.Say("angles.title"), Tables: []factTable{t}}
}
