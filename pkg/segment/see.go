package segment

import (
	"context"
	"fmt"

	"github.com/cusptrace/cusptrace/internal/archnet"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
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

// tells adds to what is seen how the scan lies, whose own frame the picture stands in.
func (p *picture) tells(own *view, jaw dentition.Jaw, told func(Sight)) func(Sight) {
	return func(x Sight) {
		x.Left, x.Up = own.backDirection(p.x), own.backDirection(p.z)
		if jaw == dentition.Upper { // it is looked at from below
			x.Left, x.Up = r3.Scale(-1, x.Left), r3.Scale(-1, x.Up)
		}
		told(x)
	}
}

// seenCrowns are the spots of the surface at which a picture shows a crown, as if they were one tooth.
func (s *surface) seenCrowns(p *picture) []dentition.ToothID {
	out := make([]dentition.ToothID, s.mesh.NumVertices())
	for v, q := range s.spots(p) {
		if q.visible && p.tooth(q.pixel) > toothly {
			out[v] = someTooth
		}
	}
	return out
}

// someTooth stands for a crown that has no number yet.
const someTooth dentition.ToothID = 11

// seenTeeth are the teeth to which the spots that a picture shows of a row belong.
func (s *surface) seenTeeth(p *picture, r *reading) []dentition.ToothID {
	out := make([]dentition.ToothID, s.mesh.NumVertices())
	_, owner := claim(p, r.looks, r.jaw, r.row)
	for v, q := range s.spots(p) {
		if q.visible && owner[q.pixel] > 0 {
			out[v] = r.row[owner[q.pixel]-1].tooth
		}
	}
	return out
}

// crownsOf says of every vertex whether it is of a tooth.
func crownsOf(teeth []dentition.ToothID) []bool {
	out := make([]bool, len(teeth))
	for v, t := range teeth {
		out[v] = t != dentition.NoTooth
	}
	return out
}
