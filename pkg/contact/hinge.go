package contact

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/geom"
	"gonum.org/v1/gonum/spatial/r3"
)

// A feature of the lower arch turns by θ about x, which takes (y, z) to
// (y·cos θ − z·sin θ, y·sin θ + z·cos θ), and meets a feature of the upper arch
// when A·cos θ + B·sin θ = C. The sines of the limits:
var (
	sinMost  = math.Sin(OpeningMost.Radians())
	sinLeast = math.Sin(OpeningLeast.Radians())
)

// margin widens every feature by this many mm, so that rounding opens no crack
// between features that share an edge or a corner. The coordinates of casts
// round at about 1e-14 mm; seen from the hinge, 60 mm away, the margin is 2e-13
// radians.
const margin = 1e-11

// tangent is the share of the square of the terms below which A²+B²−C² has lost
// so many digits that the equation is solved again with twice as many: for
// solutions that nearly coincide, and for features whose planes or lines are
// given badly (needles, edges nearly parallel, faces nearly across the axis).
// With ε = 1e-16 what stays is good to about ε/√tangent.
const tangent = 1e-9

// turn is a rotation about x by the angle with this sine and cosine.
type turn struct {
	sin, cos float64
}

func (t turn) apply(p r3.Vec) r3.Vec {
	return r3.Vec{X: p.X, Y: p.Y*t.cos - p.Z*t.sin, Z: p.Y*t.sin + p.Z*t.cos}
}

// back is the turn the other way.
func (t turn) back() turn { return turn{-t.sin, t.cos} }

// solve gives the two turns with A·cos θ + B·sin θ = C. size bounds the terms
// of which A, B and C are sums. near says that rounding may matter, so that the
// caller should use solveDD.
func solve(a, b, c, size float64) (t [2]turn, ok, near bool) {
	rr := a*a + b*b
	disc := rr - c*c
	if lost := tangent * size * size; disc < lost {
		return t, false, disc > -lost
	}
	w := math.Sqrt(disc)
	return [2]turn{
		{(b*c + a*w) / rr, (a*c - b*w) / rr},
		{(b*c - a*w) / rr, (a*c + b*w) / rr},
	}, true, false
}

// solveDD is solve in double-double arithmetic. A negative discriminant within
// its rounding is taken as zero, and an equation that vanishes within its
// rounding has no solutions: what it says of always touching some other pair of
// features says better.
func solveDD(a, b, c geom.DD, size float64) (t [2]turn, ok bool) {
	rr := a.Mul(a).Add(b.Mul(b))
	disc := rr.Sub(c.Mul(c))
	if disc.Hi < -1e-30*size*size || rr.Hi <= 1e-56*size*size {
		return t, false
	}
	w := disc.Sqrt()
	bc, ac, aw, bw := b.Mul(c), a.Mul(c), a.Mul(w), b.Mul(w)
	f := func(x geom.DD) float64 { return x.Div(rr).Float() }
	return [2]turn{
		{f(bc.Add(aw)), f(ac.Sub(bw))},
		{f(bc.Sub(aw)), f(ac.Add(bw))},
	}, true
}

// sum bounds the length of v without a square root.
func sum(v r3.Vec) float64 { return math.Abs(v.X) + math.Abs(v.Y) + math.Abs(v.Z) }

type vecDD [3]geom.DD

func differenceDD(p, q r3.Vec) vecDD {
	return vecDD{geom.Difference(p.X, q.X), geom.Difference(p.Y, q.Y), geom.Difference(p.Z, q.Z)}
}

func exactDD(p r3.Vec) vecDD { return vecDD{{Hi: p.X}, {Hi: p.Y}, {Hi: p.Z}} }

func (p vecDD) cross(q vecDD) vecDD {
	return vecDD{
		p[1].Mul(q[2]).Sub(p[2].Mul(q[1])),
		p[2].Mul(q[0]).Sub(p[0].Mul(q[2])),
		p[0].Mul(q[1]).Sub(p[1].Mul(q[0])),
	}
}

// vertexFace gives the turns that bring the point q into the plane of the
// triangle abc, whose normal is n: n·(turned q) = n·a.
func vertexFace(q, a, b, c, n r3.Vec) (t [2]turn, ok bool) {
	x := a.X - q.X
	size := sum(r3.Sub(b, a)) * sum(r3.Sub(c, a)) * (math.Abs(q.Y) + math.Abs(q.Z) + math.Abs(x) + math.Abs(a.Y) + math.Abs(a.Z))
	t, ok, near := solve(n.Y*q.Y+n.Z*q.Z, n.Z*q.Y-n.Y*q.Z, n.X*x+n.Y*a.Y+n.Z*a.Z, size)
	if !near {
		return t, ok
	}
	m, p, o := differenceDD(b, a).cross(differenceDD(c, a)), exactDD(q), exactDD(a)
	return solveDD(
		m[1].Mul(p[1]).Add(m[2].Mul(p[2])),
		m[2].Mul(p[1]).Sub(m[1].Mul(p[2])),
		m[0].Mul(o[0].Sub(p[0])).Add(m[1].Mul(o[1])).Add(m[2].Mul(o[2])),
		size,
	)
}

