package report

import (
	"bufio"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// Caution is said wherever findings are read.
const Caution = "An aid to examination, not a diagnosis: the licensed clinician decides. Tooth reduction cannot be undone. Local rules apply."

// summaryTravels are the travels, in mm, at which movements are summed up.
var summaryTravels = [...]float64{1, 2, 3}

// summaryFindings is how many findings the summary shows.
const summaryFindings = 20

// WriteSummary writes what a person wants to know first.
func WriteSummary(w io.Writer, f *occlusion.Findings) error {
	buf := bufio.NewWriter(w)
	p := func(format string, args ...any) { fmt.Fprintf(buf, format, args...) }
	if f.Name != "" {
		p("%s\n\n", f.Name)
	}
	p("Mounting   %s\n", mounting(f))
	p("Settings   intercondylar %.4g mm; to the %s plane: right %s; left %s\n", f.Settings.IntercondylarMM,
		strings.ReplaceAll(string(f.Settings.ReferencePlane), "_", "-"), sideWords(f.Settings.Right.CondylarInclinationDeg, f.Settings.Right.SideShiftAngleDeg, f.Settings.Right.ImmediateSideShiftMM),
		sideWords(f.Settings.Left.CondylarInclinationDeg, f.Settings.Left.SideShiftAngleDeg, f.Settings.Left.ImmediateSideShiftMM))
	p("Relation   %s\n", relation(f))
	if f.Settling.Text != "" {
		p("Settling   %s\n", f.Settling.Text)
	}
	p("At rest    %s\n", atRest(f))
	if f.Yielding != nil && len(f.Yielding.Order) > 0 {
		p("Under load %s\n", f.Yielding.Text())
	}
	p("Verdict    mounting %s\n", verdict(f))
	if f.Record != nil {
		p("Mouth      %s\n", f.Record.Text)
	}
	for _, s := range f.Warnings {
		p("Note       %s\n", s)
	}
	if list := bySeverity(f); len(list) > 0 {
		p("\nFindings, most important first\n")
		for i, g := range list {
			if i == summaryFindings {
				p("     and %d more in findings.json\n", len(list)-i)
				break
			}
			p("%3d  %s%s\n", g.Severity, g.Text, holds(g))
		}
		if !slices.ContainsFunc(list, func(g *occlusion.Finding) bool { return g.Holds != "not tried" }) {
			p("     (--other-settings tries which of these hold with other condylar settings)\n")
		}
	}
	for _, x := range f.Excursions {
		p("\n%s\n", movementTitle(x.Movement))
		p("%s\n", movementTable(&x, labelled(f)))
		if x.EndedMM != nil {
			p("At %.4g mm %s.\n", *x.EndedMM, x.Ended)
		}
		if s := course(&x); s != "" && labelled(f) {
			p("%s\n", s)
		}
	}
	p("\n%s\n", Caution)
	return buf.Flush()
}

func mounting(f *occlusion.Findings) string {
	switch f.Mount.How {
	case "recorded":
		return "recorded hinge axis"
	case "matrix":
		return "by a given matrix"
	}
	if f.Mount.PointsFound {
		return "average values, points found on the labelled lower arch"
	}
	return "average values, points as given"
}

func sideWords(h, b, s float64) string {
	t := fmt.Sprintf("condylar inclination %.4g°, side shift angle %.4g°", h, b)
	if s > 0 {
		t += fmt.Sprintf(", immediate side shift %.4g mm", s)
	}
	return t
}

func relation(f *occlusion.Findings) string {
	s := "as scanned"
	if f.Settling.How != "none" {
		s = fmt.Sprintf("settled (%s), moved by %.0f µm", f.Settling.How, f.Settling.MovedUm)
	}
	if u := f.Settling.LargestOverlapUm; u >= 0.5 {
		return s + fmt.Sprintf("; the surfaces overlap by up to %.0f µm", u)
	}
	return s + "; the surfaces do not overlap"
}

func atRest(f *occlusion.Findings) string {
	c := &f.Centric
	s := fmt.Sprintf("closes on the hinge to %+.3f°", math.Round(1000*c.OpeningDeg)/1000+0) // + 0: no minus before a zero
	if c.OpeningDeg > 0.005 {
		s += " (held open)"
	}
	switch n := len(c.Contacts); {
	case n == 0:
	case !labelled(f):
		s += ", touching in " + places(c.Contacts)
	default:
		s += ", touching at " + pairs(c.Contacts)
	}
	return s
}

// bySeverity lists the findings of all movements, most important first.
func bySeverity(f *occlusion.Findings) []*occlusion.Finding {
	var all []*occlusion.Finding
	for i := range f.Excursions {
		for k := range f.Excursions[i].Findings {
			all = append(all, &f.Excursions[i].Findings[k])
		}
	}
	slices.SortStableFunc(all, func(a, b *occlusion.Finding) int { return cmp.Compare(a.Severity, b.Severity) })
	return all
}

// holds says whether a finding survives other settings.
func holds(g *occlusion.Finding) string {
	if g.Holds == "holds" || g.Holds == "not tried" {
		return ""
	}
	return " This " + g.Holds + "."
}

// verdict says whether the mounting can be trusted and why.
func verdict(f *occlusion.Findings) string {
	m := &f.Centric.Mounting
	words := string(m.Verdict)
	if m.Verdict == occlusion.Remount {
		words = "not acceptable, remount"
	}
	s := words + ". " + strings.Join(m.Reasons, " ")
	if m.Tilt != nil {
		s += " As if " + m.Tilt.Words + "."
	}
	return s
}

// labelled says whether any tooth is known.
func labelled(f *occlusion.Findings) bool {
	return len(f.Scans.Upper.Teeth)+len(f.Scans.Lower.Teeth) > 0
}

// places counts contacts, each at the thickest foil that finds it.
func places(contacts []occlusion.Contact) string {
	thickest, n := 0.0, 0
	for _, c := range contacts {
		thickest = max(thickest, c.FoilUm)
	}
	for _, c := range contacts {
		if c.FoilUm == thickest {
			n++
		}
	}
	if n == 1 {
		return fmt.Sprintf("1 place within %g µm", thickest)
	}
	return fmt.Sprintf("%d places within %g µm", n, thickest)
}

// pairs lists the tooth pairs of contacts, without repeats.
func pairs(contacts []occlusion.Contact) string {
	var out []string
	for _, c := range contacts {
		s := pair(c.Upper, c.Lower)
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

func pair(up, lo occlusion.Part) string {
	return up.String() + "/" + lo.String()
}

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

// movementTable has a row for each of the travels that are summed up.
func movementTable(x *occlusion.Excursion, labelled bool) string {
	if len(x.Frames) == 0 {
		return "no position in which the casts meet"
	}
	t := table.NewWriter()
	t.SetStyle(table.StyleLight)
	t.Style().Format.Header = text.FormatDefault
	t.Style().Options.SeparateRows = false
	head := table.Row{"travel mm", "opening", "carried by", "contacts"}
	if labelled {
		for _, g := range groups {
			head = append(head, g.title)
		}
	}
	t.AppendHeader(head)
	for _, i := range summaryFrames(x) {
		fr := &x.Frames[i]
		row := table.Row{fmt.Sprintf("%.4g", fr.TravelMM), fmt.Sprintf("%.3f°", fr.OpeningDeg), "guidance", pairs(fr.Contacts)}
		if fr.Carrier != nil {
			row[2] = pair(fr.Carrier.Upper, fr.Carrier.Lower)
		}
		if !labelled {
			row[3] = places(fr.Contacts)
			if fr.Carrier != nil {
				row[2] = "teeth"
			}
		}
		if fr.Interference != nil {
			row[2] = fmt.Sprintf("meets early: %s by %.0f µm", pair(fr.Interference.Upper, fr.Interference.Lower), fr.Interference.HeightUm)
		}
		if labelled {
			for _, g := range groups {
				row = append(row, leastClear(fr, g))
			}
		}
		t.AppendRow(row)
	}
	return t.Render()
}

// leastClear is the least clearance of a group of teeth, with its pair of teeth.
func leastClear(fr *occlusion.Frame, g group) string {
	least := math.Inf(1)
	var at []string
	for _, p := range sortedKeys(fr.ClearanceMM) {
		t, err := dentition.ParseTooth(p)
		if err != nil || !g.holds(t) {
			continue
		}
		switch d := fr.ClearanceMM[p]; {
		case d < least:
			least, at = d, []string{p}
		case d == least:
			at = append(at, p)
		}
	}
	if math.IsInf(least, 1) {
		return "–"
	}
	if least < 0.0005 {
		return "contact (" + strings.Join(at, "/") + ")"
	}
	return fmt.Sprintf("%.2f mm (%s)", least, strings.Join(at, "/"))
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

// course says which pairs carry the movement, one after the other.
func course(x *occlusion.Excursion) string {
	var out []string
	from := 0.0
	for i := range x.Frames {
		fr := &x.Frames[i]
		if fr.Carrier == nil {
			return ""
		}
		end := i == len(x.Frames)-1
		if !end && x.Frames[i+1].Carrier != nil && x.Frames[i+1].Carrier.Upper == fr.Carrier.Upper && x.Frames[i+1].Carrier.Lower == fr.Carrier.Lower {
			continue
		}
		span := fmt.Sprintf("%.4g–%.4g mm", from, fr.TravelMM)
		if from == fr.TravelMM {
			span = fmt.Sprintf("at %.4g mm", from)
		}
		out = append(out, pair(fr.Carrier.Upper, fr.Carrier.Lower)+" ("+span+")")
		if !end {
			from = x.Frames[i+1].TravelMM
		}
	}
	return "Carried in turn by " + strings.Join(out, ", ") + "."
}
