package contact

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
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

// Clearances is the least gap between each part of the upper arch and the whole
// lower one under a pose, and between each part of the lower arch and the whole
// upper one, by part number of the indexes (see [mesh.NewIndex]). The gap of a
// part without triangles has Upper = Lower = mesh.None and Dist = +Inf. The
// results are written over up and lo, which grow as needed.
func Clearances(upper, lower *mesh.Index, pose kinematics.Pose, up, lo []Gap, s *ClearanceScratch) ([]Gap, []Gap) {
	tu, tl := upper.Tree(), lower.Tree()
	s.gap.begin(len(tl.Nodes))
	up = fit(up, len(tu.Parts))
	lo = fit(lo, len(tl.Parts))
	s.upper, s.lower = fit(s.upper, len(tu.Parts)), fit(s.lower, len(tl.Parts))
	for i := 1; i < len(up); i++ {
		up[i] = clearance(upper, lower, tu.Parts[i], tl.Top, pose, &s.gap, &s.upper[i])
	}
	for i := 1; i < len(lo); i++ {
		lo[i] = clearance(upper, lower, tu.Top, tl.Parts[i], pose, &s.gap, &s.lower[i])
	}
	return up, lo
}

func clearance(upper, lower *mesh.Index, ur, lr bvh.Root, pose kinematics.Pose, s *GapScratch, from *seed) Gap {
	g, ok := leastGap(upper, lower, ur, lr, pose, math.Inf(1), s, from)
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
