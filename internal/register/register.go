// Package register brings one surface onto another that shows the same thing.
//
// Lengths are mm.
package register

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/normal"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// Options are how points are brought onto a surface.
type Options struct {
	Reach  float64 // mm: how far from a point the surface is looked for
	Rounds int     // at most
	// Least is the fewest points near the surface on which a fit may rest.
	Least int
}

// Fit is how points lie on a surface.
type Fit struct {
	Pose   kinematics.Pose // takes the points there
	Median float64         // mm, of the distances of the points that are near
	Share  float64         // of the points that are near
}

// outlier is how many medians away from the surface a point no longer counts, and flat the
// least median, in mm, that a limit is computed from: below it all points lie on the surface.
const (
	outlier = 4.0
	flat    = 1e-4
)

// Onto finds the rigid motion that takes points onto a surface, from a start on: iterated
// closest points to planes (Y. Chen, G. Medioni, Image and Vision Computing 10, 1992), with
// Tukey's weights (J. W. Tukey, Exploratory Data Analysis, 1977), by which what differs counts
// for nothing. ok is false where less than Least points, or less than half of them, come near, and
// where the surface leaves a motion free.
func Onto(ctx context.Context, points []r3.Vec, to *index.Index, start kinematics.Pose, o Options) (f Fit, ok bool) {
	type pair struct {
		at, normal r3.Vec
		off        float64
	}
	pairs, offs := make([]pair, 0, len(points)), make([]float64, 0, len(points))
	f.Pose = start
	for range o.Rounds {
		if ctx.Err() != nil {
			return f, false
		}
		pairs, offs = pairs[:0], offs[:0]
		var middle r3.Vec
		var walk index.Follower
		for _, p := range points {
			q := f.Pose.Apply(p)
			h, near := walk.Nearest(to, q, o.Reach)
			n := r3.Vec{}
			if near {
				n = to.Mesh().AreaVector(h.Tri)
			}
			if n == (r3.Vec{}) {
				continue
			}
			n = r3.Unit(n)
			off := r3.Dot(n, r3.Sub(h.Point, q))
			pairs, offs = append(pairs, pair{q, n, off}), append(offs, math.Abs(off))
			middle = r3.Add(middle, q)
		}
		if len(pairs) < o.Least || 2*len(pairs) < len(points) {
			return f, false
		}
		slices.Sort(offs)
		f.Median, f.Share = offs[len(offs)/2], float64(len(pairs))/float64(len(points))
		limit := outlier * max(flat, f.Median)
		frame := kinematics.TwistFrame{Centre: r3.Scale(1/float64(len(pairs)), middle), Length: 1}
		e := normal.New(6)
		for _, p := range pairs {
			if u := p.off / limit; math.Abs(u) < 1 {
				row := frame.Along(p.at, p.normal)
				e.Add(row[:], p.off, (1-u*u)*(1-u*u))
			}
		}
		x, solved := e.Solve(1e12)
		if !solved {
			return f, false
		}
		f.Pose = f.Pose.Then(frame.Pose(kinematics.Twist(x)))
		if small(x) {
			break
		}
	}
	return f, true
}

// Points finds the rigid motion that takes points nearest to others, in least squares, by
// Gauss and Newton on small turns. ok is false where the points leave a motion free.
func Points(from, to []r3.Vec) (pose kinematics.Pose, ok bool) {
	for range 20 {
		var middle r3.Vec
		for _, p := range from {
			middle = r3.Add(middle, r3.Scale(1/float64(len(from)), pose.Apply(p)))
		}
		frame := kinematics.TwistFrame{Centre: middle, Length: 1}
		e := normal.New(6)
		for i, p := range from {
			q := pose.Apply(p)
			miss := r3.Sub(to[i], q)
			for _, c := range [3]struct {
				axis r3.Vec
				by   float64
			}{{r3.Vec{X: 1}, miss.X}, {r3.Vec{Y: 1}, miss.Y}, {r3.Vec{Z: 1}, miss.Z}} {
				row := frame.Along(q, c.axis)
				e.Add(row[:], c.by, 1)
			}
		}
		x, solved := e.Solve(1e12)
		if !solved {
			return pose, false
		}
		if pose = pose.Then(frame.Pose(kinematics.Twist(x))); small(x) {
			break
		}
	}
	return pose, true
}

// small says that a twist moves nothing.
func small(x [normal.Most]float64) bool {
	sum := 0.0
	for _, v := range x {
		sum += math.Abs(v)
	}
	return sum < 1e-12
}
