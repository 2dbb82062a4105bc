package typodont

import "math"

// A crown is the shape of one tooth in its own frame (mm): m to mesial, b to
// buccal (labial), o to occlusal. o is 0 at the level of the highest cusp tip
// or the incisal edge and −length at the cervical line, where the clinical crown
// begins. The solid is where [crown.value] is negative.
type crown struct {
	length, md, bl float64 // handbook sizes
	wall           wall
	cusps          []cusp
	ridges         []ridge
	grooves        []groove
	floor          float64 // no fossa is deeper than this height
	corner         float64 // width over which wall and biting surface are rounded together
	crease         float64 // width over which neighbouring slopes are rounded together
	mounds         []mound // local changes of the occlusal height
	named          []feature
	papilla        float64 // how far the gingiva rises between the teeth
}

// A wall is the side surface of a crown.
type wall interface {
	// value is about the distance to the wall in mm, negative inside; u is the
	// height as a share of the crown's length.
	value(m, b, u float64) float64
}

// A feature is a named point on the biting surface; its height follows from
// the surface.
type feature struct {
	name string
	m, b float64
}

// value is about the distance from the crown's surface in mm, negative inside.
// It is exact in sign; its gradient is between about 0.7 and 1.6.
func (c *crown) value(m, b, o float64) float64 {
	s := c.wall.value(m, b, 1+o/c.length)
	if o < c.floor-2 {
		return s
	}
	return smax(s, slopeShare*(o-c.height(m, b)), c.corner)
}

// slopeShare turns a vertical distance over a biting surface inclined by about
// 35° into one across it.
const slopeShare = 0.82

// height is the biting surface's height over the point (m, b).
func (c *crown) height(m, b float64) float64 {
	h := c.floor
	for i := range c.cusps {
		h = smax(h, c.cusps[i].height(m, b), c.crease)
	}
	for i := range c.ridges {
		h = smax(h, c.ridges[i].height(m, b), c.crease)
	}
	cut := 0.0
	for i := range c.grooves {
		cut = smax(cut, c.grooves[i].depth(m, b), 0.06)
	}
	h -= cut
	for i := range c.mounds {
		d := &c.mounds[i]
		x, y := (m-d.m)/d.r, (b-d.b)/d.r
		h += d.h * bump(x*x+y*y)
	}
	return h
}

// A mound is a smooth rise (h > 0) or dip of the biting surface, r wide.
type mound struct{ m, b, h, r float64 }

// A cusp is a pyramid with a rounded tip and four ridges: one down the outer
// wall, the triangular ridge inwards, and the two cusp ridges along the arch.
type cusp struct {
	name           string
	m, b, h        float64 // tip
	in, out        float64 // fall (mm a mm) on the triangular ridge and outwards
	mesial, distal float64 // fall along the cusp ridges
	turn           float64 // angle (radians) from buccal, towards mesial, in which the outer ridge points
	hollow         float64 // how much deeper the faces between the ridges are
	tip            float64 // rounding radius of the tip
	supporting     bool
}

func (c *cusp) height(m, b float64) float64 {
	s, k := math.Sincos(c.turn)
	x, y := m-c.m, b-c.b
	x, y = x*k-y*s, x*s+y*k
	y *= blend(c.in, c.out, y, c.tip)
	x *= blend(c.distal, c.mesial, x, c.tip)
	r2 := x*x + y*y
	e := c.tip * (c.in + c.mesial) / 2
	q := 4 * x * x * y * y / ((r2 + e*e) * (r2 + e*e))
	return c.h - (math.Sqrt(r2+e*e)-e)*(1+c.hollow*q)
}

// blend goes from below to above as x passes zero, over a width w each way.
func blend(below, above, x, w float64) float64 {
	return below + (above-below)*(0.5+0.5*x/math.Sqrt(x*x+w*w))
}

// A ridge runs straight between two points, sags in the middle, and falls to
// its left (seen from the first point) and right.
type ridge struct {
	m0, b0, h0  float64
	m1, b1, h1  float64
	sag         float64
	left, right float64
	round       float64
}

func (r *ridge) height(m, b float64) float64 {
	dm, db := r.m1-r.m0, r.b1-r.b0
	l2 := dm*dm + db*db
	x, y := m-r.m0, b-r.b0
	t := (x*dm + y*db) / l2
	over := 0.0 // beyond the ends
	tc := t
	if t < 0 {
		over, tc = -t, 0
	} else if t > 1 {
		over, tc = t-1, 1
	}
	l := math.Sqrt(l2)
	d := (x*db - y*dm) / l // positive to the right in (m, b) axes
	d *= blend(r.left, r.right, d, r.round)
	over *= l * max(r.left, r.right)
	e := r.round * (r.left + r.right) / 2
	return r.h0 + tc*(r.h1-r.h0) - 4*r.sag*tc*(1-tc) - (math.Sqrt(d*d+over*over+e*e) - e)
}

// A groove is a cut along a line of points, fading at its ends unless it runs
// out over the crown's edge.
type groove struct {
	pts  [][2]float64
	deep float64
	wide float64 // half width
	pit  float64 // extra depth at the first point
}

