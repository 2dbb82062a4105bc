// Package segment finds the teeth in the scan of one arch and numbers them.
package segment

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/archnet"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"gonum.org/v1/gonum/spatial/r3"
)

// The kinds of mistakes of [Find].
var (
	// ErrNoArch says that the scan shows no teeth: an edentulous arch, or something else.
	ErrNoArch = errors.New("no teeth found, the arch may be edentulous")
	// ErrJawShape says that the scan shows the arch of the other jaw.
	ErrJawShape = errors.New("the arch is not of the jaw that was named")
	// ErrCorrection says that a correction cannot be followed.
	ErrCorrection = errors.New("the correction cannot be followed")
)

// Options are the settings of [Find]; the zero value has no corrections.
type Options struct {
	// Corrections are teeth that a person has pointed at.
	Corrections []Correction
	// Edits change the row that was found, one after the other.
	Edits []Edit
	// Borders are drawn at the end, one after the other, on teeth of the names that they have by then.
	Borders []Border
	// Seen, if not nil, is told what is seen of the teeth while they are being found; it may keep what it gets.
	Seen func(Sight)
}

// Sight is what is seen of the teeth of a scan before their crowns are cut out.
type Sight struct {
	// Left and Up point to the patient's left and up, about, in the frame of the scan; unit vectors.
	Left, Up r3.Vec
	// Crowns says of every vertex of the scan whether a crown is seen there from above.
	Crowns []bool
	// Teeth are the teeth of those crowns, by vertex; nil as long as they are not numbered.
	Teeth []dentition.ToothID
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
	// Doubts are what a person should look at, from the patient's right to the left.
	Doubts []Doubt
}

// FoundTooth is one tooth that was found.
type FoundTooth struct {
	Tooth    dentition.ToothID
	Vertices int
	// Confidence, from 0 to 1, is how sure it is that a tooth of this name stands
	// there, from what it would cost to read the arch otherwise; 1 is said by a person only. How
	// many are right by confidence is counted in docs/finding-teeth.md.
	Confidence float64
}

// Unsure reports whether a person should look at the tooth.
func (f FoundTooth) Unsure() bool { return f.Confidence < unsure }

// unsure is the confidence below which a person should look at a tooth.
const unsure = 0.65

