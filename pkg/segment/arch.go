package segment

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// archFrame is the plane and curve on which the teeth of an unlabelled arch
// stand. Height is measured from the occlusal plane, positive beyond it; the
// plane's coordinates are x to the patient's left and y to the back, from the
// middle of the front.
type archFrame struct {
	origin             r3.Vec
	left, back, facing r3.Vec // unit vectors; facing is the way the teeth point
	curve              []r2.Vec
	station            []float64 // arc length at the curve's points from the midline, to the left, mm
}

// plan is a point's place in the plane and its height.
func (a *archFrame) plan(p r3.Vec) (r2.Vec, float64) {
	d := r3.Sub(p, a.origin)
	return r2.Vec{X: r3.Dot(d, a.left), Y: r3.Dot(d, a.back)}, r3.Dot(d, a.facing)
}

// findArch finds plane, front and curve from the shape alone; false where it
// shows none. facing is about the direction in which the teeth point; from
// there the plane is fitted to the highest points all around.
func findArch(s *surface, jaw dentition.Jaw, facing r3.Vec) (*archFrame, bool) {
	middle := s.middle()
	n := r3.Unit(facing)
	var offset float64
	for range 8 {
		n, offset = robustPlane(s.sectorTops(middle, n), n)
	}
	a := &archFrame{origin: r3.Add(middle, r3.Scale(offset-r3.Dot(middle, n), n)), facing: n}
	a.turn(geom.Perpendicular(n), jaw)
	return a, a.fitCurve(s, jaw)
}

// middle is the mean place of the surface.
func (s *surface) middle() r3.Vec {
	var sum r3.Vec
	total := 0.0
	for v, p := range s.mesh.Vertices() {
		if s.part[v] {
			sum, total = r3.Add(sum, r3.Scale(s.area[v], p)), total+s.area[v]
		}
	}
	if total == 0 {
		return r3.Vec{}
	}
	return r3.Scale(1/total, sum)
}

// turn sets left, and back so that up, left and back are those of the patient.
func (a *archFrame) turn(left r3.Vec, jaw dentition.Jaw) {
	a.left = left
	a.back = r3.Cross(a.facing, left)
	if jaw == dentition.Upper {
		a.back = r3.Scale(-1, a.back)
	}
}

// sectorTops is the highest vertex along n in every sector around the middle.
func (s *surface) sectorTops(middle, n r3.Vec) []r3.Vec {
	const sectors = 48 // three or four a tooth
	u := geom.Perpendicular(n)
	v := r3.Cross(n, u)
	var best [sectors]r3.Vec
	var height [sectors]float64
	for i := range height {
		height[i] = math.Inf(-1)
	}
	for v0, p := range s.mesh.Vertices() {
		if !s.rough(v0) || s.open[v0] {
			continue
		}
		d := r3.Sub(p, middle)
		k := min(int((math.Atan2(r3.Dot(d, v), r3.Dot(d, u))/(2*math.Pi)+0.5)*sectors), sectors-1)
		if h := r3.Dot(d, n); h > height[k] {
			best[k], height[k] = p, h
		}
	}
	var out []r3.Vec
	for k, h := range height {
		if !math.IsInf(h, -1) {
			out = append(out, best[k])
		}
	}
	return out
}

// robustPlane is the plane through the higher of the points: sectors without
// teeth lie lower and are left out, the more strictly the better the plane is known,
// since the ridge behind the last tooth can tilt it. The normal is kept on the side of n; offset
// is the plane's distance from the origin along it.
func robustPlane(pts []r3.Vec, n r3.Vec) (normal r3.Vec, offset float64) {
	keep := pts
	for i := range 6 {
		n = geom.PlaneNormal(keep, n)
		heights := make([]float64, len(keep))
		for i, p := range keep {
			heights[i] = r3.Dot(p, n)
		}
		offset = quantile(heights, 0.6)
		var higher []r3.Vec
		for _, p := range pts {
			if h := r3.Dot(p, n) - offset; h > -2.5+0.2*float64(i) && h < 4 {
				higher = append(higher, p)
			}
		}
		if len(higher) < 6 {
			break
		}
		keep = higher
	}
	return n, offset
}

// quantile is the value below which a share q of x lies. It reorders x.
func quantile(x []float64, q float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[min(len(x)-1, int(q*float64(len(x))))]
}

