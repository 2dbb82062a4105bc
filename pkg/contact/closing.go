package contact

import (
	"context"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/spatial/r3"
)

// Closer finds the opening at which the lower arch, closing from open on the
// hinge axis, first touches the upper one. The hinge axis is fixed in the
// mandible, so there the lower arch's hierarchy in cylindrical coordinates is
// built once; it is the upper arch that moves, and the boxes of its hierarchy
// are recomputed where a search meets them. A Closer never changes after it is
// built and is safe for any number of goroutines, each with its own
// [CloserScratch].
type Closer struct {
	upper, lower *side
	up, lo       *mesh.Index
	slabs        [][2]slab // of the upper tree's children
	top          slab
	k            float64         // length of a radian in cylindrical boxes, mm
	hinge, back  kinematics.Pose // from the frame of the arches to that of the hinge, and back
}

// side is one arch as the search needs it: its tree in cylindrical coordinates
// and its triangles in the order of the leaves, with each corner and edge given
// to one triangle, so that every pair of features is tried once.
type side struct {
	tree  *bvh.Tree
	verts []r3.Vec
	tris  [][3]int32
	own   []uint8 // bits 0-2: corner i, bits 3-5: edge from corner i to the next
}

// Closing is a first touch.
type Closing struct {
	Opening s1.Angle        // largest at which the arches touch
	Upper   mesh.TriID      // the touching triangles
	Lower   mesh.TriID      //
	Point   r3.Vec          // the touching point in the articulator frame, mm
	Pose    kinematics.Pose // of the lower arch at the touch
	// AtLimit says that the surfaces already cross at OpeningMost; Upper, Lower
	// and Point then mean one of the crossings.
	AtLimit bool
}

// NewCloser prepares two arches, given at rest in the articulator frame.
func NewCloser(ctx context.Context, upper, lower *Arch) (*Closer, error) {
	return NewCloserAbout(ctx, upper, lower, kinematics.Pose{})
}

// NewCloserAbout prepares two arches for a hinge axis that is not the x axis of
// their frame: hinge takes their frame to one in which it is. Base poses are then
// given in the frame of the hinge, touches in that of the arches.
func NewCloserAbout(ctx context.Context, upper, lower *Arch, hinge kinematics.Pose) (*Closer, error) {
	c := &Closer{up: upper.Index, lo: lower.Index, hinge: hinge, back: hinge.Inverse()}
	mu, err := upper.Mesh().Transform(hinge.Apply)
	if err != nil {
		return nil, fmt.Errorf("upper arch: %w", err)
	}
	ml, err := lower.Mesh().Transform(hinge.Apply)
	if err != nil {
		return nil, fmt.Errorf("lower arch: %w", err)
	}
	c.k = meanRadius(ml)
	var g errgroup.Group
	g.Go(func() (err error) {
		if c.upper, err = newSide(mu, upper.Topology, c.k); err != nil {
			return fmt.Errorf("upper arch: %w", err)
		}
		c.slabs = make([][2]slab, len(c.upper.tree.Nodes))
		for i := range c.slabs {
			nd := &c.upper.tree.Nodes[i]
			c.slabs[i] = [2]slab{slabOf(&nd.Box[0], c.k), slabOf(&nd.Box[1], c.k)}
		}
		c.top = slabOf(&c.upper.tree.Top.Box, c.k)
		return nil
	})
	g.Go(func() (err error) {
		if c.lower, err = newSide(ml, lower.Topology, c.k); err != nil {
			return fmt.Errorf("lower arch: %w", err)
		}
		return nil
	})
	if err := g.Wait(); err != nil {
		return nil, err
	}
	return c, ctx.Err()
}

func meanRadius(m *mesh.Mesh) float64 {
	sum := 0.0
	for _, v := range m.Vertices() {
		sum += math.Hypot(v.Y, v.Z)
	}
	if sum == 0 {
		return 1
	}
	return sum / float64(m.NumVertices())
}

