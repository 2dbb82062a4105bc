package anatomy

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// shape is a crown in the coordinates of a frame: X mesial, Y buccal, Z
// occlusal of its centre, mm.
type shape struct {
	verts  []r3.Vec
	lo, hi r3.Vec
}

func (c *crown) in(f Frame) shape {
	inf := math.Inf(1)
	s := shape{verts: make([]r3.Vec, len(c.verts)), lo: r3.Vec{X: inf, Y: inf, Z: inf}, hi: r3.Vec{X: -inf, Y: -inf, Z: -inf}}
	for i, v := range c.verts {
		m, b, o := f.Local(v)
		s.verts[i] = r3.Vec{X: m, Y: b, Z: o}
		s.lo = r3.Vec{X: min(s.lo.X, m), Y: min(s.lo.Y, b), Z: min(s.lo.Z, o)}
		s.hi = r3.Vec{X: max(s.hi.X, m), Y: max(s.hi.Y, b), Z: max(s.hi.Z, o)}
	}
	return s
}

// anatomy is by how much, in degrees, what is measured on a crown leans away
// from the tooth's long axis: the line from neck to edge of anterior teeth, whose
// lingual side is hollow, and the occlusal table of the others, whose cusps are
// not equally high. That they lean so is handbook knowledge; the sizes are ours,
// rounded means of a tooth model after a handbook and of one real dentition.
func anatomy(t dentition.ToothID) (mesial, buccal float64) {
	upper := t.Jaw() == dentition.Upper
	switch k := t.Type(); {
	case k.Anterior():
		return 0, 9
	case k.Molar() && upper:
		return -5, -3
	case k.Molar():
		return 2, 0
	case k == dentition.FirstPremolar && !upper:
		return 0, -1.5
	case upper:
		return 0, -5 // the buccal cusp is the higher one
	}
	return 0, -3
}

const (
	// step is the share of a found tilt by which the axis is turned, and most
	// the largest turn; they keep the search from overshooting.
	step = 0.7
	most = 0.15 // slope
	// rhombus is how far the smallest rectangle around an upper molar is turned
	// from its arch direction, by the molar's rhombic outline, degrees.
	rhombus = 9.0
)

// better is a better long axis than that of f. What tells it depends on the
// tooth: a molar's table is wide, so its lie is certain, an anterior tooth has none.
func (c *crown) better(f Frame) r3.Vec {
	s := c.in(f)
	sections := s.sections()
	slope := sections // of the axis to mesial and buccal, a mm of height
	switch t := c.tooth.Type(); {
	case t.Anterior():
		slope.Y = s.neckToEdge()
	case t.Molar():
		table := s.table()
		slope = r2.Vec{X: (3*table.X + sections.X) / 4, Y: (table.Y + sections.Y) / 2}
	case t == dentition.FirstPremolar && c.tooth.Jaw() == dentition.Lower:
	default:
		slope.Y = (s.table().Y + sections.Y) / 2
	}
	mesial, buccal := anatomy(c.tooth)
	slope = r2.Sub(slope, r2.Vec{X: math.Tan(mesial * math.Pi / 180), Y: math.Tan(buccal * math.Pi / 180)})
	limit := func(x float64) float64 { return max(-most, min(most, step*x)) }
	return f.Direction(limit(slope.X), limit(slope.Y), 1)
}

// spin is the mesial direction as far as the crown's outline tells it: molars
// by the smallest rectangle around it, other teeth by the main direction of the
// part near the edge or the cusps. The arch, in f, decides between the four
// ways and leads where the outline is round.
func (c *crown) spin(f Frame) r3.Vec {
	s := c.in(f)
	var angle, weight float64
	if c.tooth.Type().Molar() {
		angle, weight = s.rectangle(), 0.75
		if c.tooth.Jaw() == dentition.Upper {
			angle += rhombus * math.Pi / 180
		}
	} else {
		var long float64
		angle, long = s.top(2)
		weight = long / (long + 0.15)
	}
	sin, cos := math.Sincos(angle * weight)
	return f.Direction(cos, sin, 0)
}

