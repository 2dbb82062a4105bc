package geom

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// slimSq is the squared sine of a triangle's angle below which its normal and
// the weights of its corners, differences of nearly equal products, have lost
// too many digits; twice the digits are then used, or all pairs of features.
const slimSq = 1e-6

// Face is a triangle prepared for measuring it against several others.
type Face struct {
	T    Triangle
	n    r3.Vec  // normal, not of unit length; zero if the triangle has none
	inv  float64 // 1/|n|²
	room float64 // what rounding may add to a squared distance near zero
	slim bool
}

// NewFace prepares a triangle.
func NewFace(a, b, c r3.Vec) (f Face) {
	f.T = Triangle{a, b, c}
	u, v, w := r3.Sub(b, a), r3.Sub(c, a), r3.Sub(c, b)
	f.n = r3.Cross(u, v)
	nn := r3.Norm2(f.n)
	longestSq := max(r3.Norm2(u), r3.Norm2(v), r3.Norm2(w))
	if f.slim = nn <= slimSq*longestSq*longestSq; f.slim {
		f.n = sharpNormal(a, b, c)
	}
	f.inv, f.room = 1/nn, 1e-18*longestSq
	return f
}

// sharpNormal is the normal of a triangle whose sides are almost parallel.
func sharpNormal(a, b, c r3.Vec) r3.Vec {
	ux, uy, uz := Difference(b.X, a.X), Difference(b.Y, a.Y), Difference(b.Z, a.Z)
	vx, vy, vz := Difference(c.X, a.X), Difference(c.Y, a.Y), Difference(c.Z, a.Z)
	return r3.Vec{
		X: uy.Mul(vz).Sub(uz.Mul(vy)).Float(),
		Y: uz.Mul(vx).Sub(ux.Mul(vz)).Float(),
		Z: ux.Mul(vy).Sub(uy.Mul(vx)).Float(),
	}
}

// Faces is the squared distance of two closed triangles and a pair of nearest
// points. Where they cross or touch the distance is zero and both points are
// one common point. Distances above the square root of maxSq need not be told
// apart: the result may then be +Inf. maxSq itself is included.
//
// The nearest pair of two disjoint triangles is a corner over a face or two
// edges. If it is a corner over a face, the other triangle lies wholly beyond
// that corner, so of each triangle only the corner nearest to the other's
// plane has to be tried; if its foot lies on the face, no edges need measuring.
func Faces(a, b *Face, maxSq float64) (distSq float64, pa, pb r3.Vec) {
	var sideA, sideB plane
	if !a.slim {
		if sideA = a.sides(&b.T); sideA.apartSq > maxSq {
			return math.Inf(1), pa, pb
		}
	}
	if !b.slim {
		if sideB = b.sides(&a.T); sideB.apartSq > maxSq {
			return math.Inf(1), pa, pb
		}
	}
	if a.slim || b.slim {
		return allFeatures(a, b)
	}
	if centersApart(&a.T, &b.T, maxSq+a.room) {
		return math.Inf(1), pa, pb
	}
	if sideA.apart {
		if p, ok := a.foot(b.T[sideA.nearest]); ok {
			return DistSq(p, b.T[sideA.nearest]), p, b.T[sideA.nearest]
		}
	}
	if sideB.apart {
		if p, ok := b.foot(a.T[sideB.nearest]); ok {
			return DistSq(p, a.T[sideB.nearest]), a.T[sideB.nearest], p
		}
	}
	if !sideA.apart && !sideB.apart {
		if p, ok := crossing(a, b); ok {
			return 0, p, p
		}
	}
	distSq, pa, pb = edgesApart(&a.T, &b.T)
	if distSq > maxSq {
		distSq = math.Inf(1)
	}
	return distSq, pa, pb
}

// centersApart says whether two triangles are farther apart than the limit when
// projected on the line between their centres.
func centersApart(a, b *Triangle, maxSq float64) bool {
	d := r3.Sub(r3.Add(r3.Add(b[0], b[1]), b[2]), r3.Add(r3.Add(a[0], a[1]), a[2]))
	top := max(r3.Dot(d, r3.Sub(a[1], a[0])), r3.Dot(d, r3.Sub(a[2], a[0])), 0)
	bottom := min(r3.Dot(d, r3.Sub(b[0], a[0])), r3.Dot(d, r3.Sub(b[1], a[0])), r3.Dot(d, r3.Sub(b[2], a[0])))
	s := bottom - top
	return s > 0 && s*s*(1-1e-7) > maxSq*r3.Norm2(d)
}

