package casts

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/normal"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// The twin of a tooth is the same tooth of the other side: about its mirror image.

// Of laying a crown on its twin: how many of its points are used; how far they may
// lie off and still count, mm; the deviation, mm, at which a point counts for a
// quarter; the length that makes a turn a shift of the crown's surface, mm; the most
// steps, and the shift, mm, from which one is the last. All are our choice.
const (
	twinPoints = 200
	twinReach  = 1.5
	twinDoubt  = 0.2
	twinSize   = 5.0
	twinSteps  = 40
	twinStill  = 2e-3
)

// onTwin is the rigid motion that lays the mirrored crown of its twin on a tooth:
// iterated closest points, point to plane (Chen & Medioni 1992, Image Vis Comput
// 10:145-155), with the weights of Geman and McClure, so that worn, covered or
// otherwise unlike places do not count. It starts from the teeth's frames. ok is
// false where there is no twin or most of it comes to lie off the tooth.
func (c *Cast) onTwin(t dentition.ToothID) (pose kinematics.Pose, ok bool) {
	own, ok1 := c.Frames[t]
	twin, ok2 := c.Frames[t.Mirror()]
	part := slices.Index(c.ByPart, t)
	if !ok1 || !ok2 || part < 0 {
		return pose, false
	}
	points := c.crown(t.Mirror(), twinPoints)
	for i, p := range points {
		points[i] = kinematics.Mirrored(p)
	}
	pose = kinematics.Translation(r3.Scale(-1, kinematics.Mirrored(twin.Centre))).
		Then(kinematics.Turning(kinematics.Mirrored(twin.Mesial), kinematics.Mirrored(twin.Occlusal), own.Mesial, own.Occlusal)).
		Then(kinematics.Translation(own.Centre))
	f := kinematics.TwistFrame{Centre: own.Centre, Length: twinSize}
	var wishes []wish
	for range twinSteps {
		wishes = wishes[:0]
		for _, p := range points {
			p = pose.Apply(p)
			h, ok := c.Index.NearestInPart(part, p, twinReach)
			if !ok {
				continue
			}
			n := c.Mesh().AreaVector(h.Tri)
			if !(r3.Norm(n) > 0) {
				continue
			}
			n = r3.Unit(n)
			far := r3.Dot(r3.Sub(h.Point, p), n)
			if h.Dist > 2*math.Abs(far)+0.05 {
				continue // beside the border of what the scan shows
			}
			u := far / twinDoubt
			wishes = append(wishes, wish{p, n, far, 1 / ((1 + u*u) * (1 + u*u))})
		}
		if 2*len(wishes) < len(points) {
			return pose, false
		}
		step, size, ok := meet(f, wishes)
		if !ok {
			return pose, false
		}
		if pose = pose.Then(step); size < twinStill {
			break
		}
	}
	return pose, true
}

// crown is at most n, or up to twice as many, of the vertices of a tooth.
func (c *Cast) crown(t dentition.ToothID, n int) []r3.Vec {
	var all []r3.Vec
	for v, p := range c.Mesh().Vertices() {
		if c.Labels.Vertex(mesh.VertexID(v)) == t {
			all = append(all, p)
		}
	}
	step := max(1, len(all)/n)
	out := all[:0]
	for i := 0; i < len(all); i += step {
		out = append(out, all[i])
	}
	return out
}

// wish is that a point moves by far, mm, along a unit vector.
type wish struct {
	point, along r3.Vec
	far, weight  float64
}

// meet is the small rigid motion that meets wishes best, by least squares, and the
// length of its twist, mm; ok is false where they leave a motion free.
func meet(f kinematics.TwistFrame, wishes []wish) (step kinematics.Pose, size float64, ok bool) {
	e := normal.New(6)
	for _, w := range wishes {
		row := f.Along(w.point, w.along)
		e.Add(row[:], w.far, w.weight)
	}
	const free = 1e8 // condition from which a motion counts as free
	x, ok := e.Solve(free)
	if !ok {
		return step, 0, false
	}
	for _, v := range x {
		size += v * v
	}
	return f.Pose(x), math.Sqrt(size), true
}
