package casts

import (
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// describeLabels fills in where the labels come from.
func describeLabels(s *findings.ScanInfo, c *Cast) {
	s.Labels, s.Found, s.Doubts = findings.FromNone, []findings.FoundTooth{}, []findings.ToothDoubt{}
	switch {
	case c.Found != nil:
		s.Labels = findings.FromShape
	case c.Teeth != nil:
		s.Labels = findings.FromFile
	}
	s.Found, s.Doubts = append(s.Found, c.Found...), append(s.Doubts, c.Doubts...)
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
	texts := make([]language.Sentence, len(c.Doubts))
	for i, d := range c.Doubts {
		texts[i] = d.Text
	}
	return language.Say("input.teeth.found", language.With{
		"jaw": jawWord(c), "teeth": len(c.Found), "doubts": language.Join(language.Semicolons(texts)),
	})
}
