package sampling

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/drift"
	"github.com/cusptrace/cusptrace/internal/par"
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

// nearMM is how near surfaces must come, closed, to take part in how casts seat and close:
// several times what samples move them by.
const nearMM = 0.6

// spotMM is how far apart places on a triangle are at most looked at, mm: a fraction of a
// contact.
const spotMM = 0.3

// site is a place where the casts come near each other when closed: a point of one and the
// surface of the other.
type site struct {
	row    kinematics.Twist // change of the gap with a twist of the lower cast
	gap    float64          // mm, negative where the surfaces overlap
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
	// openingOff is by how much each pair's opening differs, without errors, from the exact one,
	// which also sees edges cross.
	openingOff []float64
	// seatZero is where the casts seat without errors.
	seatZero kinematics.Twist
}

// pairOf is an opposing pair of teeth.
type pairOf struct{ upper, lower dentition.ToothID }

// newClosed gathers the sites of two casts as they stand.
func newClosed(ctx context.Context, upper, lower *casts.Cast, modes [2]*drift.Modes, workers int) (*closed, error) {
	out := &closed{}
	for _, x := range [2]struct{ of, to *casts.Cast }{{lower, upper}, {upper, lower}} {
		found, err := facing(ctx, x.of, x.to, workers)
		if err != nil {
			return nil, err
		}
		for _, f := range found {
			p := pairOf{f.of, f.to}
			n := f.away
			if x.of == lower {
				p = pairOf{f.to, f.of}
			} else {
				n = r3.Scale(-1, n)
			}
			if upper.Teeth != nil && lower.Teeth != nil && (p.upper == dentition.NoTooth || p.lower == dentition.NoTooth) {
				continue
			}
			k := slices.Index(out.pairs, p)
			if k < 0 {
				k = len(out.pairs)
				out.pairs = append(out.pairs, p)
			}
			out.sites = append(out.sites, site{gap: f.gap, normal: n, point: f.point, pair: int32(k),
				up: modes[0].Place(f.point), lo: modes[1].Place(f.point)})
		}
	}
	out.measure()
	return out, nil
}

// pressedMM is how near triangles of seated casts must come to take part in where they seat
// otherwise: several times what samples move them by.
const pressedMM = 0.12

// newPressed gathers the pairs of triangles that come near each other where casts seat, of each
// triangle the nearest: their separating planes, exact also where edges cross.
func newPressed(upper, lower *casts.Cast, modes [2]*drift.Modes) *closed {
	out := &closed{}
	var pairs []contact.Pair
	var scratch contact.GapScratch
	all, _ := settle.ExactGaps(kinematics.TwistFrame{Length: 1}, upper.Index, lower.Index, kinematics.Pose{}, pressedMM, &pairs, &scratch)
	least := [2]map[mesh.TriID]int{{}, {}}
	for i := range all.D {
		for k, t := range [2]mesh.TriID{all.At[i].Upper, all.At[i].Lower} {
			if j, ok := least[k][t]; !ok || all.D[i] < all.D[j] {
				least[k][t] = i
			}
		}
	}
	for i := range all.D {
		if at := &all.At[i]; least[0][at.Upper] == i || least[1][at.Lower] == i {
			out.sites = append(out.sites, site{gap: all.D[i], normal: at.Normal, point: at.Point,
				up: modes[0].Place(at.Point), lo: modes[1].Place(at.Point)})
		}
	}
	out.measure()
	return out
}

// measure lays the frame of twists about the middle of the sites.
func (c *closed) measure() {
	points, weight := make([]r3.Vec, len(c.sites)), make([]float64, len(c.sites))
	for i := range c.sites {
		points[i], weight[i] = c.sites[i].point, 1
		c.frame.Centre = r3.Add(c.frame.Centre, r3.Scale(1/float64(len(c.sites)), points[i]))
	}
	sq := 0.0
	for _, p := range points {
		sq += r3.Norm2(r3.Sub(p, c.frame.Centre)) / float64(len(points))
	}
	c.frame.Length = math.Sqrt(sq)
	c.metric = c.frame.Metric(points, weight)
	for i := range c.sites {
		c.sites[i].row = c.frame.Along(c.sites[i].point, c.sites[i].normal)
	}
}

// spot is a place of one cast that faces the other.
type spot struct {
	of, to dentition.ToothID
	gap    float64
	point  r3.Vec
	away   r3.Vec // unit, the way in which the place leaves the other cast
}

// facingChunk is the triangles that one worker takes at a time.
const facingChunk = 2048

// facing lists the places of a cast that come near another.
func facing(ctx context.Context, of, to *casts.Cast, workers int) ([]spot, error) {
	m := of.Mesh()
	chunks := make([][]spot, (m.NumTriangles()+facingChunk-1)/facingChunk)
	// A corner belongs to the first triangle that has it.
	own := make([]mesh.TriID, m.NumVertices())
	for t, c := range m.All() {
		for _, v := range c {
			if own[v] == 0 {
				own[v] = t + 1
			}
		}
	}
	err := par.Chunks(ctx, m.NumTriangles(), facingChunk, workers, func(_, lo, hi int) error {
		var out []spot
		for t := mesh.TriID(lo); int(t) < hi; t++ {
			c := m.Triangle(t)
			a, b, d := m.Corners(t)
			for k, q := range [3]r3.Vec{a, b, d} {
				if own[c[k]] == t+1 {
					out = appendSpot(out, q, of.Tooth(t), to)
				}
			}
			longest := math.Sqrt(max(r3.Norm2(r3.Sub(b, a)), r3.Norm2(r3.Sub(d, b)), r3.Norm2(r3.Sub(a, d))))
			// The middles of equal parts of a large triangle.
			n := int(longest / spotMM)
			for i := range n {
				for j := range n - i {
					u, v := (float64(i)+1./3)/float64(n), (float64(j)+1./3)/float64(n)
					q := r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(v, r3.Sub(d, a))))
					out = appendSpot(out, q, of.Tooth(t), to)
				}
			}
		}
		chunks[lo/facingChunk] = out
		return nil
	})
	return slices.Concat(chunks...), err
}

// appendSpot appends a place if it comes near a cast and its side of it is known.
func appendSpot(dst []spot, q r3.Vec, tooth dentition.ToothID, to *casts.Cast) []spot {
	h, ok := to.Index.Nearest(q, nearMM)
	if !ok {
		return dst
	}
	inside, trusted := to.Sides.Inside(h, q)
	if !trusted {
		return dst
	}
	d, n := h.Dist, r3.Sub(q, h.Point)
	if inside {
		d, n = -d, r3.Scale(-1, n)
	}
	if h.Dist < 1e-6 { // the points tell no direction
		n = to.Mesh().AreaVector(h.Tri)
	}
	size := r3.Norm(n)
	if size == 0 {
		return dst
	}
	return append(dst, spot{of: tooth, to: to.Tooth(h.Tri), gap: d, point: q, away: r3.Scale(1/size, n)})
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
