package page

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
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
	Findings  []judgement
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

// glanceRow is a movement in one line.
type glanceRow struct {
	Title string
	ID    string
	Cells []string
}

// newMovement gathers what the page shows of a movement; rest are the parts of
// it that the page does not know.
func newMovement(n dentition.Notation, x *findings.Excursion, findings []judgement, rest []member) (pageMovement, error) {
	m := pageMovement{ID: "movement-" + x.Movement, Name: x.Movement, Title: words.MovementTitle(x.Movement), Short: strings.ToUpper(x.Movement[:1]) + x.Movement[1:], Far: words.Micrometres(1000 * chart.ClearanceRange)}
	if x.EndedMM != nil {
		m.Ended = fmt.Sprintf("At %.4g mm %s.", *x.EndedMM, x.Ended)
	}
	for _, j := range findings {
		if j.Movement == x.Movement {
			m.Findings = append(m.Findings, j)
		}
	}
	m.More = tell("", rest)
	if len(x.Frames) == 0 {
		return m, nil
	}
	m.Course = words.Course(n, x)
	m.rows(n, x)
	m.More.Tables = slices.Concat(guidanceTables(n, x), cuspPaths(n, x), m.More.Tables)
	if s := x.Smoothness; s != nil {
		m.More.Text = smoothnessWords(s)
	}
	return m, m.charts(n, x)
}

func (m *pageMovement) charts(n dentition.Notation, x *findings.Excursion) error {
	m.Opening = &pageChart{chart.Opening(n, x), chart.OpeningWords(n, x)}
	c, err := chart.Clearance(n, x)
	if err != nil {
		return err
	}
	if c.SVG != "" {
		m.Clearance = &pageChart{c, "Clearance of every tooth over the travel, as colour; the tables give numbers, frames.csv all of them."}
	}
	return nil
}

// rows sums the movement up as the printed summary does.
func (m *pageMovement) rows(n dentition.Notation, x *findings.Excursion) {
	labelled := false
	for name := range x.Frames[0].ClearanceMM {
		if _, err := dentition.ParseTooth(name); err == nil {
			labelled = true
		}
	}
	if labelled {
		for _, g := range words.Groups {
			m.Groups = append(m.Groups, strings.ToUpper(g.Title[:1])+g.Title[1:])
		}
	}
	for _, i := range words.SummaryFrames(x) {
		fr := &x.Frames[i]
		r := movementRow{Travel: fmt.Sprintf("%.4g mm", fr.TravelMM), Opening: fmt.Sprintf("%.2f°", fr.OpeningDeg), Carrier: "–",
			Contacts: words.Pairs(n, fr.Contacts), Go: &place3D{Movement: x.Movement, TravelMM: fr.TravelMM}}
		if c := fr.Carrier; c != nil {
			r.Carrier = words.Pair(n, c.Upper, c.Lower)
			r.Go.Point = (*[3]float64)(&c.PointMM)
		}
		if early := fr.Interference; early != nil {
			r.Carrier = fmt.Sprintf("guide; %s would meet early, by %.0f µm", words.Pair(n, early.Upper, early.Lower), early.HeightUm)
		}
		if labelled {
			for _, g := range words.Groups {
				r.Groups = append(r.Groups, words.LeastClearance(n, fr, g))
			}
		}
		m.Rows = append(m.Rows, r)
	}
}

// glance is who carries at the travels that are summed up.
func glance(n dentition.Notation, x *findings.Excursion, m *pageMovement) glanceRow {
	r := glanceRow{Title: m.Title, ID: m.ID}
	for _, travel := range words.SummaryTravels {
		cell := "–"
		for i := range x.Frames {
			if fr := &x.Frames[i]; math.Abs(fr.TravelMM-travel) < 1e-9 && fr.Carrier != nil {
				cell = words.Pair(n, fr.Carrier.Upper, fr.Carrier.Lower)
			}
		}
		r.Cells = append(r.Cells, cell)
	}
	return r
}

