package contact

import (
	"cmp"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Patch is a connected patch of the upper surface that lies within a foil's
// thickness of the lower one, or behind it where the surfaces overlap.
type Patch struct {
	Foil   float64    // mm
	Gap    float64    // least distance of the surfaces in the patch, mm; 0 where they cross
	Upper  mesh.TriID // the triangles where the gap is least
	Lower  mesh.TriID
	Point  r3.Vec  // where on the upper surface it is least (articulator frame, mm)
	Centre r3.Vec  // area-weighted middle of the patch, mm; Point for a patch without area
	Area   float64 // mm²
	// Area-weighted mean outward unit normals: of the upper surface over the
	// patch, and of the lower surface at the points nearest to it.
	UpperNormal, LowerNormal r3.Vec
	// Depth is how far the deepest sample of the patch lies behind the lower
	// surface, mm; 0 where nothing overlaps.
	Depth float64
}

// sampleStep is the greatest distance, in mm, of the points of a triangle at
// which its distance to the other arch is measured at first, and edgeStep that to
// which they are closed up about the edge of a patch; between them the distance
// is taken as linear.
const (
	sampleStep = 0.08
	edgeStep   = 0.04
)

// roundMost is the curvature, in 1/mm, up to which surfaces are followed between
// samples: what the distance of two surfaces that are no rounder may deviate
// from linear over a step is roundMost·step²/8.
const roundMost = 1.0

// samplesMost bounds the divisions of a side, for coarse meshes.
const samplesMost = 24

// PatchScratch is the memory of one goroutine for [AppendPatches]. The zero
// value works; it never influences results.
type PatchScratch struct {
	gap   GapScratch
	pairs []Pair
	near  []nearTri
	place []int32  // triangle of the upper mesh → place in near + 1
	grid  []sample // of one triangle, n divisions a side
	n     int
	step  float64 // of the grid, mm
	queue []int32
	seen  []bool
	parts []piece // by foil, then place in near
}

// nearTri is a triangle of the upper arch that comes near the lower one.
type nearTri struct {
	tri, lower mesh.TriID
	dist       float64 // exact least distance
	at         r3.Vec
	side       [3]float64 // least distance met on each side of the triangle
	depth      float64    // of the deepest sample
}

// piece is what one foil covers of one near triangle.
type piece struct {
	area   float64
	moment r3.Vec // area times centre
	lower  r3.Vec // area times outward normal of the lower surface
}

// sample is a point of the upper surface and what is known of it.
type sample struct {
	p      r3.Vec  // articulator frame
	d      float64 // distance from the lower surface; negative behind it
	normal r3.Vec  // outward, of the lower surface at the nearest point
}

// AppendPatches appends the contacts of two arches under a pose of the lower
// one, at each of the given foil thicknesses (mm, at most a few tenths), sorted
// by foil as given, then gap, then triangles. A patch at a thin foil lies
// within one at any thicker foil. overlap says that the surfaces may cross; what
// lies behind the lower surface then counts as contact, at a cost.
//
// Which triangles come within a foil is exact. Whether two of them hang together
// across their common side, and area, centre and normals, come from distances
// that are exact at points at most 0.08 mm apart, 0.04 mm about the edge of a
// patch, and linear between them.
//
// An arch that was not made by [NewArch] is an error wrapping [ErrNoArch], a pose
// that is not finite one wrapping [kinematics.ErrNotFinite].
func AppendPatches(dst []Patch, upper, lower *Arch, pose kinematics.Pose, foils []float64, overlap bool, s *PatchScratch) ([]Patch, error) {
	if err := checkPosed(upper, lower, pose); err != nil {
		return dst, err
	}
	f := field{upper: upper, lower: lower, pose: pose, inv: pose.Inverse(), overlap: overlap, s: s}
	for _, foil := range foils {
		f.most = max(f.most, foil)
	}
	f.collect()
	n := len(s.near)
	s.parts = fit(s.parts, n*len(foils))
	clear(s.parts)
	for i := range s.near {
		f.measureTriangle(&s.near[i])
		for k, foil := range foils {
			f.cover(&s.parts[k*n+i], foil)
		}
	}
	first := len(dst)
	for k, foil := range foils {
		dst = f.connect(dst, foil, s.parts[k*n:(k+1)*n])
	}
	for i := range s.near {
		s.place[s.near[i].tri] = 0
	}
	slices.SortStableFunc(dst[first:], func(a, b Patch) int {
		return cmp.Or(cmp.Compare(slices.Index(foils, a.Foil), slices.Index(foils, b.Foil)),
			cmp.Compare(a.Gap, b.Gap), cmp.Compare(a.Upper, b.Upper), cmp.Compare(a.Lower, b.Lower))
	})
	return dst, nil
}

// field is the distance of the upper surface from the lower one under a pose.
type field struct {
	upper, lower *Arch
	pose, inv    kinematics.Pose
	most         float64 // the thickest foil
	overlap      bool
	s            *PatchScratch
}

// collect lists the upper triangles within the thickest foil, in the order of
// their numbers.
func (f *field) collect() {
	s := f.s
	if n := f.upper.Mesh().NumTriangles(); len(s.place) < n {
		s.place = make([]int32, n)
	}
	s.near = s.near[:0]
	s.pairs = AppendPairs(s.pairs[:0], f.upper.Index, f.lower.Index, f.pose, f.most, &s.gap)
	for _, p := range s.pairs {
		i := s.place[p.Upper]
		if i == 0 {
			s.near = append(s.near, nearTri{tri: p.Upper, lower: p.Lower, dist: p.Dist, at: p.UpperPoint})
			s.place[p.Upper] = int32(len(s.near))
			continue
		}
		if t := &s.near[i-1]; p.Dist < t.dist || (p.Dist == t.dist && p.Lower < t.lower) {
			t.lower, t.dist, t.at = p.Lower, p.Dist, p.UpperPoint
		}
	}
	if f.overlap {
		f.flood()
	}
	slices.SortFunc(s.near, func(a, b nearTri) int { return cmp.Compare(a.tri, b.tri) })
	for i := range s.near {
		s.place[s.near[i].tri] = int32(i + 1)
	}
}

// flood adds the triangles behind the lower surface that hang together with
// those near it. Their least distance counts as zero, as on the crossing line
// that encloses them.
func (f *field) flood() {
	s := f.s
	for i := 0; i < len(s.near); i++ {
		for k := range 3 {
			next := f.upper.Topology.Neighbour(s.near[i].tri, k)
			if next == mesh.None || s.place[next] != 0 {
				continue
			}
			a, b, c := f.upper.Mesh().Corners(next)
			middle := r3.Scale(1./3, r3.Add(r3.Add(a, b), c))
			d, tri := f.distance(middle, overlapMost)
			if d >= 0 {
				continue
			}
			s.near = append(s.near, nearTri{tri: next, lower: tri, at: middle})
			s.place[next] = int32(len(s.near))
		}
	}
}

// overlapMost is the overlap, in mm, up to which what lies behind a surface is
// told from what lies in front of its other parts.
const overlapMost = 2.0

// distance is how far a point lies from the lower surface, at most limit, and
// from which triangle; negative behind the surface if the field overlaps.
func (f *field) distance(p r3.Vec, limit float64) (float64, mesh.TriID) {
	q := f.inv.Apply(p)
	h, ok := f.lower.Index.Nearest(q, limit)
	if !ok {
		return limit, mesh.None
	}
	if f.overlap {
		if inside, trusted := f.lower.Sides.Inside(h, q); inside && trusted {
			return -h.Dist, h.Tri
		}
	}
	return h.Dist, h.Tri
}

// measureTriangle fills the grid of samples of one triangle: rows of points
// parallel to its first side, from there to the third corner.
func (f *field) measureTriangle(t *nearTri) {
	s := f.s
	a, b, c := f.upper.Mesh().Corners(t.tri)
	ab, ac := r3.Sub(b, a), r3.Sub(c, a)
	longest := math.Sqrt(max(r3.Norm2(ab), r3.Norm2(ac), r3.Norm2(r3.Sub(c, b))))
	n := min(max(1, int(math.Ceil(longest/sampleStep))), samplesMost)
	step := longest / float64(n)
	limit := f.most + 2*step
	if f.overlap {
		limit = overlapMost
	}
	s.grid, s.n, s.step = s.grid[:0], n, step
	t.side = [3]float64{math.Inf(1), math.Inf(1), math.Inf(1)}
	for j := 0; j <= n; j++ {
		for i := 0; i <= n-j; i++ {
			u, v := float64(i)/float64(n), float64(j)/float64(n)
			p := r3.Vec{X: a.X + u*ab.X + v*ac.X, Y: a.Y + u*ab.Y + v*ac.Y, Z: a.Z + u*ab.Z + v*ac.Z}
			// The distance changes by no more than the way from the last sample.
			near := limit
			if k := len(s.grid); i > 0 && k > 0 {
				near = min(limit, (math.Abs(s.grid[k-1].d)+step)*(1+1e-9))
			}
			x := f.measure(p, near)
			t.depth = max(t.depth, -x.d)
			for k, on := range [3]bool{j == 0, i+j == n, i == 0} {
				if on {
					t.side[k] = min(t.side[k], x.d)
				}
			}
			s.grid = append(s.grid, x)
		}
	}
}

// measure is a sample, at most limit from the lower surface.
func (f *field) measure(p r3.Vec, limit float64) sample {
	x := sample{p: p}
	var tri mesh.TriID
	if x.d, tri = f.distance(p, limit); tri != mesh.None {
		x.normal = f.pose.Rotate(unit(f.lower.Mesh().AreaVector(tri)))
	}
	return x
}

// cover adds what a foil covers of the triangle whose samples are in the grid.
func (f *field) cover(to *piece, foil float64) {
	g, n := f.s.grid, f.s.n
	row := 0
	for j := range n {
		next := row + n - j + 1
		for i := range n - j {
			f.close(to, &g[row+i], &g[row+i+1], &g[next+i], f.s.step, foil)
			if i < n-j-1 {
				f.close(to, &g[row+i+1], &g[next+i+1], &g[next+i], f.s.step, foil)
			}
		}
		row = next
	}
}

// close adds what a foil covers of the triangle between three samples that lie
// at most step apart, with more samples where its edge may pass between them.
// What a thin foil covers a thicker one does, since it divides what lies there
// in the same way or takes all of it.
func (f *field) close(to *piece, a, b, c *sample, step, foil float64) {
	room := roundMost * step * step / 8
	if min(a.d, b.d, c.d) > foil+room {
		return
	}
	if step <= edgeStep || max(a.d, b.d, c.d) <= foil-room {
		to.clip(a, b, c, foil)
		return
	}
	step /= 2
	ab, bc, ca := f.between(a, b, step), f.between(b, c, step), f.between(c, a, step)
	f.close(to, a, &ab, &ca, step, foil)
	f.close(to, &ab, b, &bc, step, foil)
	f.close(to, &ca, &bc, c, step, foil)
	f.close(to, &ab, &bc, &ca, step, foil)
}

// between is the sample half way between two, at most step from both.
func (f *field) between(a, b *sample, step float64) sample {
	return f.measure(r3.Scale(0.5, r3.Add(a.p, b.p)), (min(math.Abs(a.d), math.Abs(b.d))+step)*(1+1e-9))
}

// clip adds the part of a small triangle in which the distance, linear between
// its corners, is at most foil.
func (to *piece) clip(a, b, c *sample, foil float64) {
	if a.d > foil && b.d > foil && c.d > foil {
		return
	}
	var poly [4]r3.Vec
	m := 0
	corner := [3]*sample{a, b, c}
	for k, x := range corner {
		y := corner[(k+1)%3]
		if x.d <= foil {
			poly[m] = x.p
			m++
		}
		if (x.d <= foil) != (y.d <= foil) {
			w := (foil - x.d) / (y.d - x.d)
			poly[m] = r3.Add(x.p, r3.Scale(w, r3.Sub(y.p, x.p)))
			m++
		}
	}
	area := 0.0
	for k := 1; k+1 < m; k++ {
		w := 0.5 * r3.Norm(r3.Cross(r3.Sub(poly[k], poly[0]), r3.Sub(poly[k+1], poly[0])))
		area += w
		middle := r3.Scale(1./3, r3.Add(r3.Add(poly[0], poly[k]), poly[k+1]))
		to.moment = r3.Add(to.moment, r3.Scale(w, middle))
	}
	to.area += area
	to.lower = r3.Add(to.lower, r3.Scale(area/3, r3.Add(r3.Add(a.normal, b.normal), c.normal)))
}

// connect appends the patches of one foil.
func (f *field) connect(dst []Patch, foil float64, parts []piece) []Patch {
	s := f.s
	s.seen = fit(s.seen, len(s.near))
	clear(s.seen)
	for i := range s.near {
		if s.seen[i] || s.near[i].dist > foil {
			continue
		}
		s.seen[i] = true
		s.queue = append(s.queue[:0], int32(i))
		p := Patch{Foil: foil, Gap: math.Inf(1)}
		var moment, up, lo r3.Vec
		for len(s.queue) > 0 {
			k := s.queue[len(s.queue)-1]
			s.queue = s.queue[:len(s.queue)-1]
			t := &s.near[k]
			if t.dist < p.Gap || (t.dist == p.Gap && t.tri < p.Upper) {
				p.Gap, p.Upper, p.Lower, p.Point = t.dist, t.tri, t.lower, t.at
			}
			p.Area += parts[k].area
			p.Depth = max(p.Depth, t.depth)
			moment, lo = r3.Add(moment, parts[k].moment), r3.Add(lo, parts[k].lower)
			up = r3.Add(up, r3.Scale(parts[k].area, unit(f.upper.Mesh().AreaVector(t.tri))))
			for side := range 3 {
				if next := f.across(t, side, foil); next >= 0 && !s.seen[next] {
					s.seen[next] = true
					s.queue = append(s.queue, next)
				}
			}
		}
		p.Centre = p.Point
		if p.Area > 0 {
			p.Centre = r3.Scale(1/p.Area, moment)
		}
		p.UpperNormal, p.LowerNormal = unit(up), unit(lo)
		if p.UpperNormal == (r3.Vec{}) {
			p.UpperNormal = unit(f.upper.Mesh().AreaVector(p.Upper))
		}
		if p.LowerNormal == (r3.Vec{}) {
			p.LowerNormal = f.pose.Rotate(unit(f.lower.Mesh().AreaVector(p.Lower)))
		}
		dst = append(dst, p)
	}
	return dst
}

// across is the place of the near triangle beyond a side that comes within the
// foil, −1 if there is none.
func (f *field) across(t *nearTri, side int, foil float64) int32 {
	next := f.upper.Topology.Neighbour(t.tri, side)
	if next == mesh.None {
		return -1
	}
	i := f.s.place[next] - 1
	if i < 0 || f.s.near[i].dist > foil {
		return -1
	}
	least := t.side[side]
	for k := range 3 {
		if f.upper.Topology.Neighbour(next, k) == t.tri {
			least = min(least, f.s.near[i].side[k])
		}
	}
	// A touch that both triangles share lies on their common side.
	if least <= foil || (t.dist == f.s.near[i].dist && t.at == f.s.near[i].at) {
		return i
	}
	return -1
}

func unit(v r3.Vec) r3.Vec {
	l := r3.Norm(v)
	if l == 0 {
		return r3.Vec{}
	}
	return r3.Scale(1/l, v)
}
