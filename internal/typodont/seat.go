package typodont

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
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
	wayCore   = 0.4    // the same along guiding ways
	wayReach  = 1.0
	wayRounds = 3
)

// A touch is a place where the arches shall touch when the lower one has the
// given pose.
type touch struct {
	at          r3.Vec // articulator frame
	pose        kinematics.Pose
	core, reach float64
}

// touches lists the places along the guiding ways, then the stops.
func (p *pair) touches(stops []Stop) []touch {
	var out []touch
	for _, g := range p.guides {
		for t := 0.2; t <= p.guided(g, 0.7)+1e-9; t += 0.2 {
			pose, _, err := g.pose(p.settings, t)
			if err != nil {
				break
			}
			for _, s := range stops {
				if g.leads(s.Lower) {
					out = append(out, touch{pose.Apply(s.point()), pose, wayCore, wayReach})
				}
			}
		}
	}
	for _, s := range stops {
		out = append(out, touch{at: s.point(), core: seatCore, reach: seatReach})
	}
	return out
}

// seat closes or opens the meshes at each place to seatGap.
func seat(ctx context.Context, upper, lower *surface, places []touch) error {
	type zone struct {
		low    [][3]r3.Vec // lower triangles there, in their pose
		up     [][3]int32
		verts  []int32
		weight []float64
	}
	if len(places) == 0 {
		return nil
	}
	zones := make([]zone, len(places))
	err := par.Chunks(ctx, len(places), 1, 0, func(_, i, _ int) error {
		z, at := &zones[i], places[i]
		z.up = upper.near(at.at, at.core)
		for _, t := range lower.near(at.pose.Inverse().Apply(at.at), at.core) {
			var c [3]r3.Vec
			for k, v := range t {
				c[k] = at.pose.Apply(lower.verts[v])
			}
			z.low = append(z.low, c)
		}
		for v, p := range upper.verts {
			if r := r3.Norm(r3.Sub(p, at.at)); r < at.reach {
				z.verts = append(z.verts, int32(v))
				z.weight = append(z.weight, 1-step((r-at.core)/(at.reach-at.core)))
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	gap := func(z *zone) float64 {
		if g := drop(upper, z.up, z.low); !math.IsInf(g, 1) {
			return g - seatGap
		}
		return 0
	}
	// Along the ways all places at once, blended where they overlap.
	ways := max(slices.IndexFunc(places, func(p touch) bool { return p.reach == seatReach }), 0)
	for range wayRounds {
		move, total := make([]float64, len(upper.verts)), make([]float64, len(upper.verts))
		for i := range zones[:ways] {
			z := &zones[i]
			g := gap(z)
			for k, v := range z.verts {
				move[v] += g * z.weight[k]
				total[v] += z.weight[k]
			}
		}
		for v, m := range move {
			upper.verts[v].Z -= m / max(total[v], 1)
		}
	}
	// The stops one after the other until they are exact.
	for range 16 {
		worst := 0.0
		for i := range zones[ways:] {
			z := &zones[ways+i]
			g := gap(z)
			worst = max(worst, math.Abs(g))
			for k, v := range z.verts {
				upper.verts[v].Z -= g * z.weight[k]
			}
		}
		if worst < seatGap/20 {
			break
		}
	}
	return nil
}

// relieve takes away what still overlaps in intercuspation, away from the stops: spots
// where the meshes' triangles meet although the smooth surfaces do not.
func (p *pair) relieve(ctx context.Context, upper, lower *surface) error {
	rest, err := p.settings.Station(kinematics.Protrusive, 0)
	if err != nil {
		return err
	}
	const rounds = 12
	for range rounds {
		c, err := newCast(ctx, upper, lower)
		if err != nil {
			return err
		}
		touch, err := c.close(rest)
		if err != nil {
			return err
		}
		if touch.Opening <= 0 {
			return nil
		}
		at := touch.Point
		var low [][3]r3.Vec
		for _, t := range lower.near(at, seatCore) {
			low = append(low, [3]r3.Vec{lower.verts[t[0]], lower.verts[t[1]], lower.verts[t[2]]})
		}
		g := drop(upper, upper.near(at, seatCore), low)
		if g >= seatGap || g < -reliefMost {
			break
		}
		for v, q := range upper.verts {
			r := r3.Norm(r3.Sub(q, at))
			upper.verts[v].Z += (2*seatGap - g) * (1 - step((r-wayCore)/(wayReach-wayCore)))
		}
	}
	return fmt.Errorf("%w: the arches do not fit: they overlap in intercuspation", ErrParams)
}

// reliefMost is the deepest overlap that meshing may be blamed for, mm.
const reliefMost = 0.1

// near lists the triangles with a corner in the cube of half edge r around a
// point.
func (s *surface) near(at r3.Vec, r float64) [][3]int32 {
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

// drop is how far (mm) the upper triangles can go straight down until they meet
// the lower ones; negative where they overlap, infinite where they miss.
func drop(upper *surface, up [][3]int32, low [][3]r3.Vec) float64 {
	best := math.Inf(1)
	for _, u := range up {
		a := [3]r3.Vec{upper.verts[u[0]], upper.verts[u[1]], upper.verts[u[2]]}
		lo, hi := flatBox(a)
		for _, b := range low {
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
