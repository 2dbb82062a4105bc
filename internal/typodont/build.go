package typodont

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// newDesign plans arches with the given overjet and overbite (mm) and places
// the teeth; 7 or 8 a half jaw.
func newDesign(overjet, overbite float64, places int) (lower, upper *arch, d *design) {
	d = &design{overbite: overbite}
	d.lower = newLine(lowerCatenary[0], lowerCatenary[1], 0)
	d.upper = newLine(upperCatenary[0], upperCatenary[1], -overjet-upperLine[0])
	// The sphere passes through the incisal point and the second molars'
	// disto-buccal tips, which must lie at one height; their place in the plan
	// hardly depends on the sphere, so two rounds settle it.
	d.monson = sphere{centre: r3.Vec{Y: 30, Z: math.Sqrt(monson*monson - 900)}, radius: monson}
	var half []tooth
	for range 3 {
		half = d.row(false, places)
		tip := half[6].tip("distobuccal")
		y := (tip.X*tip.X + tip.Y*tip.Y) / (2 * tip.Y)
		d.monson.centre = r3.Vec{Y: y, Z: math.Sqrt(monson*monson - y*y)}
	}
	lower = newArch(false, d.row(false, places))
	upper = newArch(true, d.row(true, places))
	return lower, upper, d
}

// newArch is the arch of a left half jaw and its mirror image.
func newArch(upper bool, left []tooth) *arch {
	a := &arch{upper: upper}
	for i := len(left) - 1; i >= 0; i-- {
		t := left[i]
		t.frame = t.frame.mirrored()
		if upper {
			t.code -= 10
		} else {
			t.code += 10
		}
		t.settle()
		a.teeth = append(a.teeth, t)
	}
	a.teeth = append(a.teeth, left...)
	lowest := math.Inf(1)
	for i := range a.teeth {
		z := a.teeth[i].world(0, 0, -a.teeth[i].crown.length).Z
		if upper {
			z = -z
		}
		lowest = min(lowest, z)
	}
	a.base = lowest - 3.5
	if upper {
		a.base = -a.base
	}
	return a
}

// tip is the named cusp's tip.
func (t *tooth) tip(name string) r3.Vec {
	for i := range t.crown.cusps {
		if c := &t.crown.cusps[i]; c.name == name {
			return t.world(c.m, c.b, t.crown.height(c.m, c.b))
		}
	}
	return r3.Vec{}
}

// mesh makes the arch's surface with a lattice of spacing h.
func (a *arch) mesh(ctx context.Context, h float64) (*surface, error) {
	lo, hi := a.bounds()
	// The arch goes on below the base; what lies there is cut off.
	if a.upper {
		hi.Z += 3 * h
	} else {
		lo.Z -= 3 * h
	}
	s, err := isosurface(ctx, func(p r3.Vec) float64 { v, _ := a.value(p); return v }, lo, hi, h, 1.7)
	if err != nil {
		return nil, err
	}
	return s.cutAt(a.base, a.upper, 0.2*h).largest(), nil
}

// cutAt keeps the part of the surface above the height z (below it where below
// is set). Vertices closer to the cut than snap are moved into it.
func (s *surface) cutAt(z float64, below bool, snap float64) *surface {
	side := make([]float64, len(s.verts))
	out := &surface{verts: append([]r3.Vec(nil), s.verts...)}
	for i, v := range s.verts {
		d := v.Z - z
		if below {
			d = -d
		}
		if math.Abs(d) < snap {
			d = 0
			out.verts[i].Z = z
		}
		side[i] = d
	}
	made := map[[2]int32]int32{}
	cross := func(a, b int32) int32 {
		if a > b {
			a, b = b, a
		}
		if v, ok := made[[2]int32{a, b}]; ok {
			return v
		}
		p := along(s.verts[a], s.verts[b], side[a]/(side[a]-side[b]))
		p.Z = z
		out.verts = append(out.verts, p)
		made[[2]int32{a, b}] = int32(len(out.verts) - 1)
		return int32(len(out.verts) - 1)
	}
	for _, t := range s.tris {
		var ring [4]int32
		n, above := 0, false
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			if side[a] >= 0 {
				ring[n] = a
				n++
				above = above || side[a] > 0
			}
			if side[a]*side[b] < 0 {
				ring[n] = cross(a, b)
				n++
			}
		}
		if !above || n < 3 {
			continue
		}
		out.tris = append(out.tris, [3]int32{ring[0], ring[1], ring[2]})
		if n == 4 {
			out.tris = append(out.tris, [3]int32{ring[0], ring[2], ring[3]})
		}
	}
	return out.compacted()
}
