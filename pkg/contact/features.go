package contact

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// leaves tries every pair of features of two runs of triangles that cannot
// touch at openings above most/k.
func (se *search) leaves(uf, un, lf, ln int, most float64) {
	var moved [bvh.LeafMax][3]r3.Vec
	var turned [3]r3.Vec
	for i := range un {
		a, b, c := se.c.up.LeafCorners(uf + i)
		moved[i] = [3]r3.Vec{se.inv.Apply(a), se.inv.Apply(b), se.inv.Apply(c)}
	}
	best := se.best
	best.cos = math.Sqrt(1 - best.sin*best.sin)
	window := (min(most, se.limit)-se.most)/se.c.k + 1e-12
	for j := range ln {
		a, b, c := se.c.turning.LeafCorners(lf + j)
		q := [3]r3.Vec{a, b, c}
		for k := range 3 {
			turned[k] = best.apply(q[k])
		}
		qMin, qMax := min(a.X, b.X, c.X), max(a.X, b.X, c.X)
		for i := range un {
			p := &moved[i]
			if min(p[0].X, p[1].X, p[2].X) > qMax+margin || max(p[0].X, p[1].X, p[2].X) < qMin-margin {
				continue
			}
			if staysBeside(p, &turned, window) || staysBeside(&turned, p, -window) {
				continue
			}
			u, l := se.c.up.LeafTriangle(uf+i), se.c.turning.LeafTriangle(lf+j)
			if p := se.passing.Triangles; p != nil && p(u, l) {
				continue
			}
			se.triangles(u, l, p, &q)
		}
	}
}

// staysBeside says whether the triangle q, turning about x from where it is by
// up to the given angle (either way by its sign), stays strictly on one side of
// the plane of p. A point at height s over the plane is, after a turn by d, at
// s + a·sin d − b·(1−cos d), where a is its speed along the normal and b the
// part of s that comes from its own y and z.
func staysBeside(p, q *[3]r3.Vec, angle float64) bool {
	e, f := r3.Sub(p[1], p[0]), r3.Sub(p[2], p[0])
	n := r3.Cross(e, f)
	bend := angle * angle / 2
	// The margin, and the rounding of n, which is all there is of the normal of a
	// triangle collapsed to a segment.
	pad, noise := 2*margin*sum(n), 1e-15*sum(e)*sum(f)
	pad += noise * sum(p[0])
	var above, below bool
	for _, v := range q {
		s := r3.Dot(n, r3.Sub(v, p[0]))
		a := (n.Z*v.Y - n.Y*v.Z) * angle
		b := math.Abs(n.Y*v.Y+n.Z*v.Z)*bend + pad + noise*sum(v)
		above = above || s+max(0, a)+b >= 0
		below = below || s+min(0, a)-b <= 0
		if above && below {
			return false
		}
	}
	return true
}

// triangles tries the features that belong to two triangles, p of the upper
// arch and q of the lower.
func (se *search) triangles(up, lo mesh.TriID, p, q *[3]r3.Vec) {
	ownP, ownQ := se.c.upOwn[up], se.c.loOwn[lo]
	if ownQ&7 != 0 {
		n := r3.Cross(r3.Sub(p[1], p[0]), r3.Sub(p[2], p[0]))
		for i := range 3 {
			if ownQ&(1<<i) != 0 {
				se.lowerCorner(up, lo, q[i], p, n)
			}
		}
	}
	if ownP&7 != 0 {
		n := r3.Cross(r3.Sub(q[1], q[0]), r3.Sub(q[2], q[0]))
		for i := range 3 {
			if ownP&(1<<i) != 0 {
				se.upperCorner(up, lo, p[i], q, n)
			}
		}
	}
	if ownP>>3 == 0 || ownQ>>3 == 0 {
		return
	}
	for i := range 3 {
		if ownP&(8<<i) == 0 {
			continue
		}
		p0, p1 := p[i], p[(i+1)%3]
		for j := range 3 {
			if ownQ&(8<<j) != 0 {
				se.edges(up, lo, q[j], q[(j+1)%3], p0, p1)
			}
		}
	}
}

// better says whether a turn would win: it is in range and not before the best.
func (se *search) better(t turn) bool {
	return t.cos > 0 && t.sin >= se.best.sin && t.sin <= sinMost
}

// take makes a touch the best one, unless an equal one has lower numbers.
func (se *search) take(t turn, up, lo mesh.TriID, at r3.Vec) {
	if se.found && t.sin == se.best.sin && (up > se.up || (up == se.up && lo >= se.lo)) {
		return
	}
	se.best, se.found, se.up, se.lo, se.at = t, true, up, lo, at
	se.most = se.c.k*math.Asin(t.sin) - boxPad
}

func (se *search) lowerCorner(up, lo mesh.TriID, q r3.Vec, p *[3]r3.Vec, n r3.Vec) {
	if q.X > max(p[0].X, p[1].X, p[2].X)+margin || q.X < min(p[0].X, p[1].X, p[2].X)-margin {
		return
	}
	if acrossAxis(n) {
		for i := range 3 {
			ts, k := vertexEdgeInPlane(q, p[i], p[(i+1)%3])
			for _, t := range ts[:k] {
				if se.better(t) {
					se.take(t, up, lo, t.apply(q))
				}
			}
		}
		return
	}
	ts, ok := vertexFace(q, p[0], p[1], p[2], n)
	if !ok {
		return
	}
	for _, t := range ts {
		if !se.better(t) {
			continue
		}
		if at := t.apply(q); onFace(at, p[0], p[1], p[2], n) {
			se.take(t, up, lo, at)
		}
	}
}

func (se *search) upperCorner(up, lo mesh.TriID, p r3.Vec, q *[3]r3.Vec, n r3.Vec) {
	if p.X > max(q[0].X, q[1].X, q[2].X)+margin || p.X < min(q[0].X, q[1].X, q[2].X)-margin {
		return
	}
	if acrossAxis(n) {
		for i := range 3 {
			ts, k := vertexEdgeInPlane(p, q[i], q[(i+1)%3])
			for _, t := range ts[:k] {
				if se.better(t.back()) {
					se.take(t.back(), up, lo, p)
				}
			}
		}
		return
	}
	// The corner turned back against the lower arch in intercuspation.
	ts, ok := vertexFace(p, q[0], q[1], q[2], n)
	if !ok {
		return
	}
	for _, t := range ts {
		if se.better(t.back()) && onFace(t.apply(p), q[0], q[1], q[2], n) {
			se.take(t.back(), up, lo, p)
		}
	}
}

func (se *search) edges(up, lo mesh.TriID, q0, q1, p0, p1 r3.Vec) {
	if min(q0.X, q1.X) > max(p0.X, p1.X)+margin || max(q0.X, q1.X) < min(p0.X, p1.X)-margin {
		return
	}
	ts, ok := edgeEdge(q0, q1, p0, p1)
	if !ok {
		return
	}
	for _, t := range ts {
		if !se.better(t) {
			continue
		}
		if at, ok := onEdges(t.apply(q0), t.apply(q1), p0, p1); ok {
			se.take(t, up, lo, at)
		}
	}
}
