package facet

import (
	"cmp"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"gonum.org/v1/gonum/spatial/r3"
)

// skin is a relief with what its patches are judged by. Normals are those of the
// triangles: at an edge those of the vertices are neither side's.
type skin struct {
	*anatomy.Relief
	normal []r3.Vec  // outward unit normals of the triangles in the relief's coordinates
	area   []float64 // of the triangles, mm²
	middle []r3.Vec  // their centroids
	edge   float64   // mean length of an edge, the first of each triangle, mm
	first  []int32   // the triangles at vertex v are around[first[v]:first[v+1]]
	around []int32

	// What walks and measurements leave behind; a mark counts if it bears the
	// number of the last one.
	walk, patch int32
	vertex, tri []int32   // marks of walks
	inside      []int32   // marks of the triangles of the patch that is measured
	share       []float64 // area of the patch that belongs to each of its vertices, mm²
	near        []int32   // the vertices of the last walk
	nearest     []int32   // the rim's vertex nearest to each of them
	across      []acrossRim
	seen        []int32   // the triangles of the last survey's walk
	beside      []beside  // those of them that count
	off         []float64 // distances from a plane, mm
}

func newSkin(r *anatomy.Relief) *skin {
	n, m := len(r.Points), len(r.Triangles)
	s := &skin{Relief: r, normal: make([]r3.Vec, m), area: make([]float64, m), middle: make([]r3.Vec, m),
		first: make([]int32, n+1), around: make([]int32, 3*m),
		vertex: make([]int32, n), tri: make([]int32, m), inside: make([]int32, m), share: make([]float64,
			n), nearest: make([]int32, n), across: make([]acrossRim, n)}
	sign := 1.0 // tooth frames of half of the quadrants are left-handed
	if r3.Dot(r3.Cross(r.Frame.Mesial, r.Frame.Buccal), r.Frame.Occlusal) < 0 {
		sign = -1
	}
	for i, t := range r.Triangles {
		a, b, c := r.Points[t[0]], r.Points[t[1]], r.Points[t[2]]
		v := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		if l := r3.Norm(v); l > 0 {
			s.normal[i], s.area[i] = r3.Scale(sign/l, v), l/2
		}
		s.middle[i] = r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c)))
		s.edge += r3.Norm(r3.Sub(b, a)) / float64(m)
		for _, v := range t {
			s.first[v+1]++
		}
	}
	for v := range n {
		s.first[v+1] += s.first[v]
	}
	fill := slices.Clone(s.first)
	for i, t := range r.Triangles {
		for _, v := range t {
			s.around[fill[v]] = int32(i)
			fill[v]++
		}
	}
	return s
}

// at lists the triangles at a vertex.
func (s *skin) at(v int32) []int32 { return s.around[s.first[v]:s.first[v+1]] }

// plane is given by a point and its unit normal.
type plane struct{ at, n r3.Vec }

// axes are two directions in the plane that make a frame with its normal.
func (p *plane) axes() (u, w r3.Vec) {
	u = geom.Perpendicular(p.n)
	return u, r3.Cross(p.n, u)
}

func (p *plane) height(q r3.Vec) float64 { return r3.Dot(r3.Sub(q, p.at), p.n) }

const (
	seedReach = 0.25 // mm, from a seed to the middles of the triangles that must agree
	seedApart = 0.35 // mm, between seeds
	seedRough = 0.03 // 1 − cos 14°: the spread of normals around a seed
	// seedFine is the mean edge, in mm, below which spots this far apart are looked at
	// instead of every vertex: the neighbourhoods of vertices that lie closer are the same
	// but for their rims. Scans of up to half a million triangles are coarser.
	seedFine = 0.07
)

// patchAround adds to a list the triangles at a vertex and those joined to them
// whose middles are near it.
func (s *skin) patchAround(v int32, tris []int32) []int32 {
	tris = append(tris, s.at(v)...)
	s.walk++
	for _, t := range tris {
		s.tri[t] = s.walk
	}
	for k := 0; k < len(tris); k++ {
		for _, w := range s.Triangles[tris[k]] {
			if s.vertex[w] == s.walk {
				continue
			}
			s.vertex[w] = s.walk
			for _, t := range s.at(w) {
				if s.tri[t] != s.walk && r3.Norm2(r3.Sub(s.middle[t], s.Points[v])) <= seedReach*seedReach {
					s.tri[t] = s.walk
					tris = append(tris, t)
				}
			}
		}
	}
	return tris
}

