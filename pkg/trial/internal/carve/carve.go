// Package carve takes away from two opposing surfaces what is in the way of poses that the
// lower one shall reach, at the least weighted cost.
package carve

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/cover"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Goal is a pose that the lower surface shall reach: closed to an opening from a base pose.
type Goal struct {
	Base    kinematics.Pose
	Opening s1.Angle
	// Loose leaves overlaps alone where no more may go from either surface.
	Loose bool
}

// Pose returns the pose of the goal.
func (g Goal) Pose() kinematics.Pose { return kinematics.RotationX(g.Opening).Then(g.Base) }

// Side is one of the two surfaces, mm in the articulator frame, the lower one closed, and
// what of it may go.
type Side struct {
	Mesh *mesh.Mesh
	// Out is the unit outward normal of each vertex, along which it goes inwards.
	Out []r3.Vec
	// Cost is what 1 µm at a vertex costs, above 0, and Most how many µm may go there.
	Cost []int64
	Most []int32
	// Body is the tooth of each vertex; nil where all are one. Of two bodies that meet, the
	// one that gives most gives all, as far as its limits allow: nobody grinds both by
	// halves.
	Body []uint8
}

func (s *Side) body(v int32) uint8 {
	if s.Body == nil {
		return 0
	}
	return s.Body[v]
}

// Cut is what goes from one side: how many µm at each vertex, and the goal that asked for
// it (−1 for none).
type Cut struct {
	Um []int32
	By []int32
}

// Mesh returns the side after the cut.
func (s *Side) after(c *Cut) (*mesh.Mesh, error) {
	return surface.Moved(s.Mesh, s.Out, func(v mesh.VertexID) float64 { return -float64(c.Um[v]) / 1000 })
}

// ErrRounds says that the surfaces still overlap after many rounds.
var ErrRounds = errors.New("the surfaces still overlap after all rounds")

// InfeasibleError says that a goal needs more than may go.
type InfeasibleError struct {
	Goal            int
	Upper, Lower    mesh.VertexID // where most is lacking
	NeedUm, LimitUm int32
}

func (e *InfeasibleError) Error() string {
	return fmt.Sprintf("%v: goal %d needs %d µm, the limit is %d µm", cover.ErrInfeasible, e.Goal, e.NeedUm, e.LimitUm)
}

func (e *InfeasibleError) Unwrap() error { return cover.ErrInfeasible }

const (
	rounds = 60
	// solved is how many rounds are solved anew; what is left after them is a matter of a
	// few micrometres, and is taken away where most goes already.
	solved = 3
	// enough is the overlap that is left alone, mm; half the unit of a cut.
	enough = 0.0005
	// deepest is the largest overlap that is looked for, mm.
	deepest = 2.0
)

// Carve finds what must go for the surfaces not to overlap at any goal: the least Σ cost·µm
// over both. At every goal each vertex of one surface that lies behind the other by a depth
// d, with a vertex of the other at that place, makes a constraint: what goes from both is at
// least d (a covering program, see package cover). After each solution the overlaps are
// measured again on the surfaces as cut, and what is left is asked for in addition, until
// exact closings reach every goal to within 2 µm of the touching spot. Cuts are whole
// micrometres, so up to 1 µm more goes than must.
//
// Where a goal cannot be reached within the limits the error is an [InfeasibleError].
func Carve(ctx context.Context, upper, lower Side, goals []Goal) (up, lo Cut, err error) {
	w := &work{upper: upper, lower: lower, goals: goals, needs: map[[2]mesh.VertexID]int{}}
	w.up, w.lo = newCut(upper.Mesh), newCut(lower.Mesh)
	w.deepUp, w.deepLo = make([]float64, upper.Mesh.NumVertices()), make([]float64, lower.Mesh.NumVertices())
	for round := range rounds {
		if err := ctx.Err(); err != nil {
			return up, lo, err
		}
		w.left = w.left[:0]
		if err := w.look(ctx); err != nil {
			return up, lo, err
		}
		if len(w.left) == 0 {
			w.credit()
			return w.up, w.lo, nil
		}
		if round < solved {
			if err = w.solve(); err == nil && round == 0 {
				w.lean()
				err = w.solve()
			}
		} else {
			err = w.deepen()
		}
		if err != nil {
			return up, lo, err
		}
	}
	return up, lo, fmt.Errorf("%w (%d)", ErrRounds, rounds)
}

