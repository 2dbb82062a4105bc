package dentition

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// rim is how the surface runs across the rim of a patch: means over the rim, in
// degrees against the patch's plane, positive where it falls outwards.
type rim struct {
	verts []int32 // of the patch, with a neighbour outside
	// outside and inside are the tilts of the first step beyond the rim and of the
	// second step within it.
	outside, inside float64
	bend            float64 // from just within the rim to beyond it, see facetRise
	share           float64 // of the rim that bends by facetBend, either way
}

// bounds finds the rim and the area within it.
func (s *skin) bounds(p *flat) {
	s.patch++
	for _, v := range p.verts {
		s.inside[v] = s.patch
	}
	for _, v := range p.verts {
		share := 1.0
		for _, w := range s.next[v] {
			if s.inside[w] != s.patch {
				share = 0.5 // of a vertex on the rim about half the area lies within
				p.rim.verts = append(p.rim.verts, v)
				break
			}
		}
		p.area += share * s.weight[v]
	}
}

// dome is the larger principal curvature, 1/mm, of a quadric fitted to a patch,
// as its size.
func (s *skin) dome(p *flat) (float64, bool) {
	k, ok := s.quadric(p.plane, p.verts)
	if !ok {
		return 0, false
	}
	// Second derivatives at the middle, where the slope is nearly 0.
	a, b, c := 2*k[3], k[4], 2*k[5]
	return math.Abs(a+c)/2 + math.Hypot((a-c)/2, b), true
}

// tiltMost bounds what a wall beside a patch counts, degrees.
const tiltMost = 45.0

// rimProbe is every how many vertices of the rim a patch is looked at first.
const rimProbe = 4

// measureRim looks across the rim at each of its vertices, as long as promising,
// told of a first share of them, says yes.
func (s *skin) measureRim(p *flat, promising func() bool) {
	var sum [3]float64
	n, bent, looked, bend := 0.0, 0.0, 0.0, 0.0
	for start := range rimProbe {
		for i := start; i < len(p.rim.verts); i += rimProbe {
			looked++
			t, ok := s.across(p, p.rim.verts[i])
			if !ok {
				continue
			}
			n++
			for k := range sum {
				sum[k] += t[k]
			}
			turn := t[2] - t[1]
			if math.Abs(turn) > facetBend {
				bent++
			}
			bend += max(turn, -facetRise*turn)
		}
		if n > 0 {
			p.rim.share, p.rim.bend, p.rim.inside, p.rim.outside = bent/looked, bend/n, sum[0]/n, sum[2]/n
		}
		if start == 0 && !promising() {
			return
		}
	}
}

// across is the mean outward tilt of the surface, degrees, on a line across the
// rim at v: farther inside, just inside and just outside. It fails where one of
// the latter two is missing.
func (s *skin) across(p *flat, v int32) (t [3]float64, ok bool) {
	ball := s.ball(v, 1.8*s.step)
	var in, out r3.Vec
	var wi, wo float64
	for _, i := range ball {
		d := r3.Sub(s.verts[i], s.verts[v])
		switch {
		case r3.Norm2(d) > 2.25*s.step*s.step:
		case s.inside[i] == s.patch:
			in, wi = r3.Add(in, r3.Scale(s.weight[i], d)), wi+s.weight[i]
		default:
			out, wo = r3.Add(out, r3.Scale(s.weight[i], d)), wo+s.weight[i]
		}
	}
	if wi == 0 || wo == 0 {
		return t, false
	}
	o := r3.Sub(r3.Scale(1/wo, out), r3.Scale(1/wi, in))
	o = r3.Sub(o, r3.Scale(r3.Dot(o, p.n), p.n))
	if r3.Norm(o) == 0 {
		return t, false
	}
	o = r3.Unit(o)
	side := r3.Cross(p.n, o)
	var w [3]float64
	for _, i := range ball {
		d := r3.Sub(s.verts[i], s.verts[v])
		if math.Abs(r3.Dot(d, side)) > s.step {
			continue
		}
		// The rim is half a step outside its vertices.
		k := int(math.Floor(r3.Dot(d, o)/s.step-0.5)) + 2
		if k < 0 || k > 2 || (k == 2) == (s.inside[i] == s.patch) {
			continue
		}
		tilt := math.Atan2(r3.Dot(s.normal[i], o), r3.Dot(s.normal[i], p.n)) * 180 / math.Pi
		t[k] += s.weight[i] * max(-tiltMost, min(tiltMost, tilt))
		w[k] += s.weight[i]
	}
	for k := range t {
		if w[k] > 0 {
			t[k] /= w[k]
		}
	}
	if w[0] == 0 {
		t[0] = t[1]
	}
	return t, w[1] > 0 && w[2] > 0
}
