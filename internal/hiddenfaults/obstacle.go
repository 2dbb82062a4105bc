package main

import (
	"context"
	"errors"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// Obstacles: lengths in mm.
const (
	earliest, latest = 0.8, 2.0 // the travels at which they are wanted
	lastTravel       = 3.0      // the last one that counts
	travelStep       = 0.1
	otherStep        = 0.2 // of the movements that they should not disturb
	obstacleRadius   = 1.5
	tallest          = 2.5  // how far one may rise
	clear            = 0.25 // what stays free around its corners in intercuspation, a part of an edge
	candidates       = 8    // places that are tried
	apart            = 1.0  // between them
	disturbed        = 30.0 // µm by which it may be met in other movements
	least            = 40.0 // µm that are left of it beside a second fault
	rounds           = 4    // in which its height is set
	exact            = 0.02
)

// sweep is the closings of a pair along a movement, one every step of travel.
func (p *pair) sweep(d *arches, m kinematics.Movement, step float64) ([]contact.Closing, error) {
	var out []contact.Closing
	for i := 0; float64(i)*step <= lastTravel+1e-9; i++ {
		st, err := d.settings.Station(m, float64(i)*step)
		if err != nil {
			return nil, err
		}
		touch, err := p.close(st)
		if err != nil {
			return nil, err
		}
		out = append(out, touch)
	}
	return out, nil
}

// heights is by how much each closing is held open against another, µm at its spot.
func heights(is, was []contact.Closing) []float64 {
	out := make([]float64, len(is))
	for i := range is {
		out[i] = 1000 * lever(&is[i]) * (is[i].Opening - was[i].Opening).Radians()
	}
	return out
}

// An obstacle is an interference while it is looked for.
type obstacle struct {
	d        *arches
	before   *pair
	kind     string
	movement kinematics.Movement
	others   []kinematics.Movement
	course   map[kinematics.Movement][]contact.Closing // of before
	travel   float64                                   // wanted
	height   float64                                   // wanted, mm
	middle   map[dentition.ToothID]r3.Vec
}

// obstruct raises a bump on a lower posterior tooth that clears in intercuspation and in
// the other movements, and that meets the upper arch in one movement.
func obstruct(ctx context.Context, d *arches, kind string, rng *rand.Rand) (fault, error) {
	before, err := d.ready(ctx)
	if err != nil {
		return fault{}, err
	}
	o := obstacle{d: d, before: before, kind: kind, course: map[kinematics.Movement][]contact.Closing{},
		travel: earliest + (latest-earliest)*rng.Float64(), height: 0.06 + 0.19*rng.Float64()}
	all := []kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive}
	o.middle = middles(d.lower, d.lowerTeeth)
	maps.Copy(o.middle, middles(d.upper, d.upperTeeth))
	o.movement = all[rng.IntN(2)]
	if kind == protrusive {
		o.movement = kinematics.Protrusive
	}
	for _, m := range all {
		step := otherStep
		if m == o.movement {
			step = travelStep
		} else {
			o.others = append(o.others, m)
		}
		if o.course[m], err = before.sweep(d, m, step); err != nil {
			return fault{}, err
		}
	}
	for _, v := range o.places(rng) {
		f, after, err := o.try(ctx, v)
		if errors.Is(err, errNoPlace) {
			continue
		}
		if err == nil {
			d.lower, d.pair = after.lo.Mesh(), after
		}
		return f, err
	}
	return fault{}, errNoPlace
}

// bears says whether the kind of interference may stand on a tooth at a place.
func (o *obstacle) bears(t dentition.ToothID, q r3.Vec) bool {
	if t == dentition.NoTooth || t.Type().Anterior() {
		return false
	}
	side := dentition.Right
	if o.movement == kinematics.Left {
		side = dentition.Left
	}
	switch o.kind {
	case nonworking:
		return t.Side() != side
	case working: // where lingual cusps meet
		return t.Side() == side && math.Abs(q.X) < math.Abs(o.middle[t].X)-1
	}
	return true
}

// room is how far the point q of the lower arch can rise along the arc of closing under a
// pose until the upper arch is clear mm away, at most tallest.
func (p *pair) room(q r3.Vec, pose kinematics.Pose, clear float64) float64 {
	way, s := pose.Rotate(faultkit.Closing(q)), 0.0
	from := pose.Apply(q)
	for range 60 {
		h, ok := p.up.Index.Nearest(r3.Add(from, r3.Scale(s, way)), tallest)
		if !ok {
			return tallest
		}
		if h.Dist < clear+1e-3 {
			break
		}
		if s += h.Dist - clear; s > tallest {
			return tallest
		}
	}
	return s
}

// places draws vertices on which a bump could meet the upper arch at the wanted travel and
// not in intercuspation or in the other movements.
func (o *obstacle) places(rng *rand.Rand) []mesh.VertexID {
	var out []mesh.VertexID
	verts := o.d.lower.Vertices()
	for _, i := range rng.Perm(len(verts)) {
		v, q := mesh.VertexID(i), verts[i]
		near := func(w mesh.VertexID) bool { return r3.Norm(r3.Sub(verts[w], q)) < apart }
		if !o.bears(o.d.lowerTeeth.Vertex(v), q) || slices.ContainsFunc(out, near) {
			continue
		}
		if rise, ok := o.rise(q); ok && o.fits(q, rise) {
			if out = append(out, v); len(out) == candidates {
				break
			}
		}
	}
	return out
}

// wanted is the pose at the travel at which the obstacle is wanted.
func (o *obstacle) wanted() kinematics.Pose {
	return o.course[o.movement][int(math.Round(o.travel/travelStep))].Pose
}

