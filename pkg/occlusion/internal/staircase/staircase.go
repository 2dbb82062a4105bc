// Package staircase takes the closing of two casts apart into its steps: at which
// opening each opposing pair of teeth meets, from the first touch down.
//
// The first step is the premature contact of the relation, the others what would meet
// next if those before were not there.
package staircase

import (
	"math"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// A Step is an opposing pair of teeth and the closing of that pair alone.
type Step struct {
	Upper, Lower dentition.ToothID
	Touch        contact.Closing
	// Normal is the unit normal of the touch, from the lower to the upper cast.
	Normal r3.Vec
	// Height is how far the spot travels (mm) when the casts close on from here to the
	// next step: by how much it is high against the next pair. NaN for the last step.
	Height float64
}

// Cast is one cast: its surface, and the teeth of its triangles and of the parts of its arch,
// dentition.NoTooth for none.
type Cast struct {
	Mesh   *mesh.Mesh
	Tooth  func(mesh.TriID) dentition.ToothID
	OfPart func(part int32) dentition.ToothID
}

// Limits end a staircase.
type Limits struct {
	// Most is the most steps.
	Most int
	// Deep is how far (mm) the first spot may travel before the steps end.
	Deep float64
}

// Climb lists the steps of closing under a base pose, the first touch first. Where any
// is on teeth, pairs without a tooth on either side are ignored; without labels there is
// one step, between two surfaces.
//
// Each step is an exact closing that ignores the pairs above it: the opening of a pair
// alone is that of the closing without all pairs that meet before it. Corners and edges
// on the seam between two teeth count for one of them, as in [contact.Closer.CloseWithout].
func Climb(c *contact.Closer, base kinematics.Pose, upper, lower Cast, labelled bool, l Limits, s *contact.CloserScratch) []Step {
	var done [256][256]bool
	var out []Step
	for len(out) < l.Most {
		touch, err := c.CloseWithout(base, contact.Passing{Parts: func(u, l int32) bool {
			a, b := upper.OfPart(u), lower.OfPart(l)
			return done[a][b] || labelled && (a == dentition.NoTooth || b == dentition.NoTooth)
		}}, s)
		if err != nil { // nothing touches: the base is finite
			break
		}
		if n := len(out); n > 0 {
			out[n-1].Height = Way(base, &out[n-1].Touch, touch.Opening)
			if Way(base, &out[0].Touch, touch.Opening) > l.Deep {
				break
			}
		}
		step := Step{Upper: upper.Tooth(touch.Upper), Lower: lower.Tooth(touch.Lower), Touch: touch,
			Normal: normal(upper.Mesh, lower.Mesh, &touch), Height: math.NaN()}
		done[step.Upper][step.Lower] = true
		out = append(out, step)
	}
	return out
}

// normal is the direction between the normals of the two faces that touch; upwards where
// they cancel.
func normal(upper, lower *mesh.Mesh, t *contact.Closing) r3.Vec {
	n := r3.Sub(t.Pose.Rotate(unit(lower.AreaVector(t.Lower))), unit(upper.AreaVector(t.Upper)))
	if r3.Norm(n) < 1e-6 { // mutants: same, a measured length never is the border
		return r3.Vec{Z: 1}
	}
	return r3.Unit(n)
}

func unit(v r3.Vec) r3.Vec {
	if n := r3.Norm(v); n > 0 { // mutants: same, what has no area never touches
		return r3.Scale(1/n, v)
	}
	return v
}

// Way is how far (mm) the spot of a touch travels when the casts close from there to
// another opening: the chord of its arc about the hinge.
func Way(base kinematics.Pose, t *contact.Closing, to s1.Angle) float64 {
	q := base.Inverse().Apply(t.Point)
	lever := r3.Norm(r3.Vec{Y: q.Y, Z: q.Z})
	return 2 * lever * math.Sin((t.Opening-to).Abs().Radians()/2)
}
