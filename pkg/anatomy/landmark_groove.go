package anatomy

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// grooves finds the grooves of a posterior tooth that run out between two cusps of one
// row: from the central groove to the lowest place of the ridge between the tips.
func (r *Relief) grooves(h *heightMap, cusps []cusp, table []spot) []spot {
	k := slices.IndexFunc(table, func(s spot) bool { return s.feature == CentralGroove })
	if k < 0 {
		return nil
	}
	var out []spot
	for _, g := range [...]struct{ groove, mesial, distal Feature }{
		{BuccalGroove, MesiobuccalCusp, DistobuccalCusp}, {DistobuccalGroove, DistobuccalCusp, DistalCusp},
		{LingualGroove, MesiolingualCusp, DistolingualCusp},
	} {
		a, ok1 := tipOf(cusps, g.mesial)
		b, ok2 := tipOf(cusps, g.distal)
		saddle, ok3 := h.extreme(a.X, a.Y, b.X, b.Y, low)
		if !ok1 || !ok2 || !ok3 {
			continue
		}
		deep := min(a.Z, b.Z) - saddle.Z
		s := spot{feature: g.groove, at: saddle, line: h.valley(nearestOf(table[k].line, saddle), saddle), confidence: deep / (deep + 0.2)}
		if g.groove != LingualGroove {
			slices.Reverse(s.line) // from buccal to lingual
		}
		out = append(out, s)
	}
	return out
}

func tipOf(cusps []cusp, f Feature) (r3.Vec, bool) {
	k := slices.IndexFunc(cusps, func(c cusp) bool { return c.feature == f })
	if k < 0 {
		return r3.Vec{}, false
	}
	return cusps[k].tip, true
}

// nearestOf is the point of a line's corners nearest to p in the plan.
func nearestOf(line []r3.Vec, p r3.Vec) r3.Vec {
	best := line[0]
	for _, q := range line {
		if math.Hypot(q.X-p.X, q.Y-p.Y) < math.Hypot(best.X-p.X, best.Y-p.Y) {
			best = q
		}
	}
	return best
}

// valley is the bottom of the groove from one point to another: the lowest spots
// across the straight way between them.
func (h *heightMap) valley(from, to r3.Vec) []r3.Vec {
	const (
		parts  = 8
		across = 0.5 // mm to each side
	)
	d := r2.Vec{X: to.X - from.X, Y: to.Y - from.Y}
	if d == (r2.Vec{}) {
		return []r3.Vec{from}
	}
	side := r2.Scale(across, r2.Unit(r2.Vec{X: -d.Y, Y: d.X}))
	out := []r3.Vec{from}
	for i := 1; i < parts; i++ {
		x, y := from.X+d.X*float64(i)/parts, from.Y+d.Y*float64(i)/parts
		if p, ok := h.extreme(x-side.X, y-side.Y, x+side.X, y+side.Y, low); ok {
			out = append(out, p)
		}
	}
	return append(out, to)
}
