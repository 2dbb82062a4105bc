package main

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// Kinds of built faults, as the table names them.
const (
	highSpot   = "high spot"
	nonworking = "nonworking interference"
	protrusive = "protrusive interference"
	working    = "working-side interference"
	wornCanine = "worn canine"
	facet      = "wear facet"
	roll       = "rolled lower cast"
	shifted    = "shifted lower cast"
)

var kinds = []string{highSpot, nonworking, wornCanine, protrusive, facet, working, roll, shifted}

// A fault is one built fault and what closings, not the generator, say of it.
type fault struct {
	kind         string
	movement     kinematics.Movement // 0 in intercuspation
	upper, lower dentition.ToothID
	travel       float64    // where it is strongest, mm
	size         float64    // µm, mm² for a facet, degrees for a roll
	way          r3.Vec     // of a shift, mm; of a facet the slide that ground it
	bare         *mesh.Mesh // the lower arch before a bump was raised on it
}

// raised says whether a fault is a bump that meets in a movement.
func (f *fault) raised() bool {
	return f.kind == nonworking || f.kind == protrusive || f.kind == working
}

// beside says whether a second fault of some kind may be built beside f. A displaced cast hides
// others and makes some; what meets in a movement has no known size where a high spot lets
// the casts seat elsewhere.
func (f *fault) beside(kind string) bool {
	second := fault{kind: kind}
	switch {
	case kind == f.kind, f.kind == roll, f.kind == shifted, kind == roll, kind == shifted:
		return false
	case f.kind == highSpot:
		return !second.raised()
	case kind == highSpot:
		return !f.raised()
	}
	return true
}

// errNoPlace says that a fault has no place on this dentition; another is drawn.
var errNoPlace = errors.New("no place for this fault")

// build adds a fault of a kind to d, in place.
func build(ctx context.Context, d *arches, kind string, rng *rand.Rand) (fault, error) {
	switch kind {
	case highSpot:
		return raise(ctx, d, rng)
	case nonworking, protrusive, working:
		return obstruct(ctx, d, kind, rng)
	case wornCanine:
		return wear(ctx, d, rng)
	case facet:
		return grind(ctx, d, rng)
	case roll:
		return tilt(d, rng)
	case shifted:
		return shift(d, rng)
	}
	return fault{}, errNoPlace
}

// raise puts a smooth bump on a lower tooth at one of its stops. Its size is how far
// the spot travels from the first touch with it to that without it.
func raise(ctx context.Context, d *arches, rng *rand.Rand) (fault, error) {
	s := d.stops[rng.IntN(len(d.stops))]
	for s.lower.Type().Anterior() {
		s = d.stops[rng.IntN(len(d.stops))]
	}
	before, err := d.ready(ctx)
	if err != nil {
		return fault{}, err
	}
	own := func(v mesh.VertexID) bool { return d.lowerTeeth.Vertex(v) == s.lower }
	high, err := faultkit.Bump(d.lower, s.at, faultkit.Closing(s.at), 60+190*rng.Float64(), 1.8, own)
	if err != nil {
		return fault{}, err
	}
	after, err := withLower(ctx, before.up, high)
	if err != nil {
		return fault{}, err
	}
	st, err := d.settings.Station(kinematics.Protrusive, 0)
	if err != nil {
		return fault{}, err
	}
	was, err := before.close(st)
	if err != nil {
		return fault{}, err
	}
	is, err := after.close(st)
	if err != nil {
		return fault{}, err
	}
	f := fault{kind: highSpot, upper: toothOf(d.upper, d.upperTeeth, is.Upper), lower: toothOf(high, d.lowerTeeth, is.Lower)}
	if f.size = 1000 * lever(&is) * (is.Opening - was.Opening).Radians(); f.lower != s.lower || f.size < 20 {
		return f, errNoPlace
	}
	d.lower, d.pair = high, after
	return f, nil
}

// toIncisors is about how far the incisors lie from the hinge axis, mm.
const toIncisors = 85

// wear grinds the tip of an upper canine flat.
func wear(ctx context.Context, d *arches, rng *rand.Rand) (fault, error) {
	f := fault{kind: wornCanine, movement: kinematics.Right, upper: 13, lower: 43}
	if rng.IntN(2) == 0 {
		f.movement, f.upper, f.lower = kinematics.Left, 23, 33
	}
	tip := r3.Vec{Z: math.Inf(1)}
	for v, p := range d.upper.Vertices() {
		if d.upperTeeth.Vertex(mesh.VertexID(v)) == f.upper && p.Z < tip.Z {
			tip = p
		}
	}
	deep := 1 + rng.Float64()
	before, err := d.ready(ctx)
	if err != nil {
		return f, err
	}
	was, err := before.sweep(d, f.movement, travelStep)
	if err != nil {
		return f, err
	}
	flat, err := faultkit.Ground(d.upper, r3.Vec{X: tip.X, Y: tip.Y, Z: tip.Z + deep}, r3.Vec{Z: -1}, 4.5, deep+0.1)
	if err != nil {
		return f, err
	}
	after, err := newPair(ctx, flat, d.lower)
	if err != nil {
		return f, err
	}
	is, err := after.sweep(d, f.movement, travelStep)
	if err != nil {
		return f, err
	}
	for i := range is {
		um := 1000 * toIncisors * (was[i].Opening - is[i].Opening).Radians()
		if um > f.size && toothOf(flat, d.upperTeeth, is[i].Upper) == f.upper {
			f.size, f.travel = um, float64(i)*travelStep
		}
	}
	if f.size < 500 {
		return f, errNoPlace
	}
	d.upper, d.pair = flat, after
	return f, nil
}