func newSide(m *mesh.Mesh, t *mesh.Topology, k float64) (*side, error) {
	n := m.NumTriangles()
	boxes := make([]bvh.Bounds, n)
	for i := range boxes {
		a, b, c := m.Corners(mesh.TriID(i))
		boxes[i] = cylinderBounds(a, b, c, k)
	}
	tree, err := bvh.Build(n, func(i int) bvh.Bounds { return boxes[i] }, bvh.Options{Leaf: leafOf, Pad: boxPad})
	if err != nil {
		return nil, err
	}
	s := &side{tree: tree, tris: make([][3]int32, n), own: make([]uint8, n), verts: make([]r3.Vec, 0, m.NumVertices())}
	local := make([]int32, m.NumVertices())
	for i := range local {
		local[i] = -1
	}
	for pos, id := range tree.Order {
		for i, v := range m.Triangle(mesh.TriID(id)) {
			if local[v] < 0 {
				local[v] = int32(len(s.verts))
				s.verts = append(s.verts, m.Vertex(v))
			}
			s.tris[pos][i] = local[v]
		}
	}
	s.share(t)
	return s, nil
}

// share gives each corner and each edge to the triangle with the lowest number
// that has it.
func (s *side) share(t *mesh.Topology) {
	first := make([]mesh.TriID, len(s.verts))
	for i := range first {
		first[i] = math.MaxInt32
	}
	for pos, id := range s.tree.Order {
		for _, v := range s.tris[pos] {
			first[v] = min(first[v], mesh.TriID(id))
		}
	}
	for pos, id := range s.tree.Order {
		sides := t.Sides(mesh.TriID(id))
		for i, v := range s.tris[pos] {
			if first[v] == mesh.TriID(id) {
				s.own[pos] |= 1 << i
			}
			if e := sides[i]; e == mesh.NoEdge || t.Edges()[e].Tri[0] == mesh.TriID(id) {
				s.own[pos] |= 8 << i
			}
		}
	}
}

// leafOf is the triangles of a leaf: boxes are cheaper to compare here than
// triangles.
const leafOf = 2

// CloserScratch is the memory of one searching goroutine. The zero value works;
// it grows with the upper arch and may be used with any Closer. It never
// influences results.
type CloserScratch struct {
	stamp  []uint32
	boxes  [][2]bvh.Box
	top    bvh.Box
	now    uint32
	stack  []closerEntry
	gap    GapScratch
	last   s1.Angle // the last opening and how it differed from the one before:
	change s1.Angle // the next is looked for near it first
	seeded bool
	// Visits counts pairs of boxes looked at by the last search.
	Visits int
}

// closerEntry is a pair of subtrees that the search has put off.
type closerEntry struct {
	up, lo       bvh.Ref
	upBox, loBox *bvh.Box
	most         float64 // upper bound of the opening at which they touch, times k
}

// search is one closing under way.
type search struct {
	c       *Closer
	s       *CloserScratch
	without func(upper, lower mesh.TriID) bool // nil: none
	inv     kinematics.Pose                    // articulator → mandible at opening 0
	best    turn
	found   bool
	most    float64 // k·(best opening): what cannot reach it is pruned
	limit   float64 // k·OpeningMost
	up, lo  int32   // leaf positions of the best
	at      r3.Vec  // where, in the mandible's frame at opening 0
}

// Close is the first touch of the closing that begins open under the given base
// pose, the pose of the lower arch at opening 0: its pose at opening θ is θ
// about x, then base (MODEL.md §4). It is exact over all pairs of a corner and
// a face or two edges. ok is false if nothing touches down to OpeningLeast.
// Of several pairs that touch at the same opening the one with the lowest upper,
// then lower, triangle is named. Nothing is allocated once s has grown.
func (c *Closer) Close(base kinematics.Pose, s *CloserScratch) (touch Closing, ok bool) {
	return c.CloseWithout(base, nil, s)
}

