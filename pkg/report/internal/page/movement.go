package page

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/chart"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

type pageMovement struct {
	ID, Name, Title, Short string

	Course    string
	Ended     string
	Opening   *pageChart
	Clearance *pageChart
	Far       string // end of the colours of the chart of clearance, µm
	Rows      []movementRow
	Groups    []string
	More      facts
}

type pageChart struct {
	chart.Chart
	Words string
}

type movementRow struct {
	Travel, Opening, Carrier, Contacts string
	Groups                             []string
	Go                                 *place3D
}

// newMovement gathers what the page shows of a movement; rest are the parts of it that the page does not know.
func newMovement(r words.Reader, x *findings.Excursion, rest []member) (pageMovement, error) {
	m := pageMovement{
		ID: "movement-" + string(x.Movement), Name: string(x.Movement), Title: r.Write(words.MovementTitle(x.Movement)), Short: r.Say("movement.short." + string(x.Movement)),
		Far: words.Micrometres(1000 * chart.ClearanceRange), Ended: r.Write(x.Ended),
	}
	m.More = tell(r, "", rest)
	if len(x.Frames) == 0 {
		return m, nil
	}
	m.Course = r.Write(words.Course(x))
	m.rows(r, x)
	m.More.Tables = slices.Concat(guidanceTables(r, x), disclusionTable(r, x), cuspPaths(r, x), m.More.Tables)
	if s := x.Smoothness; s != nil {
		m.More.Text = smoothness(r, s)
	}
	return m, m.charts(r, x)
}

func (m *pageMovement) charts(r words.Reader, x *findings.Excursion) error {
	m.Opening = &pageChart{chart.Opening(r, x), chart.OpeningWords(r, x)}
	c, err := chart.Clearance(r, x)
	if err != nil {
		return err
	}
	if c.SVG != "" {
		m.Clearance = &pageChart{c, r.Say("chart.clearance.words")}
	}
	return nil
}

// rows sums the movement up as the printed summary does.
func (m *pageMovement) rows(r words.Reader, x *findings.Excursion) {
	labelled := words.ByTooth(&x.Frames[0])
	if labelled {
		for _, g := range words.Groups {
			m.Groups = append(m.Groups, r.Say(g.Title))
		}
	}
	for _, i := range words.SummaryFrames(x) {
		fr := &x.Frames[i]
		row := movementRow{
			Travel: travel(r, x, fr.TravelMM), Opening: fmt.Sprintf("%.2f°", fr.OpeningDeg), Carrier: r.Write(words.Guiding(fr, labelled)),
			Contacts: r.Write(language.Join(language.Commas(words.Pairs(fr.Contacts)))), Go: &place3D{Movement: x.Movement, TravelMM: fr.TravelMM},
		}
		if c := fr.Carrier; c != nil {
			row.Go.Point = (*[3]float64)(&c.PointMM)
		}
		if labelled {
			for _, g := range words.Groups {
				row.Groups = append(row.Groups, r.Write(words.LeastClearance(fr, g)))
			}
		}
		m.Rows = append(m.Rows, row)
	}
}

// guidanceTables tell what guides, and in which pattern.
func guidanceTables(r words.Reader, x *findings.Excursion) []factTable {
	c := x.Guidance
	if c == nil {
		return nil
	}
	t := newTable(r, "guidance.table", "head.travel", "head.guiding", "guidance.incisal", "guidance.tooth", "guidance.edge")
	t.Note = r.Say("guidance.note")
	for _, s := range c.Stretches {
		edge := "guidance.before"
		if s.PastEdge {
			edge = "guidance.beyond"
		}
		t.Rows = append(t.Rows, []string{
			r.Write(findings.Span(s.FromMM, s.ToMM)), pair(r, s.Upper, s.Lower), optional(r, s.InclinationDeg,
				"°"), optional(r, s.ToothDeg, "°"), r.Say(edge),
		})
		t.Go = append(t.Go, &place3D{Movement: x.Movement, TravelMM: s.FromMM})
	}
	out := []factTable{t}
	out[0].Folded = true
	t = newTable(r, "pattern.table", "pattern.incisal", "head.travel", "finding.foil", "pattern.pattern", "head.contacts")
	t.Folded = true
	for i := 0; i < len(c.Patterns); {
		p := &c.Patterns[i]
		var foils []string // that show the same
		for ; i < len(c.Patterns) && c.Patterns[i].AtMM == p.AtMM && c.Patterns[i].Pattern == p.Pattern &&
			listed(r, c.Patterns[i].Pairs) == listed(r, p.Pairs); i++ {
			foils = append(foils, words.Micrometres(c.Patterns[i].FoilUm.Um()))
		}
		t.Rows = append(t.Rows, []string{
			fmt.Sprintf("%.4g mm", p.AtMM), travel(r, x, p.TravelMM), strings.Join(foils, ", ") +
				" µm", r.Write(words.Pattern(p.Pattern)), listed(r, p.Pairs),
		})
		t.Go = append(t.Go, &place3D{Movement: x.Movement, TravelMM: p.TravelMM})
	}
	return append(out, t)
}

// disclusionTable tells how the posterior teeth disocclude.
func disclusionTable(r words.Reader, x *findings.Excursion) []factTable {
	if len(x.Disclusion) == 0 {
		return nil
	}
	t := newTable(r, "disclusion.table", "head.tooth", "disclusion.from", "disclusion.at1", "disclusion.at2",
		"disclusion.at3", "disclusion.edge", "disclusion.end")
	t.Folded, t.Note = true, r.Write(words.FirstMolars(x))
	if c := x.Guidance; c != nil && c.EdgeToEdgeMM != nil {
		t.Head[5] = r.Say("disclusion.edge.at", language.With{"at": *c.EdgeToEdgeMM})
	}
	for _, d := range x.Disclusion {
		clear := r.Say("disclusion.never")
		if d.ClearsMM != nil {
			clear = r.Say("disclusion.clear", language.With{"at": *d.ClearsMM})
		}
		if d.Immediate {
			clear = r.Say("disclusion.immediate")
		}
		row := []string{d.Tooth.In(r.Notation), clear}
		for _, at := range [...]string{"1", "2", "3", "edge", "end"} {
			cell := r.Say("dash")
			if v, ok := d.ClearanceMM[at]; ok {
				cell = quantity(r, v, "mm")
			}
			row = append(row, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	return []factTable{t}
}

// optional is a number that may not be known.
func optional(r words.Reader, v *float64, unit string) string {
	if v == nil {
		return r.Say("dash")
	}
	return quantity(r, *v, unit)
}

func smoothness(r words.Reader, s *findings.Smoothness) string {
	return r.Say("smoothness", language.With{"changes": s.Switches, "turning": s.TurningDegPerMM, "even": s.Evenness})
}

// listed writes sentences with commas.
func listed(r words.Reader, list []findings.Sentence) string {
	return r.Write(language.Join(language.Commas(list)))
}

// travel writes a travel, and whether it is beyond the edge-to-edge position.
func travel(r words.Reader, x *findings.Excursion, mm float64) string {
	with := language.With{"at": mm}
	if c := x.Guidance; c != nil && c.EdgeToEdgeMM != nil && mm > *c.EdgeToEdgeMM {
		with["edge"] = language.Say("restore.beyond")
	}
	return r.Say("movement.at", with)
}
