package geom

import "gonum.org/v1/gonum/spatial/r3"

// parallelSq is the squared sine of the angle between two segments below which
// the interior solution alone is not trusted: its parameter has then lost more
// than half of the digits, and the four ends are tried as well.
const parallelSq = 1e-8

// SegmentSegment is the pair of nearest points of the closed segments p0p1 and
// q0q1 (Ericson 2005, section 5.1.9). Segments of zero length are points.
// Parallel segments have many nearest pairs; one of them is returned.
func SegmentSegment(p0, p1, q0, q1 r3.Vec) (p, q r3.Vec) {
	d1, d2, r := r3.Sub(p1, p0), r3.Sub(q1, q0), r3.Sub(p0, q0)
	a, e, f := r3.Norm2(d1), r3.Norm2(d2), r3.Dot(d2, r)
	if a == 0 {
		return p0, PointSegment(p0, q0, q1)
	}
	if e == 0 {
		return PointSegment(q0, p0, p1), q0
	}
	c, b := r3.Dot(d1, r), r3.Dot(d1, d2)
	den := a*e - b*b
	var s float64
	if den > 0 {
		s = clamp01((b*f - c*e) / den)
	}
	t := (b*s + f) / e
	switch {
	case t < 0:
		t, s = 0, clamp01(-c/a)
	case t > 1:
		t, s = 1, clamp01((b-c)/a)
	}
	p, q = along(p0, d1, s), along(q0, d2, t)
	if den > parallelSq*a*e {
		return p, q
	}
	best := DistSq(p, q)
	try := func(x, y r3.Vec) {
		if d := DistSq(x, y); d < best {
			best, p, q = d, x, y
		}
	}
	try(p0, PointSegment(p0, q0, q1))
	try(p1, PointSegment(p1, q0, q1))
	try(PointSegment(q0, p0, p1), q0)
	try(PointSegment(q1, p0, p1), q1)
	return p, q
}

// PointSegment is the point of the closed segment ab nearest to p.
func PointSegment(p, a, b r3.Vec) r3.Vec {
	ab := r3.Sub(b, a)
	e := r3.Norm2(ab)
	if e == 0 {
		return a
	}
	return along(a, ab, clamp01(r3.Dot(r3.Sub(p, a), ab)/e))
}

func along(a, d r3.Vec, t float64) r3.Vec {
	return r3.Vec{X: a.X + t*d.X, Y: a.Y + t*d.Y, Z: a.Z + t*d.Z}
}

func clamp01(t float64) float64 {
	if t < 0 {
		return 0
	}
	if t > 1 {
		return 1
	}
	return t
}
