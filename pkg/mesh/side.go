package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Sides tells on which side of a surface points lie, by the angle-weighted
// pseudonormal of the feature nearest to them (Bærentzen and Aanæs 2005, IEEE
// Trans Vis Comput Graph 11:243-253, doi 10.1109/TVCG.2005.49), which is exact
// for closed oriented surfaces. Scans are open: where the nearest feature lies
// on a border the side means nothing, and the answer says so. Sides is
// immutable and safe for any number of readers.
type Sides struct {
	topo    *Topology
	corners []r3.Vec // pseudonormals of the vertices
	border  []bool   // vertices on a border
}

// NewSides prepares the mesh of a topology.
func NewSides(t *Topology) *Sides {
	m := t.m
	s := &Sides{topo: t, corners: make([]r3.Vec, m.NumVertices()), border: make([]bool, m.NumVertices())}
	for id, c := range m.All() {
		n := s.face(id)
		if n == (r3.Vec{}) {
			continue
		}
		for k := range 3 {
			u := r3.Sub(m.verts[c[(k+1)%3]], m.verts[c[k]])
			v := r3.Sub(m.verts[c[(k+2)%3]], m.verts[c[k]])
			angle := math.Atan2(r3.Norm(r3.Cross(u, v)), r3.Dot(u, v))
			s.corners[c[k]] = r3.Add(s.corners[c[k]], r3.Scale(angle, n))
		}
	}
	for _, e := range t.edges {
		if e.Sides == 1 {
			s.border[e.V[0]], s.border[e.V[1]] = true, true
		}
	}
	return s
}

// face is the outward unit normal of a triangle, zero for a degenerate one.
func (s *Sides) face(t TriID) r3.Vec {
	n := s.topo.m.AreaVector(t)
	l := r3.Norm(n)
	if l == 0 {
		return r3.Vec{}
	}
	return r3.Scale(1/l, n)
}

// onFeature is the barycentric weight below which a point counts as lying on
// the opposite edge.
const onFeature = 1e-9

// Inside says whether p lies behind the surface, where h is the point of the
// mesh nearest to p. trusted is false where h lies on a border.
func (s *Sides) Inside(h Hit, p r3.Vec) (inside, trusted bool) {
	c := s.topo.m.tris[h.Tri]
	w := barycentric(h.Point, s.topo.m.verts[c[0]], s.topo.m.verts[c[1]], s.topo.m.verts[c[2]])
	var near [3]bool
	zeros, last := 0, 0
	for k, x := range w {
		if near[k] = x <= onFeature; near[k] {
			zeros++
			last = k
		}
	}
	n, trusted := s.face(h.Tri), true
	switch zeros {
	case 1: // on the edge opposite to corner last
		other := s.topo.Neighbour(h.Tri, (last+1)%3)
		if trusted = other != None; trusted {
			n = r3.Add(n, s.face(other))
		}
	case 2: // at the one corner with a weight
		for k := range 3 {
			if !near[k] {
				n, trusted = s.corners[c[k]], !s.border[c[k]]
			}
		}
	}
	return r3.Dot(r3.Sub(p, h.Point), n) < 0, trusted
}

// barycentric is the weights of the corners of abc at a point of the triangle.
func barycentric(p, a, b, c r3.Vec) [3]float64 {
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	nn := r3.Norm2(n)
	if nn == 0 {
		return [3]float64{1, 0, 0}
	}
	wb := r3.Dot(r3.Cross(r3.Sub(p, a), r3.Sub(c, a)), n) / nn
	wc := r3.Dot(r3.Cross(r3.Sub(b, a), r3.Sub(p, a)), n) / nn
	return [3]float64{1 - wb - wc, wb, wc}
}