// edgeEdge gives the turns that bring the line from q0 to q1 to meet the line
// from p0 to p1, that is (Re × f)·(Rq0 − p0) = 0 with e = q1−q0 and f = p1−p0.
// With m = q0×e and g = f×p0 that is f·Rm = Re·g.
func edgeEdge(q0, q1, p0, p1 r3.Vec) (t [2]turn, ok bool) {
	e, f := r3.Sub(q1, q0), r3.Sub(p1, p0)
	m, g := r3.Cross(q0, e), r3.Cross(f, p0)
	size := sum(e) * sum(f) * (sum(q0) + sum(p0))
	t, ok, near := solve(
		(f.Y*m.Y+f.Z*m.Z)-(e.Y*g.Y+e.Z*g.Z),
		(f.Z*m.Y-f.Y*m.Z)-(e.Y*g.Z-e.Z*g.Y),
		e.X*g.X-f.X*m.X,
		size,
	)
	if !near {
		return t, ok
	}
	ee, ff := differenceDD(q1, q0), differenceDD(p1, p0)
	mm, gg := exactDD(q0).cross(ee), ff.cross(exactDD(p0))
	return solveDD(
		ff[1].Mul(mm[1]).Add(ff[2].Mul(mm[2])).Sub(ee[1].Mul(gg[1])).Sub(ee[2].Mul(gg[2])),
		ff[2].Mul(mm[1]).Sub(ff[1].Mul(mm[2])).Sub(ee[1].Mul(gg[2])).Add(ee[2].Mul(gg[1])),
		ee[0].Mul(gg[0]).Sub(ff[0].Mul(mm[0])),
		size,
	)
}

// onFace says whether the point p of the plane of abc, with normal n, lies on
// the triangle, within the margin.
func onFace(p, a, b, c, n r3.Vec) bool {
	slack := -margin * r3.Norm(n)
	inside := func(a, b r3.Vec) bool {
		e := r3.Sub(b, a)
		s := r3.Dot(r3.Cross(e, r3.Sub(p, a)), n)
		return s >= 0 || s >= slack*r3.Norm(e)
	}
	return inside(a, b) && inside(b, c) && inside(c, a)
}

// onEdges says whether the point in which the lines q0q1 and p0p1 meet lies on
// both segments, within the margin, and where it is.
func onEdges(q0, q1, p0, p1 r3.Vec) (r3.Vec, bool) {
	e, f, w := r3.Sub(q1, q0), r3.Sub(p1, p0), r3.Sub(p0, q0)
	n := r3.Cross(e, f)
	nn := r3.Norm2(n)
	if nn == 0 {
		return r3.Vec{}, false // parallel: their ends meet the other edge's faces
	}
	s, t := r3.Dot(r3.Cross(w, f), n)/nn, r3.Dot(r3.Cross(w, e), n)/nn
	if !within01(s, e) || !within01(t, f) {
		return r3.Vec{}, false
	}
	return r3.Add(q0, r3.Scale(s, e)), true
}

func within01(s float64, e r3.Vec) bool {
	if s >= 0 && s <= 1 {
		return true
	}
	slack := margin / r3.Norm(e)
	return s >= -slack && s <= 1+slack
}

// acrossAxis says whether a face with normal n lies in a plane x = const, in
// which the turn moves points along it instead of through it: within 1e-13, so
// that x varies over a face of 10 mm by less than the margin.
func acrossAxis(n r3.Vec) bool { return n.Y*n.Y+n.Z*n.Z <= 1e-26*n.X*n.X }

// vertexEdgeInPlane gives the turns that bring q onto the segment ab where all
// three lie in one plane x = const: the points of the segment as far from the
// axis as q.
func vertexEdgeInPlane(q, a, b r3.Vec) (t [2]turn, n int) {
	if math.Abs(q.X-a.X) > margin {
		return t, 0
	}
	dy, dz := b.Y-a.Y, b.Z-a.Z
	qq := q.Y*q.Y + q.Z*q.Z
	e, h, k := dy*dy+dz*dz, a.Y*dy+a.Z*dz, a.Y*a.Y+a.Z*a.Z-qq
	disc := h*h - e*k
	if e == 0 || qq == 0 || disc < 0 {
		return t, 0
	}
	w := math.Sqrt(disc)
	for _, s := range [2]float64{(-h + w) / e, (-h - w) / e} {
		if !within01(s, r3.Vec{Y: dy, Z: dz}) {
			continue
		}
		y, z := a.Y+s*dy, a.Z+s*dz
		t[n] = turn{(q.Y*z - q.Z*y) / qq, (q.Y*y + q.Z*z) / qq}
		n++
	}
	return t, n
}
