package segment

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r2"
)

// Handbook bucco- or labiolingual depths of the teeth 1 to 8, mm (Nelson and Ash, Wheeler's
// Dental Anatomy; some from memory).
var (
	upperDepths = [8]float64{7, 6, 8, 9, 9, 11, 11, 10}
	lowerDepths = [8]float64{6, 6.5, 7.5, 7.5, 8, 10.5, 10, 9.5}
)

const (
	bin         = 0.25  // mm along the curve that are taken together
	gathered    = 0.6   // of the way to the middle of its tooth that a pixel is moved
	looksWeight = 0.025 // weight of a pixel's evidence: neighbours say the same
	leastShare  = 0.05  // share below which the network's evidence does not count more
	idle        = 6.0   // cost of a pixel of tooth that no tooth takes, as evidence
	valleyCost  = 0.10  // of a border, for every pixel that lies within a bin of it
	widthDoubt  = 0.17  // of a width: standard deviation among people and readings
	areaDoubt   = 0.13  // of an area beyond width times depth, likewise
	scaleDoubt  = 0.08  // of all widths of a person together
	loss        = 5.0   // cost of a missing tooth
	lossThird   = 0.3   // of a missing third molar
	thirdCost   = 3.0   // of a third molar
	gapCost     = 0.03  // of a bin between two teeth
	thin        = 12.0  // pixels: less of a tooth than that is none
)

// places are those of a row: 0 to 7 the teeth 8 to 1 of the side where the curve begins, 8 to
// 15 the teeth 1 to 8 of the other.
const places = 16

func kindAt(place int) int {
	if place < 8 {
		return 8 - place
	}
	return place - 7
}

// toothAt is the code of a place. The curve begins where x is negative: in the view
// of an upper arch, whose occlusal side is seen from below, that is the patient's left,
// of a lower one, seen from above, the right.
func toothOf(jaw dentition.Jaw, place int) dentition.ToothID {
	quadrant := 4
	switch {
	case jaw == dentition.Upper && place < 8:
		quadrant = 2
	case jaw == dentition.Upper:
		quadrant = 1
	case place >= 8:
		quadrant = 3
	}
	return dentition.ToothID(quadrant*10 + kindAt(place))
}

// placeOf is the place of a tooth in the row of its jaw.
func rowPlace(t dentition.ToothID) int {
	for p := range places {
		if toothOf(t.Jaw(), p) == t {
			return p
		}
	}
	return -1
}

// stretch is a tooth of the row.
type stretch struct {
	place      int
	start, end int // bins
}

// row is the evidence along the curve.
type row struct {
	jaw  dentition.Jaw
	bins int
	pins []pin
	// Usual widths along the row and depths across it, mm.
	widths, depths [8]float64
	// Running sums over the bins: pixels of tooth, and for each position the evidence for it.
	mass     []float64
	evidence [9][]float64
	of       []int32 // bin of each pixel of tooth, -1 of others
}

// pin is what a person says about a bin: a place, or noPlace for no tooth.
type pin struct{ bin, place int }

// newRow lays the pixels of teeth along the curve.
func newRow(p *picture, c *curve, jaw dentition.Jaw, pins []pin) *row {
	r := &row{jaw: jaw, pins: pins, widths: upperWidths, depths: upperDepths,
		bins: int(c.station[len(c.station)-1]/bin) + 1, of: make([]int32, size*size)}
	if jaw == dentition.Lower {
		r.widths, r.depths = lowerWidths, lowerDepths
	}
	r.mass = make([]float64, r.bins+1)
	for k := range r.evidence {
		r.evidence[k] = make([]float64, r.bins+1)
	}
	for k := range p.seen {
		r.of[k] = -1
		t := p.tooth(k)
		if t <= 0.5 {
			continue
		}
		q := center(k)
		o := p.Offset[k]
		s, off := c.along(r2.Add(q, r2.Scale(gathered, r2.Vec{X: float64(o[0]), Y: float64(o[1])})))
		if off > 9 {
			continue
		}
		b := min(max(int(s/bin), 0), r.bins-1)
		r.of[k] = int32(b)
		r.mass[b+1]++
		for n := 1; n <= 8; n++ {
			r.evidence[n][b+1] += portable.Log(max(leastShare, p.kind(k, n)/t))
		}
	}
	for b := range r.bins {
		r.mass[b+1] += r.mass[b]
		for n := 1; n <= 8; n++ {
			r.evidence[n][b+1] += r.evidence[n][b]
		}
	}
	return r
}

// reading is a row of teeth and what it costs, as a negative logarithm of likelihood.
type reading struct {
	cost  float64
	teeth []stretch
}

