package contact

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/surftree"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
)

// ClearanceScratch is the memory of one goroutine for [AppendClearances],
// [AppendUpperClearances] and [AppendLowerClearances]. The zero value works; it
// never influences results.
type ClearanceScratch struct {
	gap    GapScratch
	upper  []least // by the place in Arch.Parts
	lower  []least
	bounds []volume // of the lower subtrees
	pairs  []rootPair
}

// rootPair is an upper and a lower subtree by their places, and the squared distance
// of their boxes.
type rootPair struct {
	sq     float64
	up, lo int
}

// AppendClearances appends the clearances of every part (tooth) of both arches under
// a pose of the lower one: the least gap between the part and the whole opposing arch,
// in the order of [Arch.Parts], the upper ones to up and the lower ones to lo. Where
// the opposing arch is empty, Dist is +Inf. An arch that was not made by [NewArch] is
// an error wrapping [ErrNoArch], a pose that is not finite one wrapping
// [kinematics.ErrNotFinite]; up and lo then come back as they were. Nothing is
// allocated but up and lo, once s has grown.
func AppendClearances(up, lo []Gap, upper, lower *Arch, pose kinematics.Pose, s *ClearanceScratch) ([]Gap, []Gap, error) {
	if err := checkPosed(upper, lower, pose); err != nil {
		return up, lo, err
	}
	s.search(upper, lower, pose, true, true)
	return appendGaps(up, s.upper), appendGaps(lo, s.lower), nil
}

// AppendUpperClearances appends the clearances of the parts of the upper arch alone,
// in all else as [AppendClearances].
func AppendUpperClearances(dst []Gap, upper, lower *Arch, pose kinematics.Pose, s *ClearanceScratch) ([]Gap, error) {
	if err := checkPosed(upper, lower, pose); err != nil {
		return dst, err
	}
	s.search(upper, lower, pose, true, false)
	return appendGaps(dst, s.upper), nil
}

// AppendLowerClearances appends the clearances of the parts of the lower arch alone,
// in all else as [AppendClearances].
func AppendLowerClearances(dst []Gap, upper, lower *Arch, pose kinematics.Pose, s *ClearanceScratch) ([]Gap, error) {
	if err := checkPosed(upper, lower, pose); err != nil {
		return dst, err
	}
	s.search(upper, lower, pose, false, true)
	return appendGaps(dst, s.lower), nil
}

func appendGaps(dst []Gap, of []least) []Gap {
	for i := range of {
		g := of[i].gap
		g.Dist = math.Sqrt(of[i].sq)
		dst = append(dst, g)
	}
	return dst
}

// search finds the nearest pairs of the parts that are asked for. One search serves
// the parts of both arches: opposing teeth meet the same pairs.
func (s *ClearanceScratch) search(upper, lower *Arch, pose kinematics.Pose, ofUpper, ofLower bool) {
	w := pairSearch{up: tree(upper.Index), lo: tree(lower.Index), pose: pose, m: pose.Matrix(), s: &s.gap}
	s.gap.begin(w.lo, pose)
	s.upper, s.lower = fit(s.upper, len(upper.Parts)), fit(s.lower, len(lower.Parts))
	us, ls := side{upper, w.up, s.upper, ofUpper}, side{lower, w.lo, s.lower, ofLower}
	for i := range us.best {
		if us.best[i].begin(math.Inf(1)); ofUpper {
			w.resume(us.root(i), &w.lo.Boxes().Top, &us.best[i])
		}
	}
	s.bounds = fit(s.bounds, ls.roots())
	for j := range s.bounds {
		s.bounds[j] = moved(&ls.root(j).Box, surftree.RootPlate(), &w.m)
	}
	for j := range ls.best {
		if ls.best[j].begin(math.Inf(1)); ofLower {
			w.resume(&w.up.Boxes().Top, ls.root(j), &ls.best[j])
		}
	}
	s.pairs = s.pairs[:0]
	for i := range us.roots() {
		for j := range ls.roots() {
			if ur, lr := us.root(i), ls.root(j); !ur.Empty && !lr.Empty {
				s.pairs = append(s.pairs, rootPair{ur.Box.GapSq(&s.bounds[j].box), i, j})
			}
		}
	}
	slices.SortFunc(s.pairs, func(a, b rootPair) int { return cmp.Compare(a.sq, b.sq) })
	for _, p := range s.pairs {
		if a, b := us.of(p.up), ls.of(p.lo); p.sq <= limit(a, b) {
			w.run(us.root(p.up), ls.root(p.lo), &s.bounds[p.lo], a, b)
		}
	}
}

// side is one arch of a search.
type side struct {
	arch  *Arch
	tree  *surftree.Tree
	best  []least // of the parts
	asked bool    // for the clearances of this side
}

// roots is the number of subtrees that are searched one by one: the parts and the
// rest, or the whole where nobody asks for the parts.
func (a *side) roots() int {
	if !a.asked {
		return 1
	}
	return len(a.best) + 1
}

func (a *side) root(i int) *bvh.Root {
	switch {
	case !a.asked:
		return &a.tree.Boxes().Top
	case i < len(a.best):
		return &a.tree.Parts()[a.arch.Parts[i]]
	}
	return a.tree.Rest()
}

// of is what counts for a subtree.
func (a *side) of(i int) *least {
	if !a.asked || i == len(a.best) {
		return nil
	}
	return &a.best[i]
}

