package anatomy

import (
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

// Site is where on a tooth a point lies.
type Site struct {
	Tooth dentition.ToothID
	// Feature is the cusp, fossa, ridge, edge or groove; 0 for the outer faces of
	// the crown, away from what opposing teeth meet.
	Feature Feature
	// Slope is the side of a cusp; OnTip elsewhere.
	Slope Slope
	// Toward is the fossa that the slope of a cusp goes down to; 0 elsewhere.
	Toward Feature
	// Confidence is that of the landmark, from 0 to 1.
	Confidence float64
}

// Slope is a side of a cusp.
type Slope uint8

// The slopes. Inner slopes face the middle of the tooth, outer ones cheek or
// tongue.
const (
	OnTip Slope = iota
	InnerSlope
	OuterSlope
	MesialSlope
	DistalSlope
)

var slopeNames = [...]string{"tip", "inner incline", "outer incline", "mesial incline", "distal incline"}

// String is the slope in words.
func (s Slope) String() string { return slopeNames[min(s, DistalSlope)] }

// Words is the site without its tooth, such as "inner incline of the
// mesiobuccal cusp", "central fossa" or "outer face".
func (s Site) Words() string {
	switch {
	case s.Feature == 0:
		return "outer face"
	case s.Slope != OnTip:
		return fmt.Sprintf("%v of the %v", s.Slope, s.Feature)
	}
	return s.Feature.String()
}

// String is the site in words with the tooth in ISO 3950, such as "central fossa
// of 46".
func (s Site) String() string { return s.Words() + " of " + s.Tooth.String() }

// Role is what the site's feature is for in normal occlusion.
func (s Site) Role() Role { return s.Feature.Role(s.Tooth) }

// Chart is the map of one tooth: it tells which of its features a point lies on.
type Chart struct {
	// Frame is where the tooth stands.
	Frame Frame
	// Landmarks are those of the tooth, in the frame of the scan.
	Landmarks []Landmark

	marks []Landmark // the same in the coordinates of the tooth
	floor float64    // the height of the deepest fossa, −Inf where there is none
}

// NewChart makes the chart of a tooth from its frame and those of the landmarks
// that are its own.
func NewChart(f Frame, marks []Landmark) Chart {
	c := Chart{Frame: f, floor: math.Inf(-1)}
	local := func(p r3.Vec) r3.Vec {
		x, y, z := f.Local(p)
		return r3.Vec{X: x, Y: y, Z: z}
	}
	for _, m := range marks {
		if m.Tooth != f.Tooth {
			continue
		}
		c.Landmarks = append(c.Landmarks, m)
		line := make([]r3.Vec, len(m.Line))
		for i, p := range m.Line {
			line[i] = local(p)
		}
		m.Point, m.Line = local(m.Point), line
		c.marks = append(c.marks, m)
		if m.Feature.Fossa() && (math.IsInf(c.floor, -1) || m.Point.Z < c.floor) {
			c.floor = m.Point.Z
		}
	}
	return c
}

// Borders between features, mm. They follow handbook drawings; the numbers are
// our choice.
const (
	tipWithin   = 0.5 // from a cusp's tip, seen along the long axis: on the tip
	ridgeWithin = 0.3 // from the crest of a marginal ridge: on the ridge
	onGroove    = 0.4 // from the central groove and nearest to a cusp: on the groove
	below       = 0.5 // under the deepest fossa the outer faces begin
	edgeWithin  = 0.7 // how far the edge or tip of an anterior tooth reaches down its faces
)

// At is where a point (in the frame of the scan, mm) lies on the tooth. On a back
// tooth, seen along the long axis, crests of marginal ridges are narrow bands and
// the rest belongs to the nearest cusp or fossa. On an anterior tooth heights tell
// edge, lingual fossa and cingulum apart.
func (c *Chart) At(p r3.Vec) Site {
	x, y, z := c.Frame.Local(p)
	q := r3.Vec{X: x, Y: y, Z: z}
	if c.Frame.Tooth.Type().Anterior() {
		return c.front(q)
	}
	return c.back(q)
}

// Buccal reports whether a point lies on the buccal side of the central groove, or
// of the middle of the tooth where that is not known.
func (c *Chart) Buccal(p r3.Vec) bool {
	x, y, z := c.Frame.Local(p)
	q := r3.Vec{X: x, Y: y, Z: z}
	if g, _ := c.nearest(q, func(f Feature) bool { return f == CentralGroove }); g != nil {
		return y > g.under(q).Y
	}
	return y > 0
}

func plan(a, b r3.Vec) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// away is how far a point lies from a landmark, seen along the long axis.
func (l *Landmark) away(q r3.Vec) float64 {
	d := plan(q, l.Point)
	for i := 1; i < len(l.Line); i++ {
		a, b := l.Line[i-1], l.Line[i]
		ab := r3.Vec{X: b.X - a.X, Y: b.Y - a.Y}
		t := 0.0
		if n := r3.Norm2(ab); n > 0 {
			t = max(0, min(1, ((q.X-a.X)*ab.X+(q.Y-a.Y)*ab.Y)/n))
		}
		d = min(d, plan(q, r3.Add(a, r3.Scale(t, ab))))
	}
	return d
}

// nearest is the landmark nearest to a point among those that count; nil where
// there is none.
func (c *Chart) nearest(q r3.Vec, counts func(Feature) bool) (*Landmark, float64) {
	var best *Landmark
	least := math.Inf(1)
	for i := range c.marks {
		if m := &c.marks[i]; counts(m.Feature) {
			if d := m.away(q); d < least {
				best, least = m, d
			}
		}
	}
	return best, least
}

func (c *Chart) back(q r3.Vec) Site {
	m, least := c.nearest(q, func(f Feature) bool { return f.Cusp() || f.Fossa() })
	if r, d := c.nearest(q, Feature.MarginalRidge); r != nil && (m == nil || d <= min(ridgeWithin, least) || d < least && c.beyond(q, r)) {
		m = r
	} else if g, d := c.nearest(q, func(f Feature) bool { return f == CentralGroove }); g != nil && m != nil &&
		m.Feature.Cusp() && least > tipWithin && d <= onGroove {
		m = g
	}
	if m == nil || q.Z < c.floor-below {
		return Site{Tooth: c.Frame.Tooth}
	}
	s := c.site(m)
	if m.Feature.Cusp() {
		s.Slope, s.Toward = c.slope(q, m)
	}
	return s
}

// borderDoubt is how far a border between two features may lie from where the landmarks
// put it, mm: as far as half the ridges and fossae of the synthetic truth lie off.
const borderDoubt = 0.3

// Beside is another feature on whose border a point (in the frame of the scan, mm)
// lies as far as landmarks can tell, within 0.3 mm seen along the long axis; the
// nearest where there is more than one, 0 where there is none.
func (c *Chart) Beside(p r3.Vec) Feature {
	const around, out = 16, 6
	at := c.At(p).Feature
	for i := 1; i <= out; i++ {
		for k := range around {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / around)
			r := borderDoubt * float64(i) / out
			if f := c.At(r3.Add(p, c.Frame.Direction(r*cos, r*sin, 0))).Feature; f != at && f != 0 {
				return f
			}
		}
	}
	return 0
}

