// Package segment finds the teeth in the scan of one arch and numbers them.
package segment

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/archnet"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// The kinds of mistakes of [Segment].
var (
	// ErrNoArch says that the scan shows no arch of teeth.
	ErrNoArch = errors.New("no dental arch found")
	// ErrJawShape says that the scan shows the arch of the other jaw.
	ErrJawShape = errors.New("the arch is not of the jaw that was named")
	// ErrCorrection says that a correction cannot be followed.
	ErrCorrection = errors.New("the correction cannot be followed")
)

// SegmentOptions are the settings of [Segment]; the zero value has no
// corrections.
type Options struct {
	// Corrections are teeth that a person has pointed at.
	Corrections []Correction
}

// Correction says that a point lies on a tooth, or on none.
type Correction struct {
	// Tooth is a permanent tooth of the jaw; [NoTooth] says that no tooth stands
	// where the point lies on the arch.
	Tooth dentition.ToothID
	// Point is on the scan or within 3 mm of it, in its frame, mm, best in the
	// middle of the crown.
	Point r3.Vec
}

// Result is the teeth found on a scan.
type Result struct {
	Labels *dentition.Labels
	// Teeth are in rising order of their codes.
	Teeth []FoundTooth
}

// FoundTooth is one tooth that was found.
type FoundTooth struct {
	Tooth    dentition.ToothID
	Vertices int
	// Confidence, from 0 to 1, is how sure it is that a tooth of this name stands
	// there, from what it would cost to read the arch otherwise. From about 0.5
	// it is usually right; a correction settles the doubt.
	Confidence float64
}

// Unsure reports whether a person should look at the tooth.
func (f FoundTooth) Unsure() bool { return f.Confidence < 0.5 }

// Find looks for the permanent teeth of an unlabelled scan of one whole arch from
// its shape alone, in any position and size of triangles, with gingiva and
// gaps. The result depends on the scan and options only.
//
// The occlusal plane is fitted to the highest points all around and a curve to
// the crowns' tops. Along it, lines across the arch that follow valleys, the
// thickness near the top and the handbook's crown widths give the most likely
// row of teeth, with teeth missing and gaps where that fits better. Each crown
// is then cut out along the valleys around it by a minimum cut. The floor of
// the valleys themselves is left to no tooth.
//
// What it cannot do: milk teeth, parts of an arch so short that they show no
// curve, teeth wholly out of the row. Corrections that contradict the scan or
// each other are an error wrapping [ErrCorrection], a scan that shows no arch
// one wrapping [ErrNoArch]. Cancellation is looked at every few tens of
// milliseconds.
func Find(ctx context.Context, m *mesh.Mesh, jaw dentition.Jaw, o Options) (*Result, error) {
	if jaw != dentition.Upper && jaw != dentition.Lower {
		return nil, fmt.Errorf("%w: %v, must be upper or lower", dentition.ErrJaw, jaw)
	}
	for i, c := range o.Corrections {
		if err := c.check(jaw); err != nil {
			return nil, fmt.Errorf("corrections[%d]: %w", i, err)
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s := newSurface(m)
	net, err := archnet.New()
	if err != nil {
		return nil, err
	}
	p, err := s.see(ctx, net)
	if err != nil {
		return nil, err
	}
	if lean := p.upper(); lean > otherJaw && jaw == dentition.Lower || lean < -otherJaw && jaw == dentition.Upper {
		return nil, fmt.Errorf("%w: the scan shows the other jaw's arch, not the %v one", ErrJawShape, jaw)
	}
	line, ok := p.middleLine()
	if !ok {
		return nil, fmt.Errorf("%w: the scan has no row of crowns on a curve", ErrNoArch)
	}
	pins, err := s.pins(p, line, o.Corrections)
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
	codes, err := cutOut(ctx, s, p, crowns, owner)
	if err != nil {
		return nil, err
	}
	return pack(jaw, codes, crowns)
}

const (
	fewest   = 3   // teeth that make an arch
	otherJaw = 0.6 // how much speaks for the other jaw before it is said
)

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

// check says whether a correction can be meant.
func (c Correction) check(jaw dentition.Jaw) error {
	for _, x := range [3]float64{c.Point.X, c.Point.Y, c.Point.Z} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return fmt.Errorf("%w: the point is not finite", ErrCorrection)
		}
	}
	if c.Tooth == dentition.NoTooth {
		return nil
	}
	if err := dentition.CheckJaw(c.Tooth, jaw); err != nil {
		return err
	}
	if c.Tooth.Deciduous() {
		return fmt.Errorf("%w: %v is a milk tooth, only permanent teeth are found", ErrCorrection, c.Tooth)
	}
	return nil
}

// directions lists the directions in which the teeth may point: the one that
// the open base shows, or else the two ways across the scan's flattest side.
func (s *surface) directions() []r3.Vec {
	if r3.Norm(s.facing) > 0 {
		return []r3.Vec{s.facing}
	}
	middle := s.middle()
	var n r3.Vec
	least := math.Inf(1)
	// The direction of least spread, among directions evenly over half a sphere
	// (a Fibonacci lattice); robustPlane takes it from there.
	const tries = 400
	for i := range tries {
		z := (float64(i) + 0.5) / tries
		sin, cos := math.Sincos(float64(i) * math.Pi * (3 - math.Sqrt(5)))
		d := r3.Vec{X: math.Sqrt(1-z*z) * cos, Y: math.Sqrt(1-z*z) * sin, Z: z}
		spread := 0.0
		for v, p := range s.mesh.Vertices() {
			if v%16 == 0 && s.part[v] {
				h := r3.Dot(r3.Sub(p, middle), d)
				spread += h * h
			}
		}
		if spread < least {
			n, least = d, spread
		}
	}
	if math.IsInf(least, 1) || least == 0 {
		return nil
	}
	return []r3.Vec{n, r3.Scale(-1, n)}
}

// pins are the bins of the curve that corrections have settled.
func (s *surface) pins(p *picture, line *curve, corrections []Correction) ([]pin, error) {
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
			want.place = placeOf(c.Tooth)
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
