package typodont

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Andrews' crown inclinations (facial surface at mid-crown against the normal of
// the occlusal plane) and angulations in degrees, teeth 1 to 7; + is labial and
// mesial (AJO 62:296-309, 1972, figures as told in his book of 1989). They are
// met by the anterior teeth; in the posterior teeth the inclination is the sum of the
// Monson sphere's tilt and the shape of the crown, and only its order is kept.
var (
	upperIncline  = [3]float64{6.1, 4.4, -7.3}
	lowerIncline  = [3]float64{-1.7, -3.2, -12.7}
	upperAngulate = [8]float64{2.5, 3.5, 3.0, 0.5, 0.5, 1.0, 0.4, 0}
	lowerAngulate = [8]float64{0.5, 0.4, 2.5, 1.0, 1.0, 1.0, 1.0, 0}
)

// Where the line of contact points crosses each crown (buccal coordinate, mm).
// The choice, ours, brings the lower buccal cusps under the upper grooves.
var (
	upperLine = [8]float64{0.9, 1.2, 0.3, 0.8, 0.5, 0.2, -0.5, -0.6}
	lowerLine = [8]float64{0, 0, -1.2, -1.2, -0.8, 0.5, 0.5, 0.5}
)

// Weighted catenaries (c and k, mm) that give tip distances within the published
// ones (Class I, n = 76: canines 35.4 ± 1.5 and 26.9 ± 1.6, first molars
// 53.8 ± 2.8 and 51.7 ± 2.6).
var (
	upperCatenary = [2]float64{7.6, 1.8336}
	lowerCatenary = [2]float64{10.4, 5.6933}
)

const monson = 101.6 // radius of Monson's sphere, mm

// A sphere carries the cusp tips of the lower arch.
type sphere struct {
	centre r3.Vec
	radius float64
}

// below is the point under the sphere's centre region straight above or below
// p, on the concentric sphere that lies d lower.
func (s sphere) below(p r3.Vec, d float64) r3.Vec {
	x, y := p.X-s.centre.X, p.Y-s.centre.Y
	r := s.radius + d
	return r3.Vec{X: p.X, Y: p.Y, Z: s.centre.Z - math.Sqrt(r*r-x*x-y*y)}
}

// up is the direction from p to the sphere's centre.
func (s sphere) up(p r3.Vec) r3.Vec { return r3.Unit(r3.Sub(s.centre, p)) }

// overlap is how far the upper posterior teeth's cusp tips reach below the lower
// ones', mm: about the depth of the fossae.
const overlap = 1.75

// stand places crown c of the given place at arc length s on the left side.
func (d *design) stand(c *crown, upper bool, place int, s float64) tooth {
	l, cross, drop := d.lower, lowerLine[place-1], 0.0
	inc, ang := lowerIncline[min(place, 3)-1], lowerAngulate[place-1]
	if upper {
		l, cross, drop = d.upper, upperLine[place-1], overlap
		inc, ang = upperIncline[min(place, 3)-1], upperAngulate[place-1]
		switch place {
		case 1:
			drop = d.overbite
		case 2:
			drop = d.overbite - 0.5
		case 3:
			drop = d.overbite + 0.5
		}
	} else if place == 3 {
		drop = -0.6
	}
	p, along := l.at(s)
	p = d.monson.below(p, drop)
	var f frame
	f.o = d.monson.up(p)
	if place <= 3 {
		f.o = r3.Vec{Z: 1}
	}
	f.m = r3.Scale(-1, along)
	f.m = r3.Unit(r3.Sub(f.m, r3.Scale(r3.Dot(f.m, f.o), f.o)))
	f.b = r3.Cross(f.m, f.o) // outward on the left side with o up
	if f.b.X*along.Y-f.b.Y*along.X < 0 {
		f.b = r3.Scale(-1, f.b)
	}
	if upper {
		f.o = r3.Scale(-1, f.o)
	}
	if place <= 3 {
		f.incline(inc*pi/180 - facialSlope(c))
	}
	f.angulate(ang * pi / 180)
	f.org = r3.Sub(p, r3.Scale(cross, f.b))
	code := 30 + place
	if upper {
		code = 20 + place
	}
	t := tooth{code: code, crown: c, frame: f, mesialPapilla: c.papilla, distalPapilla: c.papilla}
	t.settle()
	return t
}

// facialSlope is the angle by which a front crown's labial face leans outward
// at mid-crown in the crown's own frame.
func facialSlope(c *crown) float64 {
	w, ok := c.wall.(*blade)
	if !ok {
		return 0
	}
	const du = 0.05
	return math.Atan((w.buccal.at(0.5+du) - w.buccal.at(0.5-du)) / (2 * du * c.length))
}

// design is the plan of both arches, with the incisal point of the lower one at
// the origin, x to the left, y to posterior, z up.
type design struct {
	lower, upper line
	monson       sphere
	overbite     float64
}

// row places the teeth of one half jaw one after the other, each touching the
// last, on the left side.
func (d *design) row(upper bool, places int) []tooth {
	var out []tooth
	s := 0.0
	for place := 1; place <= places; place++ {
		c := anatomy(upper, place)
		guess := c.md / 2 // the first tooth touches its mirror image
		if place > 1 {
			guess = s + (out[place-2].crown.md+c.md)/2
		}
		lo, hi := guess-1.2, guess+1.2
		for range 12 {
			s = (lo + hi) / 2
			t := d.stand(&c, upper, place, s)
			var last tooth
			if place > 1 {
				last = out[place-2]
			} else {
				last = t
				last.frame = t.frame.mirrored()
			}
			if apart(&last, &t) > contactGap(upper) {
				hi = s
			} else {
				lo = s
			}
		}
		out = append(out, d.stand(&c, upper, place, s))
	}
	return out
}

// contactGap is half the gap left between neighbouring crowns, mm. Upper ones
// overlap a little, as contacts flattened by wear do; lower ones just miss, which
// the rounding between crowns closes, as a scan does. With the handbook's sizes
// this brings the molars into Angle's class I.
func contactGap(upper bool) float64 {
	if upper {
		return -0.08
	}
	return 0.07
}

// apart is about half the gap between neighbouring crowns at their closest,
// negative where they overlap.
func apart(mesial, distal *tooth) float64 {
	best := math.Inf(1)
	l := mesial.crown.length
	for i := range 7 {
		b := -1.8 + 0.5*float64(i)
		for j := range 5 {
			o := -l * (0.1 + 0.08*float64(j))
			p, q := mesial.world(0, b, o), distal.world(0, b, o)
			// From one axis to the other the first value rises and the second
			// falls; they are equal at the middle of the gap.
			lo, hi := 0.0, 1.0
			v := 0.0
			for range 9 {
				k := (lo + hi) / 2
				x := r3.Add(p, r3.Scale(k, r3.Sub(q, p)))
				f, g := mesial.value(x), distal.value(x)
				v = max(f, g)
				if f < g {
					lo = k
				} else {
					hi = k
				}
			}
			best = min(best, v)
		}
	}
	return best
}