// CloseWithout is [Closer.Close] as if the pairs of triangles for which without
// says so could pass through each other: how far the casts would close if those
// did not interfere. A corner or edge counts as that of the triangle with the
// lowest number that has it.
func (c *Closer) CloseWithout(base kinematics.Pose, without func(upper, lower mesh.TriID) bool, s *CloserScratch) (touch Closing, ok bool) {
	if c.upper.tree.Top.Empty || c.lower.tree.Top.Empty {
		return Closing{}, false
	}
	open := c.pose(base, OpeningMost)
	if g, ok := LeastGap(c.up, c.lo, open, 0, &s.gap); ok && without == nil {
		return Closing{Opening: OpeningMost, Upper: g.Upper, Lower: g.Lower, Point: g.UpperPoint, Pose: open, AtLimit: true}, true
	}
	se := search{c: c, s: s, without: without, inv: base.Inverse(), limit: c.k * OpeningMost.Radians()}
	s.begin(len(c.upper.tree.Nodes))
	for from, step := s.guess(); ; from, step = from-step, 4*step {
		se.from(max(from, OpeningLeast))
		se.run()
		if se.found || from <= OpeningLeast {
			break
		}
	}
	if !se.found {
		return Closing{}, false
	}
	opening := s1.Angle(math.Asin(se.best.sin))
	s.change, s.last, s.seeded = opening-s.last, opening, true
	return Closing{
		Opening: opening,
		Upper:   mesh.TriID(c.upper.tree.Order[se.up]),
		Lower:   mesh.TriID(c.lower.tree.Order[se.lo]),
		Point:   c.back.Apply(base.Apply(se.at)),
		Pose:    c.pose(base, opening),
	}, true
}

// pose is the motion of the lower arch in the frame of the arches.
func (c *Closer) pose(base kinematics.Pose, opening s1.Angle) kinematics.Pose {
	p := kinematics.RotationX(opening).Then(base)
	if c.hinge == (kinematics.Pose{}) {
		return p
	}
	return c.hinge.Then(p).Then(c.back)
}

// guess is an opening below which the next touch will hardly lie, and a step
// for going lower if it does. Whatever is found above the guess is the answer;
// a bad guess costs time, nothing else.
func (s *CloserScratch) guess() (from, step s1.Angle) {
	if !s.seeded {
		return OpeningLeast, 0
	}
	step = 2*s.change.Abs() + 0.02*s1.Degree
	return s.last - step, 4 * step
}

func (s *CloserScratch) begin(nodes int) {
	if len(s.stamp) < nodes {
		s.stamp, s.boxes, s.now = make([]uint32, nodes), make([][2]bvh.Box, nodes), 0
	}
	if s.now++; s.now == 0 { // after 2³² searches old stamps could look new
		clear(s.stamp)
		s.now = 1
	}
	s.stack, s.Visits = s.stack[:0], 0
}

// children is the boxes of an upper node's children as they lie now.
func (se *search) children(ref bvh.Ref) *[2]bvh.Box {
	s := se.s
	b := &s.boxes[ref]
	if s.stamp[ref] != s.now {
		s.stamp[ref] = s.now
		sl := &se.c.slabs[ref]
		b[0], b[1] = sl[0].moved(&se.inv, se.c.k), sl[1].moved(&se.inv, se.c.k)
	}
	return b
}

// from sets the opening below which nothing is looked for.
func (se *search) from(opening s1.Angle) {
	se.best = turn{sin: math.Sin(opening.Radians()), cos: 1}
	if opening <= OpeningLeast {
		se.best.sin = sinLeast
	}
	se.most = se.c.k*opening.Radians() - boxPad
}

func (se *search) run() {
	up, lo := &se.c.upper.tree.Top, &se.c.lower.tree.Top
	s := se.s
	s.top = se.c.top.moved(&se.inv, se.c.k)
	se.push(up.Ref, lo.Ref, &s.top, &lo.Box)
	for len(s.stack) > 0 {
		e := s.stack[len(s.stack)-1]
		s.stack = s.stack[:len(s.stack)-1]
		if e.most < se.most {
			continue
		}
		from := len(s.stack)
		switch {
		case e.up.IsLeaf() && e.lo.IsLeaf():
			uf, un := e.up.Leaf()
			lf, ln := e.lo.Leaf()
			se.leaves(uf, un, lf, ln, e.most)
		case e.up.IsLeaf():
			nd := &se.c.lower.tree.Nodes[e.lo]
			se.push(e.up, nd.Child[0], e.upBox, &nd.Box[0])
			se.push(e.up, nd.Child[1], e.upBox, &nd.Box[1])
		case e.lo.IsLeaf():
			nd, b := &se.c.upper.tree.Nodes[e.up], se.children(e.up)
			se.push(nd.Child[0], e.lo, &b[0], e.loBox)
			se.push(nd.Child[1], e.lo, &b[1], e.loBox)
		default:
			nu, nl, b := &se.c.upper.tree.Nodes[e.up], &se.c.lower.tree.Nodes[e.lo], se.children(e.up)
			for i := range 2 {
				se.push(nu.Child[i], nl.Child[0], &b[i], &nl.Box[0])
				se.push(nu.Child[i], nl.Child[1], &b[i], &nl.Box[1])
			}
		}
		// The most promising of the new pairs is taken first.
		fresh := s.stack[from:]
		for i := 1; i < len(fresh); i++ {
			for j := i; j > 0 && fresh[j].most < fresh[j-1].most; j-- {
				fresh[j], fresh[j-1] = fresh[j-1], fresh[j]
			}
		}
	}
}

