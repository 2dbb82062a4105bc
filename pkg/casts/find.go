package casts

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/findings"
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
func LabelWarning(c *Cast) string {
	switch {
	case c.Unfound != nil:
		return fmt.Sprintf("the teeth of the %v arch are not labelled and could not be found from its shape: %v", c.Jaw, c.Unfound)
	case c.Found == nil:
		return ""
	}
	unsure := 0
	for _, t := range c.Found {
		if t.Unsure() {
			unsure++
		}
	}
	s := fmt.Sprintf("the %d teeth of the %v arch were found from its shape, not labelled by a person: look whether "+
		"they are right", len(c.Found), c.Jaw)
	if unsure > 0 {
		s += fmt.Sprintf("; of %d it is not sure (scans.%v.found); cusptrace segment takes corrections", unsure, c.Jaw)
	}
	return s
}