// mean is the mean normal of triangles and how far they agree: its length before
// it was made a unit vector.
func (s *skin) mean(tris []int32) (n r3.Vec, agree float64) {
	area := 0.0
	for _, t := range tris {
		n = r3.Add(n, r3.Scale(s.area[t], s.normal[t]))
		area += s.area[t]
	}
	if l := r3.Norm(n); l > 0 {
		return r3.Scale(1/l, n), l / area
	}
	return n, 0
}

// seeds are the spots to grow patches from: where normals agree best.
func (s *skin) seeds() []int32 {
	type spot struct {
		v     int32
		rough float64
	}
	var spots []spot
	var tris []int32
	beside := make([]bool, len(s.Points)) // of a spot that was looked at
	for v := range int32(len(s.Points)) {
		if s.Border[v] || beside[v] {
			continue
		}
		if n, agree := s.mean(s.at(v)); n.Z < facetFacing || 1-agree >= seedRough {
			continue
		}
		if s.edge < seedFine {
			s.mark(v, seedFine, beside)
		}
		tris = s.patchAround(v, tris[:0])
		if n, agree := s.mean(tris); n.Z >= facetFacing && 1-agree < seedRough {
			spots = append(spots, spot{v, 1 - agree})
		}
	}
	slices.SortFunc(spots, func(a, b spot) int { return cmp.Or(cmp.Compare(a.rough, b.rough), cmp.Compare(a.v, b.v)) })
	taken := make([]bool, len(s.Points))
	var out []int32
	for _, p := range spots {
		if !taken[p.v] {
			out = append(out, p.v)
			s.mark(p.v, seedApart, taken)
		}
	}
	return out
}

// mark takes the vertices joined to v within a radius.
func (s *skin) mark(v int32, radius float64, taken []bool) {
	s.walk++
	s.vertex[v] = s.walk
	s.near = append(s.near[:0], v)
	for k := 0; k < len(s.near); k++ {
		taken[s.near[k]] = true
		for _, w := range s.Next[s.near[k]] {
			if s.vertex[w] != s.walk && r3.Norm2(r3.Sub(s.Points[w], s.Points[v])) <= radius*radius {
				s.vertex[w] = s.walk
				s.near = append(s.near, w)
			}
		}
	}
}

const (
	growSteps = 10  // bounds how often a patch is fitted and grown again
	growFirst = 0.6 // mm, how far it may reach at first
	growMore  = 1.5 // by how much farther in the next step
	// A patch is drawn in to so many times the median distance of its vertices from
	// the plane, at least so many mm, if that is less than such a share of its band.
	tightTimes, tightLeast, tightShare = 4, 0.003, 0.6
)

// grow is the patch around a seed whose vertices lie within band of its plane and
// whose triangles' normals are near its own. Where most of them lie much nearer,
// the patch has an edge and reaches over it; it is then drawn in to what is as flat
// as its middle.
func (s *skin) grow(seed int32, band float64) flat {
	var p flat
	p.tris = s.patchAround(seed, nil)
	p.n, _ = s.mean(p.tris)
	s.walk++
	for _, t := range p.tris {
		s.take(&p, t, s.Triangles[t])
	}
	s.fit(&p)
	for k, radius := 0, growFirst; k < growSteps; k, radius = k+1, radius*growMore {
		before := len(p.tris)
		s.reach(&p, seed, band, radius)
		if k > 0 && len(p.tris) == before {
			break
		}
	}
	if tight := max(tightLeast, tightTimes*s.median(&p)); tight < tightShare*band {
		for range 2 {
			s.reach(&p, seed, tight, math.Inf(1))
		}
	}
	return p
}

