// Package geom measures distances between points, segments and triangles.
//
// Lengths carry the caller's unit, squared ones its square. Results are exact
// up to rounding: a few units in the last place of the coordinates, also for
// needles and for pieces that cross, touch or lie in one plane.
package geom

import "gonum.org/v1/gonum/spatial/r3"

// Triangle is three corners.
type Triangle = [3]r3.Vec

// PointTriangle is the point of the closed triangle abc nearest to p, found by
// the region of the triangle's plane in which p projects (Ericson, Real-Time
// Collision Detection, 2005, section 5.1.5). A degenerate triangle is taken as
// the segments it has collapsed to.
func PointTriangle(p, a, b, c r3.Vec) r3.Vec {
	ab, ac, ap := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(p, a)
	d1, d2 := r3.Dot(ab, ap), r3.Dot(ac, ap)
	if d1 <= 0 && d2 <= 0 {
		return a
	}
	bp := r3.Sub(p, b)
	d3, d4 := r3.Dot(ab, bp), r3.Dot(ac, bp)
	if d3 >= 0 && d4 <= d3 {
		return b
	}
	vc := d1*d4 - d3*d2
	if vc <= 0 && d1 >= 0 && d3 <= 0 {
		return onto(a, ab, d1, d1-d3)
	}
	cp := r3.Sub(p, c)
	d5, d6 := r3.Dot(ab, cp), r3.Dot(ac, cp)
	if d6 >= 0 && d5 <= d6 {
		return c
	}
	vb := d5*d2 - d1*d6
	if vb <= 0 && d2 >= 0 && d6 <= 0 {
		return onto(a, ac, d2, d2-d6)
	}
	va := d3*d6 - d5*d4
	if va <= 0 && d4-d3 >= 0 && d5-d6 >= 0 {
		return onto(b, r3.Sub(c, b), d4-d3, (d4-d3)+(d5-d6))
	}
	s := 1 / (va + vb + vc)
	v, w := vb*s, vc*s
	return r3.Vec{X: a.X + ab.X*v + ac.X*w, Y: a.Y + ab.Y*v + ac.Y*w, Z: a.Z + ab.Z*v + ac.Z*w}
}

// onto is a + (num/den)·dir, and a where den is zero.
func onto(a, dir r3.Vec, num, den float64) r3.Vec {
	if den <= 0 {
		return a
	}
	t := num / den
	return r3.Vec{X: a.X + t*dir.X, Y: a.Y + t*dir.Y, Z: a.Z + t*dir.Z}
}

// DistSq is the squared distance of p and q.
func DistSq(p, q r3.Vec) float64 { return r3.Norm2(r3.Sub(p, q)) }
