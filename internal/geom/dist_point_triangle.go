// Package geom measures distances between points, segments and triangles.
//
// Lengths carry the caller's unit, squared ones its square. Results are exact
// but for rounding, which costs distances less than 1e-11 of the largest
// coordinate, also for needles and degenerate triangles and for pieces that
// cross, touch or lie in one plane.
package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

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
	cp := r3.Sub(p, c)
	d5, d6 := r3.Dot(ab, cp), r3.Dot(ac, cp)
	if d6 >= 0 && d5 <= d6 {
		return c
	}
	va, vb, vc := d3*d6-d5*d4, d5*d2-d1*d6, d1*d4-d3*d2
	sum := va + vb + vc                             // |ab × ac|²
	longestSq := max(d1-d3, d2-d6, (d4-d3)+(d5-d6)) // |ab|², |ac|², |bc|²
	if sum <= slimSq*longestSq*longestSq {
		return pointSlim(p, a, b, c)
	}
	switch {
	case vc <= 0 && d1 >= 0 && d3 <= 0:
		return along(a, ab, d1/(d1-d3))
	case vb <= 0 && d2 >= 0 && d6 <= 0:
		return along(a, ac, d2/(d2-d6))
	case va <= 0 && d4-d3 >= 0 && d5-d6 >= 0:
		return along(b, r3.Sub(c, b), (d4-d3)/((d4-d3)+(d5-d6)))
	}
	s := 1 / sum
	v, w := vb*s, vc*s
	return r3.Vec{X: a.X + ab.X*v + ac.X*w, Y: a.Y + ab.Y*v + ac.Y*w, Z: a.Z + ab.Z*v + ac.Z*w}
}

// pointSlim is PointTriangle by the sides and, where p projects on the face, by
// an accurate normal.
func pointSlim(p, a, b, c r3.Vec) r3.Vec {
	f := Face{T: Triangle{a, b, c}, n: sharpNormal(a, b, c)}
	if f.n != (r3.Vec{}) {
		f.inv = 1 / r3.Norm2(f.n)
		if q, ok := f.foot(p); ok {
			return q
		}
	}
	best := PointSegment(p, a, b)
	for _, q := range [2]r3.Vec{PointSegment(p, b, c), PointSegment(p, c, a)} {
		if DistSq(p, q) < DistSq(p, best) {
			best = q
		}
	}
	return best
}

// DistSq is the squared distance of p and q.
func DistSq(p, q r3.Vec) float64 { return r3.Norm2(r3.Sub(p, q)) }

// LimitSq is the largest number whose square root is at most limit ≥ 0: what a
// squared distance is compared with where the limit is included.
func LimitSq(limit float64) float64 {
	sq := limit * limit
	for next := sq; next <= math.MaxFloat64 && math.Sqrt(next) <= limit; next = math.Nextafter(next, math.Inf(1)) {
		sq = next
	}
	return sq
}
