package segment

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// ownFrame is a frame that moves with a scan: about the middle of its surface, along the principal axes, the longest
// first. In it a scan is read the same however it lies in its file. Two axes point to where the surface reaches farther
// (positive third moment), those two of which that tells most; the remaining one, in arches mostly that across their
// symmetry, follows from them.
func ownFrame(m *mesh.Mesh) view {
	middle := meanOver(m, func(p r3.Vec) r3.Vec { return p })
	spread := func(from r3.Vec, side r3.Vec) r3.Vec {
		return meanOver(m, func(p r3.Vec) r3.Vec { d := r3.Sub(p, from); return r3.Scale(r3.Dot(d, side), d) })
	}
	var s [3][3]float64
	for i, e := range []r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
		row := spread(middle, e)
		s[i] = [3]float64{row.X, row.Y, row.Z}
	}
	axes, variance := geom.Principal(s)
	least, weakest := math.Inf(1), 0
	for i, e := range axes {
		third := meanOver(m, func(p r3.Vec) r3.Vec {
			h := r3.Dot(r3.Sub(p, middle), e)
			return r3.Vec{X: h * h * h}
		}).X
		if third < 0 {
			axes[i] = r3.Scale(-1, e)
		}
		if skew := math.Abs(third) / max(variance[i]*math.Sqrt(variance[i]), 1e-12); skew < least {
			least, weakest = skew, i
		}
	}
	axes[weakest] = r3.Cross(axes[(weakest+1)%3], axes[(weakest+2)%3])
	return view{middle, axes[0], axes[1], axes[2]}
}

// meanOver is the mean of f over a surface, from the middles of edges: exact up to squares, whatever the triangles.
func meanOver(m *mesh.Mesh, f func(r3.Vec) r3.Vec) r3.Vec {
	var sum r3.Vec
	total := 0.0
	for t := range m.All() {
		a, b, c := m.Corners(t)
		area := r3.Norm(m.AreaVector(t))
		for _, p := range [3]r3.Vec{r3.Add(a, b), r3.Add(b, c), r3.Add(c, a)} {
			sum = r3.Add(sum, r3.Scale(area/3, f(r3.Scale(0.5, p))))
		}
		total += area
	}
	return r3.Scale(1/max(total, 1e-12), sum)
}
