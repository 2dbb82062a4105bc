package occlusion

import (
	"context"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/premature"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/vary"
)

// excursions takes the casts through every movement and judges what they show.
func excursions(ctx context.Context, e *frames.Setup, h *judge.Shape, contacts []findings.Finding,
	o Options) ([]findings.Excursion, error) {
	out, err := e.Move(ctx, frames.Options{Workers: o.Workers, Progress: o.Progress, Frame: o.Frame})
	if err != nil {
		return nil, err
	}
	for i := range out {
		if err := judge.Judge(e, h, &out[i]); err != nil {
			return nil, err
		}
	}
	if err := judge.Sides(e, h, out); err != nil {
		return nil, err
	}
	premature.Fold(&e.Case.Thresholds, contacts, out)
	judge.Rank(out)
	if o.AsSet {
		return out, nil
	}
	return out, vary.Try(ctx, e, out, o.Workers)
}
