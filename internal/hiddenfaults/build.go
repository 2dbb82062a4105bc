package main

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"

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
	wornCanine = "worn canine"
	facet      = "wear facet"
	roll       = "rolled lower cast"
	shifted    = "shifted lower cast"
)

var kinds = []string{highSpot, nonworking, protrusive, wornCanine, facet, roll, shifted}

// A fault is one built fault and what closings, not the generator, say of it.
type fault struct {
	kind         string
	movement     kinematics.Movement // 0 in intercuspation
	upper, lower dentition.ToothID
	travel       float64 // where it is strongest, mm
	size         float64 // µm, mm² for a facet, degrees for a roll
	way          r3.Vec  // of a shift, mm
}

// errNoPlace says that a fault has no place on this dentition; another is drawn.
var errNoPlace = errors.New("no place for this fault")

// build adds a fault of a kind to d, in place.
func build(ctx context.Context, d *arches, kind string, rng *rand.Rand) (fault, error) {
	switch kind {
	case highSpot:
		return raise(ctx, d, rng)
	case nonworking:
		return obstruct(ctx, d, []kinematics.Movement{kinematics.Right, kinematics.Left}[rng.IntN(2)], rng)
	case protrusive:
		return obstruct(ctx, d, kinematics.Protrusive, rng)
	case wornCanine:
		return wear(ctx, d, rng)
	case facet:
		return grind(d, rng)
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
	before, err := newPair(ctx, d.upper, d.lower)
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
	was, _, err := before.close(st)
	if err != nil {
		return fault{}, err
	}
	is, lever, err := after.close(st)
	if err != nil {
		return fault{}, err
	}
	f := fault{kind: highSpot, upper: toothOf(d.upper, d.upperTeeth, is.Upper), lower: toothOf(high, d.lowerTeeth, is.Lower)}
	if f.size = 1000 * lever * (is.Opening - was.Opening).Radians(); f.lower != s.lower || f.size < 20 {
		return f, errNoPlace
	}
	d.lower = high
	return f, nil
}

// Obstacles: the travels at which they meet and the last one that counts, mm.
const (
	earliest, latest = 0.8, 2.0
	lastTravel       = 3.0
	travelStep       = 0.1
	obstacleRadius   = 1.3
	candidates       = 12
)

// obstruct raises a bump on a lower molar that clears in intercuspation and meets the
// upper arch in a movement.
func obstruct(ctx context.Context, d *arches, m kinematics.Movement, rng *rand.Rand) (fault, error) {
	before, err := newPair(ctx, d.upper, d.lower)
	if err != nil {
		return fault{}, err
	}
	travel := earliest + (latest-earliest)*rng.Float64()
	st, err := d.settings.Station(m, travel)
	if err != nil {
		return fault{}, err
	}
	at, _, err := before.close(st)
	if err != nil {
		return fault{}, err
	}
	side := dentition.Right
	switch {
	case m == kinematics.Right, m == kinematics.Protrusive && rng.IntN(2) == 0:
		side = dentition.Left
	}
	height := 0.06 + 0.19*rng.Float64()
	for _, c := range before.places(d, side, at.Pose, height) {
		if ctx.Err() != nil {
			return fault{}, ctx.Err()
		}
		f, lower, err := tryObstacle(ctx, d, before, m, c, height)
		if errors.Is(err, errNoPlace) {
			continue
		}
		if err == nil {
			d.lower = lower
		}
		return f, err
	}
	return fault{}, errNoPlace
}

// place is a vertex of the lower arch with its room to the upper arch along the arc of
// closing, in intercuspation and at the wanted travel, mm.
type place struct {
	v          mesh.VertexID
	here, then float64
}

// places lists where a bump of some height could meet at a pose and still clear in
// intercuspation, the roomiest first.
func (p *pair) places(d *arches, side dentition.Side, pose kinematics.Pose, height float64) []place {
	var out []place
	for v, q := range d.lower.Vertices() {
		t := d.lowerTeeth.Vertex(mesh.VertexID(v))
		if t == dentition.NoTooth || !t.Type().Molar() || t.Side() != side {
			continue
		}
		up := faultkit.Closing(q)
		now, ok1 := p.up.Index.Ray(q, up, 4)
		then, ok2 := p.up.Index.Ray(pose.Apply(q), pose.Rotate(up), 2)
		if ok2 && (!ok1 || now.Dist > then.Dist+height+0.1) {
			here := 4.0
			if ok1 {
				here = now.Dist
			}
			out = append(out, place{mesh.VertexID(v), here, then.Dist})
		}
	}
	slices.SortStableFunc(out, func(a, b place) int {
		if a.here-a.then > b.here-b.then {
			return -1
		}
		return 1
	})
	step := max(1, len(out)/candidates)
	var some []place
	for i := 0; i < len(out) && len(some) < candidates; i += step {
		some = append(some, out[i])
	}
	return some
}

// tryObstacle raises a bump at a place and takes its measure by closings with and
// without it at every travel.
func tryObstacle(ctx context.Context, d *arches, before *pair, m kinematics.Movement, c place, height float64) (fault, *mesh.Mesh, error) {
	q, tooth := d.lower.Vertex(c.v), d.lowerTeeth.Vertex(c.v)
	own := func(v mesh.VertexID) bool { return d.lowerTeeth.Vertex(v) == tooth }
	high, err := faultkit.Bump(d.lower, q, faultkit.Closing(q), 1000*(c.then+height), obstacleRadius, own)
	if err != nil {
		return fault{}, nil, err
	}
	after, err := withLower(ctx, before.up, high)
	if err != nil {
		return fault{}, nil, err
	}
	f := fault{kind: nonworking, movement: m, lower: tooth}
	if m == kinematics.Protrusive {
		f.kind = protrusive
	}
	for i := 0; float64(i)*travelStep <= lastTravel; i++ {
		st, err := d.settings.Station(m, float64(i)*travelStep)
		if err != nil {
			return f, nil, err
		}
		was, _, err := before.close(st)
		if err != nil {
			return f, nil, err
		}
		is, lever, err := after.close(st)
		if err != nil {
			return f, nil, err
		}
		um := 1000 * lever * (is.Opening - was.Opening).Radians()
		if i == 0 && um > 1 {
			return f, nil, errNoPlace
		}
		if um > f.size && toothOf(high, d.lowerTeeth, is.Lower) == tooth {
			f.size, f.travel, f.upper = um, st.Travel, toothOf(d.upper, d.upperTeeth, is.Upper)
		}
	}
	if f.size < 50 || f.size > 400 || f.upper == dentition.NoTooth {
		return f, nil, errNoPlace
	}
	return f, high, nil
}

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
	before, err := newPair(ctx, d.upper, d.lower)
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
	for i := 1; float64(i)*travelStep <= lastTravel; i++ {
		st, err := d.settings.Station(f.movement, float64(i)*travelStep)
		if err != nil {
			return f, err
		}
		was, _, err := before.close(st)
		if err != nil {
			return f, err
		}
		is, _, err := after.close(st)
		if err != nil {
			return f, err
		}
		if um := 1000 * 85 * (was.Opening - is.Opening).Radians(); um > f.size && toothOf(flat, d.upperTeeth, is.Upper) == f.upper {
			f.size, f.travel = um, st.Travel
		}
	}
	if f.size < 500 {
		return f, errNoPlace
	}
	d.upper = flat
	return f, nil
}

