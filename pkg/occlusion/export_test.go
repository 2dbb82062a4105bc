package occlusion

import (
	"context"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
)

// MoveAlone takes casts through the movements of a case, without judging anything.
func MoveAlone(ctx context.Context, c *casefile.Case, casts *casts.Casts, o Options) error {
	set, err := c.Settings.Kinematics()
	if err != nil {
		return err
	}
	_, err = frames.NewSetup(c, casts, set, findings.Foils(c.FoilsUm)).Move(ctx, frames.Options{Workers: o.Workers, Progress: o.Progress})
	return err
}