func checkPosed(upper, lower *Arch, pose kinematics.Pose) error {
	if err := checkBoth(upper, lower); err != nil {
		return err
	}
	return pose.Validate()
}

// PartGap is the least gap between a part (tooth) of the upper arch and one of the
// lower arch under a pose of the lower one. ok is false where one of them has no
// triangles and where the pose is not finite.
func PartGap(upper, lower *Arch, up, lo int, pose kinematics.Pose, s *GapScratch) (g Gap, ok bool) {
	u, l := tree(upper.Index), tree(lower.Index)
	if up < 0 || up >= len(u.Parts()) || lo < 0 || lo >= len(l.Parts()) || pose.Validate() != nil {
		return Gap{Upper: mesh.None, Lower: mesh.None}, false
	}
	s.begin(l, pose)
	return leastGap(u, l, &u.Parts()[up], &l.Parts()[lo], pose, math.Inf(1), s, &seed{})
}

// WholeArch stands for all of an arch where the number of a part is asked for.
const WholeArch = -1

// PartsWithin is the least gap between a part (tooth) of the upper arch and one of the lower
// arch, or [WholeArch] of either, under a pose of the lower one, if it is at most limit mm;
// ok is false beyond, where one of them has no triangles and where the pose is not finite.
// It is the faster the smaller the limit.
func PartsWithin(upper, lower *Arch, up, lo int, pose kinematics.Pose, limit float64, s *GapScratch) (g Gap, ok bool) {
	u, l := tree(upper.Index), tree(lower.Index)
	root := func(x *surftree.Tree, part int) *bvh.Root {
		switch parts := x.Parts(); {
		case part == WholeArch:
			return &x.Boxes().Top
		case part >= 0 && part < len(parts):
			return &parts[part]
		}
		return &bvh.Root{Empty: true}
	}
	if pose.Validate() != nil {
		return Gap{Upper: mesh.None, Lower: mesh.None}, false
	}
	s.begin(l, pose)
	return leastGap(u, l, root(u, up), root(l, lo), pose, limit, s, &seed{})
}

// fit is s with length n, keeping its memory and what it held.
func fit[T any](s []T, n int) []T {
	if cap(s) < n {
		s = append(s[:cap(s)], make([]T, n-cap(s))...)
	}
	return s[:n]
}

// mapChunk is the vertices of a clearance map that one worker takes at a time,
// and after which it looks for cancellation.
const mapChunk = 2048

// AppendUpperMap appends the distance of every vertex of the upper arch from the
// lower one, under a pose of the lower one, in mm: negative where the vertex lies
// behind the other's surface by at most 2 mm (the surfaces overlap there) and +Inf
// beyond limit (mm, 0 or more). Errors are those of [AppendUpperClearances] and that
// of a canceled context; dst then comes back as it was.
func AppendUpperMap(ctx context.Context, dst []float64, upper, lower *Arch, pose kinematics.Pose, limit float64,
	o Options) ([]float64, error) {
	if err := checkPosed(upper, lower, pose); err != nil {
		return dst, err
	}
	return appendMap(ctx, dst, upper, lower, pose.Inverse(), limit, o)
}

// AppendLowerMap appends the distance of every vertex of the lower arch, under a
// pose of it, from the upper one, in all else as [AppendUpperMap].
func AppendLowerMap(ctx context.Context, dst []float64, upper, lower *Arch, pose kinematics.Pose, limit float64,
	o Options) ([]float64, error) {
	if err := checkPosed(upper, lower, pose); err != nil {
		return dst, err
	}
	return appendMap(ctx, dst, lower, upper, pose, limit, o)
}

// appendMap measures one arch from another; pose takes a point of the arch of
// into the frame of the arch to.
func appendMap(ctx context.Context, dst []float64, of, to *Arch, pose kinematics.Pose, limit float64, o Options) ([]float64, error) {
	if !(limit >= 0) {
		return dst, fmt.Errorf("clearance map: the limit is %g mm, must be 0 or more", limit)
	}
	verts, old := of.Mesh().Vertices(), len(dst)
	full := slices.Grow(dst, len(verts))[:old+len(verts)]
	out := full[old:]
	for i := range out {
		out[i] = math.NaN() // not measured yet
	}
	measure := func(v mesh.VertexID, near *index.Follower) {
		q := pose.Apply(verts[v])
		h, ok := near.Nearest(to.Index, q, limit)
		if !ok {
			out[v] = math.Inf(1)
			return
		}
		out[v] = h.Dist
		if h.Dist > overlapMost {
			return
		}
		if inside, trusted := to.Sides.Inside(h, q); inside && trusted {
			out[v] = -h.Dist
		}
	}
	order := of.Index.Order()
	err := par.Chunks(ctx, len(order), mapChunk, o.Workers, func(_, first, last int) error {
		var near index.Follower
		for _, v := range order[first:last] {
			measure(v, &near)
		}
		return nil
	})
	if err == nil && len(order) < len(verts) { // some have no triangle
		err = par.Chunks(ctx, len(verts), mapChunk, o.Workers, func(_, first, last int) error {
			var near index.Follower
			for v := first; v < last; v++ {
				if math.IsNaN(out[v]) {
					measure(mesh.VertexID(v), &near)
				}
			}
			return nil
		})
	}
	if err != nil {
		return dst, err
	}
	return full, nil
}