// tableDepth is how far below the plane surface counts as that of crowns when
// the curve is fitted, mm: less than the shortest crown.
const tableDepth = 3.5

// fitCurve finds the front and the arch curve: y = c + b·x + a·x² + e·x⁴ fitted
// to the crowns' tops, in that direction in which it fits best.
func (a *archFrame) fitCurve(s *surface, jaw dentition.Jaw) bool {
	const grain = 1.0 // mm; one point a cell
	type key struct{ x, y int }
	seen := map[key]bool{}
	var tops []r3.Vec // in the plane, seen from the first directions
	var middle r3.Vec
	for v, p := range s.mesh.Vertices() {
		q, h := a.plan(p)
		if h < -tableDepth || !s.rough(v) {
			continue
		}
		if k := (key{int(math.Floor(q.X / grain)), int(math.Floor(q.Y / grain))}); !seen[k] {
			seen[k] = true
			tops = append(tops, p)
			middle = r3.Add(middle, p)
		}
	}
	if len(tops) < 60 {
		return false
	}
	middle = r3.Scale(1/float64(len(tops)), middle)
	a.origin = r3.Add(a.origin, r3.Sub(r3.Sub(middle, a.origin), r3.Scale(r3.Dot(r3.Sub(middle, a.origin), a.facing), a.facing)))
	first := a.left
	var best polynomial
	cost, angle := math.Inf(1), 0.0
	try := func(degrees float64) {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		a.turn(r3.Add(r3.Scale(cos, first), r3.Scale(sin, r3.Cross(a.facing, first))), jaw)
		pts := make([]r2.Vec, len(tops))
		for i, p := range tops {
			pts[i], _ = a.plan(p)
		}
		if f, c := fitPolynomial(pts); c < cost {
			best, cost, angle = f, c, degrees
		}
	}
	for d := 0.0; d < 360; d += 4 {
		try(d)
	}
	for d, around := -3.0, angle; d <= 3; d++ {
		try(around + d)
	}
	// A crown's half depth at most lies beside the curve, and its mean is half.
	if cost > 3.5 {
		return false
	}
	sin, cos := math.Sincos(angle * math.Pi / 180)
	a.turn(r3.Add(r3.Scale(cos, first), r3.Scale(sin, r3.Cross(a.facing, first))), jaw)
	a.lay(best)
	return true
}

// polynomial is a curve in the plane about the apex x0.
type polynomial struct{ x0, c, a, e float64 }

func (p polynomial) at(x float64) float64 {
	x -= p.x0
	return p.c + p.a*x*x + p.e*x*x*x*x
}

func (p polynomial) slope(x float64) float64 {
	x -= p.x0
	return 2*p.a*x + 4*p.e*x*x*x
}

// fitPolynomial fits the curve by least squares of distances, about; its cost is
// the mean distance, each at most 6 mm, with infinity where the curve does not
// open to the back as arches do.
func fitPolynomial(pts []r2.Vec) (polynomial, float64) {
	var p polynomial
	p.a = 0.03
	for range 6 {
		var m [4][5]float64
		for _, q := range pts {
			x := q.X - p.x0
			s := p.slope(q.X)
			w := 1 / (1 + s*s)
			if d := math.Abs(q.Y-p.at(q.X)) * math.Sqrt(w); d > 3 && p.c != 0 {
				w *= 3 / d
			}
			row := [5]float64{1, x, x * x, x * x * x * x / 400, q.Y}
			for i := range 4 {
				for j := range 5 {
					m[i][j] += w * row[i] * row[j]
				}
			}
		}
		k, ok := solve4(m)
		if !ok || !(k[2] > 0) {
			return p, math.Inf(1)
		}
		// The new apex, to second order.
		shift := max(-5, min(5, -k[1]/(2*k[2])))
		p.c, p.a, p.e = k[0]+k[1]*shift+k[2]*shift*shift, k[2], max(0, k[3]/400)
		p.x0 += shift
	}
	// Arches are 40 to 70 mm wide at a depth of 40 mm, or parts of such.
	if p.a < 0.005 || p.a > 0.12 {
		return p, math.Inf(1)
	}
	sum := 0.0
	for _, q := range pts {
		s := p.slope(q.X)
		sum += min(6, math.Abs(q.Y-p.at(q.X))/math.Sqrt(1+s*s))
	}
	return p, sum / float64(len(pts))
}

