package stops

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// bearing is one tooth's side of a stop as it is judged.
type bearing struct {
	anatomy.Site
	beside  anatomy.Feature // on whose border it lies, 0 where on none
	load    r3.Vec          // unit vector to mesial, buccal and into the socket
	incline float64         // of it to the long axis, degrees
	buccal  bool            // of the central groove
}

// spot is a stop before it is written down.
type spot struct {
	up, lo bearing
	at     r3.Vec
	across findings.Across
	along  findings.Along
}

// charts is the chart of every tooth of a cast that has one.
func charts(c *casts.Cast) map[dentition.ToothID]*anatomy.Chart {
	out := make(map[dentition.ToothID]*anatomy.Chart, len(c.Frames))
	for t, f := range c.Frames {
		chart := anatomy.NewChart(f, c.Landmarks)
		out[t] = &chart
	}
	return out
}

// newBearing is how a stop at a point loads a tooth whose outward normal there is n.
func newBearing(c *anatomy.Chart, p, n r3.Vec) bearing {
	f := &c.Frame
	load := r3.Vec{X: -r3.Dot(n, f.Mesial), Y: -r3.Dot(n, f.Buccal), Z: r3.Dot(n, f.Occlusal)}
	return bearing{c.At(p), c.Beside(p), load, math.Atan2(math.Hypot(load.X, load.Y), load.Z) * 180 / math.Pi, c.Buccal(p)}
}

// back reports whether a stop is between posterior teeth.
func (s *spot) back() bool { return !s.up.Tooth.Type().Anterior() && !s.lo.Tooth.Type().Anterior() }

// sort tells across and along of a stop between posterior teeth. What faces one way on
// the upper tooth faces the other way on the lower one, so the mean of the two
// counts.
func (s *spot) sort(facingDeg float64) {
	if !s.back() {
		return
	}
	facing := func(x float64) int { // −1, 0 or 1
		if deg := math.Asin(max(-1, min(1, x))) * 180 / math.Pi; math.Abs(deg) >= facingDeg {
			return int(math.Copysign(1, deg))
		}
		return 0
	}
	switch f := facing((s.up.load.Y - s.lo.load.Y) / 2); { // of the lower tooth to buccal
	case f > 0 && s.lo.buccal:
		s.across = findings.ContactA
	case f > 0:
		s.across = findings.ContactC
	case f < 0 && s.lo.buccal:
		s.across = findings.ContactB
	}
	switch f := facing((s.up.load.X - s.lo.load.X) / 2); { // of the lower tooth to mesial
	case f > 0:
		s.along = findings.ClosureStopper
	case f < 0:
		s.along = findings.Equaliser
	}
}

// stops places the patches of the thinnest foil under a pose of the lower cast on
// the features of the teeth, in the order of the teeth and then of the patches.
func stops(upper, lower *casts.Cast, patches []contact.Patch, pose kinematics.Pose, t *casefile.Thresholds) []spot {
	ups, los := charts(upper), charts(lower)
	inverse := pose.Inverse()
	thin := math.Inf(1)
	for _, p := range patches {
		thin = min(thin, p.Foil)
	}
	var out []spot
	for _, p := range patches {
		up, lo := ups[upper.Tooth(p.Upper)], los[lower.Tooth(p.Lower)]
		if p.Foil != thin || up == nil || lo == nil {
			continue
		}
		s := spot{
			up: newBearing(up, p.Centre, p.UpperNormal),
			lo: newBearing(lo, inverse.Apply(p.Centre), inverse.Rotate(p.LowerNormal)),
			at: p.Point,
		}
		s.sort(t.FacingDeg)
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b spot) int {
		return 256*(int(a.up.Tooth)-int(b.up.Tooth)) + int(a.lo.Tooth) - int(b.lo.Tooth)
	})
	return out
}

// sides is the sides of a stop, that of a supporting cusp or edge first; else that
// of a cusp; else the upper one.
func (s *spot) sides() (of, on *bearing) {
	rank := func(x *bearing) int {
		switch {
		case x.Role() == anatomy.Supporting:
			return 0
		case x.Role() == anatomy.Guiding:
			return 1
		}
		return 2
	}
	if rank(&s.lo) < rank(&s.up) {
		return &s.lo, &s.up
	}
	return &s.up, &s.lo
}

// write writes a stop down.
func (s *spot) write(g groups, t *casefile.Thresholds) findings.Stop {
	stable, reason := s.weigh(g, t)
	return findings.Stop{
		Upper: findings.Part(s.up.Tooth), Lower: findings.Part(s.lo.Tooth), Text: s.words(), PointMM: findings.VecOf(s.at),
		OnUpper: s.up.write(), OnLower: s.lo.write(),
		Across: s.across, Along: s.along, Stable: stable, Reason: reason,
	}
}

func (x *bearing) write() findings.StopSite {
	out := findings.StopSite{Role: x.Role().String(), Load: findings.VecOf(x.load), InclineDeg: x.incline, Confidence: x.Confidence}
	if x.Feature != 0 {
		out.Feature = x.Feature.String()
	}
	if x.beside != 0 {
		out.Beside = x.beside.String()
	}
	if x.Slope != anatomy.OnTip {
		out.Incline = x.Slope.String()
	}
	if x.Toward != 0 {
		out.Toward = x.Toward.String()
	}
	return out
}
