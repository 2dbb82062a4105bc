package typodont

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// An Arch is one jaw's scan with its labels, one a vertex (0 = no tooth).
type Arch struct {
	Mesh   *mesh.Mesh
	Labels *dentition.Labels
}

// A Case is a pair of arches in intercuspation in the articulator frame, with what is
// known of them.
type Case struct {
	Params       Params // defaults filled in
	Settings     kinematics.Settings
	Upper, Lower Arch
	Truth        Truth
}

// Generate makes a pair. The result depends on the parameters alone, not on the
// number of cores. Cancellation is looked at a few hundred times a second.
func Generate(ctx context.Context, params Params) (*Case, error) {
	params, err := params.withDefaults()
	if err != nil {
		return nil, err
	}
	s, err := stand(ctx, params)
	if err != nil {
		return nil, err
	}
	return s.disturb(ctx, params)
}

// standing is a pair of surfaces fitted to each other, before disturbances of the
// surfaces.
type standing struct {
	*pair
	up, lo *scan
	stops  []Stop // those between teeth that stand where they were built
}

// stand makes the surfaces, with displaced teeth.
func stand(ctx context.Context, params Params) (*standing, error) {
	p, err := newPair(params)
	if err != nil {
		return nil, err
	}
	p.displace(params.Disturbances)
	h := spacing(params.Triangles, params.ThirdMolars)
	lower, err := p.lower.mesh(ctx, h)
	if err != nil {
		return nil, fmt.Errorf("typodont: %w", err)
	}
	upper, err := p.upper.mesh(ctx, h)
	if err != nil {
		return nil, fmt.Errorf("typodont: %w", err)
	}
	up, lo := &scan{arch: p.upper, surface: upper, tooth: p.upper.labels(upper)}, &scan{arch: p.lower, surface: lower,
		tooth: p.lower.labels(lower)}
	if err := p.carve(ctx, upper, up.tooth); err != nil {
		return nil, fmt.Errorf("typodont: %w", err)
	}
	upper.tidy(nil)
	lower.tidy(nil)
	out := &standing{pair: p, up: up, lo: lo}
	for _, s := range p.stops {
		if !p.upper.find(s.Upper).moved && !p.lower.find(s.Lower).moved {
			out.stops = append(out.stops, s)
		}
	}
	if err := seat(ctx, upper, lower, p.touches(out.stops)); err != nil {
		return nil, fmt.Errorf("typodont: %w", err)
	}
	if len(out.stops) == len(p.stops) { // displaced teeth may overlap
		if err := p.relieve(ctx, upper, lower); err != nil {
			return nil, fmt.Errorf("typodont: %w", err)
		}
	}
	up.setTips(p.carved())
	lo.setTips(func(_ int, q r3.Vec) float64 { v, _ := p.lower.value(q); return v })
	return out, nil
}

// disturb deforms the surfaces and packs them as scans with their truth.
func (s *standing) disturb(ctx context.Context, params Params) (*Case, error) {
	p, up, lo := s.pair, s.up, s.lo
	c := &Case{Params: params, Settings: p.settings}
	c.Truth.Guidance = p.guidance()
	c.Truth.IncisalPoint, c.Truth.RightMolar, c.Truth.LeftMolar = Point(p.incisal), Point(p.right), Point(p.left)
	c.Truth.Stops = s.stops
	var err error
	for k, d := range params.Disturbances {
		if err = p.apply(ctx, up, lo, params, k, d, &c.Truth); err != nil {
			return nil, fmt.Errorf("typodont: %w", err)
		}
	}
	p.expectDisplaced(params.Disturbances, &c.Truth)
	if c.Upper, err = up.finish(); err != nil {
		return nil, fmt.Errorf("typodont: %w", err)
	}
	if c.Lower, err = lo.finish(); err != nil {
		return nil, fmt.Errorf("typodont: %w", err)
	}
	up.describe(&c.Truth)
	lo.describe(&c.Truth)
	return c, nil
}

// apply deforms the surfaces by disturbance number k and proves by closings what the truth
// says of it.
func (p *pair) apply(ctx context.Context, up, lo *scan, params Params, k int, d Disturbance, truth *Truth) error {
	if !d.Kind.proved() {
		return p.deform(ctx, up, lo, d, params.Seed, truth)
	}
	without := aside(params.Disturbances, k)
	if d.Kind == Raise {
		without = func(upper, lower int) bool { return upper != d.Tooth && lower != d.Tooth }
	}
	before, err := p.closings(ctx, up, lo, d, without)
	if err != nil {
		return err
	}
	first := len(truth.Expected)
	if err := p.deform(ctx, up, lo, d, params.Seed, truth); err != nil {
		return err
	}
	after, err := p.closings(ctx, up, lo, d, without)
	if err != nil {
		return err
	}
	return p.prove(d, &before, &after, truth, first)
}

