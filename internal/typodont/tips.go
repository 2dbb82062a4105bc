package typodont

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	tipReach = 0.9  // how far a cusp's tip may lie from its place in the plan, mm
	tipStart = 0.1  // first step uphill, mm
	tipFine  = 2e-3 // the last one
	tipSpan  = 0.6  // how far the surface may lie above or below where it is looked for, mm
)

// A tip is that of a cusp as built, and the vertex next to it, with which it moves.
type tip struct {
	at, from r3.Vec
	vertex   int
}

// setTips finds the cusps' tips on the surface as built, between the vertices of its
// mesh. The surface is where value, of a tooth and a point, is zero.
func (s *scan) setTips(value func(tooth int, p r3.Vec) float64) {
	s.tips = make([][]tip, len(s.teeth))
	for i := range s.teeth {
		t := &s.teeth[i]
		if t.gone {
			continue
		}
		for _, q := range t.crown.cusps {
			k := tip{at: s.top(i, q.m, q.b, func(p r3.Vec) float64 { return value(i, p) })}
			near := math.Inf(1)
			for v, p := range s.verts {
				if d := r3.Norm2(r3.Sub(p, k.at)); s.tooth[v] == i && d < near {
					k.vertex, k.from, near = v, p, d
				}
			}
			s.tips[i] = append(s.tips[i], k)
		}
	}
}

// top is the tip of the cusp at local (m, b): the spot uphill of its highest vertex or,
// where that slopes up to something else, of its place.
func (s *scan) top(tooth int, m, b float64, value func(r3.Vec) float64) r3.Vec {
	t := &s.teeth[tooth]
	x, y, o := t.local(s.highest(tooth, m, b, tipReach))
	at := t.climb(x, y, o, value)
	if x, y, _ = t.local(at); math.Hypot(x-m, y-b) < tipReach {
		return at
	}
	_, _, o = t.local(t.surfaceAt(m, b))
	return t.climb(m, b, o, value)
}

// climb goes from local (m, b), near the height o, uphill to the spot of the surface
// that is farthest along the tooth's axis.
func (t *tooth) climb(m, b, o float64, value func(r3.Vec) float64) r3.Vec {
	height := func(m, b, near float64) float64 {
		lo, hi := t.world(m, b, near-tipSpan), t.world(m, b, near+tipSpan)
		below, above := value(lo), value(hi)
		if below > 0 || above < 0 {
			return math.Inf(-1)
		}
		return near - tipSpan + 2*tipSpan*root(value, lo, hi, below, above)
	}
	if h := height(m, b, o); !math.IsInf(h, -1) {
		o = h // carved
	}
	for step := tipStart; step > tipFine; {
		dm, db, top := 0.0, 0.0, o
		for k := range 8 {
			sin, cos := math.Sincos(float64(k) * pi / 4)
			if h := height(m+step*cos, b+step*sin, o); h > top {
				dm, db, top = step*cos, step*sin, h
			}
		}
		if top == o {
			step /= 2
		}
		m, b, o = m+dm, b+db, top
	}
	return t.world(m, b, o)
}

// tipOf is a cusp's tip on the finished surface. That of a ground cusp lies on the
// flat, where the tip was.
func (s *scan) tipOf(tooth, cusp int) r3.Vec {
	k := s.tips[tooth][cusp]
	return r3.Add(k.at, r3.Sub(s.verts[k.vertex], k.from))
}
