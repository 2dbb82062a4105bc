package casts

import (
	"context"
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/segment"
)

// FindTeeth labels the scans that [Load] found no labels for from their shape. A
// scan that shows no arch stays without labels, which the findings say.
func FindTeeth(ctx context.Context, upper, lower *Scan) error {
	return par.BothErr(func() error { return upper.findTeeth(ctx, dentition.Upper) }, func() error { return lower.findTeeth(ctx, dentition.Lower) })
}

func (s *Scan) findTeeth(ctx context.Context, jaw dentition.Jaw) error {
	if s.Labels != nil {
		return nil
	}
	found, err := segment.Find(ctx, s.Mesh, jaw, segment.Options{})
	if errors.Is(err, segment.ErrNoArch) {
		s.Unfound = err
		return nil
	}
	if err != nil {
		return err
	}
	teeth, err := found.Labels.Triangles(s.Mesh)
	if err != nil {
		return err
	}
	s.Labels, s.Teeth, s.Found = found.Labels, teeth, found.Teeth
	return nil
}

// describeLabels fills in where the labels come from.
func describeLabels(s *findings.ScanInfo, c *Cast) {
	s.Labels, s.Found = findings.FromNone, []findings.FoundTooth{}
	switch {
	case c.Found != nil:
		s.Labels = findings.FromShape
	case c.Teeth != nil:
		s.Labels = findings.FromFile
	}
	for _, t := range c.Found {
		s.Found = append(s.Found, findings.FoundTooth{Tooth: findings.Part(t.Tooth), Certainty: t.Confidence})
	}
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
	s := fmt.Sprintf("the %d teeth of the %v arch were found from its shape, not labelled by a person: look whether they are right", len(c.Found), c.Jaw)
	if unsure > 0 {
		s += fmt.Sprintf("; of %d it is not sure (scans.%v.found); cusptrace segment takes corrections", unsure, c.Jaw)
	}
	return s
}
