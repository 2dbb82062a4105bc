package typodont

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// A Stop is a place where the arches touch in intercuspation: a supporting cusp or edge
// of one tooth on a feature of an opposing one.
type Stop struct {
	Upper        int    `json:"upper"` // ISO 3950
	UpperFeature string `json:"upper_feature"`
	Lower        int    `json:"lower"`
	LowerFeature string `json:"lower_feature"`
	Supporting   string `json:"supporting"` // whose cusp it is: upper or lower
	At           Point  `json:"point_mm"`
}

// point is where the stop is.
func (s Stop) point() r3.Vec { return s.At.Vec() }

// pair is both arches as fitted to each other.
type pair struct {
	upper, lower *arch
	fitted       []tooth // the lower teeth that the upper arch is carved by
	settings     kinematics.Settings
	stops        []Stop
	guides       []guide
	sweeps       []sweep

	incisal, right, left r3.Vec // points of the average mounting
}

// support is the point of an anterior tooth's edge or cusp, near local (m, 0), that
// reaches farthest in direction n.
func (t *tooth) support(m0 float64, n r3.Vec, spread float64) r3.Vec {
	best, at := math.Inf(-1), r3.Vec{}
	c := [2]float64{m0, 0}
	for step := 0.2; step > 0.002; step /= 3 {
		around := c
		for i := -6; i <= 6; i++ {
			for j := -6; j <= 6; j++ {
				m, b := around[0]+step*float64(i)*spread, around[1]+step*float64(j)
				p := t.surfaceAt(m, b)
				if d := r3.Dot(p, n); d > best {
					best, at, c = d, p, [2]float64{m, b}
				}
			}
		}
	}
	return at
}