// table is the normal of the plane fitted to the surface as seen from above
// within an ellipse of 0.8 of the crown's size, as its slopes to mesial and
// buccal.
func (s shape) table() r2.Vec {
	const cells, deepest = 20, 3 // deeper cells are walls, not table
	mid, half := r3.Scale(0.5, r3.Add(s.lo, s.hi)), r3.Scale(0.35, r3.Sub(s.hi, s.lo))
	var height [cells][cells]float64
	for i := range height {
		for j := range height[i] {
			height[i][j] = math.Inf(-1)
		}
	}
	for _, p := range s.verts {
		u, v := (p.X-mid.X)/half.X, (p.Y-mid.Y)/half.Y
		if u*u+v*v < 1 {
			h := &height[int((u+1)*cells/2)][int((v+1)*cells/2)]
			*h = max(*h, p.Z)
		}
	}
	var fit geom.PlaneFit
	for i := range height {
		for j, h := range height[i] {
			if h > s.hi.Z-deepest {
				fit.Add(((float64(i)+0.5)*2/cells-1)*half.X, ((float64(j)+0.5)*2/cells-1)*half.Y, h)
			}
		}
	}
	x, y, _ := fit.Slopes()
	return r2.Vec{X: -x, Y: -y}
}

// strip is half the width of the strip about the middle, mm, in which the
// labial and lingual outlines are taken.
const strip = 1.0

// border is the least depth below the top to which both the buccal and the
// lingual side reach at the middle of the crown.
func (s shape) border() float64 {
	var deepest [2]float64
	for _, p := range s.verts {
		if math.Abs(p.X) < strip {
			d := &deepest[0]
			if p.Y > 0 {
				d = &deepest[1]
			}
			*d = max(*d, s.hi.Z-p.Z)
		}
	}
	return min(deepest[0], deepest[1])
}

// sections is the slope, to mesial and buccal a mm of height, of the line
// fitted through the middles of the crown's cross-sections, from below the
// cusps to where the border begins on the buccal or lingual side. Sections are
// slabs, closed by their convex hulls, so that proximal surfaces that are
// missing in the scan do not tilt the line.
func (s shape) sections() r2.Vec {
	const slab, first = 0.5, 4 // mm; the slab in which to begin, 2 mm deep
	slabs := make([][]r2.Vec, int(s.border()/slab))
	for _, p := range s.verts {
		if k := int((s.hi.Z - p.Z) / slab); k >= first && k < len(slabs) {
			slabs[k] = append(slabs[k], r2.Vec{X: p.X, Y: p.Y})
		}
	}
	var n, sh, shh float64
	var sm, shm r2.Vec
	for k, pts := range slabs {
		if area, middle := hullMiddle(pts); area > 0 {
			h := -slab * float64(k)
			n, sh, shh = n+1, sh+h, shh+h*h
			sm, shm = r2.Add(sm, middle), r2.Add(shm, r2.Scale(h, middle))
		}
	}
	if n < 2 {
		return r2.Vec{}
	}
	return r2.Scale(1/(n*shh-sh*sh), r2.Sub(r2.Scale(n, shm), r2.Scale(sh, sm)))
}

// neckToEdge is the slope to buccal of the line from the middle of the neck to
// the middle of the edge.
func (s shape) neckToEdge() float64 {
	const edge, neck = 0.6, 0.5 // height of the parts, mm
	bottom := s.border()
	var sum, n float64
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range s.verts {
		depth := s.hi.Z - p.Z
		switch {
		case math.Abs(p.X) > strip:
		case depth < edge:
			sum, n = sum+p.Y, n+1
		case depth > bottom-neck && depth < bottom:
			lo, hi = min(lo, p.Y), max(hi, p.Y)
		}
	}
	if n == 0 || lo > hi || bottom < 2 {
		return 0
	}
	return (sum/n - (lo+hi)/2) / (bottom - (edge+neck)/2)
}

