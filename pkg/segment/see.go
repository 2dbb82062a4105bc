package segment

import (
	"context"
	"fmt"

	"github.com/cusptrace/cusptrace/internal/archnet"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// otherJaw is how much must speak for the other jaw before it is said.
const otherJaw = 0.6

// see finds the view that shows most of teeth: along the direction in which the open base
// says that they point, or else both ways across the scan's flattest side.
func (s *surface) see(ctx context.Context, net *archnet.Net) (*picture, error) {
	var best *picture
	most := 0.0
	for _, d := range s.directions() {
		p, err := look(ctx, s, net, d)
		if err != nil {
			return nil, err
		}
		teeth := 0.0
		for k := range p.seen {
			if p.tooth(k) > toothly {
				teeth++
			}
		}
		if teeth > most {
			best, most = p, teeth
		}
	}
	if most < fewPixels {
		return nil, fmt.Errorf("%w: the scan shows no crowns", ErrNoArch)
	}
	return best, nil
}

// LooksLike tells of which jaw a scan of an arch is, from its shape alone: upper arches have
// their palate, teeth of other widths and forms. sure goes from 0, no telling, to 1. The error
// wraps [ErrNoArch] where the scan shows no teeth.
func LooksLike(ctx context.Context, m *mesh.Mesh) (jaw dentition.Jaw, sure float64, err error) {
	if err := ctx.Err(); err != nil {
		return 0, 0, err
	}
	net, err := archnet.New()
	if err != nil {
		return 0, 0, err
	}
	_, fine, err := prepare(m)
	if err != nil {
		return 0, 0, err
	}
	s := newSurface(fine.mesh)
	p, err := s.see(ctx, net)
	if err != nil {
		return 0, 0, err
	}
	jaw, sure = dentition.Upper, p.upper()
	if sure < 0 {
		jaw, sure = dentition.Lower, -sure
	}
	if _, err := s.read(ctx, p, jaw, nil); err != nil {
		return 0, 0, err
	}
	return jaw, sure, nil
}
