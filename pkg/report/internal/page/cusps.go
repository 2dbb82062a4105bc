package page

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// cuspPaths are the ways of the supporting cusps in a movement, as the page
// shows them.
func cuspPaths(n dentition.Notation, x *findings.Excursion) []factTable {
	if len(x.CuspPaths) == 0 {
		return nil
	}
	t := factTable{Title: "Where the supporting cusps go", Folded: true, Head: []string{"Cusp", "Over", "Sets out at", "Nearest groove", "Leaves the row of cusps"},
		Note: "The direction of the first millimetre on the opposing tooth: 0° is to mesial, 90° to buccal, 180° to distal, -90° to lingual."}
	for i := range x.CuspPaths {
		p := &x.CuspPaths[i]
		groove, leaves := "–", "–"
		if p.GrooveDeg != nil {
			groove = fmt.Sprintf("%s, %.0f° off", p.Groove, *p.GrooveDeg)
		}
		if p.Leaves != nil {
			leaves = words.LeavesWords(p.Leaves)
		}
		direction := "–"
		if p.DirectionDeg != nil {
			direction = fmt.Sprintf("%.0f°", *p.DirectionDeg)
		}
		t.Rows = append(t.Rows, []string{p.Tooth.In(n) + " " + p.Cusp, p.Over.In(n), direction, groove, leaves})
	}
	return []factTable{t}
}

// cuspAngles compares the two lateral movements, as the page shows it.
func cuspAngles(f *findings.Findings) facts {
	if len(f.CuspAngles) == 0 {
		return facts{}
	}
	t := factTable{Title: "Angles to the sagittal plane, from above", Head: []string{"Cusp", "Jaw to its side", "Jaw to the other side", "Between", "By rotation alone", "With the side shift as set"},
		Note: "By rotation alone: a pure rotation about the working condyle, in closed form."}
	for _, a := range f.CuspAngles {
		row := []string{a.Tooth.In(f.Notation) + " " + a.Cusp}
		for _, v := range [...]float64{a.WorkingDeg, a.NonworkingDeg, a.BetweenDeg, a.RotationDeg, a.ShiftDeg} {
			row = append(row, fmt.Sprintf("%.0f°", v))
		}
		t.Rows = append(t.Rows, row)
	}
	return facts{Title: "Supporting cusps in the two lateral movements", Tables: []factTable{t}}
}
