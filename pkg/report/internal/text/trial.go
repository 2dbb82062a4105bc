package text

import (
	"bufio"
	"io"
	"strconv"

	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"github.com/cusptrace/cusptrace/pkg/treatment"
)

// WriteTrial writes what a trial treatment did.
func WriteTrial(w io.Writer, d *treatment.Treatment, o Options) error {
	t := &terminal{bufio.NewWriter(w), o.Colour, words.Reader{Language: o.Language}}
	if d.Name != "" {
		t.line(t.paint(d.Name, bold) + "\n")
	}
	t.text(d.Summary)
	for _, s := range d.Consequences {
		t.text(s)
	}
	t.heading("trial.steps")
	table := newTable(map[int]int{1: 26, 3: 30}, "", t.r.Say("trial.where"), t.r.Say("trial.size"), t.r.Say("trial.by"))
	for i := range d.Steps {
		s := &d.Steps[i]
		if s.Refused.Empty() {
			table.row(strconv.Itoa(s.Number), t.r.Write(words.StepPlace(s)), t.r.Write(words.StepSize(s)), t.r.Write(s.LimitedBy))
		}
	}
	if !table.empty() {
		t.line(table.String())
	}
	for i := range d.Steps {
		for _, says := range [2]language.Sentence{d.Steps[i].Refused, d.Steps[i].Warning} {
			if !says.Empty() {
				t.item(d.Steps[i].Number, yellow, t.r.Write(says))
			}
		}
	}
	places(t, "compare.gone", d.Findings.Gone)
	places(t, "compare.new", d.Findings.New)
	if len(d.Findings.Changed) > 0 {
		t.heading("compare.changed")
		for i := range d.Findings.Changed {
			t.text(words.Changed(&d.Findings.Changed[i]))
		}
	}
	t.line("")
	for _, s := range d.Cautions {
		t.text(s)
	}
	return t.w.Flush()
}

// places lists findings under a heading.
func places(t *terminal, heading string, list []compare.Place) {
	if len(list) == 0 {
		return
	}
	t.heading(heading)
	for i := range list {
		t.text(list[i].Text)
	}
}

// WriteComparison writes how two examinations differ.
func WriteComparison(w io.Writer, c *compare.Comparison, o Options) error {
	t := &terminal{bufio.NewWriter(w), o.Colour, words.Reader{Language: o.Language}}
	found, stops := c.Scores()
	t.text(language.Say("compare.findings", language.With{"both": found.Both, "gone": found.Missed, "new": found.Extra}))
	t.text(language.Say("compare.stops", language.With{"kept": stops.Both, "lost": stops.Missed, "new": stops.Extra}))
	if found.Recall != nil && found.Precision != nil {
		t.text(language.Say("compare.score", language.With{"recall": 100 * *found.Recall, "precision": 100 * *found.Precision}))
	}
	if c.SettingsDiffer {
		t.text(language.Say("compare.settings"))
	}
	if !c.SameScans {
		t.text(language.Say("compare.other", language.With{"um": c.ProvableUm}))
	}
	places(t, "compare.gone", c.Gone)
	places(t, "compare.new", c.New)
	if len(c.Stronger)+len(c.Weaker) > 0 {
		t.heading("compare.changed")
		for _, list := range [][]compare.Change{c.Stronger, c.Weaker} {
			for i := range list {
				t.text(words.Changed(&list[i]))
			}
		}
	}
	if len(c.Stops.Lost) > 0 {
		t.heading("compare.lost")
		for i := range c.Stops.Lost {
			t.text(c.Stops.Lost[i].Text)
		}
	}
	crowns(t, c.Crowns)
	aside(t, "compare.unproven", &c.Unproven)
	aside(t, "compare.unmeasured", &c.Unmeasured)
	return t.w.Flush()
}

// crowns lists what changed on crowns.
func crowns(t *terminal, list []compare.Crown) {
	if len(list) == 0 {
		return
	}
	t.heading("compare.crowns")
	changed, unmeasured := words.CrownChanges(list)
	for _, s := range changed {
		t.text(s)
	}
	if len(changed) == 0 {
		t.text(language.Say("compare.crown.none"))
	}
	if len(unmeasured) > 0 {
		t.text(language.Say("compare.crown.unmeasured", language.With{"teeth": language.Commas(unmeasured)}))
	}
}

// aside lists what one of two examinations shows alone.
func aside(t *terminal, heading string, a *compare.Aside) {
	if len(a.Before)+len(a.After)+len(a.StopsBefore)+len(a.StopsAfter) == 0 {
		return
	}
	t.heading(heading)
	for i, list := range [2][]compare.Place{a.Before, a.After} {
		for k := range list {
			t.only(i, list[k].Text)
		}
	}
	for i, list := range [2][]compare.Stop{a.StopsBefore, a.StopsAfter} {
		for k := range list {
			t.only(i, list[k].Text)
		}
	}
}

// only writes what the first or the second of two examinations alone shows.
func (t *terminal) only(i int, s language.Sentence) {
	t.text(language.Say("compare.only", language.With{"when": language.Say([2]string{"trial.before", "trial.after"}[i]), "text": s}))
}
