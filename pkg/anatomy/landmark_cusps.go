package anatomy

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// usualCusp is where a cusp tip usually stands, in shares of half the crown's
// mesiodistal and buccolingual size from its middle.
type usualCusp struct {
	feature Feature
	at      r2.Vec
	// sometimes is a cusp that a good tooth may lack.
	sometimes bool
}

// usualCusps are the cusps of a tooth, their number as in the handbooks, their
// places after handbook drawings of the crowns seen from above.
func usualCusps(t dentition.ToothID) []usualCusp {
	lower := t.Jaw() == dentition.Lower
	switch k := t.Type(); {
	case k == dentition.Canine:
		return []usualCusp{{CanineCusp, r2.Vec{X: 0.05, Y: 0}, false}}
	case k == dentition.FirstPremolar && lower:
		return []usualCusp{{BuccalCusp, r2.Vec{X: 0, Y: 0.2}, false}, {LingualCusp, r2.Vec{X: 0.1, Y: -0.65}, false}}
	case k == dentition.SecondPremolar && lower:
		return []usualCusp{{BuccalCusp, r2.Vec{X: 0.05, Y: 0.3}, false},
			{MesiolingualCusp, r2.Vec{X: 0.35, Y: -0.6}, false}, {DistolingualCusp, r2.Vec{X: -0.45, Y: -0.6}, true}}
	case k.Premolar():
		return []usualCusp{{BuccalCusp, r2.Vec{X: 0, Y: 0.5}, false}, {LingualCusp, r2.Vec{X: 0.1, Y: -0.5}, false}}
	case k == dentition.FirstMolar && lower:
		return []usualCusp{
			{MesiobuccalCusp, r2.Vec{X: 0.55, Y: 0.45}, false}, {DistobuccalCusp, r2.Vec{X: -0.05, Y: 0.5}, false},
			{DistalCusp, r2.Vec{X: -0.65, Y: 0.25}, false},
			{MesiolingualCusp, r2.Vec{X: 0.5, Y: -0.6}, false}, {DistolingualCusp, r2.Vec{X: -0.4, Y: -0.6}, false},
		}
	case k.Molar() && lower:
		return []usualCusp{
			{MesiobuccalCusp, r2.Vec{X: 0.5, Y: 0.45}, false}, {DistobuccalCusp, r2.Vec{X: -0.45, Y: 0.45}, false},
			{MesiolingualCusp, r2.Vec{X: 0.45, Y: -0.6}, false}, {DistolingualCusp, r2.Vec{X: -0.45, Y: -0.6}, false},
		}
	case k.Molar():
		return []usualCusp{
			{MesiobuccalCusp, r2.Vec{X: 0.5, Y: 0.5}, false}, {DistobuccalCusp, r2.Vec{X: -0.4, Y: 0.5}, false},
			{MesiolingualCusp, r2.Vec{X: 0.25, Y: -0.5}, false}, {DistolingualCusp, r2.Vec{X: -0.55, Y: -0.5}, k != dentition.FirstMolar},
		}
	}
	return nil
}

// cusp is a tip found on a relief.
type cusp struct {
	usualCusp
	vertex     int32
	tip        r3.Vec // in the relief's coordinates
	confidence float64
}

const (
	// leastProminence is how far a cusp must stand out, mm.
	leastProminence = 0.02
	// astray is how far from its usual place a cusp may stand, in the same shares.
	astray = 0.5
	// apart is the least distance of two tips, mm. The cusps of the smallest
	// premolars stand 2 mm apart.
	apart = 1.2
)

// leans are the tilts (slopes) at which a cusp is looked for, the gentlest
// first: seen from its own side of the tooth, a worn or small cusp that is not
// higher than the ridge to its neighbour still stands out. The first plain ones
// are always tried, the others only where these show nothing.
var leans = [...]float64{0, 0.35, 0.6, 1}

const plain = 2

