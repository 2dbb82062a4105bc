package typodont

import (
	"context"
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// cast is both arches ready for closing.
type cast struct {
	upper   *contact.Arch
	closer  *contact.Closer
	scratch contact.CloserScratch
}

func newCast(ctx context.Context, upper, lower *surface) (*cast, error) {
	up, err := upper.arch(ctx, nil)
	if err != nil {
		return nil, err
	}
	c := &cast{upper: up}
	return c, c.lay(ctx, lower)
}

// lay puts another lower arch in.
func (c *cast) lay(ctx context.Context, lower *surface) error {
	lo, err := lower.arch(ctx, nil)
	if err != nil {
		return err
	}
	c.closer, err = contact.NewCloser(ctx, c.upper, lo, contact.Options{})
	return err
}

// arch is the surface ready for closing, with the parts of its triangles.
func (s *surface) arch(ctx context.Context, parts []int32) (*contact.Arch, error) {
	tris := make([][3]mesh.VertexID, len(s.tris))
	for i, t := range s.tris {
		tris[i] = [3]mesh.VertexID{mesh.VertexID(t[0]), mesh.VertexID(t[1]), mesh.VertexID(t[2])}
	}
	m, err := mesh.New(s.verts, tris)
	if err != nil {
		return nil, err
	}
	return contact.NewArch(ctx, m, parts, contact.Options{})
}

// close closes the arches at a station.
func (c *cast) close(st kinematics.Station) (contact.Closing, error) {
	touch, err := c.closer.Close(st.Base(), &c.scratch)
	if err != nil {
		return touch, fmt.Errorf("the arches do not meet at %g mm of the %v movement", st.Travel, st.Movement)
	}
	return touch, nil
}

// spanMost is the travel up to which [cast.span] looks, mm: about the edge-to-edge
// position.
const spanMost = 4.0

// span is the first and the last travel (mm, in steps of sweepStep) of a
// movement at which the touch of the closing arches is as asked; zeros where it
// never is.
func (c *cast) span(s kinematics.Settings, m kinematics.Movement, is func(contact.Closing) bool) (from, to float64, err error) {
	for i := 1; float64(i)*sweepStep <= spanMost; i++ {
		st, err := s.Station(m, float64(i)*sweepStep)
		if err != nil {
			return 0, 0, err
		}
		touch, err := c.close(st)
		if err != nil {
			return 0, 0, err
		}
		if is(touch) {
			if to = st.Travel; from == 0 {
				from = to
			}
		}
	}
	return from, to, nil
}
