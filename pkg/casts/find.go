package casts

import (
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// describeLabels fills in where the labels come from.
func describeLabels(s *findings.ScanInfo, c *Cast) {
	s.Labels, s.Found = findings.FromNone, []findings.FoundTooth{}
	switch {
	case c.Found != nil:
		s.Labels = findings.FromShape
	case c.Teeth != nil:
		s.Labels = findings.FromFile
	}
	s.Found = append(s.Found, c.Found...)
}

// LabelWarning says what a reader must know of labels that no person has seen;
// empty where there is nothing to say.
func LabelWarning(c *Cast) language.Sentence {
	switch {
	case c.Unfound != nil:
		return language.Say("input.teeth.lost", language.With{"jaw": jawWord(c), "why": c.Unfound.Error()})
	case c.Found == nil:
		return language.Sentence{}
	}
	unsure := 0
	for _, t := range c.Found {
		if t.Unsure() {
			unsure++
		}
	}
	with := language.With{"jaw": jawWord(c), "teeth": len(c.Found), "unsure": (*int)(nil)}
	if unsure > 0 {
		with["unsure"] = unsure
	}
	return language.Say("input.teeth.found", with)
}
