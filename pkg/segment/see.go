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
	fine, err := thin(m)
	if err != nil {
		return 0, 0, err
	}
	p, err := newSurface(fine.mesh).see(ctx, net)
	if err != nil {
		return 0, 0, err
	}
	if lean := p.upper(); lean < 0 {
		return dentition.Lower, -lean, nil
	} else {
		return dentition.Upper, lean, nil
	}
}
