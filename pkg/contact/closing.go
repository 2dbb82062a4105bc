package contact

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/surftree"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Closer finds the opening at which the lower arch, closing from open on the
// hinge axis, first touches the upper one. The hinge axis is fixed in the
// mandible, so there the lower arch's boxes in cylindrical coordinates are
// made once; it is the upper arch that moves, and its boxes are made where a
// search meets them. A Closer never changes after it is built and is safe for
// any number of goroutines, each with its own [CloserScratch].
type Closer struct {
	upper, lower *Arch
	up, lo       *surftree.Tree
	turning      *surftree.Tree  // the lower arch in the frame of the hinge; lo where that is the arches'
	upOwn, loOwn []uint8         // of each triangle: bits 0-2: corner i, bits 3-5: edge from corner i to the next
	boxes        cylinders       // of the lower arch
	upIn, loIn   []subtree       // the parts of both arches
	k            float64         // length of a radian in cylindrical boxes, mm
	hinge, back  kinematics.Pose // from the frame of the arches to that of the hinge, and back
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

// ErrNoTouch says that nothing touches in the range of openings.
var ErrNoTouch = errors.New("the arches do not touch")

// NewCloser prepares two arches, given closed in the articulator frame. An arch
// that was not made by [NewArch] is an error wrapping [ErrNoArch]; a canceled
// context ends the work, within milliseconds, with its error.
func NewCloser(ctx context.Context, upper, lower *Arch, o Options) (*Closer, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return NewCloserAbout(ctx, upper, lower, kinematics.Pose{}, o)
}

// NewCloserAbout prepares two arches for a hinge axis that is not the x axis of
// their frame: hinge takes their frame to one in which it is. Base poses are then
// given in the frame of the hinge, touches in that of the arches. Errors are those
// of [NewCloser], and one wrapping [kinematics.ErrNotFinite] for the pose.
func NewCloserAbout(ctx context.Context, upper, lower *Arch, hinge kinematics.Pose, o Options) (*Closer, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if err := checkPosed(upper, lower, hinge); err != nil {
		return nil, err
	}
	c := &Closer{upper: upper, lower: lower, up: tree(upper.Index), lo: tree(lower.Index), turning: tree(lower.Index),
		hinge: hinge, back: hinge.Inverse()}
	if hinge != (kinematics.Pose{}) {
		m, err := lower.Mesh().Transform(hinge.Apply)
		if err != nil {
			return nil, fmt.Errorf("lower arch: %w", err)
		}
		if c.turning, err = c.lo.Moved(m, nil); err != nil {
			return nil, fmt.Errorf("lower arch: %w", err)
		}
	}
	c.upIn, c.loIn = subtrees(c.up), subtrees(c.turning)
	o.both(func() { c.upOwn, c.loOwn = owners(upper), owners(lower) }, func() {
		c.k = meanRadius(c.turning.Mesh())
		c.boxes = makeCylinders(ctx, c.turning, c.loIn, c.k, nil)
	})
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("closer: %w", err)
	}
	return c, nil
}