// guidanceTables tell who carries, in which pattern, and how the back teeth come
// clear.
func guidanceTables(n dentition.Notation, x *findings.Excursion) []factTable {
	var out []factTable
	if c := x.Guidance; c != nil {
		t := factTable{Title: "Who carries", Head: []string{"Travel", "Carried by", "Incisal path", "Way of the lower tooth", "Edge to edge"},
			Note: "Inclinations to the horizontal plane: of the incisal point's path, and of the way of the lower tooth at its touching point, seen from the front in lateral movements and from the side in protrusion."}
		for _, s := range c.Stretches {
			edge := "before"
			if s.PastEdge {
				edge = "past it"
			}
			t.Rows = append(t.Rows, []string{stretchWords(s.FromMM, s.ToMM), words.Pair(n, s.Upper, s.Lower), optional(s.InclinationDeg, "°"), optional(s.ToothDeg, "°"), edge})
			t.Go = append(t.Go, &place3D{Movement: x.Movement, TravelMM: s.FromMM})
		}
		out = append(out, t)
		t = factTable{Title: "Pattern of guidance", Head: []string{"Incisal point, horizontally", "Travel", "Foil", "Pattern", "Touching"}}
		for i := 0; i < len(c.Patterns); {
			p := &c.Patterns[i]
			var foils []string // that show the same
			for ; i < len(c.Patterns) && c.Patterns[i].AtMM == p.AtMM && c.Patterns[i].Pattern == p.Pattern && written(n, c.Patterns[i].Pairs) == written(n, p.Pairs); i++ {
				foils = append(foils, words.Micrometres(c.Patterns[i].FoilUm))
			}
			t.Rows = append(t.Rows, []string{fmt.Sprintf("%.4g mm", p.AtMM), fmt.Sprintf("%.4g mm", p.TravelMM), strings.Join(foils, ", ") + " µm", string(p.Pattern), written(n, p.Pairs)})
			t.Go = append(t.Go, &place3D{Movement: x.Movement, TravelMM: p.TravelMM})
		}
		out = append(out, t)
	}
	if len(x.Disclusion) == 0 {
		return out
	}
	edge := "Edge to edge"
	if c := x.Guidance; c != nil && c.EdgeToEdgeMM != nil {
		edge = fmt.Sprintf("Edge to edge (%.1f mm)", *c.EdgeToEdgeMM)
	}
	t := factTable{Title: "How the back teeth come clear", Note: words.FirstMolars(n, x), Head: []string{"Tooth", "Clear from", "At 1 mm", "At 2 mm", "At 3 mm", edge, "At the end"}}
	for _, d := range x.Disclusion {
		clear := "does not stay clear"
		if d.ClearsMM != nil {
			clear = fmt.Sprintf("%.1f mm", *d.ClearsMM)
		}
		if d.Immediate {
			clear = "at once"
		}
		row := []string{d.Tooth.In(n), clear}
		for _, at := range [...]string{"1", "2", "3", "edge", "end"} {
			cell := "–"
			if v, ok := d.ClearanceMM[at]; ok {
				cell = quantity(v, "mm")
			}
			row = append(row, cell)
		}
		t.Rows = append(t.Rows, row)
	}
	return append(out, t)
}

func stretchWords(from, to float64) string {
	if from == to {
		return fmt.Sprintf("at %.1f mm", from)
	}
	return fmt.Sprintf("%.1f to %.1f mm", from, to)
}

// optional is a number that may not be known.
func optional(v *float64, unit string) string {
	if v == nil {
		return "–"
	}
	return quantity(*v, unit)
}

func smoothnessWords(s *findings.Smoothness) string {
	out := fmt.Sprintf("Smoothness: the carrying pair changes %d times.", s.Switches)
	if s.Switches == 1 {
		out = "Smoothness: the carrying pair changes once."
	}
	if s.TurningDegPerMM != nil {
		out += fmt.Sprintf(" The incisal path turns by %.0f° a millimetre in all (a straight path by 0°, an arc of 10 mm by 6°).", *s.TurningDegPerMM)
	}
	if s.Evenness != nil {
		out += fmt.Sprintf(" Right and left front teeth touch for lengths of travel in the ratio %.2f (1 is even).", *s.Evenness)
	}
	return out
}

// written lists sentences.
func written(n dentition.Notation, list []findings.Sentence) string {
	var out []string
	for _, s := range list {
		out = append(out, s.In(n))
	}
	return strings.Join(out, ", ")
}
