package index

import (
	"math"
	"sync"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Sides tells on which side of a surface points lie, by the angle-weighted
// pseudonormal of the feature nearest to them (Bærentzen and Aanæs 2005, IEEE
// Trans Vis Comput Graph 11:243-253, doi 10.1109/TVCG.2005.49), which is exact
// for closed oriented surfaces. Scans are open: where the nearest feature lies
// on a border the side means nothing, and the answer says so. Sides
// answers always the same and is safe for any number of readers.
type Sides struct {
	topo    *mesh.Topology
	border  []bool   // vertices on a border
	corners []r3.Vec // pseudonormals of the vertices, when one is first asked for
	once    sync.Once
}

// NewSides prepares the mesh of a topology.
func NewSides(t *mesh.Topology) *Sides {
	s := &Sides{topo: t, border: make([]bool, t.Mesh().NumVertices())}
	for _, e := range t.Edges() {
		if e.Sides == 1 {
			s.border[e.V[0]], s.border[e.V[1]] = true, true
		}
	}
	return s
}

// makeCorners makes the pseudonormals.
func (s *Sides) makeCorners() {
	m := s.topo.Mesh()
	s.corners = make([]r3.Vec, m.NumVertices())
	for id, c := range m.All() {
		n := s.face(id)
		if n == (r3.Vec{}) {
			continue
		}
		for k := range 3 {
			u := r3.Sub(m.Vertex(c[(k+1)%3]), m.Vertex(c[k]))
			v := r3.Sub(m.Vertex(c[(k+2)%3]), m.Vertex(c[k]))
			angle := math.Atan2(r3.Norm(r3.Cross(u, v)), r3.Dot(u, v))
			s.corners[c[k]] = r3.Add(s.corners[c[k]], r3.Scale(angle, n))
		}
	}
}

// On is Sides for a topology of the same triangles with their corners elsewhere
// ([mesh.Topology.On]).
func (s *Sides) On(t *mesh.Topology) *Sides {
	return &Sides{topo: t, border: s.border}
}

// collapsedSq is the squared sine of a triangle's angle below which rounding
// decides where it faces; it then counts as without area.
const collapsedSq = 1e-14

// face is the outward unit normal of a triangle, zero for one without area.
func (s *Sides) face(t mesh.TriID) r3.Vec {
	a, b, c := s.topo.Mesh().Corners(t)
	u, v := r3.Sub(b, a), r3.Sub(c, a)
	n := r3.Cross(u, v)
	nn, longestSq := r3.Norm2(n), max(r3.Norm2(u), r3.Norm2(v))
	if nn <= collapsedSq*longestSq*longestSq {
		return r3.Vec{}
	}
	return r3.Scale(1/math.Sqrt(nn), n)
}

// onFeature is the barycentric weight below which a point counts as lying on
// the opposite edge.
const onFeature = 1e-9

// Inside says whether p lies behind the surface, where h is the point of the
// mesh nearest to p. trusted is false where h lies on a border.
func (s *Sides) Inside(h Hit, p r3.Vec) (inside, trusted bool) {
	tri := h.Tri
	if s.face(tri) == (r3.Vec{}) {
		if tri = s.across(tri, s.sideAt(tri, h.Point, mesh.None), h.Point); tri == mesh.None {
			return false, false
		}
	}
	c := s.topo.Mesh().Triangle(tri)
	w := barycentric(h.Point, s.topo.Mesh().Vertex(c[0]), s.topo.Mesh().Vertex(c[1]), s.topo.Mesh().Vertex(c[2]))
	var near [3]bool
	zeros, last := 0, 0
	for k, x := range w {
		if near[k] = x <= onFeature; near[k] {
			zeros++
			last = k
		}
	}
	n, trusted := s.face(tri), true
	switch zeros {
	case 1: // on the edge opposite to corner last
		other := s.across(tri, (last+1)%3, h.Point)
		if trusted = other != mesh.None; trusted {
			n = r3.Add(n, s.face(other))
		}
	case 2: // at the one corner with a weight
		s.once.Do(s.makeCorners)
		for k := range 3 {
			if !near[k] {
				n, trusted = s.corners[c[k]], !s.border[c[k]]
			}
		}
	}
	return r3.Dot(r3.Sub(p, h.Point), n) < 0, trusted
}

// collapsedMost is the number of triangles without area that may lie side by
// side between two that have some.
const collapsedMost = 8

// across is the triangle with an area that meets t beyond a side at the point p
// of that side; None at a border. Triangles without area are passed through.
func (s *Sides) across(t mesh.TriID, side int, p r3.Vec) mesh.TriID {
	for range collapsedMost {
		next := s.topo.Neighbour(t, side)
		if next == mesh.None || s.face(next) != (r3.Vec{}) {
			return next
		}
		t, side = next, s.sideAt(next, p, t)
	}
	return mesh.None
}

// sideAt is the side of a triangle that is nearest to p and does not lead to
// the triangle from.
func (s *Sides) sideAt(t mesh.TriID, p r3.Vec, from mesh.TriID) (side int) {
	c, least := s.topo.Mesh().Triangle(t), math.Inf(1)
	for k := range 3 {
		q := geom.PointSegment(p, s.topo.Mesh().Vertex(c[k]), s.topo.Mesh().Vertex(c[(k+1)%3]))
		if d := geom.DistSq(p, q); d < least && (from == mesh.None || s.topo.Neighbour(t, k) != from) {
			side, least = k, d
		}
	}
	return side
}

// barycentric is the weights of the corners of abc, which has an area, at a
// point of the triangle.
func barycentric(p, a, b, c r3.Vec) [3]float64 {
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	nn := r3.Norm2(n)
	wb := r3.Dot(r3.Cross(r3.Sub(p, a), r3.Sub(c, a)), n) / nn
	wc := r3.Dot(r3.Cross(r3.Sub(b, a), r3.Sub(p, a)), n) / nn
	return [3]float64{1 - wb - wc, wb, wc}
}
