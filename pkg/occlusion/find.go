package occlusion

import (
	"context"
	"errors"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
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
	s.Doubts = ToothDoubts(found.Doubts)
	return nil
}

// ToothDoubts puts doubts about teeth that were found into words, each with the correction that
// settles it.
func ToothDoubts(of []segment.Doubt) []findings.ToothDoubt {
	out := make([]findings.ToothDoubt, len(of))
	for i, d := range of {
		o := findings.ToothDoubt{Kind: findings.DoubtKind(d.Kind), At: [3]float64{d.At.X, d.At.Y, d.At.Z}}
		for _, t := range d.Teeth {
			o.Teeth = append(o.Teeth, findings.Part(t))
		}
		o.Text = SayDoubt(&o)
		switch {
		case d.Correction != nil:
			o.Correct = d.Correction.String()
		case d.Edit != nil:
			o.Correct = d.Edit.String()
		}
		if o.Correct != "" {
			with := language.With{"doubt": o.Text, "correct": o.Correct}
			if o.Text = language.Say("doubt.so", with); d.Kind == segment.Unsure {
				o.Text = language.Say("doubt.point", with)
			}
		}
		out[i] = o
	}
	return out
}

// SayDoubt puts a doubt about teeth that were found into words, without the correction that settles it.
func SayDoubt(d *findings.ToothDoubt) language.Sentence {
	with := language.With{"a": d.Teeth[0]}
	key := "doubt." + string(d.Kind)
	if len(d.Teeth) > 1 {
		with["b"] = d.Teeth[1]
		if d.Kind == findings.DoubtKind(segment.LeftOut) {
			key = "doubt.left_out.two"
		}
	}
	return language.Say(key, with)
}