// Moved is the closer of two arches that are those of c moved ([Arch.Moved]), about the
// hinge axis of their own frame. It is made in a small part of the time of [NewCloser] and
// closes alike. The memory of old, a closer that Moved made before and that nobody uses any
// more, is used again; nil is none.
func (c *Closer) Moved(upper, lower *Arch, old *Closer) (*Closer, error) {
	if err := checkBoth(upper, lower); err != nil {
		return nil, err
	}
	if upper.Mesh().NumTriangles() != c.upper.Mesh().NumTriangles() || lower.Mesh().NumTriangles() != c.lower.Mesh().NumTriangles() {
		return nil, fmt.Errorf("closer: %w", surftree.ErrOther)
	}
	out := &Closer{upper: upper, lower: lower, up: tree(upper.Index), lo: tree(lower.Index), turning: tree(lower.Index),
		upOwn: c.upOwn, loOwn: c.loOwn, k: c.k}
	out.upIn, out.loIn = subtrees(out.up), subtrees(out.turning)
	var before [][2]bvh.Box
	if old != nil {
		before = old.boxes.nodes
	}
	out.boxes = makeCylinders(context.Background(), out.turning, out.loIn, out.k, before)
	return out, nil
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

// owners gives each corner and each edge to the triangle with the lowest number
// that has it, so that every pair of features is tried once.
func owners(a *Arch) []uint8 {
	m, t := a.Mesh(), a.Topology
	own := make([]uint8, m.NumTriangles())
	given := make([]bool, m.NumVertices())
	for id := range own {
		sides := t.Sides(mesh.TriID(id))
		for i, v := range m.Triangle(mesh.TriID(id)) {
			if !given[v] {
				given[v] = true
				own[id] |= 1 << i
			}
			if e := sides[i]; e == mesh.NoEdge || t.Edges()[e].Tri[0] == mesh.TriID(id) {
				own[id] |= 8 << i
			}
		}
	}
	return own
}

// CloserScratch is the memory of one searching goroutine. The zero value works;
// it grows with the upper arch and may be used with any Closer. It never
// influences results.
type CloserScratch struct {
	flanks nodeCache[flank] // of the children of the upper tree's nodes
	tops   []flank          // of the upper subtrees with which the search begins
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
	up, lo  bvh.Ref
	upper   *flank
	loBox   *bvh.Box // cylindrical
	loPlace *[3]float32
	loPlate *surftree.Plate
	most    float64 // upper bound of the opening at which they touch, times k
}

// search is one closing under way.
type search struct {
	c       *Closer
	s       *CloserScratch
	passing Passing
	inv     kinematics.Pose // frame of the arches → mandible at opening 0
	m       [16]float64     // its matrix
	turned  [16]float64     // frame of the arches → mandible at the opening ref
	ref     float64         // radians; nothing is looked for below
	best    turn
	found   bool
	most    float64    // k·(best opening): what cannot reach it is pruned
	limit   float64    // k·OpeningMost
	up, lo  mesh.TriID // of the best
	at      r3.Vec     // where, in the mandible's frame at opening 0
}

// Close is the first touch of the closing that begins open under the given base
// pose, the pose of the lower arch at opening 0: its pose at opening θ is θ
// about x, then base. It is exact over all pairs of a corner and
// a face or two edges. The error wraps [ErrNoTouch] where nothing touches down to
// OpeningLeast, [kinematics.ErrNotFinite] where the pose is not finite.
// Of several pairs that touch at the same opening the one with the lowest upper,
// then lower, triangle is named. Nothing is allocated once s has grown.
func (c *Closer) Close(base kinematics.Pose, s *CloserScratch) (Closing, error) {
	return c.CloseWithout(base, Passing{}, s)
}

// Passing says what may pass through each other in a closing, as if it were not in the way.
// The zero value is nothing. Saying it of parts is much faster than of their triangles.
type Passing struct {
	// Parts, if not nil, says it of pairs of parts by their numbers, [NoPart] for what
	// belongs to none.
	Parts func(upper, lower int32) bool
	// Triangles, if not nil, says it of pairs of triangles. A corner or edge counts as that
	// of the triangle with the lowest number that has it.
	Triangles func(upper, lower mesh.TriID) bool
}

// CloseWithout is [Closer.Close] with what may pass through each other: how far the casts
// would close if that did not interfere.
func (c *Closer) CloseWithout(base kinematics.Pose, p Passing, s *CloserScratch) (Closing, error) {
	return c.CloseAbove(base, OpeningLeast, p, s)
}

// CloseAbove is [Closer.CloseWithout] for those who want to know only of a touch above an
// opening: below it nothing is looked for, and nothing that touches there is [ErrNoTouch]. It
// is much faster where least is not far below the touch of the pairs that are left out.
func (c *Closer) CloseAbove(base kinematics.Pose, least s1.Angle, p Passing, s *CloserScratch) (Closing, error) {
	least = max(least, OpeningLeast)
	if err := base.Validate(); err != nil {
		return Closing{}, err
	}
	if c.up.Boxes().Top.Empty || c.lo.Boxes().Top.Empty {
		return Closing{}, ErrNoTouch
	}
	if p.Parts == nil && p.Triangles == nil {
		open := c.pose(base, OpeningMost)
		if g, ok := wholeGap(c.up, c.lo, open, 0, &s.gap); ok {
			return Closing{Opening: OpeningMost, Upper: g.Upper, Lower: g.Lower, Point: g.UpperPoint, Pose: open, AtLimit: true}, nil
		}
	}
	se := search{c: c, s: s, passing: p, inv: c.hinge.Then(base.Inverse()), limit: c.k * OpeningMost.Radians()}
	se.m = se.inv.Matrix()
	s.Visits = 0
	for from, step := s.guess(); ; from, step = from-step, 4*step {
		se.from(max(from, least))
		for !se.run() {
			se.refer(s1.Angle(math.Asin(se.best.sin) - 1e-9))
		}
		if se.found || from <= least {
			break
		}
	}
	if !se.found {
		return Closing{}, ErrNoTouch
	}
	opening := s1.Angle(math.Asin(se.best.sin))
	s.change, s.last, s.seeded = opening-s.last, opening, true
	return Closing{
		Opening: opening, Upper: se.up, Lower: se.lo,
		Point: c.back.Apply(base.Apply(se.at)),
		Pose:  c.pose(base, opening),
	}, nil
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

// children is the bounds of an upper node's children as they lie now.
func (se *search) children(ref bvh.Ref) *[2]flank {
	f, fresh := se.s.flanks.of(ref)
	if fresh {
		nd, p := &se.c.up.Boxes().Nodes[ref], &se.c.up.Plates()[ref]
		f[0].move(&nd.Box[0], &p[0], se)
		f[1].move(&nd.Box[1], &p[1], se)
	}
	return f
}

// from sets the opening below which nothing is looked for.
func (se *search) from(opening s1.Angle) {
	se.best = turn{sin: math.Sin(opening.Radians()), cos: 1}
	if opening <= OpeningLeast {
		se.best.sin = sinLeast
	}
	se.most = se.c.k*opening.Radians() - boxPad
	se.refer(opening)
}

// refer makes an opening, not above the best, the one at which plates are
// compared.
func (se *search) refer(opening s1.Angle) {
	se.ref = opening.Radians()
	se.turned = se.inv.Then(kinematics.RotationX(-opening)).Matrix()
	se.s.flanks.begin(len(se.c.up.Boxes().Nodes))
	se.s.stack = se.s.stack[:0]
}

// outdated is the angle, in radians, by which the best opening may be above the
// one at which plates are compared before it pays to begin anew: plates tell
// parts apart for openings near that one.
const outdated = 0.004

// run looks at everything that may touch above the best opening. It returns
// false, unfinished, where that has become much larger.
func (se *search) run() bool {
	s := se.s
	se.begin()
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
			if se.most > se.c.k*(se.ref+outdated) {
				return false
			}
		case e.up.IsLeaf():
			se.lower(e.up, e.upper, e.lo)
		case e.lo.IsLeaf():
			nd, f := &se.c.up.Boxes().Nodes[e.up], se.children(e.up)
			se.push(nd.Child[0], e.lo, &f[0], e.loBox, e.loPlace, e.loPlate)
			se.push(nd.Child[1], e.lo, &f[1], e.loBox, e.loPlace, e.loPlate)
		default:
			nd, f := &se.c.up.Boxes().Nodes[e.up], se.children(e.up)
			se.lower(nd.Child[0], &f[0], e.lo)
			se.lower(nd.Child[1], &f[1], e.lo)
		}
		promising(s.stack[from:])
	}
	return true
}

