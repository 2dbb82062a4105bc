package dentition

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// skin is a relief with what its patches are judged by.
type skin struct {
	*relief
	normal []r3.Vec  // outward unit normals in the relief's coordinates
	weight []float64 // area that belongs to a vertex, mm²
	step   float64   // mean length of an edge, at least 0.3 mm
	rough  float64   // of the scan, see roughness, mm
	// marks of the last walk and of the patch that is measured
	walked, inside []int32
	walk, patch    int32
	near           []int32
}

// leastStep is the width, in mm, over which rims are looked at on fine meshes.
const leastStep = 0.3

func newSkin(r *relief) *skin {
	n := len(r.verts)
	s := &skin{relief: r, normal: make([]r3.Vec, n), weight: make([]float64, n), walked: make([]int32, n), inside: make([]int32, n)}
	sign := 0.5 // tooth frames of half of the quadrants are left-handed
	if r3.Dot(r3.Cross(r.frame.Mesial, r.frame.Buccal), r.frame.Occlusal) < 0 {
		sign = -0.5
	}
	for _, t := range r.tris {
		a, b, c := r.verts[t[0]], r.verts[t[1]], r.verts[t[2]]
		v := r3.Scale(sign, r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
		w := r3.Norm(v) / 3
		for _, i := range t {
			s.normal[i] = r3.Add(s.normal[i], v)
			s.weight[i] += w
		}
		s.step += r3.Norm(r3.Sub(b, a)) / float64(len(r.tris))
	}
	s.step = max(leastStep, s.step)
	for i, v := range s.normal {
		if l := r3.Norm(v); l > 0 {
			s.normal[i] = r3.Scale(1/l, v)
		}
	}
	return s
}

// plane is given by a point and its unit normal.
type plane struct{ at, n r3.Vec }

// axes are two directions in the plane that make a frame with its normal.
func (p *plane) axes() (u, w r3.Vec) {
	u = perpendicular(p.n)
	return u, r3.Cross(p.n, u)
}

func (p *plane) height(q r3.Vec) float64 { return r3.Dot(r3.Sub(q, p.at), p.n) }

// ball lists the vertices joined to v within a radius, v first. The list holds
// until the next call.
func (s *skin) ball(v int32, radius float64) []int32 {
	s.walk++
	s.walked[v] = s.walk
	s.near = append(s.near[:0], v)
	for k := 0; k < len(s.near); k++ {
		for _, w := range s.next[s.near[k]] {
			if s.walked[w] != s.walk && r3.Norm2(r3.Sub(s.verts[w], s.verts[v])) <= radius*radius {
				s.walked[w] = s.walk
				s.near = append(s.near, w)
			}
		}
	}
	return s.near
}

// seeds are the spots to grow patches from: where normals agree best.
func (s *skin) seeds() []int32 {
	rough := make([]float64, len(s.verts))
	var order []int32
	for v := range int32(len(s.verts)) {
		if s.normal[v].Z < facetFacing || s.border[v] {
			continue
		}
		mean, area := s.meanNormal(s.ball(v, s.step))
		if rough[v] = 1 - r3.Norm(mean)/area; rough[v] < seedRough {
			order = append(order, v)
		}
	}
	slices.SortFunc(order, func(a, b int32) int { return cmp.Or(cmp.Compare(rough[a], rough[b]), cmp.Compare(a, b)) })
	taken := make([]bool, len(s.verts))
	var out []int32
	for _, v := range order {
		if !taken[v] {
			out = append(out, v)
			for _, w := range s.ball(v, seedApart*s.step) {
				taken[w] = true
			}
		}
	}
	return out
}

// seedApart is the distance of seeds in steps.
const seedApart = 1.2

// seedRough is 1 − cos 14°: the spread of normals around a seed.
const seedRough = 0.03

// meanNormal is the area-weighted sum of normals, mm², and the area.
func (s *skin) meanNormal(verts []int32) (sum r3.Vec, area float64) {
	for _, v := range verts {
		sum = r3.Add(sum, r3.Scale(s.weight[v], s.normal[v]))
		area += s.weight[v]
	}
	return sum, area
}

// growSteps bounds how often a patch is fitted and grown again.
const growSteps = 10

// grow is the patch around a seed whose vertices lie within band of its plane.
func (s *skin) grow(seed int32, band float64) flat {
	p := flat{verts: slices.Clone(s.ball(seed, s.step))}
	p.n, _ = s.meanNormal(p.verts)
	p.n = r3.Unit(p.n)
	s.fit(&p)
	cos := math.Cos(facetTilt * math.Pi / 180)
	radius := 2 * s.step
	for k := range growSteps {
		before := len(p.verts)
		s.walk++
		s.walked[seed] = s.walk
		p.verts = append(p.verts[:0], seed)
		for i := 0; i < len(p.verts); i++ {
			for _, w := range s.next[p.verts[i]] {
				if s.walked[w] == s.walk || s.border[w] {
					continue
				}
				s.walked[w] = s.walk
				q := s.verts[w]
				if math.Abs(p.height(q)) <= band && r3.Dot(s.normal[w], p.n) >= cos && r3.Norm2(r3.Sub(q, s.verts[seed])) <= radius*radius {
					p.verts = append(p.verts, w)
				}
			}
		}
		s.fit(&p)
		if k > 3 && len(p.verts) == before {
			break
		}
		radius *= 1.5
	}
	return p
}

// fit puts the plane of a patch through its vertices by least squares, weighted
// by area.
func (s *skin) fit(p *flat) {
	sum := 0.0
	p.at = r3.Vec{}
	for _, v := range p.verts {
		sum += s.weight[v]
		p.at = r3.Add(p.at, r3.Scale(s.weight[v], s.verts[v]))
	}
	p.at = r3.Scale(1/sum, p.at)
	u, w := p.axes()
	var xx, xy, yy, xz, yz float64
	for _, v := range p.verts {
		d := r3.Sub(s.verts[v], p.at)
		x, y, z, k := r3.Dot(d, u), r3.Dot(d, w), r3.Dot(d, p.n), s.weight[v]
		xx, xy, yy, xz, yz = xx+k*x*x, xy+k*x*y, yy+k*y*y, xz+k*x*z, yz+k*y*z
	}
	if det := xx*yy - xy*xy; det > 1e-12*(xx+yy)*(xx+yy) {
		a, b := (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
		p.n = r3.Unit(r3.Sub(p.n, r3.Add(r3.Scale(a, u), r3.Scale(b, w))))
	}
	sq := 0.0
	for _, v := range p.verts {
		h := p.height(s.verts[v])
		sq += s.weight[v] * h * h
	}
	p.rms = math.Sqrt(sq / sum)
}

// roughness is how far the surface lies off smooth ones, mm: the root mean square
// distance from quadrics fitted around the seeds, of the smoother quarter of them,
// since edges and grooves are no roughness.
func (s *skin) roughness(seeds []int32) float64 {
	var all []float64
	for _, v := range seeds {
		p := plane{s.verts[v], s.normal[v]}
		ball := s.ball(v, 2*s.step)
		k, ok := s.quadric(p, ball)
		if !ok {
			continue
		}
		u, w := p.axes()
		sq := 0.0
		for _, i := range ball {
			d := r3.Sub(s.verts[i], p.at)
			x, y := r3.Dot(d, u), r3.Dot(d, w)
			e := k[0] + k[1]*x + k[2]*y + k[3]*x*x + k[4]*x*y + k[5]*y*y - r3.Dot(d, p.n)
			sq += e * e
		}
		all = append(all, math.Sqrt(sq/float64(len(ball)-5)))
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/4]
}

// quadric fits heights over a plane; see [quadricFit.solve].
func (s *skin) quadric(p plane, verts []int32) ([6]float64, bool) {
	u, w := p.axes()
	var q quadricFit
	for _, v := range verts {
		d := r3.Sub(s.verts[v], p.at)
		q.add(r3.Dot(d, u), r3.Dot(d, w), r3.Dot(d, p.n))
	}
	return q.solve()
}