// surfaceAt is the point of the crown's surface highest over local (m, b).
func (t *tooth) surfaceAt(m, b float64) r3.Vec {
	lo, hi := -3.0, 1.0 // below the biting surface of any crown, above it
	if t.crown.value(m, b, lo) > 0 {
		return t.world(m, b, lo-10)
	}
	for range 40 {
		mid := (lo + hi) / 2
		if t.crown.value(m, b, mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return t.world(m, b, lo)
}

// nearest is the tooth of the arch whose surface lies deepest around p, or
// closest to it.
func (a *arch) nearest(p r3.Vec) (int, float64) {
	best, who := math.Inf(1), -1
	for i := range a.teeth {
		t := &a.teeth[i]
		if r3.Norm(r3.Sub(p, t.centre)) > t.reach+3 {
			continue
		}
		if v := t.value(p); v < best {
			best, who = v, i
		}
	}
	return who, best
}

// inward moves a stop on the lower tooth that would lie on the very edge of the
// upper tooth's biting surface a little along it, down the lower cusp's slope.
func (t *tooth) inward(at r3.Vec, lower *tooth) r3.Vec {
	const margin = 1.1
	m, _, _ := t.local(at)
	edge := t.crown.md/2 - margin
	if math.Abs(m) <= edge {
		return at
	}
	q := r3.Add(at, r3.Scale(math.Copysign(edge, m)-m, t.m))
	lm, lb, _ := lower.local(q)
	return lower.surfaceAt(lm, lb)
}

// find is the tooth with the given code, or nil.
func (a *arch) find(code int) *tooth {
	for i := range a.teeth {
		if a.teeth[i].code == code {
			return &a.teeth[i]
		}
	}
	return nil
}

// featureAt names the crown's feature nearest to a point.
func (t *tooth) featureAt(p r3.Vec) string {
	m, b, o := t.local(p)
	best, name := math.Inf(1), ""
	consider := func(n string, x, y float64) {
		if d := math.Hypot(m-x, b-y); d < best {
			best, name = d, n
		}
	}
	for _, c := range t.crown.cusps {
		consider(c.name, c.m, c.b)
	}
	for _, f := range t.crown.named {
		consider(f.name, f.m, f.b)
	}
	if _, front := t.crown.wall.(*blade); front && o < -0.7 && t.code < 30 {
		return "palatal fossa"
	}
	return name
}

// findStops lists the places that shall touch: left half, then mirrored.
func (p *pair) findStops() {
	var left []Stop
	add := func(s Stop) { left = append(left, s) }
	for i := range p.lower.teeth {
		t := &p.lower.teeth[i]
		if t.code/10 != 3 {
			continue
		}
		if t.code%10 <= 3 {
			if t.code%10 != 2 { // lateral incisors stay just out of contact
				add(p.frontStop(t))
			}
			continue
		}
		for _, c := range t.crown.cusps {
			if !c.supporting {
				continue
			}
			at := t.world(c.m, c.b, t.crown.height(c.m, c.b))
			if u, v := p.upper.nearest(at); u >= 0 && v < 1.2 {
				at = p.upper.teeth[u].inward(at, t)
				add(Stop{Upper: p.upper.teeth[u].code, Lower: t.code, UpperFeature: p.upper.teeth[u].featureAt(at),
					LowerFeature: c.name, At: Point(at), Supporting: "lower"})
			}
		}
	}
	for i := range p.upper.teeth {
		t := &p.upper.teeth[i]
		if t.code/10 != 2 || t.code%10 <= 3 {
			continue
		}
		for _, c := range t.crown.cusps {
			if !c.supporting {
				continue
			}
			tip := t.world(c.m, c.b, t.crown.height(c.m, c.b))
			if at, l, ok := p.lower.under(tip); ok {
				add(Stop{Upper: t.code, Lower: p.lower.teeth[l].code, UpperFeature: c.name,
					LowerFeature: p.lower.teeth[l].featureAt(at), At: Point(at), Supporting: "upper"})
			}
		}
	}
	for _, s := range left {
		p.stops = append(p.stops, s.mirrored(), s)
	}
}

func (s Stop) mirrored() Stop {
	s.At = Point(mirror(s.point()))
	s.Upper -= 10
	s.Lower += 10
	return s
}

// under is the point of a lower arch straight below or above p, and the tooth it
// lies on; not ok where that is more than 1.5 mm away or not a tooth.
func (a *arch) under(p r3.Vec) (r3.Vec, int, bool) {
	const range1 = 1.5
	lo, hi := p, p
	lo.Z -= range1
	hi.Z += range1
	f := func(q r3.Vec) float64 { v, _ := a.value(q); return v }
	flo, fhi := f(lo), f(hi)
	if flo > 0 || fhi < 0 {
		return p, -1, false
	}
	at := along(lo, hi, root(f, lo, hi, flo, fhi))
	_, who := a.value(at)
	return at, who, who >= 0
}

// frontStop is where a lower incisor or canine meets the upper arch: the point
// of its edge that faces along the slope it slides on.
func (p *pair) frontStop(t *tooth) Stop {
	m, spread := 0.0, 0.02
	g := p.guides[2]
	if t.code%10 == 3 {
		g = p.guides[1]
		m, spread = t.crown.cusps[0].m, 1
	}
	// The normal of the slope: perpendicular to the way, as upright as can be.
	up := r3.Vec{Z: 1}
	way := p.direction(g, t.world(m, 0, 0))
	n := r3.Unit(r3.Sub(up, r3.Scale(r3.Dot(up, way), way)))
	at := t.support(m, n, spread)
	u, _ := p.upper.nearest(at)
	name := "incisal"
	if t.code%10 == 3 {
		name = "cusp"
	}
	s := Stop{Lower: t.code, LowerFeature: name, At: Point(at), Supporting: "lower"}
	if u >= 0 {
		s.Upper, s.UpperFeature = p.upper.teeth[u].code, p.upper.teeth[u].featureAt(at)
	}
	return s
}

// direction is the way of a point at the beginning of a guided movement.
func (p *pair) direction(g guide, q r3.Vec) r3.Vec {
	g.point = q
	pose, _, err := g.pose(p.settings, 0.3)
	if err != nil {
		return r3.Vec{Y: -1}
	}
	return r3.Unit(r3.Sub(pose.Apply(q), q))
}
