package anatomy

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// heightMap is the surface of a crown as seen along its long axis, sampled on
// a grid.
type heightMap struct {
	lo     r3.Vec // corner of the grid
	nx, ny int
	z      []float64 // −Inf where there is no surface
	grain  float64   // mean length of the triangles' first sides, mm
}

// cell is the grid's step, mm; well below the size of the smallest feature.
const cell = 0.1

// heights samples the crown's triangles.
func (r *Relief) heights() heightMap {
	lo, hi := r.extent()
	h := heightMap{lo: lo, nx: int((hi.X-lo.X)/cell) + 1, ny: int((hi.Y-lo.Y)/cell) + 1}
	h.z = make([]float64, h.nx*h.ny)
	for i := range h.z {
		h.z[i] = math.Inf(-1)
	}
	for _, t := range r.Triangles {
		a, b, c := r.Points[t[0]], r.Points[t[1]], r.Points[t[2]]
		h.grain += r3.Norm(r3.Sub(b, a)) / float64(len(r.Triangles))
		det := (b.X-a.X)*(c.Y-a.Y) - (c.X-a.X)*(b.Y-a.Y)
		if det == 0 {
			continue
		}
		i0, i1 := h.column(min(a.X, b.X, c.X)), h.column(max(a.X, b.X, c.X))
		j0, j1 := h.row(min(a.Y, b.Y, c.Y)), h.row(max(a.Y, b.Y, c.Y))
		for i := i0; i <= i1; i++ {
			for j := j0; j <= j1; j++ {
				x, y := h.at(i, j)
				u := ((x-a.X)*(c.Y-a.Y) - (c.X-a.X)*(y-a.Y)) / det
				v := ((b.X-a.X)*(y-a.Y) - (x-a.X)*(b.Y-a.Y)) / det
				const edge = -1e-9 // cells on the edge of two triangles belong to both
				if u >= edge && v >= edge && u+v <= 1-edge {
					k := i*h.ny + j
					h.z[k] = max(h.z[k], a.Z+u*(b.Z-a.Z)+v*(c.Z-a.Z))
				}
			}
		}
	}
	return h
}

// at is the middle of a cell.
func (h *heightMap) at(i, j int) (x, y float64) {
	return h.lo.X + (float64(i)+0.5)*cell, h.lo.Y + (float64(j)+0.5)*cell
}

func (h *heightMap) column(x float64) int { return max(0, min(h.nx-1, int((x-h.lo.X)/cell))) }
func (h *heightMap) row(y float64) int    { return max(0, min(h.ny-1, int((y-h.lo.Y)/cell))) }

// point is the surface above (x, y), taken to the nearest cell; false where
// there is none.
func (h *heightMap) point(x, y float64) (r3.Vec, bool) {
	if x < h.lo.X || y < h.lo.Y {
		return r3.Vec{}, false
	}
	i, j := int((x-h.lo.X)/cell), int((y-h.lo.Y)/cell)
	if i >= h.nx || j >= h.ny || math.IsInf(h.z[i*h.ny+j], -1) {
		return r3.Vec{}, false
	}
	return r3.Vec{X: x, Y: y, Z: h.z[i*h.ny+j]}, true
}

// extreme is the point with the greatest value of f along a segment in the
// plane; false where no surface lies over it.
func (h *heightMap) extreme(x0, y0, x1, y1 float64, f func(r3.Vec) float64) (best r3.Vec, ok bool) {
	n := int(math.Hypot(x1-x0, y1-y0)/(cell/2)) + 1
	most := math.Inf(-1)
	for k := range n + 1 {
		t := float64(k) / float64(n)
		if p, on := h.point(x0+t*(x1-x0), y0+t*(y1-y0)); on && f(p) > most {
			best, most, ok = p, f(p), true
		}
	}
	return best, ok
}

// high and low are what extreme looks for.
func high(p r3.Vec) float64 { return p.Z }
func low(p r3.Vec) float64  { return -p.Z }

// shoulder is the slope at which a marginal ridge ends and the proximal face
// begins; our choice.
const shoulder = 0.6

// crest is where the surface over the line at y stands out most above the straight
// line from x0, in a fossa, to the shoulder of the proximal face towards x1. The
// highest point would not do: beside a cusp the surface falls from x0 on.
func (h *heightMap) crest(x0, x1, y float64) (r3.Vec, bool) {
	lean := math.Copysign(shoulder, x1-x0)
	end, ok := h.extreme(x0, y, x1, y, func(p r3.Vec) float64 { return p.Z + lean*p.X })
	start, on := h.point(x0, y)
	if !ok || !on || end.X == start.X {
		return end, ok
	}
	slope := (end.Z - start.Z) / (end.X - start.X)
	p, _ := h.extreme(x0, y, end.X, y, func(p r3.Vec) float64 { return p.Z - slope*p.X })
	if math.Abs(p.X-x0) < leastRidge {
		return end, true // hollow all the way
	}
	return p, true
}

// leastRidge is the least way, in mm, from a fossa to the crest of its marginal
// ridge; our choice.
const leastRidge = 0.3

// dip is the point over x that lies deepest below the straight line between the
// surface at y0 and at y1, since on a table that leans the lowest point would slide
// to its end; false where the surface has no hollow there.
func (h *heightMap) dip(x, y0, y1 float64) (r3.Vec, bool) {
	a, ok0 := h.point(x, y0)
	b, ok1 := h.point(x, y1)
	if !ok0 || !ok1 || y0 == y1 {
		return r3.Vec{}, false
	}
	slope := (b.Z - a.Z) / (y1 - y0)
	p, ok := h.extreme(x, y0, x, y1, func(p r3.Vec) float64 { return slope*p.Y - p.Z })
	return p, ok && p.Z < a.Z+slope*(p.Y-y0)-hollow
}

// hollow is the least depth of a dip, mm; our choice, about the noise of scans.
const hollow = 0.02
