package main

import (
	"context"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/unixpickle/model3d/model3d"
	"gonum.org/v1/gonum/spatial/r3"
)

// design says how a splint on the upper teeth is to be. All lengths are mm; the
// values are common practice and have no source.
type design struct {
	thickness float64  // the least, over the upper teeth
	wall      float64  // beside the teeth
	climb     float64  // how far it reaches up the teeth from the lowest cusp nearby
	seat      float64  // gap to the teeth
	imprint   float64  // depth to which supporting cusps sink into the flat
	travel    float64  // how far the guiding surface reaches along each movement
	lateral   s1.Angle // opening for each mm of travel to a side
	forward   s1.Angle // and forward
	relief    s1.Angle // by which anterior teeth sink in deeper: the surface rounds off what narrow edges carve
	mesh      float64  // edge of the cubes of the surface
}

func usual() design {
	return design{
		thickness: 1.2, wall: 1.5, climb: 3, seat: 0.05, imprint: 0.1,
		travel: 2.5, lateral: 0.5 * s1.Degree, forward: 0.25 * s1.Degree, relief: 0.04 * s1.Degree, mesh: 0.3,
	}
}

// opening is that which the splint guides to at a station, rest where the jaw is
// closed.
func (d *design) opening(rest s1.Angle, st kinematics.Station) s1.Angle {
	if st.Movement == kinematics.Protrusive {
		return rest + s1.Angle(st.Travel)*d.forward
	}
	return rest + s1.Angle(st.Travel)*d.lateral
}

// rest is the least opening, in steps of a quarter of a degree, at which there is
// room for the thickness between the arches.
func (d *design) rest(pair *casts.Casts) (s1.Angle, kinematics.Pose, error) {
	var s contact.GapScratch
	for opening := s1.Angle(0); opening < kinematics.OpeningMax; opening += 0.25 * s1.Degree {
		pose := kinematics.RotationX(opening)
		gap, ok := contact.LeastGap(pair.Upper.Index, pair.Lower.Index, pose, math.Inf(1), &s)
		if ok && gap.Dist >= d.thickness {
			return opening, pose, nil
		}
	}
	return 0, kinematics.Pose{}, fmt.Errorf("no room for %g mm between the arches", d.thickness)
}

// step is the distance of the positions that carve the splint, mm of travel.
const step = 0.1

// splint is a solid in the articulator frame: a column from under to over at every
// point that is near enough to a tooth.
type splint struct {
	under, over heights
	beside      heights // distance from the teeth
	wall        float64
	low, high   float64
	cube        float64
}

// make computes the splint that opens by rest when the teeth close on it.
func (d *design) make(ctx context.Context, pair *casts.Casts, set kinematics.Settings, rest s1.Angle) (*splint, error) {
	upper, lower := pair.Upper, pair.Lower
	var teeth []r3.Vec
	for t := range mesh.TriID(upper.Mesh().NumTriangles()) {
		if upper.Tooth(t) != dentition.NoTooth {
			for _, v := range upper.Mesh().Triangle(t) {
				teeth = append(teeth, upper.Mesh().Vertex(v))
			}
		}
	}
	if len(teeth) == 0 {
		return nil, fmt.Errorf("the upper arch has no labelled teeth")
	}
	g := gridOver(teeth, d.wall+3*cell)
	fit := g.filled(math.Inf(1))
	fit.raise(upper.Mesh(), kinematics.Pose{}, -1, func(t mesh.TriID) bool { return upper.Tooth(t) != dentition.NoTooth })
	s := &splint{under: d.body(g, &fit, lower, rest), beside: fit.distance(d.wall + 2*cell), wall: d.wall, cube: d.mesh}
	if err := d.carve(ctx, s, lower, set, rest); err != nil {
		return nil, err
	}
	s.over = d.fitting(&fit)
	s.bound()
	return s, nil
}