// Facets: how far they are ground, mm, and by which angle their planes may lean across
// the slide.
const (
	groundLeast, groundMore = 0.12, 0.1
	groundWay               = 0.3 // travel that tells the slide
	groundLean              = 10.0
)

// grind makes a flat on a lower molar or premolar at a stop, in the plane in which the
// tooth slides there in a movement; its size is the flat area of one piece.
func grind(ctx context.Context, d *arches, rng *rand.Rand) (fault, error) {
	s := d.stops[rng.IntN(len(d.stops))]
	for s.lower.Type().Anterior() {
		s = d.stops[rng.IntN(len(d.stops))]
	}
	movements := [3]kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive}
	f := fault{kind: facet, lower: s.lower, movement: movements[rng.IntN(3)]}
	p, err := d.ready(ctx)
	if err != nil {
		return f, err
	}
	st, err := d.settings.Station(f.movement, groundWay)
	if err != nil {
		return f, err
	}
	touch, err := p.close(st)
	if err != nil {
		return f, err
	}
	f.way = r3.Unit(r3.Sub(touch.Pose.Apply(s.at), s.at))
	up := faultkit.Closing(s.at)
	n := r3.Unit(r3.Sub(up, r3.Scale(r3.Dot(up, f.way), f.way)))
	n = kinematics.Rotation(f.way, s1.Angle(groundLean*(rng.Float64()-0.5))*s1.Degree).Rotate(n)
	on := r3.Add(s.at, r3.Scale(-groundLeast-groundMore*rng.Float64(), n))
	flat, err := faultkit.Ground(d.lower, on, n, 2, 0.6)
	if err != nil {
		return f, err
	}
	f.size = flatArea(flat, func(t mesh.TriID) bool {
		in := func(p r3.Vec) bool {
			e := r3.Sub(p, on)
			return math.Abs(r3.Dot(e, n)) < 1e-9 && r3.Norm(e) < 2.1
		}
		a, b, c := flat.Corners(t)
		return in(a) && in(b) && in(c) && toothOf(flat, d.lowerTeeth, t) == s.lower
	})
	if f.size < 0.5 {
		return f, errNoPlace
	}
	d.lower, d.pair = flat, nil
	return f, nil
}

// flatArea is the area of the largest piece of the triangles of a mesh that are flat, mm²: a
// plane may cut two cusps.
func flatArea(m *mesh.Mesh, flat func(mesh.TriID) bool) float64 {
	at := map[mesh.VertexID][]mesh.TriID{}
	left := map[mesh.TriID]bool{}
	var all []mesh.TriID
	for t, c := range m.All() {
		if !flat(t) {
			continue
		}
		left[t] = true
		all = append(all, t)
		for _, v := range c {
			at[v] = append(at[v], t)
		}
	}
	most := 0.0
	for _, first := range all {
		if !left[first] {
			continue
		}
		delete(left, first)
		area := 0.0
		for piece := []mesh.TriID{first}; len(piece) > 0; {
			t := piece[len(piece)-1]
			piece = piece[:len(piece)-1]
			area += r3.Norm(m.AreaVector(t))
			for _, v := range m.Triangle(t) {
				for _, u := range at[v] {
					if left[u] {
						delete(left, u)
						piece = append(piece, u)
					}
				}
			}
		}
		most = max(most, area)
	}
	return most
}

// tilt rolls the lower cast about the middle of its bounds, 0.2° to 0.6°.
func tilt(d *arches, rng *rand.Rand) (fault, error) {
	by := (0.2 + 0.4*rng.Float64()) * float64(1-2*rng.IntN(2))
	moved, err := faultkit.Moved(d.lower, faultkit.Motion{Roll: s1.Angle(by) * s1.Degree, About: d.lower.Bounds().Center()})
	if err != nil {
		return fault{}, err
	}
	d.lower, d.pair = moved, nil
	return fault{kind: roll, size: by}, nil
}

// shift moves the lower cast by 0.1 to 0.4 mm in the horizontal plane.
func shift(d *arches, rng *rand.Rand) (fault, error) {
	sin, cos := math.Sincos(2 * math.Pi * rng.Float64())
	f := fault{kind: shifted, size: 100 + 300*rng.Float64()}
	f.way = r3.Scale(f.size/1000, r3.Vec{X: cos, Y: sin})
	moved, err := faultkit.Moved(d.lower, faultkit.Motion{Shift: f.way})
	if err != nil {
		return fault{}, err
	}
	d.lower, d.pair = moved, nil
	return f, nil
}
