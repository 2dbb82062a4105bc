package facet

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/geom"
	"gonum.org/v1/gonum/spatial/r3"
)

// rim is how the surface runs across the rim of a patch: means over the rim, in
// degrees against the patch's plane, positive where it falls outwards.
type rim struct {
	verts []int32 // of the patch, with a triangle outside
	// outside and inside are the tilts in the first step beyond the rim and in the
	// second step within it.
	outside, inside float64
	bend            float64 // root mean square of the turn from just within to beyond
	share           float64 // of the rim that turns by facetBend, either way
}

// bounds finds the rim and the area within it, and marks the patch's triangles.
func (s *skin) bounds(p *flat) {
	s.patch++
	p.area = 0
	for _, t := range p.tris {
		s.inside[t] = s.patch
		p.area += s.area[t]
	}
	p.rim.verts = p.rim.verts[:0]
	for _, v := range p.verts {
		for _, t := range s.at(v) {
			if s.inside[t] != s.patch {
				p.rim.verts = append(p.rim.verts, v)
				break
			}
		}
	}
}

// dome is the larger principal curvature, 1/mm, of a quadric fitted to a patch,
// as its size.
func (s *skin) dome(p *flat) (float64, bool) {
	u, w := p.axes()
	var q geom.Quadric
	for _, v := range p.verts {
		d := r3.Sub(s.Points[v], p.plane.at)
		q.Add(r3.Dot(d, u), r3.Dot(d, w), r3.Dot(d, p.n))
	}
	k, ok := q.Solve()
	if !ok {
		return 0, false
	}
	// Second derivatives at the middle, where the slope is nearly 0.
	a, b, c := 2*k[3], k[4], 2*k[5]
	return math.Abs(a+c)/2 + math.Hypot((a-c)/2, b), true
}

// The widths, in mm, over which the surface is looked at on both sides of a rim,
// and what a wall beside a patch counts at most, in degrees.
const (
	rimStep  = 0.3
	tiltMost = 45.0
)

// acrossRim is what is seen at a vertex of the rim.
type acrossRim struct {
	outward r3.Vec
	tilt    [3]float64 // sums over the area farther inside, just inside and outside
	area    [3]float64
}

func (a *acrossRim) add(b *acrossRim) {
	for k := range a.tilt {
		a.tilt[k] += b.tilt[k]
		a.area[k] += b.area[k]
	}
}

// beside is a triangle on either side of a rim, its nearest vertex there and the
// way from there to its middle.
type beside struct {
	tri, rim int32
	way      r3.Vec
	far      float64 // its length, mm
}

// survey goes from the rim over the patch and the first step beyond, lists the
// triangles there in s.beside, and gives the patch's width: the radius, mm, of the
// widest circle in it, as the greatest distance of its triangles' middles from the
// rim's vertices.
func (s *skin) survey(p *flat) (width float64) {
	step := max(rimStep, s.edge)
	reach := step + s.edge
	s.walk++
	walk, patch, vertex, nearest := s.walk, s.patch, s.vertex, s.nearest
	near, seen := s.near[:0], s.seen[:0]
	for _, v := range p.rim.verts {
		vertex[v], nearest[v] = walk, v
		near = append(near, v)
	}
	for k := 0; k < len(near); k++ {
		v := near[k]
		if nearest[v] != v {
			s.settle(v)
		}
		from := s.Points[nearest[v]]
		for _, t := range s.at(v) {
			if s.tri[t] == walk {
				continue
			}
			s.tri[t] = walk
			seen = append(seen, t)
			for _, w := range s.Triangles[t] {
				if vertex[w] != walk && (s.inside[t] == patch || r3.Norm2(r3.Sub(s.Points[w], from)) <= reach*reach) {
					vertex[w], nearest[w] = walk, nearest[v]
					near = append(near, w)
				}
			}
		}
	}
	s.near, s.seen, s.beside = near, seen, s.beside[:0]
	for _, t := range seen {
		b := beside{tri: t}
		m, least := s.middle[t], math.Inf(1)
		for _, v := range s.Triangles[t] {
			if vertex[v] != walk {
				continue
			}
			d := r3.Sub(m, s.Points[nearest[v]])
			if l := r3.Norm2(d); l < least {
				b.rim, b.way, least = nearest[v], d, l
			}
		}
		b.far = math.Sqrt(least)
		if s.inside[t] == patch {
			width = max(width, b.far)
		} else if b.far > step {
			continue
		}
		s.beside = append(s.beside, b)
	}
	return width
}

// settle takes the nearest of the rim's vertices that a vertex's neighbours know.
func (s *skin) settle(v int32) {
	at, mine := s.Points[v], s.nearest[v]
	other := mine // the last that was tried
	best := r3.Norm2(r3.Sub(at, s.Points[mine]))
	for _, w := range s.Next[v] {
		n := s.nearest[w]
		if s.vertex[w] != s.walk || n == mine || n == other {
			continue
		}
		other = n
		if d := r3.Norm2(r3.Sub(at, s.Points[n])); d < best {
			mine, best = n, d
		}
	}
	s.nearest[v] = mine
}

// measureRim looks across the rim at each of its vertices, after a survey.
func (s *skin) measureRim(p *flat) {
	step := max(rimStep, s.edge)
	for _, v := range p.rim.verts {
		s.across[v] = acrossRim{}
	}
	for i := range s.beside {
		if b := &s.beside[i]; b.far <= step {
			k := s.area[b.tri]
			if s.inside[b.tri] == s.patch {
				k = -k
			}
			a := &s.across[b.rim]
			a.outward = r3.Add(a.outward, r3.Scale(k, b.way))
		}
	}
	for _, v := range p.rim.verts {
		o := s.across[v].outward
		o = r3.Sub(o, r3.Scale(r3.Dot(o, p.n), p.n))
		if l := r3.Norm2(o); l > 0 {
			o = r3.Scale(1/math.Sqrt(l), o)
		}
		s.across[v].outward = o
	}
	for i := range s.beside {
		b := &s.beside[i]
		k := 2
		if s.inside[b.tri] == s.patch {
			k = 1
			if b.far > step {
				k = 0
			}
		}
		if b.far > 2*step {
			continue
		}
		a, n := &s.across[b.rim], s.normal[b.tri]
		tilt := math.Atan2(r3.Dot(n, a.outward), r3.Dot(n, p.n)) * 180 / math.Pi
		a.tilt[k] += s.area[b.tri] * max(-tiltMost, min(tiltMost, tilt))
		a.area[k] += s.area[b.tri]
	}
	var inside, outside, sq, n, bent float64
	for _, v := range p.rim.verts {
		a := s.across[v]
		for _, w := range s.Next[v] { // neighbours on the rim are taken together
			if s.vertex[w] == s.walk && s.nearest[w] == w {
				a.add(&s.across[w])
			}
		}
		if a.area[1] == 0 || a.area[2] == 0 {
			continue
		}
		n++
		just, out := a.tilt[1]/a.area[1], a.tilt[2]/a.area[2]
		outside += out
		if a.area[0] > 0 {
			inside += a.tilt[0] / a.area[0]
		} else {
			inside += just
		}
		turn := out - just
		if math.Abs(turn) > facetBend {
			bent++
		}
		sq += turn * turn
	}
	if n > 0 {
		p.rim.share, p.rim.bend, p.rim.inside, p.rim.outside = bent/float64(len(p.rim.verts)), math.Sqrt(sq/n), inside/n, outside/n
	}
}