// promising orders new pairs: the most promising is taken first.
func promising(fresh []closerEntry) {
	for i := 1; i < len(fresh); i++ {
		for j := i; j > 0 && fresh[j].most < fresh[j-1].most; j-- {
			fresh[j], fresh[j-1] = fresh[j-1], fresh[j]
		}
	}
}

// begin puts off the pairs of subtrees with which the search begins: both whole trees, or the
// pairs of parts that may not pass through each other.
func (se *search) begin() {
	c, s, plate := se.c, se.s, surftree.RootPlate()
	s.tops = slices.Grow(s.tops[:0], len(c.upIn)+1)[:len(c.upIn)+1]
	if se.passing.Parts == nil {
		up, lo := &c.up.Boxes().Top, &c.turning.Boxes().Top
		s.tops[0].move(&up.Box, plate, se)
		se.push(up.Ref, lo.Ref, &s.tops[0], &c.boxes.top, &lo.Box.C, plate)
		return
	}
	for i, u := range c.upIn {
		s.tops[i].move(&u.Box, plate, se)
		for k, l := range c.loIn {
			if !se.passing.Parts(u.part, l.part) {
				se.push(u.Ref, l.Ref, &s.tops[i], &c.boxes.parts[k], &l.Box.C, plate)
			}
		}
	}
	promising(s.stack)
}

// lower pairs an upper part with the children of a lower node.
func (se *search) lower(up bvh.Ref, u *flank, lo bvh.Ref) {
	nd, b, p := &se.c.turning.Boxes().Nodes[lo], &se.c.boxes.nodes[lo], &se.c.turning.Plates()[lo]
	se.push(up, nd.Child[0], u, &b[0], &nd.Box[0].C, &p[0])
	se.push(up, nd.Child[1], u, &b[1], &nd.Box[1].C, &p[1])
}

// push puts a pair of parts off unless they cannot touch or cannot touch early
// enough.
func (se *search) push(up, lo bvh.Ref, u *flank, l *bvh.Box, c *[3]float32, p *surftree.Plate) {
	se.s.Visits++
	if math.Abs(u.box.C[0]-float64(l.C[0])) > u.box.H[0]+float64(l.H[0]) ||
		math.Abs(u.box.C[1]-float64(l.C[1])) > u.box.H[1]+float64(l.H[1]) {
		return
	}
	d, h := u.box.C[2]-float64(l.C[2]), u.box.H[2]+float64(l.H[2])
	if d+h < se.most || d-h > se.limit {
		return
	}
	if u.r <= plateMost && p.R <= plateMost && u.staysOff(double(c), p, min(d+h, se.limit)/se.c.k-se.ref+1e-12) {
		return
	}
	se.s.stack = append(se.s.stack, closerEntry{up, lo, u, l, c, p, d + h})
}

// double is a place in double precision.
func double(c *[3]float32) [3]float64 { return [3]float64{float64(c[0]), float64(c[1]), float64(c[2])} }
