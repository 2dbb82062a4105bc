package contact

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/surftree"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// ClearanceScratch is the memory of one goroutine for [AppendUpperClearances] and
// [AppendLowerClearances]. The zero value works; it never influences results.
type ClearanceScratch struct {
	gap   GapScratch
	upper []seed
	lower []seed
}

// AppendUpperClearances appends the clearance of every part (tooth) of the upper
// arch under a pose of the lower one: the least gap between the part and the
// whole lower arch, in the order of [Arch.Parts]. Where the lower arch is empty,
// Dist is +Inf. An arch that was not made by [NewArch] is an error wrapping
// [ErrNoArch], a pose that is not finite one wrapping [kinematics.ErrNotFinite];
// dst then comes back as it was. Nothing is allocated but dst, once s has grown.
func AppendUpperClearances(dst []Gap, upper, lower *Arch, pose kinematics.Pose, s *ClearanceScratch) ([]Gap, error) {
	if err := checkPosed(upper, lower, pose); err != nil {
		return dst, err
	}
	u, l := tree(upper.Index), tree(lower.Index)
	s.gap.begin(l, pose)
	s.upper = fit(s.upper, len(upper.Parts))
	for i, k := range upper.Parts {
		dst = append(dst, clearance(u, l, &u.Parts()[k], &l.Boxes().Top, pose, &s.gap, &s.upper[i]))
	}
	return dst, nil
}

// AppendLowerClearances appends the clearance of every part (tooth) of the lower
// arch to the whole upper one, in all else as [AppendUpperClearances].
func AppendLowerClearances(dst []Gap, upper, lower *Arch, pose kinematics.Pose, s *ClearanceScratch) ([]Gap, error) {
	if err := checkPosed(upper, lower, pose); err != nil {
		return dst, err
	}
	u, l := tree(upper.Index), tree(lower.Index)
	s.gap.begin(l, pose)
	s.lower = fit(s.lower, len(lower.Parts))
	for i, k := range lower.Parts {
		dst = append(dst, clearance(u, l, &u.Boxes().Top, &l.Parts()[k], pose, &s.gap, &s.lower[i]))
	}
	return dst, nil
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

func clearance(u, l *surftree.Tree, ur, lr *bvh.Root, pose kinematics.Pose, s *GapScratch, from *seed) Gap {
	g, ok := leastGap(u, l, ur, lr, pose, math.Inf(1), s, from)
	if !ok {
		g.Dist = math.Inf(1)
	}
	return g
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
	err := par.Chunks(ctx, len(verts), mapChunk, o.Workers, func(_, first, last int) error {
		for i := first; i < last; i++ {
			q := pose.Apply(verts[i])
			h, ok := to.Index.Nearest(q, limit)
			if !ok {
				out[i] = math.Inf(1)
				continue
			}
			out[i] = h.Dist
			if h.Dist > overlapMost {
				continue
			}
			if inside, trusted := to.Sides.Inside(h, q); inside && trusted {
				out[i] = -h.Dist
			}
		}
		return nil
	})
	if err != nil {
		return dst, err
	}
	return full, nil
}