// reach takes what is joined to the seed, within a radius and a band of the plane,
// and fits the plane again.
func (s *skin) reach(p *flat, seed int32, band, radius float64) {
	cos := math.Cos(facetTilt * math.Pi / 180)
	s.walk++
	walk, tri, vertex, n := s.walk, s.tri, s.vertex, p.n
	at, from, radius2 := p.plane.at, s.Points[seed], radius*radius
	// A vertex is asked once: one that lies badly is marked with the walk below 0.
	lies := func(v int32) bool {
		if k := vertex[v]; k == walk || k == -walk {
			return k == walk
		}
		q := s.Points[v]
		if !s.Border[v] && math.Abs(r3.Dot(r3.Sub(q, at), n)) <= band && r3.Norm2(r3.Sub(q, from)) <= radius2 {
			return true
		}
		vertex[v] = -walk
		return false
	}
	p.tris, p.verts = p.tris[:0], append(p.verts[:0], seed)
	s.share[seed] = 0
	if lies(seed) {
		vertex[seed] = walk
		for i := 0; i < len(p.verts); i++ {
			for _, t := range s.at(p.verts[i]) {
				if tri[t] == walk {
					continue
				}
				tri[t] = walk
				if c := s.Triangles[t]; r3.Dot(s.normal[t], n) >= cos && lies(c[0]) && lies(c[1]) && lies(c[2]) {
					s.take(p, t, c)
					p.tris = append(p.tris, t)
				}
			}
		}
	}
	s.fit(p)
}

// median is that of the distances of a patch's vertices from its plane, mm.
func (s *skin) median(p *flat) float64 {
	s.off = s.off[:0]
	for _, v := range p.verts {
		s.off = append(s.off, math.Abs(p.height(s.Points[v])))
	}
	slices.Sort(s.off)
	return s.off[len(s.off)/2]
}

// cover takes the vertices well within a patch, from which the same one would grow.
func (s *skin) cover(p *flat, band float64, covered []bool) {
	s.walk++
	for _, t := range p.tris {
		s.tri[t] = s.walk
	}
	for _, v := range p.verts {
		if math.Abs(p.height(s.Points[v])) > band/2 {
			continue
		}
		within := true
		for _, t := range s.at(v) {
			within = within && s.tri[t] == s.walk
		}
		covered[v] = covered[v] || within
	}
}

// take adds a triangle's vertices to a patch.
func (s *skin) take(p *flat, t int32, corners [3]int32) {
	third := s.area[t] / 3
	for _, w := range corners {
		if s.vertex[w] != s.walk {
			s.vertex[w] = s.walk
			s.share[w] = 0
			p.verts = append(p.verts, w)
		}
		s.share[w] += third
	}
}

// fit puts the plane of a patch through its vertices by least squares, weighted
// by the patch's area around them.
func (s *skin) fit(p *flat) {
	sum := 0.0
	var at r3.Vec
	for _, v := range p.verts {
		sum += s.share[v]
		at = r3.Add(at, r3.Scale(s.share[v], s.Points[v]))
	}
	if sum == 0 {
		return
	}
	p.plane.at = r3.Scale(1/sum, at)
	u, w := p.axes()
	var xx, xy, yy, xz, yz float64
	for _, v := range p.verts {
		d := r3.Sub(s.Points[v], p.plane.at)
		x, y, z, k := r3.Dot(d, u), r3.Dot(d, w), r3.Dot(d, p.n), s.share[v]
		xx, xy, yy, xz, yz = xx+k*x*x, xy+k*x*y, yy+k*y*y, xz+k*x*z, yz+k*y*z
	}
	if det := xx*yy - xy*xy; det > 1e-12*(xx+yy)*(xx+yy) {
		a, b := (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
		p.n = r3.Unit(r3.Sub(p.n, r3.Add(r3.Scale(a, u), r3.Scale(b, w))))
	}
}

// rms is the root mean square distance, in mm, of the patch that was grown last from
// its plane.
func (s *skin) rms(p *flat) float64 {
	var sum, sq float64
	for _, v := range p.verts {
		h := p.height(s.Points[v])
		sum += s.share[v]
		sq += s.share[v] * h * h
	}
	return math.Sqrt(sq / sum)
}