// rise is how far a point of the lower arch must rise to stand in the way by the wanted
// height at the wanted travel, mm.
func (o *obstacle) rise(q r3.Vec) (float64, bool) {
	pose := o.wanted()
	hit, ok := o.before.up.Index.Ray(pose.Apply(q), pose.Rotate(faultkit.Closing(q)), tallest-o.height)
	return hit.Dist + o.height, ok
}

// fits says whether a point may rise so far and meet nothing in intercuspation and in the
// other movements.
func (o *obstacle) fits(q r3.Vec, rise float64) bool {
	if o.before.room(q, o.course[o.movement][0].Pose, clear) < rise {
		return false
	}
	for _, m := range o.others {
		for i := range o.course[m] {
			if o.before.room(q, o.course[m][i].Pose, 0) < rise {
				return false
			}
		}
	}
	return true
}

// try raises a bump at a vertex until it stands in the way by about the wanted height where
// it is strongest.
func (o *obstacle) try(ctx context.Context, v mesh.VertexID) (f fault, after *pair, err error) {
	rise, _ := o.rise(o.d.lower.Vertex(v))
	for range rounds {
		if f, after, err = o.measure(ctx, v, rise); err != nil {
			return f, nil, err
		}
		off := o.height - f.size/1000
		if rise += off; rise <= 0 {
			return f, nil, errNoPlace
		}
		if math.Abs(off) < exact {
			return f, after, o.alone(after)
		}
	}
	return f, nil, errNoPlace
}

// alone returns errNoPlace where an obstacle is met in other movements.
func (o *obstacle) alone(after *pair) error {
	for _, m := range o.others {
		is, err := after.sweep(o.d, m, otherStep)
		if err != nil {
			return err
		}
		if slices.Max(heights(is, o.course[m])) > disturbed {
			return errNoPlace
		}
	}
	return nil
}

// strongest sets size, travel and upper tooth of an interference from closings with it, and
// says which closing shows it best.
func (f *fault) strongest(is []contact.Closing, um []float64, d *arches) int {
	best := 0
	for i, h := range um {
		if h > um[best] && toothOf(d.lower, d.lowerTeeth, is[i].Lower) == f.lower {
			best = i
		}
	}
	f.size, f.travel, f.upper = um[best], float64(best)*travelStep, toothOf(d.upper, d.upperTeeth, is[best].Upper)
	return best
}

// measure raises a bump at a vertex, with its corners nowhere nearer to the upper arch in
// intercuspation than clear, and takes its measure by closings with and without it at every
// travel.
func (o *obstacle) measure(ctx context.Context, v mesh.VertexID, rise float64) (fault, *pair, error) {
	d, q, tooth := o.d, o.d.lower.Vertex(v), o.d.lowerTeeth.Vertex(v)
	f := fault{kind: o.kind, movement: o.movement, lower: tooth, bare: d.lower}
	closed := o.course[o.movement][0].Pose
	most := func(w mesh.VertexID, p r3.Vec) float64 {
		if d.lowerTeeth.Vertex(w) != tooth {
			return 0
		}
		return 1000 * o.before.room(p, closed, clear)
	}
	high, err := faultkit.BumpWithin(d.lower, q, faultkit.Closing(q), 1000*rise, obstacleRadius, most)
	if err != nil {
		return f, nil, err
	}
	after, err := withLower(ctx, o.before.up, high)
	if err != nil {
		return f, nil, err
	}
	is, err := after.sweep(d, o.movement, travelStep)
	if err != nil {
		return f, nil, err
	}
	um := heights(is, o.course[o.movement])
	best := f.strongest(is, um, &arches{lower: high, upper: d.upper, lowerTeeth: d.lowerTeeth, upperTeeth: d.upperTeeth})
	grows := um[len(um)-1] > 0.9*f.size // it may be stronger beyond
	switch {
	case best == 0, um[0] > 1, grows, f.upper == dentition.NoTooth, f.upper.Type().Anterior():
		return f, nil, errNoPlace
	case o.kind == working && math.Abs(is[best].Point.X) > math.Abs(o.middle[f.upper].X):
		return f, nil, errNoPlace
	}
	return f, after, nil
}

// stands takes the measure of a fault again beside a second one, where that may change it. It
// returns errNoPlace where the two are not apart.
func (f *fault) stands(ctx context.Context, d *arches, second *fault) error {
	switch {
	case f.lower != 0 && f.lower == second.lower:
		return errNoPlace
	case !f.raised():
		return nil
	}
	now := *f
	if err := now.again(ctx, d); err != nil {
		return err
	}
	*f = now
	return nil
}

// again takes the measure of a raised spot once more, beside a second fault: by closings of
// the arches as they are and with the vertices of its tooth as they were.
func (f *fault) again(ctx context.Context, d *arches) error {
	verts := slices.Clone(d.lower.Vertices())
	for v := range verts {
		if d.lowerTeeth.Vertex(mesh.VertexID(v)) == f.lower {
			verts[v] = f.bare.Vertex(mesh.VertexID(v))
		}
	}
	bare, err := mesh.New(verts, d.lower.Triangles())
	if err != nil {
		return err
	}
	after, err := d.ready(ctx)
	if err != nil {
		return err
	}
	before, err := withLower(ctx, after.up, bare)
	if err != nil {
		return err
	}
	is, err := after.sweep(d, f.movement, travelStep)
	if err != nil {
		return err
	}
	was, err := before.sweep(d, f.movement, travelStep)
	if err != nil {
		return err
	}
	if f.strongest(is, heights(is, was), d); f.size < least {
		return errNoPlace
	}
	return nil
}