// push puts a pair of boxes off unless they cannot touch or cannot touch early
// enough.
func (se *search) push(up, lo bvh.Ref, u, l *bvh.Box) {
	se.s.Visits++
	if math.Abs(u.C[0]-l.C[0]) > u.H[0]+l.H[0] || math.Abs(u.C[1]-l.C[1]) > u.H[1]+l.H[1] {
		return
	}
	d, h := u.C[2]-l.C[2], u.H[2]+l.H[2]
	if d+h < se.most || d-h > se.limit {
		return
	}
	se.s.stack = append(se.s.stack, closerEntry{up, lo, u, l, d + h})
}

// leaves tries every pair of features of two runs of triangles that cannot
// touch at openings above most/k.
func (se *search) leaves(uf, un, lf, ln int, most float64) {
	var moved [bvh.LeafMax][3]r3.Vec
	var turned [3]r3.Vec
	up, lo := se.c.upper, se.c.lower
	for i := range un {
		for k, v := range up.tris[uf+i] {
			moved[i][k] = se.inv.Apply(up.verts[v])
		}
	}
	best := se.best
	best.cos = math.Sqrt(1 - best.sin*best.sin)
	window := (min(most, se.limit)-se.most)/se.c.k + 1e-12
	for j := range ln {
		t := &lo.tris[lf+j]
		q := [3]r3.Vec{lo.verts[t[0]], lo.verts[t[1]], lo.verts[t[2]]}
		for k := range 3 {
			turned[k] = best.apply(q[k])
		}
		qMin, qMax := min(q[0].X, q[1].X, q[2].X), max(q[0].X, q[1].X, q[2].X)
		for i := range un {
			p := &moved[i]
			if min(p[0].X, p[1].X, p[2].X) > qMax+margin || max(p[0].X, p[1].X, p[2].X) < qMin-margin {
				continue
			}
			if staysBeside(p, &turned, window) || staysBeside(&turned, p, -window) {
				continue
			}
			if se.without != nil && se.without(mesh.TriID(up.tree.Order[uf+i]), mesh.TriID(lo.tree.Order[lf+j])) {
				continue
			}
			se.triangles(int32(uf+i), int32(lf+j), p, &q)
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
func (se *search) triangles(up, lo int32, p, q *[3]r3.Vec) {
	ownP, ownQ := se.c.upper.own[up], se.c.lower.own[lo]
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
func (se *search) take(t turn, up, lo int32, at r3.Vec) {
	if se.found && t.sin == se.best.sin {
		u, l := &se.c.upper.tree.Order, &se.c.lower.tree.Order
		a, b := [2]int32{(*u)[up], (*l)[lo]}, [2]int32{(*u)[se.up], (*l)[se.lo]}
		if a[0] > b[0] || (a[0] == b[0] && a[1] >= b[1]) {
			return
		}
	}
	se.best, se.found, se.up, se.lo, se.at = t, true, up, lo, at
	se.most = se.c.k*math.Asin(t.sin) - boxPad
}

func (se *search) lowerCorner(up, lo int32, q r3.Vec, p *[3]r3.Vec, n r3.Vec) {
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

func (se *search) upperCorner(up, lo int32, p r3.Vec, q *[3]r3.Vec, n r3.Vec) {
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
	// The corner turned back against the lower arch at rest.
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

func (se *search) edges(up, lo int32, q0, q1, p0, p1 r3.Vec) {
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
