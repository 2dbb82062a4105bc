package contact

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// In cylindrical coordinates about the hinge axis a point is (x, r, ψ) with
// y = −r·cos ψ, z = −r·sin ψ, so that the teeth lie near ψ = 0, far from the
// cut at ±π, and opening by θ adds θ to ψ. Boxes hold (x, r, k·ψ) with a length
// k that makes the sides comparable.

// aroundAxis stands for an interval of ψ that is not bounded: what surrounds
// the axis or comes closer to the cut than the widest opening reaches.
const aroundAxis = 1e4

// nearCut is the |ψ| beyond which an interval is taken as unbounded. Two angles
// within ±nearCut differ, after a turn of at most 20°, by less than a full turn.
const nearCut = math.Pi - 0.4

// boxPad grows cylindrical boxes, in mm, by more than their computation rounds
// and more than the margin of features.
const boxPad = 1e-9

// cylinderBounds is the box of a triangle in cylindrical coordinates.
func cylinderBounds(a, b, c r3.Vec, k float64) bvh.Bounds {
	ra, rb, rc := math.Hypot(a.Y, a.Z), math.Hypot(b.Y, b.Z), math.Hypot(c.Y, c.Z)
	box := bvh.Bounds{
		Lo: [3]float64{min(a.X, b.X, c.X), 0, -aroundAxis},
		Hi: [3]float64{max(a.X, b.X, c.X), max(ra, rb, rc), aroundAxis},
	}
	if containsAxis(a, b, c) {
		return box
	}
	box.Lo[1] = math.Sqrt(min(axisToSegmentSq(a, b), axisToSegmentSq(b, c), axisToSegmentSq(c, a)))
	// Seen along the axis the triangle does not hold the origin, so it spans
	// less than π and the angles of its corners bound those of all its points.
	pa := math.Atan2(-a.Z, -a.Y)
	db, dc := angleFrom(a, b), angleFrom(a, c)
	lo, hi := pa+min(0, db, dc), pa+max(0, db, dc)
	if lo > -nearCut && hi < nearCut {
		box.Lo[2], box.Hi[2] = k*lo, k*hi
	}
	return box
}

// angleFrom is the angle about the axis from a to b, in (−π, π].
func angleFrom(a, b r3.Vec) float64 {
	return math.Atan2(a.Y*b.Z-a.Z*b.Y, a.Y*b.Y+a.Z*b.Z)
}

// containsAxis says whether the axis passes through the triangle seen along it,
// with its border, and within the rounding of the three products.
func containsAxis(a, b, c r3.Vec) bool {
	ab, bc, ca := a.Y*b.Z-a.Z*b.Y, b.Y*c.Z-b.Z*c.Y, c.Y*a.Z-c.Z*a.Y
	eps := 1e-15 * (math.Abs(ab) + math.Abs(bc) + math.Abs(ca))
	return (ab >= -eps && bc >= -eps && ca >= -eps) || (ab <= eps && bc <= eps && ca <= eps)
}

func axisToSegmentSq(a, b r3.Vec) float64 {
	dy, dz := b.Y-a.Y, b.Z-a.Z
	e, t := dy*dy+dz*dz, 0.0
	if e > 0 {
		t = min(1, max(0, -(a.Y*dy+a.Z*dz)/e))
	}
	y, z := a.Y+t*dy, a.Z+t*dz
	return y*y + z*z
}

// slab is a cylindrical box put into a straight one that can be moved: its
// centre and the half sides along x, the radius and the tangent at the centre.
type slab struct {
	center  r3.Vec
	sin     float64 // of ψ at the centre
	cos     float64
	x, r, t float64
	wide    bool // not bounded usefully: may be anywhere
}

// slabOf is the slab around a cylindrical box.
func slabOf(b *bvh.Box, k float64) slab {
	half := b.H[2]/k + 1e-15
	if half > 1.2 {
		return slab{wide: true}
	}
	s, c := math.Sincos(b.C[2] / k)
	sh, ch := math.Sincos(half)
	out, in := b.C[1]+b.H[1], max(0, b.C[1]-b.H[1])*ch
	mid := (out + in) / 2
	return slab{
		center: r3.Vec{X: b.C[0], Y: -mid * c, Z: -mid * s},
		sin:    s, cos: c,
		x: b.H[0], r: (out-in)/2 + boxPad, t: out*sh + boxPad,
	}
}

// moved is the cylindrical box around the slab after a rigid motion.
func (s *slab) moved(p *kinematics.Pose, k float64) bvh.Box {
	if s.wide {
		return bvh.Box{H: [3]float64{math.Inf(1), math.Inf(1), aroundAxis}}
	}
	c := p.Apply(s.center)
	ex := p.Rotate(r3.Vec{X: s.x})
	er := p.Rotate(r3.Vec{Y: -s.r * s.cos, Z: -s.r * s.sin})
	et := p.Rotate(r3.Vec{Y: s.t * s.sin, Z: -s.t * s.cos})
	rc := math.Hypot(c.Y, c.Z)
	hx := math.Abs(ex.X) + math.Abs(er.X) + math.Abs(et.X) + boxPad
	if rc == 0 {
		return bvh.Box{C: [3]float64{c.X, 0, 0}, H: [3]float64{hx, s.x + s.r + s.t, aroundAxis}}
	}
	uy, uz := c.Y/rc, c.Z/rc
	hr := math.Abs(ex.Y*uy+ex.Z*uz) + math.Abs(er.Y*uy+er.Z*uz) + math.Abs(et.Y*uy+et.Z*uz) + boxPad
	ht := math.Abs(ex.Z*uy-ex.Y*uz) + math.Abs(er.Z*uy-er.Y*uz) + math.Abs(et.Z*uy-et.Y*uz) + boxPad
	in, out := rc-hr, math.Sqrt((rc+hr)*(rc+hr)+ht*ht)
	psi, half := math.Atan2(-c.Z, -c.Y), 4.0
	if in > 0 {
		half = ht / in // atan x ≤ x
	} else {
		in = 0
	}
	b := bvh.Box{
		C: [3]float64{c.X, (in + out) / 2, k * psi},
		H: [3]float64{hx, (out - in) / 2, k * half},
	}
	if math.Abs(psi)+half >= nearCut {
		b.C[2], b.H[2] = 0, aroundAxis
	}
	return b
}
