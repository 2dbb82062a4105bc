package typodont

import (
	"context"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// scan is one arch's surface on its way to becoming a scan.
type scan struct {
	*arch
	*surface
	tooth []int   // index of each vertex's tooth, −1 none
	tips  [][]tip // of each tooth's cusps
}

// deform applies one disturbance of the surfaces and says what should be found.
func (p *pair) deform(ctx context.Context, up, lo *scan, d Disturbance, seed uint64, truth *Truth) error {
	s := up
	if d.Tooth/10 >= 3 {
		s = lo
	}
	switch d.Kind {
	case Raise:
		return p.raise(s, d, truth)
	case Incisor:
		t := s.find(d.Tooth)
		s.lift(t, r3.Scale(d.Um/1000, t.o))
		truth.Expected = append(truth.Expected, p.expectIncisor(d))
	case FlatCanine:
		s.wear(s.find(d.Tooth), d.MM)
		truth.Expected = append(truth.Expected, p.expectFlat(d))
	case Facet:
		return p.facet(up, lo, d, truth)
	case Interference:
		return p.interfere(ctx, up, lo, d, truth)
	case Noise:
		up.noise(d.Um/1000, d.MM, seed)
		lo.noise(d.Um/1000, d.MM, seed+1)
	case Hole, Island, Flipped:
		s.patch(s.find(d.Tooth), d)
	}
	return nil
}

// shift moves the vertices of a tooth by d times a weight of their place (0 to 1)
// and tidies what is crowded then, beside the neighbours' vertices that stay and
// where the movement fades out.
func (s *scan) shift(t *tooth, d r3.Vec, weight func(r3.Vec) float64) {
	moved := map[int32]float64{}
	for i, v := range s.verts {
		if s.tooth[i] < 0 || &s.teeth[s.tooth[i]] != t {
			continue
		}
		if w := weight(v); w > 0 {
			s.verts[i] = addScaled(v, w, d)
			moved[int32(i)] = w
		}
	}
	s.tidy(moved)
}

// lift moves a crown by d; the movement fades out towards the neck.
func (s *scan) lift(t *tooth, d r3.Vec) {
	l := t.crown.length
	s.shift(t, d, func(v r3.Vec) float64 {
		_, _, o := t.local(v)
		return step((o + 0.75*l) / (0.35 * l))
	})
}

const (
	cuspCore  = 0.9 // a raised cusp moves as a whole so far from its tip, mm
	cuspReach = 1.9
)

// against is the direction in which the teeth at a place meet when the jaw
// closes on the hinge: the way of the lower tooth (upwards), or its opposite for
// an upper one.
func against(at r3.Vec, upper bool) r3.Vec {
	d := r3.Unit(r3.Vec{Y: at.Z, Z: -at.Y})
	if upper {
		return r3.Scale(-1, d)
	}
	return d
}

// raise brings a tooth or one of its cusps towards the opposing teeth.
func (p *pair) raise(s *scan, d Disturbance, truth *Truth) error {
	t := s.find(d.Tooth)
	at := t.world(0, 0, 0)
	if d.Cusp != "" {
		c := t.cusp(d.Cusp)
		if c == nil {
			return fmt.Errorf("%w: %d has no cusp %q", ErrParams, d.Tooth, d.Cusp)
		}
		at = t.world(c.m, c.b, t.crown.height(c.m, c.b))
	}
	for _, st := range truth.Stops { // the middle of what moves is the stop, where there is one
		if q, name := st.of(s.upper); q == d.Tooth && (name == d.Cusp || d.Cusp == "") {
			at = st.point()
			break
		}
	}
	way := against(at, s.upper)
	if d.Cusp == "" {
		s.lift(t, r3.Scale(d.Um/1000, way))
	} else {
		s.shift(t, r3.Scale(d.Um/1000, way), func(v r3.Vec) float64 {
			return 1 - step((r3.Norm(r3.Sub(v, at))-cuspCore)/(cuspReach-cuspCore))
		})
	}
	// The jaw opens until the raised stop just touches: δ n·way = θ n·(x × q).
	e := Expected{Kind: "premature_contact", Tooth: d.Tooth, Cusp: d.Cusp, SizeUm: d.Um}
	for _, st := range truth.Stops {
		q, name := st.of(s.upper)
		if q != d.Tooth || d.Cusp != "" && name != d.Cusp {
			continue
		}
		n := p.normal(st)
		lever := r3.Dot(n, r3.Vec{Y: -st.point().Z, Z: st.point().Y})
		open := math.Abs(d.Um/1000*r3.Dot(n, way)/lever) * 180 / pi
		if open > e.OpeningDeg && d.Um > 0 {
			e.OpeningDeg, e.Upper, e.Lower, e.Point = open, st.Upper, st.Lower, st.At
		}
	}
	if e.OpeningDeg > 0 {
		truth.Expected = append(truth.Expected, e)
	}
	return nil
}

// of is the stop's tooth and feature in the upper or the lower jaw.
func (s Stop) of(upper bool) (int, string) {
	if upper {
		return s.Upper, s.UpperFeature
	}
	return s.Lower, s.LowerFeature
}

// normal is the outward normal of the lower arch at a stop.
func (p *pair) normal(s Stop) r3.Vec {
	for i := range p.fitted {
		if t := &p.fitted[i]; t.code == s.Lower {
			const e = 0.01
			f := func(x, y, z float64) float64 { return t.value(r3.Add(s.point(), r3.Vec{X: x, Y: y, Z: z})) }
			return r3.Unit(r3.Vec{X: f(e, 0, 0) - f(-e, 0, 0), Y: f(0, e, 0) - f(0, -e, 0), Z: f(0, 0, e) - f(0, 0, -e)})
		}
	}
	return r3.Vec{Z: 1}
}

func (t *tooth) cusp(name string) *cusp {
	for i := range t.crown.cusps {
		if t.crown.cusps[i].name == name {
			return &t.crown.cusps[i]
		}
	}
	return nil
}

// wear cuts a crown's tip off at h below its top, with a rounded edge.
func (s *scan) wear(t *tooth, h float64) {
	worn := map[int32]float64{}
	for i, v := range s.verts {
		if s.tooth[i] < 0 || &s.teeth[s.tooth[i]] != t {
			continue
		}
		m, b, o := t.local(v)
		if cut := smin(o, -h, 0.25); cut < o {
			s.verts[i] = t.world(m, b, cut)
			worn[int32(i)] = o - cut
		}
	}
	s.tidy(worn)
}

// expectIncisor says what a short or long incisor does: the other side's
// central incisor guides alone, or this one does and meets first in intercuspation.
func (p *pair) expectIncisor(d Disturbance) Expected {
	e := Expected{Kind: "uneven_protrusion", Movement: "protrusive", Tooth: d.Tooth, SizeUm: d.Um, Lower: d.Tooth}
	if d.Um < 0 {
		e.Lower = map[int]int{31: 41, 41: 31}[d.Tooth]
	}
	return e
}

// expectFlat says what a worn canine does: it guides less far down than that of the
// other side. Closings tell from where on ([pair.proveFlat]).
func (p *pair) expectFlat(d Disturbance) Expected {
	e := Expected{Kind: "shallow_guidance", Movement: "right", Tooth: d.Tooth, Upper: d.Tooth, Lower: 43, SizeUm: d.MM * 1000}
	if d.Tooth == 23 {
		e.Movement, e.Lower = "left", 33
	}
	return e
}

// guided is the travel up to which a guide point lies above the level h (mm)
// below the tip of the upper tooth that it slides on.
func (p *pair) guided(g guide, h float64) float64 {
	last := 0.0
	for t := sweepStep; t <= 5; t += sweepStep {
		pose, _, err := g.pose(p.settings, t)
		if err != nil {
			break
		}
		q := pose.Apply(g.point)
		if g.movement == kinematics.Protrusive {
			q = pose.Apply(p.stopOf(31))
		}
		u, _ := p.upper.nearest(q)
		if u < 0 {
			break
		}
		t := &p.upper.teeth[u]
		m, b, o := t.home.local(q)
		if top := t.crown.height(m, b); o > min(-h, top)-0.1 {
			break
		}
		last += sweepStep
	}
	return last
}

func (p *pair) stopOf(lower int) r3.Vec {
	for _, s := range p.stops {
		if s.Lower == lower {
			return s.point()
		}
	}
	return r3.Vec{}
}
