package text

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// cuspWidth is the width, in letters, of the columns that tell a way.
const cuspWidth = 27

// cuspTable shows where the supporting cusps of the first molars go in the
// lateral movements, and the angle between the two ways, in brackets by rotation
// alone; empty where that is not known.
func cuspTable(f *findings.Findings) string {
	t := newTable(nil, "cusp", "on", "jaw to its side", "jaw to the other side", "angle")
	for _, a := range f.CuspAngles {
		tooth := dentition.ToothID(a.Tooth)
		if tooth.Type() != dentition.FirstMolar {
			continue
		}
		row := []string{a.Tooth.In(f.Notation) + " " + strings.TrimSuffix(a.Cusp, " cusp"), "", "", "", fmt.Sprintf("%.0f°\n(%.0f°)", a.BetweenDeg, a.RotationDeg)}
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
			t.row(row...)
		}
	}
	if t.empty() {
		return ""
	}
	return t.String()
}

// cuspWay says along which groove a cusp sets out and between which cusps it
// leaves.
func cuspWay(p *findings.CuspPath) string {
	var out []string
	if p.GrooveDeg != nil {
		out = append(out, fmt.Sprintf("%.0f° to %s", *p.GrooveDeg, p.Groove))
	}
	if l := p.Leaves; l != nil {
		out = append(out, "out "+words.LeavesWords(l))
	}
	for i, s := range out {
		out[i] = strings.Join(wrap(s, cuspWidth), "\n")
	}
	return strings.Join(out, "\n")
}
