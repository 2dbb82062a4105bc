package typodont

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Triangles follow a smooth surface only to their own size squared, so two
// surfaces that touch in a point do not touch as meshes: they overlap or gape by
// some micrometres. Seating moves the upper mesh's vertices around each stop
// straight up or down until the meshes touch there.
const (
	seatGap   = 0.0003 // what is left between the meshes at a stop, mm: above the rounding of the file's numbers
	seatCore  = 0.7    // all vertices this close to the stop move alike, mm
	seatReach = 1.8    // those beyond do not move
)

// seat closes or opens the meshes at each stop to seatGap.
func seat(upper, lower *surface, stops []Stop) {
	type zone struct {
		low, up [][3]int32
		verts   []int32
		weight  []float64
	}
	zones := make([]zone, len(stops))
	near := func(s *surface, at r3.Vec, r float64) [][3]int32 {
		var out [][3]int32
		for _, t := range s.tris {
			for _, v := range t {
				d := r3.Sub(s.verts[v], at)
				if math.Abs(d.X) < r && math.Abs(d.Y) < r && math.Abs(d.Z) < r {
					out = append(out, t)
					break
				}
			}
		}
		return out
	}
	for i, s := range stops {
		z := &zones[i]
		z.low, z.up = near(lower, s.point(), seatCore), near(upper, s.point(), seatCore)
		for v, p := range upper.verts {
			d := r3.Sub(p, s.point())
			if r := r3.Norm(d); r < seatReach {
				z.verts = append(z.verts, int32(v))
				z.weight = append(z.weight, 1-step((r-seatCore)/(seatReach-seatCore)))
			}
		}
	}
	for range 12 {
		worst := 0.0
		for i := range zones {
			z := &zones[i]
			g := drop(upper, lower, z.up, z.low)
			if math.IsInf(g, 1) {
				continue
			}
			worst = max(worst, math.Abs(g-seatGap))
			for k, v := range z.verts {
				upper.verts[v].Z -= (g - seatGap) * z.weight[k]
			}
		}
		if worst < seatGap/20 {
			return
		}
	}
}

// drop is how far (mm) the upper triangles can go straight down until they meet
// the lower ones; negative where they overlap, infinite where they miss.
func drop(upper, lower *surface, up, low [][3]int32) float64 {
	best := math.Inf(1)
	for _, u := range up {
		a := [3]r3.Vec{upper.verts[u[0]], upper.verts[u[1]], upper.verts[u[2]]}
		lo, hi := flatBox(a)
		for _, l := range low {
			b := [3]r3.Vec{lower.verts[l[0]], lower.verts[l[1]], lower.verts[l[2]]}
			blo, bhi := flatBox(b)
			if blo.X > hi.X || bhi.X < lo.X || blo.Y > hi.Y || bhi.Y < lo.Y {
				continue
			}
			best = min(best, dropTriangles(a, b))
		}
	}
	return best
}

func flatBox(t [3]r3.Vec) (lo, hi r3.Vec) {
	lo = r3.Vec{X: min(t[0].X, t[1].X, t[2].X), Y: min(t[0].Y, t[1].Y, t[2].Y)}
	hi = r3.Vec{X: max(t[0].X, t[1].X, t[2].X), Y: max(t[0].Y, t[1].Y, t[2].Y)}
	return lo, hi
}

// dropTriangles is the least height of a over b where they lie over each other:
// reached at a corner of one or where two edges cross in the plan.
func dropTriangles(a, b [3]r3.Vec) float64 {
	best := math.Inf(1)
	for _, p := range a {
		if z, ok := heightOver(b, p); ok {
			best = min(best, p.Z-z)
		}
	}
	for _, p := range b {
		if z, ok := heightOver(a, p); ok {
			best = min(best, z-p.Z)
		}
	}
	for i := range 3 {
		p, q := a[i], a[(i+1)%3]
		for j := range 3 {
			r, s := b[j], b[(j+1)%3]
			dx, dy, ex, ey := q.X-p.X, q.Y-p.Y, s.X-r.X, s.Y-r.Y
			det := dx*ey - dy*ex
			if det == 0 {
				continue
			}
			t := ((r.X-p.X)*ey - (r.Y-p.Y)*ex) / det
			u := ((r.X-p.X)*dy - (r.Y-p.Y)*dx) / det
			if t >= 0 && t <= 1 && u >= 0 && u <= 1 {
				best = min(best, p.Z+t*(q.Z-p.Z)-r.Z-u*(s.Z-r.Z))
			}
		}
	}
	return best
}

// heightOver is the height of triangle t at p's place in the plan.
func heightOver(t [3]r3.Vec, p r3.Vec) (float64, bool) {
	ax, ay := t[1].X-t[0].X, t[1].Y-t[0].Y
	bx, by := t[2].X-t[0].X, t[2].Y-t[0].Y
	det := ax*by - ay*bx
	if det == 0 {
		return 0, false
	}
	x, y := p.X-t[0].X, p.Y-t[0].Y
	u, v := (x*by-y*bx)/det, (ax*y-ay*x)/det
	if u < 0 || v < 0 || u+v > 1 {
		return 0, false
	}
	return t[0].Z + u*(t[1].Z-t[0].Z) + v*(t[2].Z-t[0].Z), true
}