// carve takes off the lower side what the lower arch meets on its paths, and adds
// in front what its teeth guide on.
func (d *design) carve(ctx context.Context, s *splint, lower *casts.Cast, set kinematics.Settings, rest s1.Angle) error {
	g := s.under.grid
	carved, ramp, closing := g.filled(math.Inf(-1)), g.filled(math.Inf(-1)), g.filled(math.Inf(-1))
	front := func(t mesh.TriID) bool {
		tooth := lower.Tooth(t)
		return tooth != dentition.NoTooth && tooth.Type().Anterior()
	}
	back := func(t mesh.TriID) bool { return !front(t) }
	tips := guiding(lower, front)
	travels, err := kinematics.Samples(d.travel, step)
	if err != nil {
		return err
	}
	for more := -0.05; more < 3; more += 0.1 {
		closing.raise(lower.Mesh(), kinematics.RotationX(rest+s1.Angle(more)*s1.Degree), 1, front)
	}
	for _, m := range [...]kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive} {
		n := 0
		for st, err := range set.Stations(m, travels) {
			if err == nil {
				err = ctx.Err()
			}
			if err != nil {
				return err
			}
			opening := d.opening(rest, st)
			carved.raise(lower.Mesh(), st.Pose(opening), 1, back)
			carved.raise(lower.Mesh(), st.Pose(opening-d.relief), 1, front)
			ramp.raise(lower.Mesh(), st.Pose(opening-d.relief), 1, tips)
			// The anterior teeth come to where they guide from below and behind.
			for more := 0.25; more < 3 && n%3 == 0; more += 0.25 {
				carved.raise(lower.Mesh(), st.Pose(opening+s1.Angle(more)*s1.Degree), 1, front)
			}
			n++
		}
	}
	// Teeth do not rub along steep walls: 0.3 mm of room where a wall is higher than
	// twice that.
	// When the jaw closes they are free by half a millimetre all around.
	aside, free := carved.spread(0.3, 1), closing.spread(0.5, 1)
	for k := range s.under.at {
		if !math.IsInf(ramp.at[k], -1) {
			s.under.at[k] = min(s.under.at[k], ramp.at[k])
		}
		s.under.at[k] = max(s.under.at[k], carved.at[k], aside.at[k]-0.6, free.at[k]-0.1)
	}
	return nil
}

// guiding takes the triangles by which lower anterior teeth guide: within 0.8 mm of
// the highest place of their tooth.
func guiding(lower *casts.Cast, front func(mesh.TriID) bool) func(mesh.TriID) bool {
	m := lower.Mesh()
	top := map[dentition.ToothID]float64{}
	low := func(t mesh.TriID) float64 {
		v := m.Triangle(t)
		return min(m.Vertex(v[0]).Z, m.Vertex(v[1]).Z, m.Vertex(v[2]).Z)
	}
	for t := range mesh.TriID(m.NumTriangles()) {
		if front(t) {
			z, known := top[lower.Tooth(t)]
			if !known || low(t) > z {
				top[lower.Tooth(t)] = low(t)
			}
		}
	}
	return func(t mesh.TriID) bool { return front(t) && low(t) > top[lower.Tooth(t)]-0.8 }
}

// body is the lower side of the splint before anything is carved: flat about each
// of the highest places of the lower teeth and a little below them, and thick
// enough under the upper teeth.
func (d *design) body(g grid, fit *heights, lower *casts.Cast, rest s1.Angle) heights {
	top := g.filled(math.Inf(-1))
	top.raise(lower.Mesh(), kinematics.RotationX(rest), 1, func(t mesh.TriID) bool { return lower.Tooth(t) != dentition.NoTooth })
	out := top.spread(2, 1)
	for _, wider := range [...]float64{7, 14} {
		more := top.spread(wider, 1)
		for k := range out.at {
			if math.IsInf(out.at[k], -1) {
				out.at[k] = more.at[k]
			}
		}
	}
	thick := fit.spread(d.thickness, -1)
	for k := range out.at {
		out.at[k] = min(out.at[k]-d.imprint, thick.at[k]-d.thickness)
	}
	return out
}

// fitting is the upper side: the teeth as seen from below, so that undercuts are
// blocked out along the axis z, with a gap to them, up to a level on their flanks.
func (d *design) fitting(fit *heights) heights {
	out := fit.spread(5, -1)
	for k := range out.at {
		out.at[k] = min(out.at[k]+d.climb, fit.at[k]-d.seat)
	}
	return out
}

// bound sets how low and high the splint is.
func (s *splint) bound() {
	s.low, s.high = math.Inf(1), math.Inf(-1)
	for k := range s.beside.at {
		if s.beside.at[k] <= s.wall+cell {
			s.low, s.high = min(s.low, s.under.at[k]), max(s.high, s.over.at[k])
		}
	}
}

// Min, Max and Contains make it a [model3d.Solid].
func (s *splint) Min() model3d.Coord3D {
	return model3d.XYZ(s.under.x, s.under.y, s.low-s.cube)
}

func (s *splint) Max() model3d.Coord3D {
	g := s.under.grid
	return model3d.XYZ(g.x+float64(g.nx-1)*cell, g.y+float64(g.ny-1)*cell, s.high+s.cube)
}

func (s *splint) Contains(c model3d.Coord3D) bool {
	return c.Z > s.low && c.Z < s.high && s.beside.value(c.X, c.Y) < s.wall &&
		c.Z > s.under.value(c.X, c.Y) && c.Z < s.over.value(c.X, c.Y)
}