func newCut(m *mesh.Mesh) Cut {
	c := Cut{make([]int32, m.NumVertices()), make([]int32, m.NumVertices())}
	for v := range c.By {
		c.By[v] = -1
	}
	return c
}

// work is a carving under way.
type work struct {
	upper, lower Side
	goals        []Goal
	up, lo       Cut
	pairs        []cover.Pair // of vertices
	by           []int32      // the goal of each
	needs        map[[2]mesh.VertexID]int
	left         []int             // those that were not met when it was last looked
	inUp, inLo   [][]mesh.VertexID // vertices that overlap at first at each goal
	// The surfaces when they were last looked at.
	seenUp, seenLo *searched
	// How deep vertices lie behind the other surface, mm, at the goal that is looked at.
	deepUp, deepLo []float64
}

// need asks for d mm more at a pair of vertices than goes there now. Since the depth is that
// of the place and not of the vertices, no more than their limits is asked for until they
// are reached: only what still overlaps then is too much.
func (w *work) need(u, l mesh.VertexID, d float64, goal int) {
	now, limit := w.up.Um[u]+w.lo.Um[l], w.upper.Most[u]+w.lower.Most[l]
	if now >= limit && w.goals[goal].Loose {
		return
	}
	um := now + int32(math.Ceil(1000*d))
	if now < limit {
		um = min(um, limit)
	}
	k := [2]mesh.VertexID{u, l}
	i, ok := w.needs[k]
	if !ok {
		w.needs[k] = len(w.pairs)
		w.pairs = append(w.pairs, cover.Pair{A: int32(u), B: int32(l), Need: um})
		w.by = append(w.by, int32(goal))
		w.left = append(w.left, len(w.pairs)-1)
		return
	}
	if um > w.pairs[i].Need {
		w.pairs[i].Need, w.by[i] = um, int32(goal)
		w.left = append(w.left, i)
	}
}

// searched is a surface that is ready to be asked for distances.
type searched struct {
	mesh  *mesh.Mesh
	index *index.Index
	sides *index.Sides
	arch  *contact.Arch
	um    []int32 // as cut
}

// search makes a side as cut ready; the last one serves again where nothing was cut since.
func search(ctx context.Context, s *Side, c *Cut, last *searched) (*searched, error) {
	if last != nil && slices.Equal(last.um, c.Um) {
		return last, nil
	}
	m, err := s.after(c)
	if err != nil {
		return nil, err
	}
	a, err := contact.NewArch(ctx, m, nil, contact.Options{})
	if err != nil {
		return nil, err
	}
	return &searched{m, a.Index, a.Sides, a, slices.Clone(c.Um)}, nil
}

// look finds the overlaps of the surfaces as cut so far.
func (w *work) look(ctx context.Context) error {
	up, err := search(ctx, &w.upper, &w.up, w.seenUp)
	if err != nil {
		return err
	}
	lo, err := search(ctx, &w.lower, &w.lo, w.seenLo)
	if err != nil {
		return err
	}
	w.seenUp, w.seenLo = up, lo
	if w.inUp == nil {
		w.inUp, w.inLo = make([][]mesh.VertexID, len(w.goals)), make([][]mesh.VertexID, len(w.goals))
		for g := range w.goals {
			w.inUp[g], w.inLo[g] = crossing(up, lo, w.goals[g].Pose())
		}
	}
	for g := range w.goals {
		w.overlaps(g, up, lo)
	}
	if len(w.left) > 0 {
		return nil
	}
	return w.close(ctx, up, lo)
}

