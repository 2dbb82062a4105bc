package contact

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/surftree"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// Gap is the least distance of two surfaces, 0 where they cross.
type Gap struct {
	Dist       float64 // mm
	Upper      mesh.TriID
	Lower      mesh.TriID
	UpperPoint r3.Vec // the nearest points in the articulator frame, mm
	LowerPoint r3.Vec
}

// GapScratch is the memory of one goroutine for queries of two trees. The zero
// value works and may be used with any indexes; it never influences results.
type GapScratch struct {
	lower nodeCache[volume] // the children of the lower tree's nodes, moved
	of    *surftree.Tree    // what lower is of
	under kinematics.Pose
	stack []gapEntry
	loTop volume // of the lower subtree that is searched
	seed  seed
}

type gapEntry struct {
	up, lo  bvh.Ref
	upBox   *bvh.Box
	upPlate *surftree.Plate
	low     *volume
	sq      float64 // lower bound of the squared gap
}

// volume bounds a moved part of a mesh: a box and a plate across n whose heights
// count from the centre of the box.
type volume struct {
	box    bvh.Moved
	n      [3]float64
	lo, hi float64
	r      float64 // no point is farther from the centre
}

// begin makes the scratch ready for a search of a lower tree under a pose. What
// was moved for the last search is still right where both are the same.
func (s *GapScratch) begin(lower *surftree.Tree, pose kinematics.Pose) {
	s.stack = s.stack[:0]
	if s.of == lower && s.under == pose {
		return
	}
	s.of, s.under = lower, pose
	s.lower.begin(len(lower.Boxes().Nodes))
}

// moved is the volume around a box and a plate after a rigid motion.
func moved(b *bvh.Box, p *surftree.Plate, m *[16]float64) (v volume) {
	v.box = b.Move(m)
	x, y, z := float64(p.N[0]), float64(p.N[1]), float64(p.N[2])
	for i := range 3 {
		r := m[4*i : 4*i+4 : 4*i+4]
		v.n[i] = r[0]*x + r[1]*y + r[2]*z
	}
	v.lo, v.hi = float64(p.Lo), float64(p.Hi)
	v.r = float64(p.R)
	return v
}

// plateMost is the radius, in mm, up to which parts are flat enough for plates to
// tell more than boxes.
const plateMost = 4

// plateGap is a lower bound of the distance between what a plate around c and a
// moved volume hold; it may be negative. Where it is found to be more than enough
// that will do.
//
// Along the normal n of one plate, the other's points p (from its centre) reach
// n·p = (n·m)(m·p) + (n−(n·m)m)·p, where m is its own normal: the first part is
// within its plate, the second at most its radius times the sine between the
// normals. 4e-6 covers normals that are of length 1 only within 1e-6.
func plateGap(u *bvh.Box, p *surftree.Plate, l *volume, enough float64) float64 {
	nx, ny, nz := float64(p.N[0]), float64(p.N[1]), float64(p.N[2])
	dx, dy, dz := l.box.C[0]-float64(u.C[0]), l.box.C[1]-float64(u.C[1]), l.box.C[2]-float64(u.C[2])
	uLo, uHi, ur := float64(p.Lo), float64(p.Hi), float64(p.R)
	lLo, lHi := l.lo, l.hi
	c := nx*l.n[0] + ny*l.n[1] + nz*l.n[2]
	h := nx*dx + ny*dy + nz*dz
	k := l.n[0]*dx + l.n[1]*dy + l.n[2]*dz
	if c < 0 { // turn the lower normal round, so that both ranges keep their order
		c, k, lLo, lHi = -c, -k, -lHi, -lLo
	}
	sin := sine(c)
	// The lower part above the upper plate, or below it.
	gap := h + c*lLo - l.r*sin - uHi
	if g := uLo - (h + c*lHi + l.r*sin); g > gap {
		gap = g
	}
	// The upper part below the lower plate, or above it.
	if g := k + lLo - (c*uHi + ur*sin); g > gap {
		gap = g
	}
	if g := (c*uLo - ur*sin) - (k + lHi); g > gap {
		gap = g
	}
	if gap > enough {
		return gap
	}
	// Along the line between the centres, which tells more than the normals
	// where the surfaces lie far apart.
	d := math.Sqrt(dx*dx + dy*dy + dz*dz)
	a, b := h/d, k/d
	uTop, lTop := a*uHi, -b*lLo
	if a < 0 {
		uTop = a * uLo
	}
	if b < 0 {
		lTop = -b * lHi
	}
	if g := d - (uTop + ur*sine(a)) - (lTop + l.r*sine(b)); g > gap {
		gap = g
	}
	return gap
}