// grind makes a flat on a lower molar or premolar at a stop, in a plane across the arc
// of closing and inclined a little to it; its size is the flat area.
func grind(d *arches, rng *rand.Rand) (fault, error) {
	s := d.stops[rng.IntN(len(d.stops))]
	for s.lower.Type().Anterior() {
		s = d.stops[rng.IntN(len(d.stops))]
	}
	n := faultkit.Closing(s.at)
	n = kinematics.Rotation(r3.Vec{Y: 1}, s1.Angle(10*(rng.Float64()-0.5))*s1.Degree).Rotate(n)
	on := r3.Add(s.at, r3.Scale(-0.12-0.1*rng.Float64(), n))
	flat, err := faultkit.Ground(d.lower, on, n, 2, 0.6)
	if err != nil {
		return fault{}, err
	}
	f := fault{kind: facet, lower: s.lower}
	for t := range flat.All() {
		a, b, c := flat.Corners(t)
		in := func(p r3.Vec) bool {
			e := r3.Sub(p, on)
			return math.Abs(r3.Dot(e, n)) < 1e-9 && r3.Norm(e) < 2.1
		}
		if in(a) && in(b) && in(c) && toothOf(flat, d.lowerTeeth, t) == s.lower {
			f.size += r3.Norm(flat.AreaVector(t))
		}
	}
	if f.size < 0.5 {
		return f, errNoPlace
	}
	d.lower = flat
	return f, nil
}

// tilt rolls the lower cast about the middle of its bounds, 0.2° to 0.6°.
func tilt(d *arches, rng *rand.Rand) (fault, error) {
	by := (0.2 + 0.4*rng.Float64()) * float64(1-2*rng.IntN(2))
	moved, err := faultkit.Moved(d.lower, faultkit.Motion{Roll: s1.Angle(by) * s1.Degree, About: d.lower.Bounds().Center()})
	if err != nil {
		return fault{}, err
	}
	d.lower = moved
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
	d.lower = moved
	return f, nil
}