// solve4 solves four linear equations by elimination with pivots.
func solve4(m [4][5]float64) (x [4]float64, ok bool) {
	for i := range 4 {
		p := i
		for r := i + 1; r < 4; r++ {
			if math.Abs(m[r][i]) > math.Abs(m[p][i]) {
				p = r
			}
		}
		if m[i], m[p] = m[p], m[i]; math.Abs(m[i][i]) < 1e-9 {
			return x, false
		}
		for r := i + 1; r < 4; r++ {
			f := m[r][i] / m[i][i]
			for c := i; c < 5; c++ {
				m[r][c] -= f * m[i][c]
			}
		}
	}
	for i := 3; i >= 0; i-- {
		x[i] = m[i][4]
		for c := i + 1; c < 4; c++ {
			x[i] -= m[i][c] * x[c]
		}
		x[i] /= m[i][i]
	}
	return x, true
}

// reachBack is the length of the curve on either side of the midline, mm: more
// than half the handbook widths of eight teeth, 59 mm, at their largest.
const reachBack = 78.0

// lay puts the origin to the curve's apex and samples the curve.
func (a *archFrame) lay(p polynomial) {
	a.origin = r3.Add(a.origin, r3.Add(r3.Scale(p.x0, a.left), r3.Scale(p.c, a.back)))
	p.x0, p.c = 0, 0
	const pace = 0.25
	half := []r2.Vec{{}}
	lengths := []float64{0}
	for x, s := 0.0, 0.0; s < reachBack; s += pace {
		k := p.slope(x)
		x += pace / math.Sqrt(1+k*k)
		half, lengths = append(half, r2.Vec{X: x, Y: p.at(x)}), append(lengths, s+pace)
	}
	for i := len(half) - 1; i > 0; i-- {
		a.curve, a.station = append(a.curve, r2.Vec{X: -half[i].X, Y: half[i].Y}), append(a.station, -lengths[i])
	}
	a.curve, a.station = append(a.curve, half...), append(a.station, lengths...)
}

// along is a place in the plane by the curve: arc length from the midline to the
// left, and distance from the curve to the outside, mm.
func (a *archFrame) along(q r2.Vec) (station, outside float64) {
	const stride = 8
	best, d2 := 0, math.Inf(1)
	for i := 0; i < len(a.curve); i += stride {
		if d := r2.Norm2(r2.Sub(q, a.curve[i])); d < d2 {
			best, d2 = i, d
		}
	}
	for i := max(0, best-stride); i < min(len(a.curve), best+stride+1); i++ {
		if d := r2.Norm2(r2.Sub(q, a.curve[i])); d < d2 {
			best, d2 = i, d
		}
	}
	i := min(max(best, 1), len(a.curve)-2)
	t := r2.Unit(r2.Sub(a.curve[i+1], a.curve[i-1]))
	d := r2.Sub(q, a.curve[best])
	// The curve runs to the left; the outside of the front is −y.
	return a.station[best] + r2.Dot(d, t), r2.Cross(d, t)
}

// shift moves the curve outside by what is given for stations in steps of [pace] from
// first, smoothed, and lays it anew from the same midline.
func (a *archFrame) shift(first float64, outside []float64) {
	const smooth = 3.0 // mm
	outside = blur(outside, ones(len(outside)), smooth/pace)
	pts := make([]r2.Vec, 0, len(a.curve))
	mid := 0
	for i, p := range a.curve {
		k := int((a.station[i] - first) / pace)
		if k < 0 || k >= len(outside) || i == 0 || i == len(a.curve)-1 {
			continue
		}
		t := r2.Unit(r2.Sub(a.curve[i+1], a.curve[i-1]))
		if a.station[i] == 0 {
			mid = len(pts)
		}
		// outside is to the right of the way along the curve
		pts = append(pts, r2.Add(p, r2.Scale(outside[k], r2.Vec{X: t.Y, Y: -t.X})))
	}
	a.curve = pts
	a.station = make([]float64, len(pts))
	for i := mid + 1; i < len(pts); i++ {
		a.station[i] = a.station[i-1] + r2.Norm(r2.Sub(pts[i], pts[i-1]))
	}
	for i := mid - 1; i >= 0; i-- {
		a.station[i] = a.station[i+1] - r2.Norm(r2.Sub(pts[i], pts[i+1]))
	}
}
