package segment

import (
	"context"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/archnet"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// findByRelief finds teeth in a picture of the scan's heights: a network says which spots
// are teeth of which kind, a row of teeth is read along the curve on which they stand, and
// each crown is cut out of the scan.
func findByRelief(ctx context.Context, s *surface, jaw dentition.Jaw, corrections []Correction) (*Result, error) {
	net, err := archnet.New()
	if err != nil {
		return nil, err
	}
	p, err := s.see(ctx, net)
	if err != nil {
		return nil, err
	}
	if lean := p.upper(); lean > otherJaw && jaw == dentition.Lower || lean < -otherJaw && jaw == dentition.Upper {
		return nil, fmt.Errorf("%w: the scan does not look like the %v one but like that of the other jaw", ErrJawShape, jaw)
	}
	line, ok := p.middleLine()
	if !ok {
		return nil, fmt.Errorf("%w: the scan has no row of crowns on a curve", ErrNoArch)
	}
	pins, err := s.pinned(p, line, corrections)
	if err != nil {
		return nil, err
	}
	r := newRow(p, line, jaw, pins)
	found := r.read()
	switch {
	case math.IsInf(found.cost, 1):
		return nil, fmt.Errorf("%w: no row of teeth has them all; do two of them contradict each other, or the order of teeth?", ErrCorrection)
	case len(found.teeth) < fewest:
		return nil, fmt.Errorf("%w: what stands there does not look like teeth", ErrNoArch)
	}
	crowns, owner := claim(p, r, found.teeth)
	codes, err := carve(ctx, s, p, crowns, owner)
	if err != nil {
		return nil, err
	}
	out, err := pack(jaw, codes, crowns)
	if err == nil {
		out.cost = found.cost
	}
	return out, err
}

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

// pinned is the bins of the curve that corrections have settled.
func (s *surface) pinned(p *picture, line *curve, corrections []Correction) ([]pin, error) {
	var pins []pin
	for i, c := range corrections {
		const near = 3.0 // mm
		nearest := math.Inf(1)
		for _, q := range s.mesh.Vertices() {
			nearest = min(nearest, r3.Norm2(r3.Sub(q, c.Point)))
		}
		if nearest > near*near {
			return nil, fmt.Errorf("corrections[%d]: %w: the point is %.3g mm from the scan", i, ErrCorrection, math.Sqrt(nearest))
		}
		at := p.at(c.Point)
		station, off := line.along(r2.Vec{X: at.X, Y: at.Y})
		if off > offLine {
			return nil, fmt.Errorf("corrections[%d]: %w: the point lies %.3g mm off the arch", i, ErrCorrection, off)
		}
		want := pin{int(station / bin), noPlace}
		if c.Tooth != dentition.NoTooth {
			want.place = rowPlace(c.Tooth)
		}
		for _, q := range pins {
			if q.bin == want.bin && q.place != want.place {
				return nil, fmt.Errorf("corrections[%d]: %w: another one says something else of the same spot", i, ErrCorrection)
			}
		}
		pins = append(pins, want)
	}
	return pins, nil
}

// offLine is how far from the middle line of the crowns a correction's point may lie, mm: half
// the depth of the largest crown, and some.
const offLine = 8.0

// pack gathers the result.
func pack(jaw dentition.Jaw, codes []dentition.ToothID, crowns []*crown) (*Result, error) {
	l, err := dentition.NewLabels(jaw, codes)
	if err != nil {
		return nil, err
	}
	out := &Result{Labels: l}
	var count [256]int
	for _, t := range codes {
		count[t]++
	}
	for t := range dentition.All {
		for _, c := range crowns {
			if c.tooth == t && count[t] > 0 {
				out.Teeth = append(out.Teeth, FoundTooth{Tooth: t, Vertices: count[t], Confidence: c.confidence})
			}
		}
	}
	return out, nil
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
	p, err := newSurface(m).see(ctx, net)
	if err != nil {
		return 0, 0, err
	}
	if lean := p.upper(); lean < 0 {
		return dentition.Lower, -lean, nil
	} else {
		return dentition.Upper, lean, nil
	}
}