// read finds the most likely row of teeth, over all sizes of dentition.
func (r *row) read() reading {
	best := reading{cost: math.Inf(1)}
	for _, scale := range [...]float64{0.84, 0.92, 1, 1.08, 1.16} {
		z := (scale - 1) / scaleDoubt
		if got := r.solve(scale); got.cost+z*z/2 < best.cost {
			best = got
			best.cost += z * z / 2
		}
	}
	return best
}

// tooth is the cost of a tooth of a place between two bins.
func (r *row) tooth(place, start, end int, scale float64) float64 {
	named := false // by a person: then its looks tell nothing
	for _, p := range r.pins {
		if p.bin >= start && p.bin < end {
			if p.place != place {
				return math.Inf(1)
			}
			named = true
		}
	}
	n := kindAt(place)
	mass := r.mass[end] - r.mass[start]
	if mass < thin {
		return math.Inf(1)
	}
	z := logRatio(float64(end-start)*bin/(r.widths[n-1]*scale)) / widthDoubt
	if over := mass * pixel * pixel / (r.widths[n-1] * scale * r.depths[n-1] * scale); over > 1 {
		over = logRatio(over) / areaDoubt
		z = math.Sqrt(z*z + over*over)
	}
	cost := z * z / 2
	if !named {
		cost -= looksWeight * (r.evidence[n][end] - r.evidence[n][start])
	}
	if n == 8 {
		cost += thirdCost
	}
	return cost
}

// logRatio is ln x near 1 by a rational form that is the same on every processor (its
// error is below 0.01 between 0.5 and 2).
func logRatio(x float64) float64 {
	t := (x - 1) / (x + 1)
	return 2 * t * (1 + t*t/3)
}

// border is the cost of a border before a bin.
func (r *row) border(b int) float64 {
	lo, hi := max(0, b-1), min(r.bins, b+1)
	return valleyCost * (r.mass[hi] - r.mass[lo])
}

// missing is the cost of leaving out the places from lo to before hi.
func (r *row) missing(lo, hi int) float64 {
	c := 0.0
	for p := lo; p < hi; p++ {
		for _, q := range r.pins {
			if q.place == p {
				return math.Inf(1)
			}
		}
		if kindAt(p) == 8 {
			c += lossThird
		} else {
			c += loss
		}
	}
	return c
}

// solve finds the row of least cost by dynamic programming over the places and bins.
func (r *row) solve(scale float64) reading {
	type state struct {
		cost  float64
		start int32 // the tooth's first bin
	}
	inf := math.Inf(1)
	// An open state stands between teeth: the last one's place, -1 before the first, and
	// the bin where it ended.
	type open struct {
		cost       float64
		place, end int32
	}
	n := r.bins
	done := make([][]state, places)
	for p := range done {
		done[p] = make([]state, n+1)
		for b := range done[p] {
			done[p][b].cost = inf
		}
	}
	gapTo := make([][]open, places+1) // gapTo[p]: cheapest way to stand free at a bin before place p
	step := func(b int) float64 {
		for _, p := range r.pins {
			if p.bin == b && p.place != noPlace {
				return inf
			}
		}
		return gapCost + looksWeight*idle*(r.mass[b+1]-r.mass[b])
	}
	for p := 0; p <= places; p++ {
		g := make([]open, n+1)
		for b := 0; b <= n; b++ {
			g[b] = open{cost: inf, place: -1}
			if b == 0 {
				g[b].cost = r.missing(0, p)
			} else {
				g[b] = g[b-1]
				g[b].cost += step(b - 1)
			}
			for q := 0; q < p; q++ {
				if c := done[q][b].cost + r.missing(q+1, p); c < g[b].cost {
					g[b] = open{c, int32(q), int32(b)}
				}
			}
		}
		gapTo[p] = g
		if p == places {
			break
		}
		w := r.widths[kindAt(p)-1] * scale / bin
		for a := 0; a < n; a++ {
			if g[a].cost == inf {
				continue
			}
			first := g[a].cost + r.border(a)
			for e := a + int(0.6*w); e <= min(n, a+int(1.5*w)); e++ {
				if c := first + r.tooth(p, a, e, scale) + r.border(e); c < done[p][e].cost {
					done[p][e] = state{c, int32(a)}
				}
			}
		}
	}
	out := reading{cost: gapTo[places][n].cost}
	p, end := gapTo[places][n].place, gapTo[places][n].end
	for p >= 0 {
		s := done[p][end]
		out.teeth = append(out.teeth, stretch{place: int(p), start: int(s.start), end: int(end)})
		before := gapTo[p][s.start]
		p, end = before.place, before.end
	}
	for i, j := 0, len(out.teeth)-1; i < j; i, j = i+1, j-1 {
		out.teeth[i], out.teeth[j] = out.teeth[j], out.teeth[i]
	}
	return out
}
