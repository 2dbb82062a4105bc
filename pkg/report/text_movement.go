package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

func movementTitle(m string) string {
	switch m {
	case "right":
		return "Right lateral movement (right side working)"
	case "left":
		return "Left lateral movement (left side working)"
	}
	return "Protrusive movement"
}

// group is a part of the arch whose clearance the summary gives.
type group struct {
	title string
	holds func(t dentition.ToothID) bool
}

var groups = [...]group{
	{"right back teeth clear", func(t dentition.ToothID) bool { return !t.Type().Anterior() && t.Side() == dentition.Right }},
	{"front teeth clear", func(t dentition.ToothID) bool { return t.Type().Anterior() }},
	{"left back teeth clear", func(t dentition.ToothID) bool { return !t.Type().Anterior() && t.Side() == dentition.Left }},
}

// cellWidth is the width, in letters, at which cells of tables are broken.
const cellWidth = 16

// newTable is a table without borders.
func newTable() table.Writer {
	t := table.NewWriter()
	t.SetStyle(table.StyleLight)
	t.Style().Format.Header = text.FormatDefault
	t.Style().Options.DrawBorder, t.Style().Options.SeparateColumns = false, false
	t.Style().Box.PaddingLeft = ""
	t.Style().Box.PaddingRight = "  "
	t.SuppressTrailingSpaces()
	return t
}

// movementTable has a row for each of the travels that are summed up.
func movementTable(n dentition.Notation, x *occlusion.Excursion, labelled bool) string {
	if len(x.Frames) == 0 {
		return "no position in which the casts meet"
	}
	t := newTable()
	narrow := []table.ColumnConfig{{Number: 3, WidthMax: cellWidth}, {Number: 4, WidthMax: cellWidth}}
	for i := range groups {
		narrow = append(narrow, table.ColumnConfig{Number: 5 + i, WidthMax: cellWidth})
	}
	for i := range narrow {
		narrow[i].WidthMaxEnforcer = text.WrapSoft
	}
	t.SetColumnConfigs(narrow)
	head := table.Row{"travel mm", "opening", "carried by", "contacts"}
	if labelled {
		for _, g := range groups {
			head = append(head, g.title)
		}
	}
	t.AppendHeader(head)
	for _, i := range summaryFrames(x) {
		fr := &x.Frames[i]
		row := table.Row{fmt.Sprintf("%.4g", fr.TravelMM), fmt.Sprintf("%.3f°", fr.OpeningDeg), "guidance", pairs(n, fr.Contacts)}
		if fr.Carrier != nil {
			row[2] = pair(n, fr.Carrier.Upper, fr.Carrier.Lower)
		}
		if !labelled {
			row[3] = places(fr.Contacts)
			if fr.Carrier != nil {
				row[2] = "teeth"
			}
		}
		if fr.Interference != nil {
			row[2] = fmt.Sprintf("meets early: %s by %.0f µm", pair(n, fr.Interference.Upper, fr.Interference.Lower), fr.Interference.HeightUm)
		}
		if labelled {
			for _, g := range groups {
				row = append(row, leastClear(n, fr, g))
			}
		}
		t.AppendRow(row)
	}
	return t.Render()
}

// leastClear is the least clearance of a group of teeth, with the teeth that have
// it.
func leastClear(n dentition.Notation, fr *occlusion.Frame, g group) string {
	least := math.Inf(1)
	var at []dentition.ToothID
	for _, p := range sortedKeys(fr.ClearanceMM) {
		t, err := dentition.ParseTooth(p)
		if err != nil || !g.holds(t) {
			continue
		}
		switch d := fr.ClearanceMM[p]; {
		case d < least:
			least, at = d, []dentition.ToothID{t}
		case d == least:
			at = append(at, t)
		}
	}
	if math.IsInf(least, 1) {
		return "–"
	}
	separator := ", "
	if len(at) == 2 && at[0].Jaw() != at[1].Jaw() {
		separator = "/"
	}
	var codes []string
	for _, t := range at {
		codes = append(codes, n.Format(t))
	}
	names := strings.Join(codes, separator)
	if least < 0.0005 {
		return "contact (" + names + ")"
	}
	return fmt.Sprintf("%.2f mm (%s)", least, names)
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// summaryFrames picks the frames nearest to the travels that are summed up,
// and the last.
func summaryFrames(x *occlusion.Excursion) []int {
	var out []int
	last := len(x.Frames) - 1
	add := func(i int) {
		if !slices.Contains(out, i) {
			out = append(out, i)
		}
	}
	for _, travel := range summaryTravels {
		if travel > x.Frames[last].TravelMM {
			break
		}
		best := 0
		for i := range x.Frames {
			if math.Abs(x.Frames[i].TravelMM-travel) < math.Abs(x.Frames[best].TravelMM-travel) {
				best = i
			}
		}
		add(best)
	}
	add(last)
	return out
}

// course says which pairs carry the movement, one after the other, at which
// inclination, and what carries past the edge-to-edge position.
func course(n dentition.Notation, x *occlusion.Excursion) string {
	if x.Guidance == nil {
		return ""
	}
	var before, past []string
	for _, s := range x.Guidance.Stretches {
		span := fmt.Sprintf("%.4g–%.4g mm", s.FromMM, s.ToMM)
		if s.FromMM == s.ToMM {
			span = fmt.Sprintf("at %.4g mm", s.FromMM)
		}
		if s.ToothDeg != nil && !s.PastEdge {
			span += fmt.Sprintf(", %.0f°", *s.ToothDeg)
		}
		words := pair(n, s.Upper, s.Lower) + " (" + span + ")"
		if s.PastEdge {
			past = append(past, words)
		} else {
			before = append(before, words)
		}
	}
	out := "Carried in turn by " + strings.Join(before, ", ")
	if x.Guidance.EdgeToEdgeMM != nil {
		out += fmt.Sprintf("; edge to edge at %.4g mm", *x.Guidance.EdgeToEdgeMM)
	}
	if len(past) > 0 {
		out += ", past it by " + strings.Join(past, ", ")
	}
	return out + "."
}
