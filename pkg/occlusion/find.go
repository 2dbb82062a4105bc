package occlusion

import (
	"context"
	"errors"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/segment"
)

// FindTeeth labels the scans that [Load] found no labels for, from their shape. A
// scan that shows no arch stays without labels, which the findings say.
func FindTeeth(ctx context.Context, upper, lower *casts.Scan) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	return par.BothErr(func() error { return findTeeth(ctx, upper, dentition.Upper) },
		func() error { return findTeeth(ctx, lower, dentition.Lower) })
}

func findTeeth(ctx context.Context, s *casts.Scan, jaw dentition.Jaw) error {
	if s.Labels != nil {
		return nil
	}
	found, err := segment.Find(ctx, s.Mesh, jaw, segment.Options{})
	if errors.Is(err, segment.ErrNoArch) || errors.Is(err, segment.ErrJawShape) {
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
	s.Labels, s.Teeth, s.Found = found.Labels, teeth, make([]findings.FoundTooth, len(found.Teeth))
	for i, t := range found.Teeth {
		s.Found[i] = findings.FoundTooth{Tooth: findings.Part(t.Tooth), Certainty: t.Confidence}
	}
	return nil
}
