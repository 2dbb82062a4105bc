package occlusion

import (
	"context"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
)

// MoveAlone takes casts through the movements of a case, without judging anything.
func MoveAlone(ctx context.Context, c *casefile.Case, casts *casts.Casts, o Options) error {
	set, err := settings(&c.Settings)
	if err != nil {
		return err
	}
	_, err = newExamination(c, casts, set, c.FoilsUm).move(ctx, o)
	return err
}
