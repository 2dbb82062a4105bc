package typodont

import (
	"context"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// How the upper arch keeps clear of the lower one. A stop touches in one point
// and parts like two spheres of relative curvature stopCurve; everywhere else at
// least restGap is left, growing with the travel.
const (
	stopCurve  = 0.30 // 1/mm
	wayCurve   = 0.08 // 1/mm, the same along a guiding way
	restGap    = 0.12 // mm
	gapRate    = 0.10 // mm a mm of travel
	gapMost    = 0.35
	stopRate   = 0.22 // by which a stop that does not guide clears, mm a mm
	carveRound = 0.12 // rounding between carved and own surface, mm
	material   = 0.16 // by how much the own surface must overlap where it is to be carved, mm
)

// A sweep is one pose of the lower arch that the upper arch must clear.
type sweep struct {
	back   kinematics.Pose // articulator → lower arch
	travel float64
	guides []r3.Vec // where the lower arch may touch (lower arch)
	stops  []r3.Vec // where it nearly may
	fine   bool     // only for anterior teeth
}

// plan makes the sweeps of all guided movements.
func (p *pair) plan() error {
	rest := sweep{}
	for _, s := range p.stops {
		rest.guides = append(rest.guides, s.point())
	}
	p.sweeps = []sweep{rest}
	for _, g := range p.guides {
		var touching []r3.Vec
		for _, s := range p.stops {
			if g.leads(s.Lower) {
				touching = append(touching, s.point())
			}
		}
		most := 4.0
		for i := 1; float64(i)*sweepStep <= most; i++ {
			t := float64(i) * sweepStep
			pose, _, err := g.pose(p.settings, t)
			if err != nil {
				return err
			}
			p.sweeps = append(p.sweeps, sweep{back: pose.Inverse(), travel: t, guides: touching, stops: rest.guides, fine: i%6 != 0})
		}
	}
	return nil
}

const sweepStep = 0.1

// leads says whether a lower tooth guides the movement.
func (g guide) leads(code int) bool {
	switch g.movement {
	case kinematics.Right:
		return code == 43
	case kinematics.Left:
		return code == 33
	}
	return code == 31 || code == 41
}

// need is how much room the upper arch must leave at the lower arch's point q.
func (s *sweep) need(q r3.Vec) float64 {
	n := min(restGap+gapRate*s.travel, gapMost)
	curve := stopCurve
	if s.travel > 0 {
		curve = wayCurve
	}
	for _, g := range s.guides {
		d := r3.Sub(q, g)
		n = min(n, curve/2*r3.Dot(d, d))
	}
	if rate := stopRate * s.travel; rate < n {
		for _, g := range s.stops {
			d := r3.Sub(q, g)
			n = min(n, stopCurve/2*r3.Dot(d, d)+rate)
		}
	}
	return n
}

// carver cuts one upper tooth.
type carver struct {
	p     *pair
	tooth *tooth
	lower []*tooth // opposing teeth, as fitted
	front bool
}

func (p *pair) carverFor(t *tooth) carver {
	c := carver{p: p, tooth: t, front: t.code%10 <= 3}
	at := t.home.world(0, 0, -t.crown.length/2)
	for i := range p.fitted {
		l := &p.fitted[i]
		if r3.Norm(r3.Sub(l.centre, at)) < l.reach+t.reach+1 {
			c.lower = append(c.lower, l)
		}
	}
	return c
}

// value is positive where the point p of the upper arch must be cut away: the
// greatest shortage of room over all poses, mm. It belongs to the tooth and goes
// with it where it is displaced.
func (c *carver) value(p r3.Vec) float64 {
	worst := math.Inf(-1)
	if c.tooth.moved {
		p = c.tooth.home.world(c.tooth.local(p))
	}
	for i := range c.p.sweeps {
		s := &c.p.sweeps[i]
		if s.fine && !c.front {
			continue
		}
		q := s.back.Apply(p)
		for _, l := range c.lower {
			d := r3.Sub(q, l.centre)
			if r3.Dot(d, d) > l.reach*l.reach {
				continue
			}
			m, b, o := l.local(q)
			// Cheap lower bound first: the crown ends at o = 0.
			if -slopeShare*o+gapMost <= worst {
				continue
			}
			if v := s.need(q) - l.crown.value(m, b, o); v > worst {
				worst = v
			}
		}
	}
	return worst
}

// carve moves the upper arch's vertices onto the carved surface. labels name
// the tooth of each vertex (index, −1 none).
func (p *pair) carve(ctx context.Context, s *surface, labels []int) error {
	carvers := make([]carver, len(p.upper.teeth))
	for i := range carvers {
		carvers[i] = p.carverFor(&p.upper.teeth[i])
	}
	return par.Chunks(ctx, len(s.verts), 256, 0, func(_, from, to int) error {
		for i := from; i < to; i++ {
			if labels[i] < 0 {
				continue
			}
			c := &carvers[labels[i]]
			if c.value(s.verts[i]) > -carveRound {
				s.verts[i] = p.cutBack(c, s.verts[i])
			}
		}
		return nil
	})
}

// carved is the value of the carved upper arch at a point of the given tooth.
func (p *pair) carved() func(tooth int, q r3.Vec) float64 {
	carvers := make([]carver, len(p.upper.teeth))
	for i := range carvers {
		carvers[i] = p.carverFor(&p.upper.teeth[i])
	}
	return func(tooth int, q r3.Vec) float64 {
		own, _ := p.upper.value(q)
		return smax(own, carvers[tooth].value(q), carveRound)
	}
}

// cutBack goes from a point of the own surface inwards to the carved one.
// Straight inwards, vertices on both flanks of a ridge sharper than the cut is
// deep would pass each other; the direction is therefore taken over a width e
// (mm) in which the cusps' ridges count little, so that neighbours keep their
// order.
func (p *pair) cutBack(c *carver, v r3.Vec) r3.Vec {
	own := func(q r3.Vec) float64 { f, _ := p.upper.value(q); return f }
	const e = 0.6
	n := r3.Unit(r3.Vec{
		X: own(r3.Vec{X: v.X + e, Y: v.Y, Z: v.Z}) - own(r3.Vec{X: v.X - e, Y: v.Y, Z: v.Z}),
		Y: own(r3.Vec{X: v.X, Y: v.Y + e, Z: v.Z}) - own(r3.Vec{X: v.X, Y: v.Y - e, Z: v.Z}),
		Z: own(r3.Vec{X: v.X, Y: v.Y, Z: v.Z + e}) - own(r3.Vec{X: v.X, Y: v.Y, Z: v.Z - e}),
	})
	f := func(q r3.Vec) float64 { return smax(own(q), c.value(q), carveRound) }
	out := v
	fOut := f(out)
	for depth := 0.1; depth < 2.5; depth *= 2 {
		in := r3.Sub(v, r3.Scale(depth, n))
		if fIn := f(in); fIn < 0 {
			return along(out, in, root(f, out, in, fOut, fIn))
		}
	}
	return v
}

// fit raises or lowers the upper teeth's own surfaces at the stops and along
// the guiding ways, until there is just enough of them to be carved.
func (p *pair) fit() error {
	for range 6 {
		for i := range p.stops {
			s := &p.stops[i]
			if s.Upper/10 == 2 {
				if t := p.upper.find(s.Upper); t != nil {
					t.thicken(s.point(), false)
				}
			}
		}
		for gi, g := range p.guides {
			if gi == 0 { // the mirror image of the left one
				continue
			}
			for _, s := range p.stops {
				if !g.leads(s.Lower) || s.Lower/10 != 3 {
					continue
				}
				for t := 0.4; t < 4; t += 0.4 {
					pose, _, err := g.pose(p.settings, t)
					if err != nil {
						return err
					}
					q := pose.Apply(s.point())
					u, _ := p.upper.nearest(q)
					if u < 0 {
						continue
					}
					up := &p.upper.teeth[u]
					if _, _, o := up.local(q); o < -0.45 && up.code/10 == 2 {
						up.thicken(q, true)
					}
				}
			}
		}
	}
	return nil
}

// thicken brings the tooth's own surface to lie the carving depth outside p;
// only outwards where least is set.
func (t *tooth) thicken(p r3.Vec, least bool) {
	m, b, o := t.local(p)
	lack := t.crown.value(m, b, o) + material
	if least && lack < 0 {
		return
	}
	lack = min(max(lack, -0.6), 0.9)
	if w, ok := t.crown.wall.(*blade); ok {
		d := dent{m: m, u: 1 + o/t.crown.length, wm: 2.8, wu: 2.4 / t.crown.length, deep: -lack}
		for i := range w.dents {
			if e := &w.dents[i]; e.m == d.m && e.u == d.u {
				e.deep += d.deep
				return
			}
		}
		w.dents = append(w.dents, d)
		return
	}
	h := mound{m: m, b: b, h: lack / slopeShare, r: 1.7}
	for i := range t.crown.mounds {
		if e := &t.crown.mounds[i]; e.m == h.m && e.b == h.b {
			e.h += h.h
			return
		}
	}
	t.crown.mounds = append(t.crown.mounds, h)
}

// check says which stops could not be made.
func (p *pair) check() error {
	for _, s := range p.stops {
		t := p.upper.find(s.Upper)
		if t == nil {
			return fmt.Errorf("%w: the arches do not fit: no upper tooth meets %d %s", ErrParams, s.Lower, s.LowerFeature)
		}
		if v := t.value(s.point()); v > -carveRound {
			return fmt.Errorf("%w: the arches do not fit: %d lacks %.3f mm to meet %d %s", ErrParams, s.Upper, v+carveRound, s.Lower, s.LowerFeature)
		}
	}
	return nil
}
