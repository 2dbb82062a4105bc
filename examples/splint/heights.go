package main

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// cell is the distance of neighbouring values of a map, mm.
const cell = 0.1

// grid is where the values of a map lie, seen from below the upper arch.
type grid struct {
	x, y   float64 // of the first value, mm
	nx, ny int
}

// heights is a height in mm, or a distance, over every point of a grid.
type heights struct {
	grid
	at []float64
}

func (g grid) filled(v float64) heights {
	h := heights{g, make([]float64, g.nx*g.ny)}
	for i := range h.at {
		h.at[i] = v
	}
	return h
}

// gridOver is a grid over some points, with room on all sides.
func gridOver(points []r3.Vec, room float64) grid {
	b := mesh.EmptyBox()
	for _, p := range points {
		b = b.Include(p)
	}
	g := grid{x: b.Min.X - room, y: b.Min.Y - room}
	g.nx = int((b.Max.X+room-g.x)/cell) + 2
	g.ny = int((b.Max.Y+room-g.y)/cell) + 2
	return g
}

// value is the height between the four nearest points.
func (h *heights) value(x, y float64) float64 {
	u, v := (x-h.x)/cell, (y-h.y)/cell
	i, j := int(math.Floor(u)), int(math.Floor(v))
	i, j = min(max(i, 0), h.nx-2), min(max(j, 0), h.ny-2)
	u, v = min(max(u-float64(i), 0), 1), min(max(v-float64(j), 0), 1)
	k := j*h.nx + i
	return (1-v)*((1-u)*h.at[k]+u*h.at[k+1]) + v*((1-u)*h.at[k+h.nx]+u*h.at[k+h.nx+1])
}

// raise lifts the heights to those of a surface under a pose, where the surface is
// higher: afterwards they are its upper envelope too. Only triangles that of takes
// count. With sign -1 it lowers them to the lower envelope instead.
func (h *heights) raise(m *mesh.Mesh, pose kinematics.Pose, sign float64, of func(mesh.TriID) bool) {
	points := make([]r3.Vec, m.NumVertices())
	for i := range points {
		points[i] = pose.Apply(m.Vertex(mesh.VertexID(i)))
	}
	for t := range mesh.TriID(m.NumTriangles()) {
		if !of(t) {
			continue
		}
		v := m.Triangle(t)
		h.raiseTo(points[v[0]], points[v[1]], points[v[2]], sign)
	}
}

// raiseTo does it for one triangle.
func (h *heights) raiseTo(a, b, c r3.Vec, sign float64) {
	area := (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
	if area == 0 {
		return // seen from its edge; its neighbours have the edge
	}
	i0 := max(0, int(math.Ceil((min(a.X, b.X, c.X)-h.x)/cell)))
	i1 := min(h.nx-1, int(math.Floor((max(a.X, b.X, c.X)-h.x)/cell)))
	j0 := max(0, int(math.Ceil((min(a.Y, b.Y, c.Y)-h.y)/cell)))
	j1 := min(h.ny-1, int(math.Floor((max(a.Y, b.Y, c.Y)-h.y)/cell)))
	for j := j0; j <= j1; j++ {
		y := h.y + float64(j)*cell
		for i := i0; i <= i1; i++ {
			x := h.x + float64(i)*cell
			wb := ((x-a.X)*(c.Y-a.Y) - (y-a.Y)*(c.X-a.X)) / area
			wc := ((b.X-a.X)*(y-a.Y) - (b.Y-a.Y)*(x-a.X)) / area
			if wb < 0 || wc < 0 || wb+wc > 1 {
				continue
			}
			z := a.Z + wb*(b.Z-a.Z) + wc*(c.Z-a.Z)
			if k := j*h.nx + i; sign*z > sign*h.at[k] {
				h.at[k] = z
			}
		}
	}
}

// spread is the highest (sign 1) or lowest (sign -1) height within a square of a
// half side in mm about every point.
func (h *heights) spread(half, sign float64) heights {
	r := int(math.Round(half / cell))
	across, out := h.filled(0), h.filled(0)
	for j := range h.ny {
		for i := range h.nx {
			best := math.Inf(-1)
			for k := max(0, i-r); k <= min(h.nx-1, i+r); k++ {
				best = max(best, sign*h.at[j*h.nx+k])
			}
			across.at[j*h.nx+i] = best
		}
	}
	for j := range h.ny {
		for i := range h.nx {
			best := math.Inf(-1)
			for k := max(0, j-r); k <= min(h.ny-1, j+r); k++ {
				best = max(best, across.at[k*h.nx+i])
			}
			out.at[j*h.nx+i] = sign * best
		}
	}
	return out
}

// distance is how far every point lies from the nearest one with a height, at most
// far.
func (h *heights) distance(far float64) heights {
	out := h.filled(far)
	r := int(far / cell)
	known := func(i, j int) bool {
		return i >= 0 && j >= 0 && i < h.nx && j < h.ny && !math.IsInf(h.at[j*h.nx+i], 0)
	}
	for j := range h.ny {
		for i := range h.nx {
			if !known(i, j) {
				continue
			}
			out.at[j*h.nx+i] = 0
			if known(i-1, j) && known(i+1, j) && known(i, j-1) && known(i, j+1) {
				continue // nothing beyond its neighbours is nearest to it
			}
			for b := max(0, j-r); b <= min(h.ny-1, j+r); b++ {
				for a := max(0, i-r); a <= min(h.nx-1, i+r); a++ {
					k := b*h.nx + a
					out.at[k] = min(out.at[k], cell*math.Hypot(float64(a-i), float64(b-j)))
				}
			}
		}
	}
	return out
}
