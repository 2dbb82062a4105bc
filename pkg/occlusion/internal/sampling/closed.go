package sampling

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/drift"
	"github.com/cusptrace/cusptrace/internal/qp"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"gonum.org/v1/gonum/spatial/r3"
)

// nearMM is how near surfaces must come, closed, to take part in how casts seat and close: ten
// times what samples move them by.
const nearMM = 0.6

// site is a place where the casts come near each other when closed: a vertex of one and the
// surface of the other.
type site struct {
	row    kinematics.Twist // change of the gap with a twist of the lower cast
	gap    float64          // mm
	normal r3.Vec           // the way in which the lower cast opens the gap
	point  r3.Vec
	pair   int32 // of closed.pairs
	up, lo drift.Place
}

// closed is the casts around one closed relation, in which gaps change linearly with small
// motions and distortions.
type closed struct {
	frame  kinematics.TwistFrame
	metric [36]float64
	sites  []site
	pairs  []pairOf
	// Without errors: by how much each pair's opening, and each tooth's gap, differ from the
	// exact ones, which also see edges cross.
	openingOff []float64
	gapOff     map[dentition.ToothID]float64
	// axis is where the casts are closed without errors.
	seatZero kinematics.Twist
}

// pairOf is an opposing pair of teeth.
type pairOf struct{ upper, lower dentition.ToothID }

// newClosed gathers the sites around a pose of the lower cast as scanned.
func newClosed(ctx context.Context, c *casts.Casts, seat *settle.Seat, pose kinematics.Pose, modes [2]*drift.Modes) (*closed, error) {
	gaps, err := seat.Feel.Feel(ctx, seat.Frame, pose, nearMM)
	if err != nil {
		return nil, err
	}
	out := &closed{frame: seat.Frame, metric: seat.Metric}
	number := map[pairOf]int32{}
	upper, lower := c.Upper, c.Scanned
	for i := range gaps.D {
		at := &gaps.At[i]
		p := pairOf{upper: vertexTooth(upper, at.Vertex), lower: vertexTooth(lower, at.Vertex)}
		if at.Upper != mesh.None {
			p.upper = upper.Tooth(at.Upper)
		}
		if at.Lower != mesh.None {
			p.lower = lower.Tooth(at.Lower)
		}
		if upper.Teeth != nil && lower.Teeth != nil && (p.upper == dentition.NoTooth || p.lower == dentition.NoTooth) {
			continue
		}
		k, ok := number[p]
		if !ok {
			k = int32(len(out.pairs))
			number[p], out.pairs = k, append(out.pairs, p)
		}
		out.sites = append(out.sites, site{row: gaps.Rows[i], gap: gaps.D[i], normal: at.Normal, point: at.Point, pair: k,
			up: modes[0].Place(at.Point), lo: modes[1].Place(at.Point)})
	}
	return out, nil
}

func vertexTooth(c *casts.Cast, v mesh.VertexID) dentition.ToothID {
	if c.Labels == nil {
		return dentition.NoTooth
	}
	return c.Labels.Vertex(v)
}

// distorted is the gaps of a sample before the lower cast is moved.
func (c *closed) distorted(dst []float64, upper, lower drift.Field) []float64 {
	dst = dst[:0]
	for i := range c.sites {
		s := &c.sites[i]
		dst = append(dst, s.gap+r3.Dot(s.normal, r3.Sub(lower.At(&s.lo), upper.At(&s.up))))
	}
	return dst
}

// seatPull is the radius of trust of a seat, mm: so large that its pull does not move it.
const seatPull = 10.0

// seatMost is how far, mm, a seat may lie from the one without errors: beyond it the gaps are
// not linear.
const seatMost = 0.5

// seat presses the casts together: the twist of the lower cast at which a force has no way to
// go without overlap. ok is false where they do not seat nearby.
func (c *closed) seat(gaps []float64, point, direction r3.Vec) (x kinematics.Twist, ok bool) {
	p := qp.Problem{H: make([]float64, 36), G: make([]float64, 6), Tolerance: 1e-9}
	for i, m := range c.metric {
		p.H[i] = m / seatPull
	}
	for i, w := range c.frame.Along(point, direction) {
		p.G[i] = -w
	}
	p.A, p.B = make([]float64, 0, 6*len(gaps)), make([]float64, 0, len(gaps))
	for i, d := range gaps {
		p.A, p.B = append(p.A, c.sites[i].row[:]...), append(p.B, -d)
	}
	sol, err := qp.Solve(&p)
	if err != nil {
		return x, false
	}
	x = kinematics.Twist(sol.X[:6])
	return x, kinematics.NormIn(&c.metric, x) <= seatMost
}

