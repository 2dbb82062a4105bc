package index

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Follower finds the nearest point of one mesh for a point that moves, or for points
// that lie close to each other one after the other, as the vertices of a scan do. The
// distance changes by no more than the way from the last point: that bounds the search,
// and where nothing can lie within the limit none is made. Answers are those of
// [Index.Nearest]. The zero value has no last point; it must not be used with another
// mesh afterwards.
type Follower struct {
	at          r3.Vec  // the last point that was searched from
	least, most float64 // bounds of its distance, mm
	known       bool
}

// ahead is how many times farther than the limit is looked, so that the points that
// follow are known to lie too far away.
const ahead = 2

// slack is the share of coordinates, and of distances, that covers their rounding.
const slack = 1e-12

// Nearest is [Index.Nearest] of x.
func (f *Follower) Nearest(x *Index, p r3.Vec, limit float64) (Hit, bool) {
	far := ahead * limit
	reach := far
	if f.known {
		step := r3.Norm(r3.Sub(p, f.at))
		room := slack * (math.Abs(p.X) + math.Abs(p.Y) + math.Abs(p.Z) + step + f.least)
		if f.least-step-room > limit {
			return Hit{Tri: mesh.None}, false
		}
		reach = min(far, f.most+step+room)
	}
	h, ok := x.Nearest(p, reach)
	if !ok && reach < far { // a bound that rounding made too small
		h, ok = x.Nearest(p, far)
	}
	if !ok {
		*f = Follower{at: p, least: far, most: math.Inf(1), known: true}
		return h, false
	}
	*f = Follower{at: p, least: h.Dist, most: h.Dist, known: true}
	if h.Dist > limit {
		return Hit{Tri: mesh.None}, false
	}
	return h, true
}