// edgesApart is the nearest pair of points on the borders.
func edgesApart(a, b *Triangle) (distSq float64, pa, pb r3.Vec) {
	distSq = math.Inf(1)
	for i := range 3 {
		a0, a1, a2 := a[i], a[(i+1)%3], a[(i+2)%3]
		for j := range 3 {
			b0, b1, b2 := b[j], b[(j+1)%3], b[(j+2)%3]
			p, q := SegmentSegment(a0, a1, b0, b1)
			v := r3.Sub(q, p)
			d := r3.Norm2(v)
			if d >= distSq {
				continue
			}
			distSq, pa, pb = d, p, q
			// Where both third corners lie outside the slab between the two
			// edges, nothing of the triangles can be nearer; a slab thinner
			// than a thirtieth of them has a direction too uncertain to tell.
			u, w := r3.Sub(a2, p), r3.Sub(b2, q)
			if r3.Dot(u, v) <= 0 && r3.Dot(w, v) >= 0 && 1000*d > max(r3.Norm2(u), r3.Norm2(w)) {
				return distSq, pa, pb
			}
		}
	}
	return distSq, pa, pb
}

// allFeatures measures every pair of features, for slim triangles.
func allFeatures(f, g *Face) (distSq float64, pa, pb r3.Vec) {
	if p, ok := crossing(f, g); ok {
		return 0, p, p
	}
	a, b := &f.T, &g.T
	distSq, pa, pb = math.Inf(1), a[0], b[0]
	try := func(p, q r3.Vec) {
		if d := DistSq(p, q); d < distSq {
			distSq, pa, pb = d, p, q
		}
	}
	for i := range 3 {
		try(PointTriangle(b[i], a[0], a[1], a[2]), b[i])
		try(a[i], PointTriangle(a[i], b[0], b[1], b[2]))
		for j := range 3 {
			try(SegmentSegment(a[i], a[(i+1)%3], b[j], b[(j+1)%3]))
		}
	}
	return distSq, pa, pb
}

// plane says how a triangle lies to another one's plane.
type plane struct {
	apart   bool    // all corners strictly on one side
	nearest int     // the corner nearest to the plane, if apart
	apartSq float64 // its squared distance, a lower bound for the triangles; 0 if not apart
}

func (f *Face) sides(other *Triangle) plane {
	s0, s1, s2 := f.height(other[0]), f.height(other[1]), f.height(other[2])
	if s0 < 0 {
		s0, s1, s2 = -s0, -s1, -s2
	}
	if !(s0 > 0 && s1 > 0 && s2 > 0) {
		return plane{}
	}
	least, at := s0, 0
	if s1 < least {
		least, at = s1, 1
	}
	if s2 < least {
		least, at = s2, 2
	}
	// A hair less than computed, so that rounding never rejects a pair at the limit.
	return plane{apart: true, nearest: at, apartSq: least*least*f.inv*(1-1e-7) - f.room}
}

// height is the distance of p from the plane, times |n|.
func (f *Face) height(p r3.Vec) float64 { return r3.Dot(f.n, r3.Sub(p, f.T[0])) }

// over says whether p lies on the triangle when seen along its normal.
func (f *Face) over(p r3.Vec) bool {
	for i := range 3 {
		e := r3.Sub(f.T[(i+1)%3], f.T[i])
		if r3.Dot(r3.Cross(e, r3.Sub(p, f.T[i])), f.n) < 0 {
			return false
		}
	}
	return true
}

// foot is the perpendicular foot of p on the plane, if it lies on the triangle.
func (f *Face) foot(p r3.Vec) (r3.Vec, bool) {
	if !f.over(p) {
		return r3.Vec{}, false
	}
	return r3.Sub(p, r3.Scale(f.height(p)*f.inv, f.n)), true
}

// crossing is a common point of an edge of one triangle with the other's face.
func crossing(a, b *Face) (r3.Vec, bool) {
	for i := range 3 {
		if p, ok := b.pierced(a.T[i], a.T[(i+1)%3]); ok {
			return p, true
		}
		if p, ok := a.pierced(b.T[i], b.T[(i+1)%3]); ok {
			return p, true
		}
	}
	return r3.Vec{}, false
}

// pierced is a point in which the segment pq meets the closed triangle. Of a
// segment in its plane only p is tried: if neither end lies on the triangle,
// the segment meets an edge or misses. A triangle without a normal is its edges.
func (f *Face) pierced(p, q r3.Vec) (r3.Vec, bool) {
	if f.n == (r3.Vec{}) {
		return r3.Vec{}, false
	}
	sp, sq := f.height(p), f.height(q)
	if (sp > 0 && sq > 0) || (sp < 0 && sq < 0) {
		return r3.Vec{}, false
	}
	x := p
	if sp != 0 {
		x = along(p, r3.Sub(q, p), sp/(sp-sq))
	}
	return x, f.over(x)
}