// sine bounds the sine for a cosine between normals that are of length 1 within
// 1e-6 only.
func sine(cos float64) float64 {
	s := 1 + 4e-6 - cos*cos
	if s < 4e-6 {
		s = 4e-6
	}
	return math.Sqrt(s)
}

// pairSearch walks the trees of two arches at once, the lower one moved.
type pairSearch struct {
	up, lo *surftree.Tree
	pose   kinematics.Pose
	m      [16]float64
	s      *GapScratch
	sq     float64 // what is farther apart is skipped
	far    float64 // its root, and what plates round
}

// plateRound is what the bounds of plates may be too large by, as a share of them.
const plateRound = 4e-6

// reach sets the squared distance beyond which pairs are skipped.
func (w *pairSearch) reach(sq float64) {
	if sq != w.sq {
		w.sq, w.far = sq, math.Sqrt(sq)*(1+2*plateRound)
	}
}

func (w *pairSearch) children(ref bvh.Ref) *[2]volume {
	b, fresh := w.s.lower.of(ref)
	if fresh {
		nd, p := &w.lo.Boxes().Nodes[ref], &w.lo.Plates()[ref]
		b[0], b[1] = moved(&nd.Box[0], &p[0], &w.m), moved(&nd.Box[1], &p[1], &w.m)
	}
	return b
}

// push puts a pair off unless its bounds are too far apart.
func (w *pairSearch) push(up, lo bvh.Ref, u *bvh.Box, p *surftree.Plate, l *volume) {
	sq := u.GapSq(&l.box)
	if sq > w.sq {
		return
	}
	if p.R <= plateMost && l.r <= plateMost {
		if g := plateGap(u, p, l, w.far) * (1 - plateRound); g > 0 && g*g > sq {
			if sq = g * g; sq > w.sq {
				return
			}
		}
	}
	w.s.stack = append(w.s.stack, gapEntry{up, lo, u, p, l, sq})
}

// next pops pairs until it meets two leaves, which it returns.
func (w *pairSearch) next() (up, lo bvh.Ref, ok bool) {
	s := w.s
	for len(s.stack) > 0 {
		e := s.stack[len(s.stack)-1]
		s.stack = s.stack[:len(s.stack)-1]
		if e.sq > w.sq {
			continue
		}
		from := len(s.stack)
		switch {
		case e.up.IsLeaf() && e.lo.IsLeaf():
			return e.up, e.lo, true
		case e.up.IsLeaf():
			nd, v := &w.lo.Boxes().Nodes[e.lo], w.children(e.lo)
			w.push(e.up, nd.Child[0], e.upBox, e.upPlate, &v[0])
			w.push(e.up, nd.Child[1], e.upBox, e.upPlate, &v[1])
		case e.lo.IsLeaf():
			nd, p := &w.up.Boxes().Nodes[e.up], &w.up.Plates()[e.up]
			w.push(nd.Child[0], e.lo, &nd.Box[0], &p[0], e.low)
			w.push(nd.Child[1], e.lo, &nd.Box[1], &p[1], e.low)
		default:
			nu, p := &w.up.Boxes().Nodes[e.up], &w.up.Plates()[e.up]
			nl, v := &w.lo.Boxes().Nodes[e.lo], w.children(e.lo)
			for i := range 2 {
				w.push(nu.Child[i], nl.Child[0], &nu.Box[i], &p[i], &v[0])
				w.push(nu.Child[i], nl.Child[1], &nu.Box[i], &p[i], &v[1])
			}
		}
		fresh := s.stack[from:]
		for i := 1; i < len(fresh); i++ {
			for j := i; j > 0 && fresh[j].sq > fresh[j-1].sq; j-- {
				fresh[j], fresh[j-1] = fresh[j-1], fresh[j]
			}
		}
	}
	return 0, 0, false
}

// LeastGap is the least gap between the upper arch and the lower one under a
// pose, if it is at most limit mm (inclusive; +Inf for no limit). Of several
// pairs of triangles at the same gap the one with the lowest upper, then lower,
// number is named. Under a pose that is not finite nothing is within any limit.
// Nothing is allocated once s has grown.
func LeastGap(upper, lower *index.Index, pose kinematics.Pose, limit float64, s *GapScratch) (Gap, bool) {
	if pose.Validate() != nil {
		return Gap{Upper: mesh.None, Lower: mesh.None}, false
	}
	return wholeGap(tree(upper), tree(lower), pose, limit, s)
}

