package segment

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Handbook bucco- or labiolingual depths of the teeth 1 to 8, mm (Nelson and Ash, Wheeler's
// Dental Anatomy; some from memory).
var (
	upperDepths = [8]float64{7, 6, 8, 9, 9, 11, 11, 10}
	lowerDepths = [8]float64{6, 6.5, 7.5, 7.5, 8, 10.5, 10, 9.5}
)

// looks is what a picture shows along a band: running sums over its columns.
type looks struct {
	mass     []float64    // pixels of tooth
	evidence [9][]float64 // for each position, the evidence of those pixels for it
	of       []int32      // column of each pixel of tooth, -1 of others
}

// back is a point of the view in the frame of the scan.
func (f *view) back(p r3.Vec) r3.Vec { return r3.Add(f.origin, f.backDirection(p)) }

// backDirection is a direction of the view in the frame of the scan.
func (f *view) backDirection(d r3.Vec) r3.Vec {
	return r3.Add(r3.Add(r3.Scale(d.X, f.x), r3.Scale(d.Y, f.y)), r3.Scale(d.Z, f.z))
}

// archFrame is the frame and curve of an arch as its picture shows them.
func (p *picture) archFrame(c *curve, jaw dentition.Jaw) *archFrame {
	a := &archFrame{origin: p.origin, left: p.x, back: p.y, facing: p.z}
	sign := 1.0
	if jaw == dentition.Upper { // seen from below
		a.left, sign = r3.Scale(-1, p.x), -1
	}
	at := func(station float64) r2.Vec {
		q := c.point(station)
		return r2.Vec{X: sign * q.X, Y: q.Y}
	}
	mid := p.midline(c)
	const pace = 0.25
	n := int(math.Round(reachBack / pace))
	for i := -n; i <= n; i++ {
		a.curve, a.station = append(a.curve, at(mid+sign*float64(i)*pace)), append(a.station, float64(i)*pace)
	}
	return a
}

// midline is the station between the right and the left anterior teeth, as the picture shows them.
func (p *picture) midline(c *curve) float64 {
	sum, weight := 0.0, 0.0
	for k := range p.seen {
		if t := p.kind(k, 1); p.seen[k] && t > 0.3 {
			s, _ := c.along(center(k))
			sum, weight = sum+t*s, weight+t
		}
	}
	if weight == 0 {
		return c.station[len(c.station)-1] / 2
	}
	return sum / weight
}

// looks lays the pixels of teeth along a band; shares of positions below least count as least.
func (p *picture) looks(b *band, a *archFrame, least float64) *looks {
	if p == nil {
		return nil
	}
	n := len(b.top)
	l := &looks{mass: make([]float64, n+1), of: make([]int32, size*size)}
	for k := range l.evidence {
		l.evidence[k] = make([]float64, n+1)
	}
	for k := range p.seen {
		l.of[k] = -1
		t := p.tooth(k)
		if t <= 0.5 {
			continue
		}
		q := center(k)
		o := p.Offset[k]
		u, _ := a.plan(p.back(r3.Vec{X: q.X + gathered*float64(o[0]), Y: q.Y + gathered*float64(o[1]), Z: p.height[k]}))
		s, out := a.along(u)
		i := b.column(s)
		if i < 0 || i >= n || math.Abs(out) > offCurve {
			continue
		}
		l.of[k] = int32(i)
		l.mass[i+1]++
		for n := 1; n <= 8; n++ {
			l.evidence[n][i+1] += portable.Log(max(least, p.kind(k, n)/t))
		}
	}
	for i := range n {
		l.mass[i+1] += l.mass[i]
		for n := 1; n <= 8; n++ {
			l.evidence[n][i+1] += l.evidence[n][i]
		}
	}
	return l
}

// offCurve is how far from the curve pixels of teeth count, mm.
const offCurve = 9.0

// gathered is how much of the way to the middle of its tooth a pixel is moved: the network's
// middles are about right, and teeth part better so.
const gathered = 0.6

// tooth is the cost of the pixels between two columns for a tooth of a position and of some
// width and depth, mm.
func (l *looks) tooth(w *weights, position, start, end int, width, depth float64) float64 {
	if l == nil {
		return 0
	}
	mass := l.mass[end] - l.mass[start]
	cost := -w.looks * (l.evidence[position][end] - l.evidence[position][start])
	switch share := mass * pixel * pixel / (width * depth); {
	case share > 1:
		z := logRatio(share) / w.area
		cost += z * z / 2
	case share < w.bare:
		z := (w.bare - share) / w.bareSpread
		cost += z * z / 2
	}
	if cost = min(cost, w.most); position == 8 {
		cost += w.third
	}
	return cost
}

// free is the cost of columns without tooth.
func (l *looks) free(w *weights, start, end int) float64 {
	if l == nil {
		return 0
	}
	return w.looks * w.idle * (l.mass[end] - l.mass[start])
}

// border is the cost of a border at a column.
func (l *looks) border(w *weights, i int) float64 {
	if l == nil {
		return 0
	}
	lo, hi := max(0, i-1), min(len(l.mass)-1, i+1)
	return w.border * (l.mass[hi] - l.mass[lo])
}

// logRatio is ln x near 1 by a rational form that is the same on every processor (its
// error is below 0.01 between 0.5 and 2).
func logRatio(x float64) float64 {
	t := (x - 1) / (x + 1)
	return 2 * t * (1 + t*t/3)
}
