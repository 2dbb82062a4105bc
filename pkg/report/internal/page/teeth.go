package page

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/chart"
	"github.com/cusptrace/cusptrace/pkg/report/internal/plan"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// toothCard is everything about a tooth: a row of the table that says what the occlusal
// chart shows, and a card.
type toothCard struct {
	ID, Code, Name string
	State          string // missing, to be restored
	// Closed, Stops, Guides and Found are the row: what thin foil does, the stops, the
	// movements that the tooth guides, and the findings by their numbers.
	Closed, Stops, Guides, Found string
	Missing                      bool
	Numbers                      []int // of its findings
	Card                         facts
	// Of are its findings.
	Of []judgement
}

// toothCards has a card for each tooth along the arches, the upper one first.
func toothCards(r words.Reader, f *findings.Findings, list []judgement) []toothCard {
	present := slices.Concat(f.Scans.Upper.Teeth, f.Scans.Lower.Teeth)
	gone := plan.Missing(present)
	all := slices.Concat(present, gone)
	slices.SortStableFunc(all, func(a, b dentition.ToothID) int {
		if a.Jaw() != b.Jaw() {
			return int(a.Jaw()) - int(b.Jaw())
		}
		return chart.Place(a.String()) - chart.Place(b.String())
	})
	var out []toothCard
	for _, t := range all {
		c := toothCard{ID: "tooth-" + t.String(), Code: r.Notation.Format(t), Name: t.Name(), Missing: slices.Contains(gone, t)}
		if c.Missing {
			c.State = r.Say("plan.missing")
		} else {
			c.fill(r, f, findings.Part(t), list)
		}
		out = append(out, c)
	}
	return out
}

func (c *toothCard) fill(r words.Reader, f *findings.Findings, t findings.Part, list []judgement) {
	add := func(key, value string) {
		if value != "" {
			c.Card.Facts = append(c.Card.Facts, fact{r.Say(key), value})
		}
	}
	for i := range f.Centric.Teeth {
		if x := &f.Centric.Teeth[i]; x.Tooth == t {
			c.Closed = r.Say("card.closed.text", language.With{"class": language.Say("class." + string(x.Class)), "gap": language.Um(x.GapUm)})
		}
	}
	add("card.closed", c.Closed)
	for i := range f.Centric.Support {
		if x := &f.Centric.Support[i]; x.Tooth == t {
			c.Stops = fmt.Sprint(x.Stops)
			add("card.stops", r.Write(x.Text))
		}
	}
	var guided, guides []string
	for i := range f.Excursions {
		x := &f.Excursions[i]
		if s := guiding(r, x, t); s != "" {
			guided, guides = append(guided, r.Write(findings.NameMovement(x.Movement))), append(guides, s)
		}
	}
	c.Guides = strings.Join(guided, ", ")
	add("card.guides", strings.Join(guides, "; "))
	var numbers []string
	for _, j := range list {
		if slices.Contains(j.Teeth, t) {
			c.Of, c.Numbers = append(c.Of, j), append(c.Numbers, j.Number)
			numbers = append(numbers, fmt.Sprint(j.Number))
		}
	}
	c.Found = strings.Join(numbers, ", ")
	for i := range f.Facets {
		if w := &f.Facets[i]; w.Tooth == t {
			add("card.facet", facetLine(r, w))
		}
	}
	for i := range f.Restore {
		if x := &f.Restore[i]; x.Tooth == t {
			c.State = r.Say("plan.restored")
			add("card.restore", r.Write(x.Text))
		}
	}
	if f.Record != nil {
		for i := range f.Record.Teeth {
			if x := &f.Record.Teeth[i]; x.Tooth == t {
				add("card.mouth", r.Say("card.mouth.text", language.With{"mouth": language.Say("class." + string(x.Mouth)),
					"match": language.Say("match." + string(x.Match))}))
			}
		}
	}
	if rows := clearances(r, f, t); len(rows.Rows) > 0 {
		c.Card.Tables = append(c.Card.Tables, rows)
	}
}

// guiding is where a tooth guides a movement, and with what; empty where it does not.
func guiding(r words.Reader, x *findings.Excursion, t findings.Part) string {
	if x.Guidance == nil {
		return ""
	}
	var parts []language.Sentence
	for _, s := range x.Guidance.Stretches {
		with := s.Lower
		switch t {
		case s.Upper:
		case s.Lower:
			with = s.Upper
		default:
			continue
		}
		say := language.With{"with": with, "span": findings.Span(s.FromMM, s.ToMM)}
		if s.PastEdge {
			say["edge"] = language.Say("restore.beyond")
		}
		parts = append(parts, language.Say("card.guides.text", say))
	}
	if len(parts) == 0 {
		return ""
	}
	return r.Say("card.guides.in", language.With{"movement": findings.NameMovement(x.Movement), "spans": language.Commas(parts)})
}

func facetLine(r words.Reader, w *findings.WearFacet) string {
	var ground []language.Sentence
	for _, m := range w.GroundBy {
		ground = append(ground, findings.NameMovement(m))
	}
	if len(ground) == 0 {
		ground = append(ground, language.Say("facets.unexplained"))
	}
	return r.Say("card.facet.text", language.With{"number": w.Number, "area": w.AreaMM2, "by": language.Commas(ground)})
}

// clearances are those of a tooth at the travels that are summed up, a movement a row.
func clearances(r words.Reader, f *findings.Findings, t findings.Part) factTable {
	out := newTable(r, "card.clearance", "head.movement", "disclusion.at1", "disclusion.at2", "disclusion.at3", "card.least")
	for i := range f.Excursions {
		x := &f.Excursions[i]
		row := []string{r.Write(findings.NameMovement(x.Movement))}
		least, known := 0.0, false
		cells := map[float64]string{}
		for k := range x.Frames {
			v, ok := x.Frames[k].ClearanceMM[t.String()]
			if !ok {
				continue
			}
			at := x.Frames[k].TravelMM
			if at >= 1 && (!known || v < least) {
				least, known = v, true
			}
			for _, sum := range words.SummaryTravels {
				if math.Abs(at-sum) < 1e-9 {
					cells[sum] = quantity(r, v, "mm")
				}
			}
		}
		if !known {
			continue
		}
		for _, at := range words.SummaryTravels {
			row = append(row, orDash(r, cells[at]))
		}
		out.Rows, out.Go = append(out.Rows, append(row, quantity(r, least, "mm"))), append(out.Go, &place3D{Movement: x.Movement, TravelMM: 1})
	}
	return out
}
