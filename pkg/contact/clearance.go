package contact

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// ClearanceScratch is the memory of one goroutine for [Clearances]. The zero
// value works; it never influences results.
type ClearanceScratch struct {
	gap   GapScratch
	upper []seed
	lower []seed
}

// Clearances is the clearance of every part (tooth) of both arches under a pose
// of the lower one: the least gap between the part and the whole opposing arch,
// in the order of [Arch.Parts]. The results are written over up
// and lo, which grow as needed; where the opposing arch is empty, Dist is +Inf.
func Clearances(upper, lower *Arch, pose kinematics.Pose, up, lo []Gap, s *ClearanceScratch) ([]Gap, []Gap) {
	tu, tl := tree(upper.Index).Boxes(), tree(lower.Index).Boxes()
	s.gap.begin(len(tl.Nodes))
	up, lo = fit(up, len(upper.Parts)), fit(lo, len(lower.Parts))
	s.upper, s.lower = fit(s.upper, len(up)), fit(s.lower, len(lo))
	for i, k := range upper.Parts {
		up[i] = clearance(upper, lower, tu.Parts[k], tl.Top, pose, &s.gap, &s.upper[i])
	}
	for i, k := range lower.Parts {
		lo[i] = clearance(upper, lower, tu.Top, tl.Parts[k], pose, &s.gap, &s.lower[i])
	}
	return up, lo
}

// PartGap is the least gap between a part (tooth) of the upper arch and one of the
// lower arch under a pose of the lower one. ok is false where one of them has no
// triangles.
func PartGap(upper, lower *Arch, up, lo int, pose kinematics.Pose, s *GapScratch) (g Gap, ok bool) {
	tu, tl := tree(upper.Index).Boxes(), tree(lower.Index).Boxes()
	if up < 0 || up >= len(tu.Parts) || lo < 0 || lo >= len(tl.Parts) {
		return Gap{Upper: mesh.None, Lower: mesh.None}, false
	}
	s.begin(len(tl.Nodes))
	return leastGap(tree(upper.Index), tree(lower.Index), tu.Parts[up], tl.Parts[lo], pose, math.Inf(1), s, &seed{})
}

func clearance(upper, lower *Arch, ur, lr bvh.Root, pose kinematics.Pose, s *GapScratch, from *seed) Gap {
	g, ok := leastGap(tree(upper.Index), tree(lower.Index), ur, lr, pose, math.Inf(1), s, from)
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

// ClearanceMap is the distance of every vertex of one arch from the other, in mm,
// negative where it lies behind the other's surface by at most 2 mm (the
// surfaces overlap there) and +Inf beyond limit. pose takes a point of the arch
// of into the frame of the arch to: for the lower arch the pose of the frame,
// for the upper one its inverse. workers is the number of goroutines, 0 for one
// a processor; the result does not depend on it.
func ClearanceMap(ctx context.Context, of, to *Arch, pose kinematics.Pose, limit float64, workers int) ([]float64, error) {
	verts := of.Mesh().Vertices()
	out := make([]float64, len(verts))
	err := par.Chunks(ctx, len(verts), mapChunk, workers, func(_, first, last int) error {
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
		return nil, err
	}
	return out, nil
}
