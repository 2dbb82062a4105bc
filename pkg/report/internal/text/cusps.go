package text

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// cuspWidth is the width, in letters, of the columns that describe a path.
const cuspWidth = 27

// cuspTable shows where the supporting cusps of the first molars go in the
// lateral movements, and the angle between the two paths, in brackets by rotation
// alone; empty where that is not known.
func cuspTable(r words.Reader, f *findings.Findings) string {
	var head []string
	for _, key := range [...]string{"cusps.cusp", "cusps.over", "cusps.working", "cusps.nonworking", "cusps.angle"} {
		head = append(head, r.Say(key))
	}
	t := newTable(nil, head...)
	for _, a := range f.CuspAngles {
		tooth := a.Tooth.Tooth()
		if tooth.Type() != dentition.FirstMolar {
			continue
		}
		row := []string{a.Tooth.In(f.Notation) + " " + strings.TrimSuffix(a.Cusp, " cusp"), "", "", "",
			fmt.Sprintf("%.0f°\n(%.0f°)", a.BetweenDeg, a.RotationDeg)}
		for i := range f.Excursions {
			x := &f.Excursions[i]
			for k := range x.CuspPaths {
				p := &x.CuspPaths[k]
				if p.Tooth != a.Tooth || p.Cusp != a.Cusp || x.Movement == "protrusive" {
					continue
				}
				row[1] = p.Over.In(f.Notation)
				at := 3
				if x.Movement == findings.Movement(tooth.Side().String()) {
					at = 2
				}
				row[at] = cuspPath(r, p)
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

// cuspPath says along which groove a cusp sets out and between which cusps it
// leaves.
func cuspPath(r words.Reader, p *findings.CuspPath) string {
	var out []string
	if p.GrooveDeg != nil {
		out = append(out, r.Say("cusps.groove", language.With{"deg": *p.GrooveDeg, "groove": p.Groove}))
	}
	if s := words.Leaves(p.Leaves); !s.Empty() {
		out = append(out, r.Write(s))
	}
	for i, s := range out {
		out[i] = strings.Join(wrap(s, cuspWidth), "\n")
	}
	return strings.Join(out, "\n")
}