// overlaps asks for what overlaps at a goal. The other vertex of a constraint is the corner
// of the triangle at that place which itself lies deepest behind the other surface: a corner
// that overlaps nowhere must not go because its neighbours do.
func (w *work) overlaps(g int, up, lo *searched) {
	pose := w.goals[g].Pose()
	back := pose.Inverse()
	hitsUp, hitsLo := make([]index.Hit, len(w.inUp[g])), make([]index.Hit, len(w.inLo[g]))
	for i, v := range w.inUp[g] {
		hitsUp[i], w.deepUp[v], _ = lo.depth(back.Apply(up.mesh.Vertex(v)))
	}
	for i, v := range w.inLo[g] {
		hitsLo[i], w.deepLo[v], _ = up.depth(pose.Apply(lo.mesh.Vertex(v)))
	}
	for i, v := range w.inUp[g] {
		if d := w.deepUp[v]; d > 0 {
			w.need(v, corner(lo.mesh, hitsUp[i], w.deepLo, w.roomLo), d, g)
		}
	}
	for i, v := range w.inLo[g] {
		if d := w.deepLo[v]; d > 0 {
			w.need(corner(up.mesh, hitsLo[i], w.deepUp, w.roomUp), v, d, g)
		}
	}
	for _, v := range w.inUp[g] {
		w.deepUp[v] = 0
	}
	for _, v := range w.inLo[g] {
		w.deepLo[v] = 0
	}
}

// depth is how far a point lies behind the surface.
func (s *searched) depth(p r3.Vec) (h index.Hit, d float64, ok bool) {
	h, ok = s.index.Nearest(p, deepest)
	if !ok || h.Dist <= enough {
		return h, 0, false
	}
	if inside, trusted := s.sides.Inside(h, p); inside && trusted {
		return h, h.Dist, true
	}
	return h, 0, false
}

// roomUp and roomLo say whether more may go at a vertex.
func (w *work) roomUp(v mesh.VertexID) bool { return w.up.Um[v] < w.upper.Most[v] }
func (w *work) roomLo(v mesh.VertexID) bool { return w.lo.Um[v] < w.lower.Most[v] }

// corner is the corner of a hit triangle that lies deepest, or else nearest to the place, of
// those where more may go if there are any.
func corner(m *mesh.Mesh, h index.Hit, deep []float64, room func(mesh.VertexID) bool) mesh.VertexID {
	best := nearest(m, h)
	for _, v := range m.Triangle(h.Tri) {
		if r := room(v); r != room(best) && r || r == room(best) && deep[v] > deep[best] {
			best = v
		}
	}
	return best
}

// nearest is the corner of a hit triangle that is nearest to the place.
func nearest(m *mesh.Mesh, h index.Hit) mesh.VertexID {
	c := m.Triangle(h.Tri)
	best, least := c[0], math.Inf(1)
	for _, v := range c {
		if d := r3.Norm2(r3.Sub(m.Vertex(v), h.Point)); d < least {
			best, least = v, d
		}
	}
	return best
}

// around is how far beyond crossing triangles vertices are tried for overlap, mm: within
// an overlap of this width surfaces can be apart from its edge.
const around = 1.0

// crossing lists the vertices of both surfaces that lie behind the other under a pose.
// Where surfaces overlap there are triangles that cross around it.
func crossing(up, lo *searched, pose kinematics.Pose) (inUp, inLo []mesh.VertexID) {
	var s contact.GapScratch
	pairs := contact.AppendPairs(nil, up.index, lo.index, pose, 0, &s)
	if len(pairs) == 0 {
		return nil, nil
	}
	cells := map[[3]int32]bool{}
	for i := range pairs {
		a, _, _ := up.mesh.Corners(pairs[i].Upper)
		c := cellOf(a)
		for k := range 27 {
			cells[[3]int32{c[0] + int32(k%3) - 1, c[1] + int32(k/3%3) - 1, c[2] + int32(k/9) - 1}] = true
		}
	}
	back := pose.Inverse()
	for v, p := range up.mesh.Vertices() {
		if cells[cellOf(p)] {
			if _, _, ok := lo.depth(back.Apply(p)); ok {
				inUp = append(inUp, mesh.VertexID(v))
			}
		}
	}
	for v, p := range lo.mesh.Vertices() {
		if p = pose.Apply(p); cells[cellOf(p)] {
			if _, _, ok := up.depth(p); ok {
				inLo = append(inLo, mesh.VertexID(v))
			}
		}
	}
	return inUp, inLo
}

