package page

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/chart"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// jawStops is the table of an arch.
type jawStops struct {
	Title string
	Teeth []toothStop
}

type toothStop struct {
	Code, Name, Gap, Meets, Incline string
	Thin                            foilMark // what thin foil does
	Foils                           []foilMark
	Go                              *place3D
}

// foilMark is what a foil does at a tooth, or whether the tooth comes within its
// thickness of the opposing arch: the name of a style of the page, and words.
type foilMark struct{ Style, Words string }

// centricStops has a row for each tooth, along the arches.
func centricStops(r words.Reader, f *findings.Findings) []jawStops {
	out := []jawStops{{Title: r.Say("closing.upper")}, {Title: r.Say("closing.lower")}}
	teeth := slices.Clone(f.Centric.Teeth)
	slices.SortStableFunc(teeth, func(a, b findings.CentricTooth) int {
		return chart.Place(a.Tooth.String()) - chart.Place(b.Tooth.String())
	})
	for _, t := range teeth {
		id := t.Tooth.Tooth()
		row := toothStop{Code: t.Tooth.In(r.Notation), Name: id.Name(), Gap: quantity(r, t.GapUm, "µm"),
			Thin: foilMark{string(t.Class), class(r, t.Class)}}
		for _, foil := range words.FoilsOf(f) {
			row.Foils = append(row.Foils, foilMark{string(t.Foil[foil]), yesNo(r, t.Foil[foil] == findings.FoilHolds)})
		}
		var meets, inclines []string
		for _, c := range f.Centric.Contacts {
			other, incline := c.Lower, c.InclineDeg.Upper
			switch t.Tooth {
			case c.Upper:
			case c.Lower:
				other, incline = c.Upper, c.InclineDeg.Lower
			default:
				continue
			}
			if row.Go == nil {
				row.Go = &place3D{Point: (*[3]float64)(&c.PointMM)}
			}
			if s := other.In(r.Notation); !slices.Contains(meets, s) {
				meets = append(meets, s)
			}
			if incline != nil {
				if s := fmt.Sprintf("%.0f°", *incline); !slices.Contains(inclines, s) {
					inclines = append(inclines, s)
				}
			}
		}
		row.Meets, row.Incline = orDash(r, strings.Join(meets, ", ")), orDash(r, strings.Join(inclines, ", "))
		jaw := &out[0]
		if id.Jaw() == dentition.Lower {
			jaw = &out[1]
		}
		jaw.Teeth = append(jaw.Teeth, row)
	}
	return slices.DeleteFunc(out, func(j jawStops) bool { return len(j.Teeth) == 0 })
}

// class says what foil does at a tooth.
func class(r words.Reader, c findings.HoldClass) string { return r.Say("class." + string(c)) }

// underLoad tells in which order pairs come into contact as the closing force rises.
func underLoad(r words.Reader, y *findings.Yielding) facts {
	if y == nil || len(y.Order) == 0 {
		return facts{}
	}
	out := facts{Title: r.Say("load.title"), Text: r.Say("load.text")}
	t := newTable(r, "load.table", "load.force", "load.pairs")
	for i := 0; i < len(y.Order); {
		from := y.Order[i].FromN
		var joined []string
		for ; i < len(y.Order) && y.Order[i].FromN == from; i++ {
			joined = append(joined, pair(r, y.Order[i].Upper, y.Order[i].Lower))
		}
		t.Rows = append(t.Rows, []string{quantity(r, from, "N"), strings.Join(joined, ", ")})
	}
	out.Tables = append(out.Tables, t)
	return out
}

// givenPart tells in which order pairs of teeth meet as the casts close, as they were
// given and as they were examined.
func givenPart(r words.Reader, f *findings.Findings) facts {
	out := facts{Title: r.Say("label.given")}
	steps := func(key string, list []findings.Step, places bool) {
		if len(list) == 0 {
			return
		}
		t := newTable(r, key, "head.teeth", "staircase.high")
		t.Folded, t.Note = true, r.Say("staircase.note")
		for i := range list {
			t.Rows = append(t.Rows, []string{pair(r, list[i].Upper, list[i].Lower), optional(r, list[i].HeightUm, "µm")})
			if places {
				t.Go = append(t.Go, &place3D{Point: (*[3]float64)(&list[i].PointMM)})
			}
		}
		out.Tables = append(out.Tables, t)
	}
	if g := f.Settling.Given; g != nil {
		out.Text = r.Write(g.Text)
		steps("staircase.given", g.Staircase, false)
	}
	steps("staircase.examined", f.Centric.Staircase, true)
	return out
}