// wholeGap is LeastGap on the trees.
func wholeGap(up, lo *surftree.Tree, pose kinematics.Pose, limit float64, s *GapScratch) (Gap, bool) {
	s.begin(lo, pose)
	return leastGap(up, lo, &up.Boxes().Top, &lo.Boxes().Top, pose, limit, s, &s.seed)
}

// seed is where the last search for the same gap ended: the leaf positions of
// the nearest triangles. What they measure under the new pose bounds the new
// gap from above.
type seed struct {
	set    bool
	up, lo int32
}

// least is the nearest pair of triangles that a search has met, of all or of those
// of one part; nil where nobody asks for it.
type least struct {
	sq   float64 // its squared distance; until one is met the greatest that counts
	gap  Gap     // without Dist
	seed seed
}

// begin makes a search forget all but where the last one ended.
func (b *least) begin(sq float64) {
	b.sq, b.gap = sq, Gap{Upper: mesh.None, Lower: mesh.None}
}

// met says whether any pair counted.
func (b *least) met() bool { return b.gap.Upper != mesh.None }

// limit is the squared distance up to which pairs count for a or b.
func limit(a, b *least) float64 {
	switch {
	case a == nil && b == nil:
		return -1
	case a == nil:
		return b.sq
	case b == nil:
		return a.sq
	}
	return max(a.sq, b.sq)
}

// take looks at a pair: of equally near ones the lowest upper, then lower, number counts.
func (b *least) take(d float64, g *Gap, at seed) {
	if b == nil {
		return
	}
	if d < b.sq || d == b.sq && (!b.met() || g.Upper < b.gap.Upper || g.Upper == b.gap.Upper && g.Lower < b.gap.Lower) {
		b.sq, b.gap, b.seed = d, *g, at
	}
}

// leastGap is LeastGap between two subtrees; the scratch must have begun for the
// pose.
func leastGap(upper, lower *surftree.Tree, ur, lr *bvh.Root, pose kinematics.Pose, limit float64, s *GapScratch, from *seed) (Gap, bool) {
	b := least{seed: *from}
	if b.begin(geom.LimitSq(limit)); ur.Empty || lr.Empty || !(limit >= 0) {
		return b.gap, false
	}
	w := pairSearch{up: upper, lo: lower, pose: pose, m: pose.Matrix(), s: s}
	w.resume(ur, lr, &b)
	s.loTop = moved(&lr.Box, surftree.RootPlate(), &w.m)
	w.run(ur, lr, &s.loTop, &b, nil)
	*from = b.seed
	b.gap.Dist = math.Sqrt(b.sq)
	return b.gap, b.met()
}

// resume measures where the last search for b ended, if that is in the two subtrees.
func (w *pairSearch) resume(ur, lr *bvh.Root, b *least) {
	if at := b.seed; at.set && ur.Holds(at.up) && lr.Holds(at.lo) {
		w.measure(int(at.up), 1, int(at.lo), 1, b, nil)
	}
}

// run looks for the nearest pairs of two subtrees for a and b; lo is the lower one's
// bounds.
func (w *pairSearch) run(ur, lr *bvh.Root, lo *volume, a, b *least) {
	w.reach(limit(a, b))
	w.push(ur.Ref, lr.Ref, &ur.Box, surftree.RootPlate(), lo)
	for {
		up, lo, ok := w.next()
		if !ok {
			return
		}
		uf, un := up.Leaf()
		lf, ln := lo.Leaf()
		w.measure(uf, un, lf, ln, a, b)
	}
}

// measure measures all pairs of triangles of two runs of leaf positions for a and b.
func (w *pairSearch) measure(uf, un, lf, ln int, a, b *least) {
	w.reach(limit(a, b))
	var q [bvh.LeafMax]geom.Face
	w.lowerFaces(&q, lf, ln)
	for i := range un {
		p := geom.NewFace(w.up.LeafCorners(uf + i))
		for j := range ln {
			d, pu, pl := geom.Faces(&p, &q[j], w.sq)
			if d > w.sq {
				continue
			}
			g := Gap{Upper: w.up.LeafTriangle(uf + i), Lower: w.lo.LeafTriangle(lf + j), UpperPoint: pu, LowerPoint: pl}
			at := seed{set: true, up: int32(uf + i), lo: int32(lf + j)}
			a.take(d, &g, at)
			b.take(d, &g, at)
			w.reach(limit(a, b))
		}
	}
}

// lowerFaces prepares the lower triangles at n leaf positions.
func (w *pairSearch) lowerFaces(q *[bvh.LeafMax]geom.Face, first, n int) {
	for j := range n {
		a, b, c := w.lo.LeafCorners(first + j)
		q[j] = geom.NewFace(w.pose.Apply(a), w.pose.Apply(b), w.pose.Apply(c))
	}
}
