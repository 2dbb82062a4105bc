package report

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/jedib0t/go-pretty/v6/table"
)

// cuspWidth is the width, in letters, of the columns that tell a way.
const cuspWidth = 27

// cuspTable shows where the supporting cusps of the first molars go in the
// lateral movements, and the angle between the two ways, in brackets by rotation
// alone; empty where that is not known.
func cuspTable(f *occlusion.Findings) string {
	t := newTable()
	t.AppendHeader(table.Row{"cusp", "on", "jaw to its side", "jaw to the other side", "angle"})
	for _, a := range f.CuspAngles {
		tooth := dentition.ToothID(a.Tooth)
		if tooth.Type() != dentition.FirstMolar {
			continue
		}
		row := table.Row{a.Tooth.In(f.Notation) + " " + strings.TrimSuffix(a.Cusp, " cusp"), "", "", "", fmt.Sprintf("%.0f°\n(%.0f°)", a.BetweenDeg, a.RotationDeg)}
		for i := range f.Excursions {
			x := &f.Excursions[i]
			for k := range x.CuspPaths {
				p := &x.CuspPaths[k]
				if p.Tooth != a.Tooth || p.Cusp != a.Cusp || x.Movement == "protrusive" {
					continue
				}
				row[1] = p.Over.In(f.Notation)
				at := 3
				if x.Movement == tooth.Side().String() {
					at = 2
				}
				row[at] = cuspWay(p)
			}
		}
		if row[2] != "" || row[3] != "" {
			t.AppendRow(row)
		}
	}
	if t.Length() == 0 {
		return ""
	}
	return t.Render()
}

// cuspWay says along which groove a cusp sets out and between which cusps it
// leaves.
func cuspWay(p *occlusion.CuspPath) string {
	var out []string
	if p.GrooveDeg != nil {
		out = append(out, fmt.Sprintf("%.0f° to %s", *p.GrooveDeg, p.Groove))
	}
	if l := p.Leaves; l != nil {
		out = append(out, "out "+leavesWords(l))
	}
	for i, s := range out {
		out[i] = strings.Join(wrap(s, cuspWidth), "\n")
	}
	return strings.Join(out, "\n")
}

// leavesWords says between which cusps a cusp leaves, and where.
func leavesWords(l *occlusion.Exit) string {
	a, b := l.Between[0], l.Between[1]
	if tooth, cusp, _ := strings.Cut(a, " "); strings.HasPrefix(b, tooth+" ") {
		a = tooth + " " + strings.TrimSuffix(cusp, " cusp")
		b = strings.TrimPrefix(b, tooth+" ")
	}
	return fmt.Sprintf("between %s and %s at %.1f mm", a, b, l.TravelMM)
}

// cuspPaths are the ways of the supporting cusps in a movement, as the page
// shows them.
func cuspPaths(n dentition.Notation, x *occlusion.Excursion) []factTable {
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
			leaves = leavesWords(p.Leaves)
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
func cuspAngles(f *occlusion.Findings) facts {
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