// beyond says whether a point lies on the far side of a marginal ridge, seen from
// the middle of the tooth.
func (c *Chart) beyond(q r3.Vec, ridge *Landmark) bool {
	if ridge.Feature == MesialMarginalRidge {
		return q.X > ridge.Point.X
	}
	return q.X < ridge.Point.X
}

func (c *Chart) site(m *Landmark) Site {
	return Site{Tooth: c.Frame.Tooth, Feature: m.Feature, Confidence: m.Confidence}
}

// slope is the side of a cusp on which a point lies, and the fossa that it goes
// down to.
func (c *Chart) slope(q r3.Vec, cusp *Landmark) (Slope, Feature) {
	if plan(q, cusp.Point) <= tipWithin {
		return OnTip, 0
	}
	inner := q.Y - cusp.Point.Y // to the middle of the tooth
	if cusp.Feature.buccal() {
		inner = -inner
	}
	mesial := q.X - cusp.Point.X
	slope := OuterSlope
	switch {
	case math.Abs(mesial) > math.Abs(inner) && mesial > 0:
		slope = MesialSlope
	case math.Abs(mesial) > math.Abs(inner):
		slope = DistalSlope
	case inner > 0:
		slope = InnerSlope
	}
	if slope == OuterSlope {
		return slope, 0
	}
	if f, _ := c.nearest(q, Feature.Fossa); f != nil {
		return slope, f.Feature
	}
	return slope, 0
}

// buccal reports whether it is a buccal cusp.
func (f Feature) buccal() bool {
	return slices.Contains([]Feature{MesiobuccalCusp, DistobuccalCusp, DistalCusp, BuccalCusp}, f)
}

// cuspRidge is the fall of the ridges that run from the tip of a canine to mesial
// and distal, a mm of way (handbook drawings).
const cuspRidge = 0.6

// cingulumFrom is the share of the way along the axis from edge to cingulum from
// which a point lies on the cingulum; our choice.
const cingulumFrom = 0.75

func (c *Chart) front(q r3.Vec) Site {
	find := func(f Feature) *Landmark {
		m, _ := c.nearest(q, func(g Feature) bool { return f == g })
		return m
	}
	edge, crest := find(CanineCusp), 0.0
	if edge != nil {
		crest = edge.Point.Z - cuspRidge*math.Abs(q.X-edge.Point.X)
	} else if edge = find(IncisalEdge); edge != nil {
		crest = edge.under(q).Z
	} else {
		return Site{Tooth: c.Frame.Tooth}
	}
	switch cingulum, fossa := find(Cingulum), find(LingualFossa); {
	case crest-q.Z <= edgeWithin:
		s := c.site(edge)
		if edge.Feature.Cusp() && plan(q, edge.Point) > tipWithin {
			s.Slope = MesialSlope
			if q.X < edge.Point.X {
				s.Slope = DistalSlope
			}
		}
		return s
	case q.Y > edge.under(q).Y:
	case cingulum != nil && edge.Point.Z-q.Z >= cingulumFrom*(edge.Point.Z-cingulum.Point.Z):
		return c.site(cingulum)
	case fossa != nil:
		return c.site(fossa)
	}
	return Site{Tooth: c.Frame.Tooth}
}

// under is the point of the landmark's line nearest to a point along the tooth's
// width.
func (l *Landmark) under(q r3.Vec) r3.Vec {
	best := l.Point
	for _, p := range l.Line {
		if math.Abs(p.X-q.X) < math.Abs(best.X-q.X) {
			best = p
		}
	}
	return best
}
