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

// Pair is two triangles of opposing arches and how near they come.
type Pair struct {
	Upper, Lower           mesh.TriID
	Dist                   float64 // mm, 0 where they cross
	UpperPoint, LowerPoint r3.Vec  // nearest points in the articulator frame, mm
}

// AppendPairs appends every pair of an upper and a lower triangle that come
// within limit mm of each other (inclusive) under a pose of the lower arch; none
// under a pose that is not finite. The order depends on the two indexes alone. Nothing is allocated but dst, once s
// has grown.
func AppendPairs(dst []Pair, upper, lower *index.Index, pose kinematics.Pose, limit float64, s *GapScratch) []Pair {
	u, l := tree(upper), tree(lower)
	ur, lr := &u.Boxes().Top, &l.Boxes().Top
	if ur.Empty || lr.Empty || !(limit >= 0) || math.IsInf(limit, 1) || pose.Validate() != nil {
		return dst
	}
	w := pairSearch{up: u, lo: l, pose: pose, m: pose.Matrix(), s: s}
	w.reach(geom.LimitSq(limit))
	s.begin(l, pose)
	s.loTop = moved(&lr.Box, surftree.RootPlate(), &w.m)
	w.push(ur.Ref, lr.Ref, &ur.Box, surftree.RootPlate(), &s.loTop)
	var q [bvh.LeafMax]geom.Face
	for {
		up, lo, ok := w.next()
		if !ok {
			return dst
		}
		uf, un := up.Leaf()
		lf, ln := lo.Leaf()
		w.lowerFaces(&q, lf, ln)
		for i := range un {
			p := geom.NewFace(u.LeafCorners(uf + i))
			for j := range ln {
				if d, pu, pl := geom.Faces(&p, &q[j], w.sq); d <= w.sq {
					dst = append(dst, Pair{u.LeafTriangle(uf + i), l.LeafTriangle(lf + j), math.Sqrt(d), pu, pl})
				}
			}
		}
	}
}