// spacing is the lattice cube edge that gives about n triangles an arch. The
// constants were measured.
func spacing(n int, thirdMolars bool) float64 {
	at35 := 130000.0 // triangles at 0.35 mm
	if thirdMolars {
		at35 = 156000
	}
	return 0.35 * math.Sqrt(at35/float64(n))
}

// newPair places the teeth, mounts them and fits them to each other.
func newPair(params Params) (*pair, error) {
	places := 7
	if params.ThirdMolars {
		places = 8
	}
	lower, upper, _ := newDesign(params.Overjet, params.Overbite, places)
	settings, err := params.settings()
	if err != nil {
		return nil, fmt.Errorf("typodont: %w", err)
	}
	p := &pair{upper: upper, lower: lower, settings: settings}
	incisal, right, left := p.mountPoints()
	mount, err := kinematics.Average{
		IncisalPoint: incisal, RightMolar: right, LeftMolar: left, Up: r3.Vec{Z: 1},
		Intercondylar: params.Intercondylar, CondyleToIncisal: params.CondyleToIncisal, Balkwill: params.Balkwill,
	}.Mount()
	if err != nil {
		return nil, fmt.Errorf("typodont: %w", err)
	}
	for _, a := range []*arch{lower, upper} {
		for i := range a.teeth {
			t := &a.teeth[i]
			t.frame = t.frame.moved(mount.Apply, mount.Rotate)
			t.home = t.frame
			t.settle()
		}
		a.base += mount.Offset().Z
	}
	p.incisal, p.right, p.left = p.mountPoints()
	canine := func(code int) r3.Vec { return lower.find(code).tip("cusp") }
	p.guides = []guide{
		{kinematics.Right, canine(43), params.CanineGuidance},
		{kinematics.Left, canine(33), params.CanineGuidance},
		{kinematics.Protrusive, p.incisal, params.IncisalGuidance},
	}
	p.findStops()
	for i := range p.guides[:2] {
		for _, s := range p.stops {
			if p.guides[i].leads(s.Lower) {
				p.guides[i].point = s.point()
			}
		}
	}
	if err := p.plan(); err != nil {
		return nil, fmt.Errorf("typodont: %w", err)
	}
	p.fitted = slices.Clone(p.lower.teeth)
	if err := p.fit(); err != nil {
		return nil, err
	}
	return p, p.check()
}

// mountPoints are the points of the average mounting: the middle of the
// mesio-incisal edges of 31 and 41, and the disto-buccal tips of 47 and 37.
func (p *pair) mountPoints() (incisal, right, left r3.Vec) {
	edge := func(code int) r3.Vec {
		t := p.lower.find(code)
		f := t.crown.named[0]
		return t.surfaceAt(f.m, f.b)
	}
	return r3.Scale(0.5, r3.Add(edge(31), edge(41))), p.lower.find(47).tip("distobuccal"), p.lower.find(37).tip("distobuccal")
}

// labels is the tooth (index, −1 none) of every vertex.
func (a *arch) labels(s *surface) []int {
	out := make([]int, len(s.verts))
	for i, v := range s.verts {
		_, out[i] = a.value(v)
	}
	return out
}

// finish rounds to the precision of scan files and packs mesh and labels. Vertices
// are the distinct coordinates in the order in which the triangles first use
// them, as readers of a scan file number them.
func (s *scan) finish() (Arch, error) {
	number := make(map[r3.Vec]mesh.VertexID, len(s.verts))
	verts := make([]r3.Vec, 0, len(s.verts))
	codes := make([]dentition.ToothID, 0, len(s.verts))
	tris := make([][3]mesh.VertexID, 0, len(s.tris))
	for _, t := range s.tris {
		var out [3]mesh.VertexID
		for k, i := range t {
			v := s.verts[i]
			// Adding zero turns −0 into 0.
			v = r3.Vec{X: float64(float32(v.X)) + 0, Y: float64(float32(v.Y)) + 0, Z: float64(float32(v.Z)) + 0}
			id, ok := number[v]
			if !ok {
				id = mesh.VertexID(len(verts))
				number[v] = id
				verts = append(verts, v)
				code := 0
				if s.tooth[i] >= 0 {
					code = s.teeth[s.tooth[i]].code
				}
				codes = append(codes, dentition.ToothID(code))
			}
			out[k] = id
		}
		if out[0] != out[1] && out[1] != out[2] && out[2] != out[0] {
			tris = append(tris, out)
		}
	}
	m, err := mesh.New(verts, tris)
	if err != nil {
		return Arch{}, err
	}
	jaw := dentition.Lower
	if s.upper {
		jaw = dentition.Upper
	}
	ls, err := dentition.NewLabels(jaw, codes)
	return Arch{Mesh: m, Labels: ls}, err
}