// near says whether any of the groove may reach a place: most places are out of reach.
func (g *groove) near(m, b float64) bool {
	w := 1.5 * g.wide // a pit is somewhat wider than the groove
	for i := 1; i < len(g.pts); i++ {
		p, q := &g.pts[i-1], &g.pts[i]
		if m >= min(p[0], q[0])-w && m <= max(p[0], q[0])+w && b >= min(p[1], q[1])-w && b <= max(p[1], q[1])+w {
			return true
		}
	}
	return false
}

func (g *groove) depth(m, b float64) float64 {
	if !g.near(m, b) {
		return 0
	}
	best, at := math.Inf(1), 0.0
	total := 0.0
	for i := 1; i < len(g.pts); i++ {
		p, q := g.pts[i-1], g.pts[i]
		dm, db := q[0]-p[0], q[1]-p[1]
		l2 := dm*dm + db*db
		t := min(max(((m-p[0])*dm+(b-p[1])*db)/l2, 0), 1)
		x, y := m-p[0]-t*dm, b-p[1]-t*db
		l := math.Sqrt(l2)
		if d := x*x + y*y; d < best {
			best, at = d, total+t*l
		}
		total += l
	}
	w2 := g.wide * g.wide
	d := 0.0
	if best < w2 {
		// A V with a rounded bottom that runs out smoothly at the sides.
		q := 1 - best/w2
		v := 1 - math.Sqrt((best+0.02*w2)/(1.02*w2))
		d = g.deep * (0.5*q*q + 0.5*max(v, 0)*q) * step(0.15+at/(0.9*g.wide)) * step(0.15+(total-at)/(2.2*g.wide))
	}
	if g.pit > 0 {
		x, y := m-g.pts[0][0], b-g.pts[0][1]
		d += g.pit * bump((x*x+y*y)/(2.2*w2))
	}
	return d
}

// oval is the wall of a posterior tooth: at every height an outline between an
// ellipse and a rectangle, possibly slanted and narrower on one side.
type oval struct {
	mesial, buccal, lingual profile // mesial: half the width
	square                  float64 // 0 ellipse … 1 superellipse of fourth order
	skew                    float64 // how far m moves to mesial per mm to buccal
	taper                   float64 // share by which the outline is wider at the buccal end, per mm
	dents                   []dent
}

func (w *oval) value(m, b, u float64) float64 {
	a := w.mesial.at(u)
	yb, yl := w.buccal.at(u), w.lingual.at(u)
	c, mid := (yb-yl)/2, (yb+yl)/2
	y := b - mid
	x := (m - w.skew*y) / (1 + w.taper*min(max(y, -c), c))
	X, Y := x/a, y/c
	X2, Y2 := X*X, Y*Y
	rho := math.Sqrt(math.Sqrt(X2*X2 + Y2*Y2 + 2*(1-w.square)*X2*Y2))
	var s float64
	if rho < 0.05 {
		s = -min(a, c)
	} else {
		s = math.Sqrt(x*x+y*y) * (1 - 1/rho)
	}
	for i := range w.dents {
		s += w.dents[i].value(m, u, y/c)
	}
	return s
}

// A dent is a hollow (positive) or swelling (negative) on the buccal or lingual
// side of a wall, an ellipse in m (mm) and height.
type dent struct {
	m, u   float64
	wm, wu float64
	deep   float64
	buccal bool
}

func (d *dent) value(m, u, side float64) float64 {
	x, y := (m-d.m)/d.wm, (u-d.u)/d.wu
	r2 := x*x + y*y
	if r2 >= 1 {
		return 0
	}
	if !d.buccal {
		side = -side
	}
	return d.deep * bump(r2) * step(side*1.5)
}

// blade is the wall of an anterior tooth: a labial and a lingual face that come
// together towards the incisal edge, between two sides.
type blade struct {
	half            profile // half the width
	buccal, lingual profile // where the faces lie on the middle line
	bend, bendIn    float64 // how far the labial and the lingual face curve back at the sides, as a share of the width
	taper           float64 // narrowing of the sides per mm to lingual
	shift           profile // where the middle of the width lies
	dents           []dent
}

func (w *blade) value(m, b, u float64) float64 {
	x := m - w.shift.at(u)
	a := w.half.at(u)
	X := x / a
	X2 := min(X*X, 2.5)
	yb := w.buccal.at(u) - w.bend*a*X2
	yl := w.lingual.at(u) + w.bendIn*a*X2
	lab, lin := b-yb, yl-b
	for i := range w.dents {
		if w.dents[i].buccal {
			lab += w.dents[i].value(m, u, 1)
		} else {
			lin += w.dents[i].value(m, u, -1)
		}
	}
	thick := max(yb-yl, 0.3)
	side := math.Abs(x) - a - w.taper*(b-(yb+yl)/2)
	s := smax(lab, lin, min(0.5*thick, 0.8))
	edge := thick - (w.bend+w.bendIn)*a // thickness at the sides
	return smax(s, side, min(max(0.8*edge, 0.25), 1.2))
}
