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
)

// Caution is said wherever findings are read.
const Caution = "An aid to examination, not a diagnosis: the licensed clinician decides. Tooth reduction cannot be undone. Local rules apply."

// summaryTravels are the travels, in mm, at which movements are summed up.
var summaryTravels = [...]float64{1, 2, 3}

// summaryFindings is how many findings the summary shows.
const summaryFindings = 20

// TextOptions say how [WriteSummary] writes.
type TextOptions struct {
	// Colour is for a terminal that shows colours.
	Colour bool
}

// WriteSummary writes what a person wants to know first, in lines for a
// terminal.
func WriteSummary(w io.Writer, f *occlusion.Findings, o TextOptions) error {
	t := &terminal{bufio.NewWriter(w), o.Colour}
	if f.Name != "" {
		t.line(t.paint(f.Name, bold) + "\n")
	}
	sayCasts(t, f)
	sayFindings(t, f)
	for i := range f.Excursions {
		sayMovement(t, f, &f.Excursions[i])
	}
	if s := cuspTable(f); s != "" {
		t.heading("Supporting cusps of the first molars (in brackets: by rotation alone)")
		t.line(s)
	}
	if lines := facetLines(f); len(lines) > 0 {
		t.heading("Wear facets")
		for _, s := range lines {
			t.text(s)
		}
	}
	if len(f.Restore) > 0 {
		t.heading("Teeth to be restored")
		for i := range f.Restore {
			t.text(f.Restore[i].Text.In(f.Notation))
		}
	}
	t.line("")
	t.text(Caution)
	return t.w.Flush()
}

// sayCasts says how the casts are mounted, whether that can be trusted, and what they
// show closed.
func sayCasts(t *terminal, f *occlusion.Findings) {
	n := f.Notation
	t.say("Mounting", mounting(f))
	right, left := &f.Settings.Right, &f.Settings.Left
	t.say("Settings", fmt.Sprintf("intercondylar %.4g mm; to the %s plane: right %s; left %s", f.Settings.IntercondylarMM,
		strings.ReplaceAll(string(f.Settings.ReferencePlane), "_", "-"), sideWords(right.CondylarInclinationDeg, right.SideShiftAngleDeg, right.ImmediateSideShiftMM),
		sideWords(left.CondylarInclinationDeg, left.SideShiftAngleDeg, left.ImmediateSideShiftMM)))
	if s := f.Settling.Text.In(n); s != "" {
		t.say("Relation", s)
	} else {
		t.say("Relation", relation(f))
	}
	t.say("At rest", atRest(f))
	m := &f.Centric.Mounting
	how := map[occlusion.Verdict]tone{occlusion.Acceptable: green, occlusion.Undecided: yellow, occlusion.Remount: red}[m.Verdict]
	t.entry("Verdict", "mounting "+verdictWords(m.Verdict)+".", how, verdictReasons(n, m))
	if s := f.Centric.StopsText.In(n); s != "" {
		t.say("Stops", s)
	}
	if s := f.Centric.FoilText.In(n); s != "" {
		t.say("Foil", s)
	}
	if f.Yielding != nil && len(f.Yielding.Order) > 0 {
		t.say("Under load", f.Yielding.Text().In(n))
	}
	if f.Arches != nil {
		t.say("Arches", f.Arches.Text.In(n))
	}
	if f.Record != nil {
		t.say("Mouth", f.Record.Text.In(n))
	}
	for _, s := range f.Warnings {
		t.say("Note", s)
	}
}

// sayFindings lists the findings of all movements.
func sayFindings(t *terminal, f *occlusion.Findings) {
	list := bySeverity(f)
	if len(list) == 0 {
		return
	}
	t.heading("Findings, most important first")
	for i, g := range list {
		if i == summaryFindings {
			t.line(fmt.Sprintf("     and %d more in findings.json", len(list)-i))
			break
		}
		t.item(g.Severity, weight(g), g.Text.In(f.Notation)+holds(g))
	}
	if slices.ContainsFunc(list, func(g *occlusion.Finding) bool { return g.Holds != "not tried" }) {
		t.text("(In brackets: whether it holds if condylar inclination or side shift angle is 5° less or more, or the axis 5 mm off. Settings are averages unless they were recorded; casts are rigid, teeth are not.)")
	}
}

// sayMovement sums up a movement.
func sayMovement(t *terminal, f *occlusion.Findings, x *occlusion.Excursion) {
	t.heading(movementTitle(x.Movement))
	t.line(movementTable(f.Notation, x, labelled(f)))
	if x.EndedMM != nil {
		t.text(fmt.Sprintf("At %.4g mm %s.", *x.EndedMM, x.Ended))
	}
	if s := course(f.Notation, x); s != "" && labelled(f) {
		t.text(s)
	}
	if s := firstMolars(f.Notation, x); s != "" {
		t.text(s)
	}
}

// weight is the tone of a finding: red where it carries and should not, as far as the
// scans can tell, none where it is only for orientation.
func weight(g *occlusion.Finding) tone {
	switch g.Kind {
	case occlusion.KindNonworkingCarries, occlusion.KindBackCarries, occlusion.KindLingualCarries:
		if !g.Doubtful {
			return red
		}
	case occlusion.KindGuidance:
		return plain
	}
	return yellow
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
	switch how := f.Settling.How; {
	case how == "rest":
		s = fmt.Sprintf("pressed together until they lock, moved by %.0f µm", f.Settling.MovedUm)
	case how == "lift" && f.Settling.MovedUm >= 0.5:
		s = fmt.Sprintf("lifted out of their overlap by %.0f µm", f.Settling.MovedUm)
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
	switch {
	case len(c.Contacts) == 0:
	case !labelled(f):
		s += ", contact in " + places(c.Contacts)
	default:
		s += ", contact " + nearPairs(f.Notation, c.Contacts)
	}
	return s
}

// nearPairs lists the pairs of contacts foil by foil, the thinnest first, each pair
// at the first foil that finds it.
func nearPairs(n dentition.Notation, contacts []occlusion.Contact) string {
	var foils []float64
	first := map[string]float64{}
	for _, c := range contacts {
		p := pair(n, c.Upper, c.Lower)
		if um, ok := first[p]; !ok || c.FoilUm < um {
			first[p] = c.FoilUm
		}
		if !slices.Contains(foils, c.FoilUm) {
			foils = append(foils, c.FoilUm)
		}
	}
	slices.Sort(foils)
	var out []string
	for _, um := range foils {
		var at []string
		for _, p := range sortedKeys(first) {
			if first[p] == um {
				at = append(at, p)
			}
		}
		if len(at) > 0 {
			out = append(out, fmt.Sprintf("within %g µm at %s", um, strings.Join(at, ", ")))
		}
	}
	return strings.Join(out, "; ")
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
	if g.Holds == "not tried" {
		return ""
	}
	return " (" + g.Holds + ")"
}

// verdictWords say whether the mounting can be trusted.
func verdictWords(v occlusion.Verdict) string {
	if v == occlusion.Remount {
		return "not acceptable, remount"
	}
	return string(v)
}

// verdictReasons say what a verdict rests on.
func verdictReasons(n dentition.Notation, m *occlusion.Mounting) string {
	s := ""
	for _, r := range m.Reasons {
		s += " " + r.In(n)
	}
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
func pairs(n dentition.Notation, contacts []occlusion.Contact) string {
	var out []string
	for _, c := range contacts {
		s := pair(n, c.Upper, c.Lower)
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

func pair(n dentition.Notation, up, lo occlusion.Part) string { return occlusion.PairIn(n, up, lo) }