// Find looks for the permanent teeth of an unlabelled scan of one whole arch from
// its shape alone, in any position and size of triangles, with gingiva and
// gaps. The result depends on the scan and options only.
//
// A small network says which spots of a picture of the scan's heights are teeth of which kind
// (package archnet). Along curves through the crowns, one fitted to their tops and one through
// what the picture shows, the valleys across the arch, the thickness of the crowns, the handbook's
// widths and the picture together give the most likely row of teeth, with teeth missing and gaps
// where that fits better. Each crown is then cut out by a minimum cut along the valleys around it
// or by what the picture shows of it. The floor of the valleys themselves is left to no tooth.
//
// What a person should look at is said ([Result.Doubts]) with the correction that settles it.
//
// What it cannot do: milk teeth, parts of an arch so short that they show no
// curve, teeth wholly out of the row. Corrections that contradict the scan or
// each other are an error wrapping [ErrCorrection], a scan that shows no arch
// one wrapping [ErrNoArch], one that looks like the other jaw one wrapping [ErrJawShape].
// Cancellation is looked at every few tens of milliseconds.
func Find(ctx context.Context, m *mesh.Mesh, jaw dentition.Jaw, o Options) (*Result, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if jaw != dentition.Upper && jaw != dentition.Lower {
		return nil, fmt.Errorf("%w: %v, must be upper or lower", dentition.ErrJaw, jaw)
	}
	for i, c := range o.Corrections {
		if err := c.check(jaw); err != nil {
			return nil, fmt.Errorf("corrections[%d]: %w", i, err)
		}
	}
	for i, e := range o.Edits {
		if err := e.check(jaw); err != nil {
			return nil, fmt.Errorf("edits[%d]: %w", i, err)
		}
	}
	for i := range o.Borders {
		if err := o.Borders[i].check(jaw); err != nil {
			return nil, fmt.Errorf("borders[%d]: %w", i, err)
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	own, fine, err := prepare(m)
	if err != nil {
		return nil, err
	}
	s := newSurface(fine.mesh)
	p, err := s.picture(ctx)
	if err != nil {
		return nil, err
	}
	if o.Seen != nil && p != nil {
		o.Seen = p.tells(&own, jaw, o.Seen)
		o.Seen(Sight{Crowns: crownsOf(fine.spread(s.seenCrowns(p)))})
	}
	r, err := s.find(ctx, p, jaw, o.in(&own), fine)
	if errors.Is(err, ErrNoArch) {
		if n := inspect.TJunctions(mesh.BuildTopology(m)); n > 0 {
			return nil, fmt.Errorf("%w; its surface is slit at %d corners (T-junctions), export it without subdivision", err, n)
		}
	}
	if err != nil {
		return nil, err
	}
	for i := range r.Doubts {
		d := &r.Doubts[i]
		if d.At = own.back(d.At); d.Correction != nil {
			d.Correction.Point = d.At
		}
	}
	return r, nil
}

// prepare is a scan as it is searched, in a frame of its own and no finer than need be.
func prepare(m *mesh.Mesh) (own view, fine *thinned, err error) {
	own = ownFrame(m)
	turned, err := m.Transform(own.at)
	if err != nil {
		return own, nil, err
	}
	fine, err = thin(turned)
	return own, fine, err
}

// in is the options with their points in a frame.
func (o Options) in(f *view) Options {
	points := slices.Clone(o.Corrections)
	for i := range points {
		points[i].Point = f.at(points[i].Point)
	}
	o.Corrections = points
	o.Borders = slices.Clone(o.Borders)
	for i := range o.Borders {
		line := slices.Clone(o.Borders[i].Points)
		for k := range line {
			line[k] = f.at(line[k])
		}
		o.Borders[i].Points = line
	}
	return o
}

// picture is the view of an arch in which most of teeth are seen; none where it shows no teeth.
func (s *surface) picture(ctx context.Context) (*picture, error) {
	net, err := archnet.New()
	if err != nil {
		return nil, err
	}
	p, err := s.see(ctx, net)
	if errors.Is(err, ErrNoArch) {
		return nil, nil
	} else if err != nil {
		return nil, err
	}
	return p, nil
}

// checkJaw is an error wrapping [ErrJawShape] where a picture shows a row of teeth of the other jaw, and one wrapping
// [ErrNoArch] where it looks like the other jaw but shows no row of that one either, as edentulous ridges may.
func (s *surface) checkJaw(ctx context.Context, p *picture, jaw dentition.Jaw) error {
	if p == nil {
		return nil
	}
	lean, other := p.upper(), dentition.Lower
	if jaw == dentition.Lower {
		lean, other = -lean, dentition.Upper
	}
	if lean >= -otherJaw {
		return nil
	}
	if _, err := s.read(ctx, p, other, nil); err != nil {
		return err
	}
	return fmt.Errorf("%w: the scan does not look like the %v one but like that of the other jaw", ErrJawShape, jaw)
}

// reading is the most likely row of teeth along one curve.
type reading struct {
	*lineup
	solution
	arch *archFrame
}

// find finds teeth along each curve on which they may stand, and takes the likeliest row. The surface is that
// of the thinned scan.
func (s *surface) find(ctx context.Context, p *picture, jaw dentition.Jaw, o Options, scan *thinned) (*Result, error) {
	if err := s.checkJaw(ctx, p, jaw); err != nil {
		return nil, err
	}
	best, err := s.read(ctx, p, jaw, o.Corrections)
	if err != nil {
		return nil, err
	}
	if err := best.doubt(ctx, &best.solution); err != nil {
		return nil, err
	}
	if best.row, err = edit(best.band, best.row, o.Edits); err != nil {
		return nil, err
	}
	if o.Seen != nil && p != nil {
		teeth := scan.spread(s.seenTeeth(p, best))
		o.Seen(Sight{Crowns: crownsOf(teeth), Teeth: teeth})
	}
	codes, err := s.crowns(ctx, p, best)
	if err != nil {
		return nil, err
	}
	codes = scan.spread(codes)
	if err := drawBorders(scan.scan, codes, o.Borders); err != nil {
		return nil, err
	}
	out, err := gather(jaw, codes, best.named(o.Borders))
	if err == nil {
		out.Doubts = best.doubts(s)
	}
	return out, err
}

// named is the row, with what a person has drawn the border of: such a tooth is sure, and may be one that was not found.
func (r *reading) named(borders []Border) []span {
	var more []span
	for i := range borders {
		t := borders[i].Tooth
		if k := slices.IndexFunc(r.row, func(s span) bool { return s.tooth == t }); k >= 0 {
			r.row[k].confidence = 1
		} else if !slices.ContainsFunc(more, func(s span) bool { return s.tooth == t }) {
			more = append(more, span{tooth: t, confidence: 1})
		}
	}
	return slices.Concat(r.row, more)
}

// read is the likeliest row of all curves on which teeth may stand.
func (s *surface) read(ctx context.Context, p *picture, jaw dentition.Jaw, corrections []Correction) (*reading, error) {
	var best *reading
	var failed error
	w := usualWeights()
	for _, a := range s.arches(p, jaw) {
		b := unroll(s, a)
		pins, err := b.pins(a, s.mesh, corrections)
		if err != nil {
			failed = err
			continue
		}
		r := &reading{lineup: newLineup(b, p.looks(b, a, w.least), jaw, pins, w), arch: a}
		if r.solution, err = r.number(ctx); err != nil {
			return nil, err
		}
		if best == nil || r.cost < best.cost-smoother {
			best = r
		}
	}
	switch {
	case best == nil && failed != nil:
		return nil, failed
	case best == nil:
		return nil, fmt.Errorf("%w: the scan has no row of crowns on a curve", ErrNoArch)
	case best.cost >= forbidden:
		return nil, fmt.Errorf("%w: no row of teeth has them all; do two of them contradict each other, or the order of teeth?", ErrCorrection)
	case len(best.row) < fewest || best.cost > costly*float64(len(best.row)):
		return nil, fmt.Errorf("%w: what stands there does not look like teeth", ErrNoArch)
	}
	return best, nil
}

// smoother is by how much a row along the curve through the crowns in the picture must cost less
// than one along the curve fitted to all tops: the latter is smoother, and crowns are cut finer
// along it.
const smoother = 2.0

// arches lists the curves on which the teeth may stand: fitted to the crowns' tops, in each
// direction in which they may point, and through the crowns in the picture.
func (s *surface) arches(p *picture, jaw dentition.Jaw) []*archFrame {
	var out []*archFrame
	for _, facing := range s.directions() {
		if p != nil && r3.Dot(facing, p.z) < 0 {
			continue
		}
		if a, ok := findArch(s, jaw, facing); ok {
			out = append(out, a)
		}
	}
	if p == nil {
		return out
	}
	if line, ok := p.middleLine(); ok {
		out = append(out, p.archFrame(line, jaw))
	}
	return out
}

const (
	fewest = 3   // teeth that make an arch
	costly = 8.0 // cost a tooth from which a row is no row; those of arches cost 1 to 3
)

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

// pins are the columns of the band that corrections have settled.
func (b *band) pins(a *archFrame, m *mesh.Mesh, corrections []Correction) ([]int, error) {
	pins := make([]int, len(b.top))
	for i, c := range corrections {
		least := math.Inf(1)
		for _, p := range m.Vertices() {
			least = min(least, r3.Norm2(r3.Sub(p, c.Point)))
		}
		if least > nearScan*nearScan {
			return nil, fmt.Errorf("corrections[%d]: %w: the point is %.3g mm from the scan", i, ErrCorrection, math.Sqrt(least))
		}
		q, _ := a.plan(c.Point)
		station, outside := a.along(q)
		k := b.column(station)
		if k < 0 || k >= len(pins) || math.Abs(outside) > reachOut {
			return nil, fmt.Errorf("corrections[%d]: %w: the point lies %.3g mm off the arch", i, ErrCorrection, math.Abs(outside))
		}
		want := noPlace
		if c.Tooth != dentition.NoTooth {
			want = placeOf(c.Tooth)
		}
		if pins[k] != 0 && pins[k] != want {
			return nil, fmt.Errorf("corrections[%d]: %w: another one says something else of the same spot", i, ErrCorrection)
		}
		pins[k] = want
		if want == noPlace {
			// No tooth may squeeze in beside the point: half an incisor around it stays empty.
			for j := max(0, k-columns(emptyAround)); j <= min(len(pins)-1, k+columns(emptyAround)); j++ {
				if pins[j] == 0 {
					pins[j] = noPlace
				}
			}
		}
	}
	return pins, nil
}

// nearScan is how far from the scan a point may lie that is said to be on it, mm.
const nearScan = 3.0

// emptyAround is how far around a point where no tooth stands there is none, mm.
const emptyAround = 2.0

// gather packs the result.
func gather(jaw dentition.Jaw, codes []dentition.ToothID, row []span) (*Result, error) {
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
		for _, s := range row {
			if s.tooth == t && count[t] > 0 {
				out.Teeth = append(out.Teeth, FoundTooth{Tooth: t, Vertices: count[t], Confidence: s.confidence})
			}
		}
	}
	return out, nil
}
