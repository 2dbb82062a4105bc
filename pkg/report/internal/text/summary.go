// Package text writes findings in lines for a terminal.
package text

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// summaryFindings is how many findings the summary shows.
const summaryFindings = 20

// Options say how [WriteSummary] writes.
type Options struct {
	// Colour is for a terminal that shows colours.
	Colour bool
}

// WriteSummary writes what a person wants to know first, in lines for a
// terminal.
func WriteSummary(w io.Writer, f *findings.Findings, o Options) error {
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
	if lines := words.FacetLines(f); len(lines) > 0 {
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
	t.text(words.Caution)
	return t.w.Flush()
}

// sayCasts says how the casts are mounted, whether that can be trusted, and what they
// show closed.
func sayCasts(t *terminal, f *findings.Findings) {
	n := f.Notation
	t.say("Mounting", words.Mounting(f))
	right, left := &f.Settings.Right, &f.Settings.Left
	t.say("Settings", fmt.Sprintf("intercondylar %.4g mm; to the %s plane: right %s; left %s", f.Settings.IntercondylarMM,
		strings.ReplaceAll(string(f.Settings.ReferencePlane), "_", "-"), words.SideWords(right.CondylarInclinationDeg, right.SideShiftAngleDeg, right.ImmediateSideShiftMM),
		words.SideWords(left.CondylarInclinationDeg, left.SideShiftAngleDeg, left.ImmediateSideShiftMM)))
	if s := f.Settling.Text.In(n); s != "" {
		t.say("Relation", s)
	} else {
		t.say("Relation", words.Relation(f))
	}
	t.say("At rest", words.AtRest(f))
	m := &f.Centric.Mounting
	how := map[findings.Verdict]tone{findings.Acceptable: green, findings.Undecided: yellow, findings.Remount: red}[m.Verdict]
	t.entry("Verdict", "mounting "+words.VerdictWords(m.Verdict)+".", how, verdictReasons(n, m))
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
func sayFindings(t *terminal, f *findings.Findings) {
	list := words.BySeverity(f)
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
	if slices.ContainsFunc(list, func(g *findings.Finding) bool { return g.Holds.State != findings.NotTried }) {
		t.text("(In brackets: whether it holds if condylar inclination or side shift angle is 5° less or more, or the axis 5 mm off. Settings are averages unless they were recorded; casts are rigid, teeth are not.)")
	}
}

// sayMovement sums up a movement.
func sayMovement(t *terminal, f *findings.Findings, x *findings.Excursion) {
	t.heading(words.MovementTitle(x.Movement))
	t.line(movementTable(f.Notation, x, words.Labelled(f)))
	if x.EndedMM != nil {
		t.text(fmt.Sprintf("At %.4g mm %s.", *x.EndedMM, x.Ended))
	}
	if s := words.Course(f.Notation, x); s != "" && words.Labelled(f) {
		t.text(s)
	}
	if s := words.FirstMolars(f.Notation, x); s != "" {
		t.text(s)
	}
}

// weight is the tone of a finding: red where it carries and should not, as far as the
// scans can tell, none where it is only for orientation.
func weight(g *findings.Finding) tone {
	switch g.Kind {
	case findings.KindNonworkingCarries, findings.KindBackCarries, findings.KindLingualCarries:
		if !g.Doubtful {
			return red
		}
	case findings.KindGuidance:
		return plain
	}
	return yellow
}

// holds says whether a finding survives other settings.
func holds(g *findings.Finding) string {
	if g.Holds.State == findings.NotTried {
		return ""
	}
	return " (" + g.Holds.String() + ")"
}

// verdictReasons say what a verdict rests on.
func verdictReasons(n dentition.Notation, m *findings.Mounting) string {
	s := ""
	for _, r := range m.Reasons {
		s += " " + r.In(n)
	}
	if m.Tilt != nil {
		s += " As if " + m.Tilt.Words + "."
	}
	return s
}