// top is the main direction of the vertices within depth of the top: its angle
// from mesial to buccal, by a right angle turned to the nearest to 0, and how
// distinct it is, from 0 (round) to 1 (a line).
func (s shape) top(depth float64) (angle, distinct float64) {
	var n, sx, sy, sxx, sxy, syy float64
	for _, p := range s.verts {
		if p.Z > s.hi.Z-depth {
			n, sx, sy = n+1, sx+p.X, sy+p.Y
			sxx, sxy, syy = sxx+p.X*p.X, sxy+p.X*p.Y, syy+p.Y*p.Y
		}
	}
	sxx, sxy, syy = sxx-sx*sx/n, sxy-sx*sy/n, syy-sy*sy/n
	if !(sxx+syy > 0) {
		return 0, 0
	}
	angle = math.Atan2(2*sxy, sxx-syy) / 2
	return angle - math.Pi/2*math.Round(angle/(math.Pi/2)), math.Hypot(sxx-syy, 2*sxy) / (sxx + syy)
}

// rectangle is the angle from mesial to buccal, within 45°, of the smallest
// rectangle around the crown seen from above. One side of it lies along the
// convex hull.
func (s shape) rectangle() float64 {
	pts := make([]r2.Vec, len(s.verts))
	for i, p := range s.verts {
		pts[i] = r2.Vec{X: p.X, Y: p.Y}
	}
	h := convexHull(pts)
	best, angle := math.Inf(1), 0.0
	for i, p := range h {
		u := r2.Unit(r2.Sub(h[(i+1)%len(h)], p))
		lo, hi := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
		for _, q := range h {
			x, y := r2.Dot(u, q), r2.Cross(u, q)
			lo, hi = r2.Vec{X: min(lo.X, x), Y: min(lo.Y, y)}, r2.Vec{X: max(hi.X, x), Y: max(hi.Y, y)}
		}
		if area := (hi.X - lo.X) * (hi.Y - lo.Y); area < best {
			best, angle = area, math.Atan2(u.Y, u.X)
		}
	}
	return angle - math.Pi/2*math.Round(angle/(math.Pi/2))
}

// hullMiddle is area and centroid of the convex hull. It reorders the points.
func hullMiddle(p []r2.Vec) (area float64, middle r2.Vec) {
	h := convexHull(p)
	for i := range h {
		a, b := h[i], h[(i+1)%len(h)]
		k := r2.Cross(a, b) / 2
		area += k
		middle = r2.Add(middle, r2.Scale(k/3, r2.Add(a, b)))
	}
	if !(area > 0) {
		return 0, r2.Vec{}
	}
	return area, r2.Scale(1/area, middle)
}

// besidesInner moves the points that surely lie within the others to the end and returns
// those before: no corner of the hull is inside the quadrilateral of the lowest, rightmost,
// highest and leftmost point (S. G. Akl and G. T. Toussaint 1978, Inf Process Lett 7:219-222).
func besidesInner(p []r2.Vec) []r2.Vec {
	if len(p) < 16 {
		return p
	}
	low, right, high, left := p[0], p[0], p[0], p[0]
	for _, q := range p {
		if q.Y < low.Y {
			low = q
		}
		if q.X > right.X {
			right = q
		}
		if q.Y > high.Y {
			high = q
		}
		if q.X < left.X {
			left = q
		}
	}
	// Well inside, so that rounding leaves out no corner.
	margin := 1e-9 * ((right.X-left.X)*(right.X-left.X) + (high.Y-low.Y)*(high.Y-low.Y))
	corner := [5]r2.Vec{low, right, high, left, low}
	n := 0
	for i, q := range p {
		inner := true
		for k := range 4 {
			a, b := &corner[k], &corner[k+1]
			inner = inner && (b.X-a.X)*(q.Y-a.Y)-(b.Y-a.Y)*(q.X-a.X) > margin
		}
		if !inner {
			p[n], p[i] = q, p[n]
			n++
		}
	}
	return p[:n]
}

// convexHull is the hull's corners counter-clockwise (Andrew's monotone chain).
// It reorders the points.
func convexHull(p []r2.Vec) []r2.Vec {
	p = besidesInner(p)
	slices.SortFunc(p, func(a, b r2.Vec) int {
		switch {
		case a.X < b.X, a.X == b.X && a.Y < b.Y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	var h []r2.Vec
	for range 2 {
		start := len(h)
		for _, q := range p {
			for len(h)-start >= 2 && r2.Cross(r2.Sub(h[len(h)-1], h[len(h)-2]), r2.Sub(q, h[len(h)-2])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, q)
		}
		if len(h) > 0 {
			h = h[:len(h)-1]
		}
		slices.Reverse(p)
	}
	return h
}
