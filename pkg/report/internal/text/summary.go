// Package text writes findings in lines for a terminal.
package text

import (
	"bufio"
	"io"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/internal/plaintext"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// summaryFindings is how many findings the summary shows.
const summaryFindings = 20

// Options say how text is written.
type Options struct {
	Colour   bool // for a terminal that shows colours
	Language *language.Language
}

// WriteSummary writes what a person wants to know first.
func WriteSummary(w io.Writer, f *findings.Findings, o Options) error {
	t := &terminal{bufio.NewWriter(w), o.Colour, words.Reader{Language: o.Language, Notation: f.Notation}}
	if head := strings.TrimSpace(f.Name + "  " + string(f.Date)); head != "" {
		t.line(t.paint(plaintext.Line(head), bold) + "\n")
	}
	sayCasts(t, f)
	sayFindings(t, f)
	for i := range f.Excursions {
		sayMovement(t, f, &f.Excursions[i])
	}
	if s := cuspTable(t.r, f); s != "" {
		t.heading("cusps.title")
		t.line(s)
	}
	if lines := words.Facets(f); len(lines) > 0 {
		t.heading("facets.title")
		for _, s := range lines {
			t.text(s)
		}
	}
	if len(f.Restore) > 0 {
		t.heading("restore.title")
		for i := range f.Restore {
			t.text(f.Restore[i].Text)
		}
	}
	t.line("")
	t.text(language.Say("caution"))
	return t.w.Flush()
}

// sayCasts says how the casts are mounted, whether that can be trusted, and what they
// show closed.
func sayCasts(t *terminal, f *findings.Findings) {
	t.say("label.mounting", words.Mounting(f))
	t.say("label.settings", words.Settings(f))
	if f.Settling.Given != nil && words.Labelled(f) {
		t.say("label.given", f.Settling.Given.Text)
	}
	if s := f.Settling.Text; !s.Empty() {
		t.say("label.relation", s)
	} else {
		t.say("label.relation", words.Relation(f))
	}
	t.say("label.closed", words.Closed(f))
	m := &f.Centric.Mounting
	how := map[findings.Verdict]tone{findings.Acceptable: green, findings.Undecided: yellow, findings.Remount: red}[m.Verdict]
	reasons := ""
	for _, s := range words.Reasons(m) {
		reasons += " " + t.r.Write(s)
	}
	t.entry("label.verdict", t.r.Write(words.Verdict(m.Verdict))+".", how, reasons)
	t.say("label.stops", f.Centric.StopsText)
	t.say("label.foil", f.Centric.FoilText)
	if f.Yielding != nil && len(f.Yielding.Order) > 0 {
		t.say("label.load", f.Yielding.Text())
	}
	if f.Arches != nil {
		t.say("label.arches", f.Arches.Text)
	}
	if f.Record != nil {
		t.say("label.mouth", f.Record.Text)
	}
	for _, s := range f.Warnings {
		t.say("label.note", s)
	}
}

// sayFindings lists the findings of all movements, then what is as usual.
func sayFindings(t *terminal, f *findings.Findings) {
	list := words.BySeverity(f)
	normal := words.Normal(f)
	if len(list) > 0 {
		t.heading("findings.title")
		if f.Centric.Mounting.Verdict == findings.Remount {
			t.text(language.Say("findings.remount"))
		}
	}
	for i, g := range list {
		if i == summaryFindings {
			t.line("     " + t.r.Say("findings.more", language.With{"more": len(list) - i}))
			break
		}
		t.item(i+1, weight(g), t.r.Write(words.Finding(g)))
	}
	if slices.ContainsFunc(list, func(g *findings.Finding) bool { return g.HeightUm != nil }) {
		t.text(language.Say("findings.intended"))
	}
	if words.Tried(list) {
		t.text(language.Say("findings.note"))
	}
	for _, s := range words.Sure(f) {
		t.text(s)
	}
	if len(normal) > 0 {
		t.heading("normal.title")
		for _, g := range normal {
			t.text(words.Finding(g))
		}
	}
}

// sayMovement sums up a movement.
func sayMovement(t *terminal, f *findings.Findings, x *findings.Excursion) {
	t.heading("movement.title." + string(x.Movement))
	t.line(movementTable(t.r, x, words.Labelled(f)))
	t.text(x.Ended)
	if words.Labelled(f) {
		t.text(words.Course(x))
	}
	t.text(words.FirstMolars(x))
}

// weight is the tone of a finding: red for an interference that the scans can tell,
// none where it is only for orientation.
func weight(g *findings.Finding) tone {
	switch g.Kind {
	case findings.KindPremature, findings.KindNonworkingInterference, findings.KindProtrusiveInterference, findings.KindWorkingInterference:
		if !g.Doubtful {
			return red
		}
	case findings.KindGuidance:
		return plain
	}
	return yellow
}
