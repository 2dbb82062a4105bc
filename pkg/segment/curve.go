package segment

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// curve is the middle line of the crowns in the plan, a chain of points from one end of
// the arch to the other, x falling at its front.
type curve struct {
	points  []r2.Vec
	station []float64 // way along the chain to each point, mm
}

const (
	rays      = 90   // directions in which crowns are looked for
	behind    = 0.70 // of the way from the foremost to the hindmost crown: where the rays start
	rayReach  = 3    // rays averaged at either side
	beyondEnd = 8.0  // mm by which the curve goes on straight at its ends
)

// middleLine lays a curve through the crowns: seen from a point inside the arch, their
// mean distance in every direction. The mean is over neighbouring directions, so that the
// line runs on over a gap.
func (p *picture) middleLine() (*curve, bool) {
	front, back, left, right := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for k := range p.seen {
		if p.tooth(k) > toothly {
			q := center(k)
			front, back = min(front, q.Y), max(back, q.Y)
			left, right = min(left, q.X), max(right, q.X)
		}
	}
	if math.IsInf(front, 1) {
		return nil, false
	}
	from := r2.Vec{X: (left + right) / 2, Y: front + behind*(back-front)}
	var sum, weight [rays]float64
	for k := range p.seen {
		t := p.tooth(k)
		if t <= 0.5 {
			continue
		}
		d := r2.Sub(center(k), from)
		r := r2.Norm(d)
		// The angle from straight back, so that an arch lies in one piece.
		i := int((math.Atan2(d.X, -d.Y)/math.Pi + 1) / 2 * rays)
		i = min(max(i, 0), rays-1)
		sum[i] += t * r
		weight[i] += t
	}
	c := &curve{}
	for i := range rays {
		s, w := 0.0, 0.0
		for j := max(0, i-rayReach); j <= min(rays-1, i+rayReach); j++ {
			f := 1 / (1 + float64((i-j)*(i-j))/2)
			s, w = s+f*sum[j], w+f*weight[j]
		}
		if w < 1 {
			continue
		}
		sin, cos := math.Sincos(((float64(i)+0.5)/rays*2 - 1) * math.Pi)
		c.points = append(c.points, r2.Add(from, r2.Scale(s/w, r2.Vec{X: sin, Y: -cos})))
	}
	if len(c.points) < 4 {
		return nil, false
	}
	n := len(c.points)
	first := r2.Add(c.points[0], r2.Scale(beyondEnd, r2.Unit(r2.Sub(c.points[0], c.points[2]))))
	last := r2.Add(c.points[n-1], r2.Scale(beyondEnd, r2.Unit(r2.Sub(c.points[n-1], c.points[n-3]))))
	c.points = append(append([]r2.Vec{first}, c.points...), last)
	c.station = make([]float64, len(c.points))
	for i := 1; i < len(c.points); i++ {
		c.station[i] = c.station[i-1] + r2.Norm(r2.Sub(c.points[i], c.points[i-1]))
	}
	return c, true
}

// along is the station of the point of the curve that is nearest to q, and how far q is
// from it, mm.
func (c *curve) along(q r2.Vec) (station, off float64) {
	off = math.Inf(1)
	for i := 1; i < len(c.points); i++ {
		a, b := c.points[i-1], c.points[i]
		d := r2.Sub(b, a)
		l := r2.Norm2(d)
		if l == 0 {
			continue
		}
		t := max(0, min(1, r2.Dot(r2.Sub(q, a), d)/l))
		if r := r2.Norm(r2.Sub(q, r2.Add(a, r2.Scale(t, d)))); r < off {
			off, station = r, c.station[i-1]+t*math.Sqrt(l)
		}
	}
	return station, off
}

// point is the point of the curve at a station, mm, straight on beyond its ends.
func (c *curve) point(station float64) r2.Vec {
	i := 1
	for i < len(c.points)-1 && c.station[i] < station {
		i++
	}
	a, b := c.points[i-1], c.points[i]
	t := (station - c.station[i-1]) / max(c.station[i]-c.station[i-1], 1e-9)
	return r2.Add(a, r2.Scale(t, r2.Sub(b, a)))
}