// cusps finds the tips by their usual places: each is the most prominent spot
// near its place, seen from its own side; together they must be distinct.
func (r *Relief) cusps() []cusp {
	usual := usualCusps(r.Frame.Tooth)
	lo, hi := r.extent()
	mid, half := r3.Scale(0.5, r3.Add(lo, hi)), r3.Scale(0.5, r3.Sub(hi, lo))
	options := make([][]cusp, len(usual))
	for i, u := range usual {
		side := r2.Unit(r2.Vec{X: u.at.X * half.X, Y: u.at.Y * half.Y})
		if len(usual) == 1 {
			side = r2.Vec{}
		}
		for k := 0; k < len(leans) && (k < plain || len(options[i]) == 0); k++ {
			s := r2.Scale(leans[k], side)
			for _, p := range r.peaks(func(v int32) float64 {
				q := r.Points[v]
				return q.Z + s.X*q.X + s.Y*q.Y
			}, leastProminence) {
				q := r.Points[p.vertex]
				off := math.Hypot((q.X-mid.X)/half.X-u.at.X, (q.Y-mid.Y)/half.Y-u.at.Y)
				if off < astray && len(options[i]) < 3*min(k+1, plain) {
					sure := (1 - off/astray*off/astray/2) * p.prominence / (p.prominence + 0.1)
					c := cusp{usualCusp: u, vertex: p.vertex, tip: q, confidence: sure / float64(max(1, 2+k-plain))}
					c.settle(r)
					options[i] = append(options[i], c)
				}
			}
		}
	}
	return distinct(options)
}

// distinct picks one option of each list, or none, so that no two lie at the
// same spot and they are trusted most together.
func distinct(options [][]cusp) []cusp {
	var best, now []cusp
	bestSum := -1.0
	var choose func(i int, sum float64)
	choose = func(i int, sum float64) {
		if i == len(options) {
			if sum > bestSum {
				bestSum, best = sum, append([]cusp(nil), now...)
			}
			return
		}
	option:
		for _, c := range options[i] {
			for _, o := range now {
				if r3.Norm(r3.Sub(c.tip, o.tip)) < apart {
					continue option
				}
			}
			now = append(now, c)
			choose(i+1, sum+c.confidence)
			now = now[:len(now)-1]
		}
		choose(i+1, sum)
	}
	choose(0, 0)
	return best
}

const (
	reach  = 0.6 // radius in which the tip must be the highest spot, mm
	climb  = 2.0 // how far it may lie from where the tilted search put it, mm
	patch  = 0.4 // least radius of the surface to which the tip is fitted, mm
	widest = 1.0 // and its greatest, where the scan is coarse
	held   = 14  // vertices that hold the paraboloid's six coefficients in noise; our choice
)

// settle moves the tip from where the tilted search found it to the highest
// spot nearby, and from the vertex to the top of a paraboloid fitted around it.
// Where height only rises towards a neighbour, there is no such spot; then the
// tip stays and is trusted less.
func (c *cusp) settle(r *Relief) {
	start := r.Points[c.vertex]
	top := c.vertex
	for {
		q, next := r.Points[top], top
		for v, p := range r.Points {
			if math.Hypot(p.X-q.X, p.Y-q.Y) < reach && p.Z > r.Points[next].Z {
				next = int32(v)
			}
		}
		if next == top {
			break
		}
		if top = next; math.Hypot(r.Points[top].X-start.X, r.Points[top].Y-start.Y) > climb {
			c.confidence /= 2
			return
		}
	}
	q := r.Points[top]
	c.vertex, c.tip = top, q
	for radius := patch; radius <= widest; radius *= 1.2 {
		var fit geom.Quadric
		for _, p := range r.Points {
			if x, y := p.X-q.X, p.Y-q.Y; x*x+y*y < radius*radius && math.Abs(p.Z-q.Z) < radius {
				fit.Add(x, y, p.Z-q.Z)
			}
		}
		if fit.N < held {
			continue
		}
		if x, y, z, ok := fit.Top(); ok && math.Hypot(x, y) < radius {
			c.tip = r3.Add(q, r3.Vec{X: x, Y: y, Z: z})
		}
		return
	}
}

func (r *Relief) extent() (lo, hi r3.Vec) {
	lo, hi = r.Points[0], r.Points[0]
	for _, p := range r.Points {
		lo = r3.Vec{X: min(lo.X, p.X), Y: min(lo.Y, p.Y), Z: min(lo.Z, p.Z)}
		hi = r3.Vec{X: max(hi.X, p.X), Y: max(hi.Y, p.Y), Z: max(hi.Z, p.Z)}
	}
	return lo, hi
}
