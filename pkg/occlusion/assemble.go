package occlusion

import (
	"context"
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/settle"
)

// Assemble mounts two scans as the case says and prepares them for closing: they are
// mounted ([Mount]), settled and given a closer.
func Assemble(ctx context.Context, c *casefile.Case, upper, lower *casts.Scan) (*casts.Casts, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	out, err := casts.Mount(ctx, c, upper, lower)
	if err != nil {
		return nil, err
	}
	if err := settleCasts(out, ctx, c, lower, casts.Meeting(upper, lower)); err != nil {
		return nil, err
	}
	out.Closer, err = contact.NewCloser(ctx, out.Upper.Arch, out.Lower.Arch, contact.Options{})
	return out, err
}

// settleCasts brings the lower cast from the relation of the scans to where the case
// wants it. What is searched on it is built anew there, so that poses count from
// the settled cast.
func settleCasts(c *casts.Casts, ctx context.Context, by *casefile.Case, lower *casts.Scan, of casts.Surface) error {
	o := settle.Options{How: by.Settle.How, DoubtUm: by.Settle.DoubtUm}
	if p := by.Settle.PressPoint; p != nil {
		at := c.Mount.Apply(p.Vec())
		o.PressPoint = &at
	}
	if p := by.Settle.PressDirection; p != nil {
		along := c.Mount.Rotate(p.Vec())
		o.PressDirection = &along
	}
	var err error
	if c.Settling, err = settle.Settle(ctx, c.Upper, c.Scanned, o); err != nil {
		if w := casts.Wider(c.Upper, c.Scanned); errors.Is(err, settle.ErrSettle) && !w.Empty() {
			return fmt.Errorf("%w; %v", err, w)
		}
		return err
	}
	pose := c.Settling.Pose.Pose
	if pose == (kinematics.Pose{}) {
		return nil
	}
	if c.Incisal != nil {
		p := pose.Apply(*c.Incisal)
		c.Incisal = &p
	}
	c.Lower, err = casts.NewCast(ctx, lower, dentition.Lower, c.Mount.Then(pose), of)
	return err
}