// twist is a small shift and turn about a point as a twist.
func (c *closed) twist(shift, turn, about r3.Vec) (x kinematics.Twist) {
	t := r3.Add(shift, r3.Cross(turn, r3.Sub(c.frame.Centre, about)))
	w := r3.Scale(c.frame.Length, turn)
	return kinematics.Twist{t.X, t.Y, t.Z, w.X, w.Y, w.Z}
}

// move changes gaps by a twist.
func (c *closed) move(gaps []float64, x kinematics.Twist) {
	for i := range gaps {
		for k, r := range c.sites[i].row {
			gaps[i] += r * x[k]
		}
	}
}

// flat is the share of its lever by which opening must at least open a gap to count.
const flat = 0.05

// opens is the change of a gap with opening about an axis.
func (s *site) opens(axis r3.Vec) (rate float64, ok bool) {
	y, z := s.point.Y-axis.Y, s.point.Z-axis.Z
	rate = s.normal.Z*y - s.normal.Y*z
	return rate, rate > flat*math.Hypot(y, z)
}

// openings is the opening (radians) at which each pair meets when the casts close about an
// axis; −Inf for one that does not.
func (c *closed) openings(dst []float64, gaps []float64, axis r3.Vec) []float64 {
	dst = dst[:0]
	for range c.pairs {
		dst = append(dst, math.Inf(-1))
	}
	for i := range c.sites {
		s := &c.sites[i]
		if rate, ok := s.opens(axis); ok {
			dst[s.pair] = max(dst[s.pair], -gaps[i]/rate)
		}
	}
	for k, off := range c.openingOff {
		dst[k] += off
	}
	return dst
}

// correct makes the openings without errors those of an exact staircase.
func (c *closed) correct(steps []findings.Step) {
	plain := c.openings(nil, c.gapsNow(), r3.Vec{})
	c.openingOff = make([]float64, len(c.pairs))
	for _, s := range steps {
		k := slices.Index(c.pairs, pairOf{s.Upper.Tooth(), s.Lower.Tooth()})
		if k >= 0 && !math.IsInf(plain[k], 0) {
			c.openingOff[k] = s.OpeningDeg*math.Pi/180 - plain[k]
		}
	}
}

// gapsNow is the gaps without errors.
func (c *closed) gapsNow() []float64 {
	out := make([]float64, len(c.sites))
	for i := range out {
		out[i] = c.sites[i].gap
	}
	return out
}

// toothGaps is the least gap (mm) of each tooth after opening about an axis, never below 0.
func (c *closed) toothGaps(gaps []float64, opening float64, axis r3.Vec) map[dentition.ToothID]nearest {
	out := map[dentition.ToothID]nearest{}
	for i := range c.sites {
		s := &c.sites[i]
		y, z := s.point.Y-axis.Y, s.point.Z-axis.Z
		g := gaps[i] + opening*(s.normal.Z*y-s.normal.Y*z)
		p := c.pairs[s.pair]
		for _, t := range [2]dentition.ToothID{p.upper, p.lower} {
			if n, ok := out[t]; t != dentition.NoTooth && (!ok || g < n.gap) {
				out[t] = nearest{gap: g, site: i}
			}
		}
	}
	for t, n := range out {
		n.gap = max(0, n.gap+c.gapOff[t])
		out[t] = n
	}
	return out
}

// nearest is the least gap of a tooth and where it is.
type nearest struct {
	gap  float64
	site int
}

// correctTeeth makes the gaps of the teeth without errors the exact ones.
func (c *closed) correctTeeth(teeth []findings.CentricTooth, opening float64) {
	plain := c.toothGaps(c.gapsNow(), opening, r3.Vec{})
	c.gapOff = map[dentition.ToothID]float64{}
	for _, t := range teeth {
		if n, ok := plain[t.Tooth.Tooth()]; ok {
			c.gapOff[t.Tooth.Tooth()] = t.GapUm/1000 - n.gap
		}
	}
}

// gapAsPair is the gap of a tooth as the mounting's judgement wants it.
func (c *closed) gapAsPair(n nearest) contact.Gap {
	s := &c.sites[n.site]
	// A direction is all that is asked of the points, which lie a gap apart.
	return contact.Gap{Dist: n.gap, UpperPoint: s.point, LowerPoint: r3.Add(s.point, r3.Scale(max(n.gap, 1e-3), s.normal))}
}