func cellOf(p r3.Vec) [3]int32 {
	return [3]int32{int32(math.Floor(p.X / around)), int32(math.Floor(p.Y / around)), int32(math.Floor(p.Z / around))}
}

// close closes the surfaces exactly at every goal. Where that does not come to the goal all
// pairs of triangles that cross there are asked for what parts them.
func (w *work) close(ctx context.Context, up, lo *searched) error {
	c, err := contact.NewCloser(ctx, up.arch, lo.arch, contact.Options{})
	if err != nil {
		return err
	}
	var s contact.CloserScratch
	var gap contact.GapScratch
	var pairs []contact.Pair
	for i, g := range w.goals {
		touch, err := c.Close(g.Base, &s)
		if errors.Is(err, contact.ErrNoTouch) {
			continue
		}
		if err != nil {
			return err
		}
		q := g.Base.Inverse().Apply(touch.Point)
		way := math.Hypot(q.Y, q.Z) * (touch.Opening - g.Opening).Radians()
		if way <= reached {
			continue
		}
		pose := g.Pose()
		back := pose.Inverse()
		pairs = contact.AppendPairs(pairs[:0], up.index, lo.index, pose, 0, &gap)
		for _, p := range pairs {
			u := corner(up.mesh, index.Hit{Tri: p.Upper, Point: p.UpperPoint}, w.deepUp, w.roomUp)
			l := corner(lo.mesh, index.Hit{Tri: p.Lower, Point: back.Apply(p.LowerPoint)}, w.deepLo, w.roomLo)
			d := min(way, behind(up.mesh, p.Upper, lo.mesh, p.Lower, pose.Apply), behind(lo.mesh, p.Lower, up.mesh, p.Upper, back.Apply))
			w.need(u, l, max(enough, d), i)
		}
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	return nil
}

// behind is how far the deepest corner of a triangle of one mesh lies behind the plane of
// one of another: at most so much parts the two. to takes a point of the other mesh to the
// frame of the one.
func behind(m *mesh.Mesh, t mesh.TriID, other *mesh.Mesh, o mesh.TriID, to func(r3.Vec) r3.Vec) float64 {
	a, b, c := other.Corners(o)
	a, b, c = to(a), to(b), to(c)
	n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
	size := r3.Norm(n)
	if size == 0 {
		return math.Inf(1)
	}
	deep := 0.0
	for _, v := range m.Triangle(t) {
		deep = max(deep, -r3.Dot(n, r3.Sub(m.Vertex(v), a))/size)
	}
	return deep
}

// reached is how near to its goal the touching spot of a closing must come, mm.
const reached = 0.002

// deepen takes away what is left where most goes already, else where it costs less.
func (w *work) deepen() error {
	moreUp, moreLo := map[int32]int32{}, map[int32]int32{}
	for _, i := range w.left {
		p := w.pairs[i]
		lack := p.Need - w.up.Um[p.A] - w.lo.Um[p.B]
		roomUp, roomLo := w.upper.Most[p.A]-w.up.Um[p.A], w.lower.Most[p.B]-w.lo.Um[p.B]
		if lack > roomUp+roomLo {
			return &InfeasibleError{Goal: int(w.by[i]), Upper: mesh.VertexID(p.A), Lower: mesh.VertexID(p.B), NeedUm: p.Need,
				LimitUm: w.upper.Most[p.A] + w.lower.Most[p.B]}
		}
		first := w.up.Um[p.A] > w.lo.Um[p.B] || w.up.Um[p.A] == w.lo.Um[p.B] && w.upper.Cost[p.A] <= w.lower.Cost[p.B]
		a := min(lack, roomUp)
		if !first {
			a = lack - min(lack, roomLo)
		}
		moreUp[p.A], moreLo[p.B] = max(moreUp[p.A], a), max(moreLo[p.B], lack-a)
	}
	for v, um := range moreUp {
		w.up.Um[v] += um
	}
	for v, um := range moreLo {
		w.lo.Um[v] += um
	}
	return nil
}

// solve finds the least cut that meets all that was asked for.
func (w *work) solve() error {
	a, numberA := members(&w.upper, len(w.pairs), func(i int) int32 { return w.pairs[i].A })
	b, numberB := members(&w.lower, len(w.pairs), func(i int) int32 { return w.pairs[i].B })
	pairs := make([]cover.Pair, len(w.pairs))
	for i, p := range w.pairs {
		pairs[i] = cover.Pair{A: numberA[p.A], B: numberB[p.B], Need: p.Need}
	}
	x, y, err := cover.Solve(a, b, pairs)
	var bad *cover.InfeasibleError
	if errors.As(err, &bad) {
		p := w.pairs[bad.Pair]
		return &InfeasibleError{Goal: int(w.by[bad.Pair]), Upper: mesh.VertexID(p.A), Lower: mesh.VertexID(p.B), NeedUm: bad.Need,
			LimitUm: bad.Limit}
	}
	if err != nil {
		return err
	}
	for v, n := range numberA {
		w.up.Um[v] = x[n]
	}
	for v, n := range numberB {
		w.lo.Um[v] = y[n]
	}
	return nil
}

// leaning is how many times dearer the body becomes that gives less.
const leaning = 16

// lean makes of two bodies that meet the one dearer that gives less.
func (w *work) lean() {
	type pair [2]uint8
	given := map[pair][2]float64{}
	for _, p := range w.pairs {
		k := pair{w.upper.body(p.A), w.lower.body(p.B)}
		g := given[k]
		g[0], g[1] = g[0]+float64(w.up.Um[p.A]), g[1]+float64(w.lo.Um[p.B])
		given[k] = g
	}
	var upper, lower [256]bool
	for k, g := range given {
		if g[0] >= g[1] {
			lower[k[1]] = true
		} else {
			upper[k[0]] = true
		}
	}
	dearer := func(s *Side, of *[256]bool) {
		s.Cost = append([]int64(nil), s.Cost...)
		for v := range s.Cost {
			if of[s.body(int32(v))] {
				s.Cost[v] *= leaning
			}
		}
	}
	dearer(&w.upper, &upper)
	dearer(&w.lower, &lower)
}

// members numbers the vertices of a side that constraints name, in the order in which they
// do.
func members(s *Side, n int, of func(int) int32) (out cover.Side, number map[int32]int32) {
	number = map[int32]int32{}
	for i := range n {
		v := of(i)
		if _, ok := number[v]; !ok {
			number[v] = int32(len(out.Cost))
			out.Cost, out.Most = append(out.Cost, s.Cost[v]), append(out.Most, s.Most[v])
		}
	}
	return out, number
}

// credit says which goal asked for most at each vertex that was cut: of the constraints
// that are met just so, if there are any.
func (w *work) credit() {
	needUp, needLo := make([]int32, len(w.up.Um)), make([]int32, len(w.lo.Um))
	for i, p := range w.pairs {
		if w.up.Um[p.A] > 0 && w.up.By[p.A] < 0 {
			w.up.By[p.A] = w.by[i]
		}
		if w.lo.Um[p.B] > 0 && w.lo.By[p.B] < 0 {
			w.lo.By[p.B] = w.by[i]
		}
		if w.up.Um[p.A]+w.lo.Um[p.B] > p.Need {
			continue
		}
		if w.up.Um[p.A] > 0 && p.Need > needUp[p.A] {
			needUp[p.A], w.up.By[p.A] = p.Need, w.by[i]
		}
		if w.lo.Um[p.B] > 0 && p.Need > needLo[p.B] {
			needLo[p.B], w.lo.By[p.B] = p.Need, w.by[i]
		}
	}
}
