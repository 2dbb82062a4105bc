package contact

import (
	"math"
	"math/big"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// The closing angle once more, over all pairs of features and with none of the
// package's formulas. A vertex is in the plane of a face, and two edges in one
// plane, where a determinant D(θ) of three vectors vanishes. D is a constant
// plus a multiple of cos θ plus one of sin θ, so its values at 0°, 90° and 180°,
// where turning only exchanges coordinates, give all of it. Candidates come from
// double precision with wide tolerances and are decided in 300 bits, from the
// quadratic that D becomes with u = tan(θ/2).

// limits of the search as tan(θ/2).
var (
	uMost  = math.Tan(OpeningMost.Radians() / 2)
	uLeast = math.Tan(OpeningLeast.Radians() / 2)
)

// bruteMesh is a mesh as a list of points, faces and edges, each once.
type bruteMesh struct {
	v []r3.Vec
	f [][3]int
	e [][2]int
}

func newBrute(m *mesh.Mesh, p kinematics.Pose) *bruteMesh {
	b := &bruteMesh{}
	place := map[mesh.VertexID]int{} // of the vertices that triangles use
	seen := map[[2]int]bool{}
	for _, t := range m.Triangles() {
		var f [3]int
		for i, v := range t {
			k, ok := place[v]
			if !ok {
				k = len(b.v)
				place[v] = k
				b.v = append(b.v, p.Apply(m.Vertex(v)))
			}
			f[i] = k
		}
		b.f = append(b.f, f)
		for i := range 3 {
			x, y := f[i], f[(i+1)%3]
			k := [2]int{min(x, y), max(x, y)}
			if !seen[k] {
				seen[k] = true
				b.e = append(b.e, k)
			}
		}
	}
	return b
}

// quarter is p turned about x by k quarter turns.
func quarter(p r3.Vec, k int) r3.Vec {
	switch k {
	case 1:
		return r3.Vec{X: p.X, Y: -p.Z, Z: p.Y}
	case 2:
		return r3.Vec{X: p.X, Y: -p.Y, Z: -p.Z}
	}
	return p
}

// pairing is two features: lo of the lower mesh, up of the upper. Of one and
// three points or two and two; of one and two where a point meets an edge of
// a face in which it moves.
type pairing struct {
	lo, up []r3.Vec
	theta  float64 // about; +Inf where it is not certain
}

// det is the determinant whose zeros are the contacts of the lines or planes.
func (c *pairing) det(k int) (value, size float64) {
	var lo [3]r3.Vec
	for i, p := range c.lo {
		lo[i] = quarter(p, k)
	}
	up := c.up
	var u, v, w r3.Vec
	switch {
	case len(c.lo) == 1 && len(up) == 3:
		u, v, w = r3.Sub(up[1], up[0]), r3.Sub(up[2], up[0]), r3.Sub(lo[0], up[0])
	case len(c.lo) == 3:
		u, v, w = r3.Sub(lo[1], lo[0]), r3.Sub(lo[2], lo[0]), r3.Sub(up[0], lo[0])
	case len(c.lo) == 2 && len(up) == 2:
		u, v, w = r3.Sub(lo[1], lo[0]), r3.Sub(up[1], up[0]), r3.Sub(up[0], lo[0])
	case len(c.lo) == 1:
		u, v, w = r3.Vec{X: 1}, r3.Sub(up[1], up[0]), r3.Sub(lo[0], up[0])
	default:
		u, v, w = r3.Vec{X: 1}, r3.Sub(lo[1], lo[0]), r3.Sub(up[0], lo[0])
	}
	reach := 0.0
	for _, p := range append(lo[:len(c.lo):len(c.lo)], up...) {
		reach = max(reach, r3.Norm(p))
	}
	return r3.Dot(r3.Cross(u, v), w), r3.Norm(u) * r3.Norm(v) * 2 * reach
}

// candidates appends the pairing with each angle at which it might touch.
func (c pairing) candidates(dst []pairing) []pairing {
	d0, size := c.det(0)
	d1, _ := c.det(1)
	d2, _ := c.det(2)
	k, a := (d0+d2)/2, (d0-d2)/2
	b := d1 - k // D = k + a·cos + b·sin
	disc := a*a + b*b - k*k
	if size == 0 || disc < -1e-9*size*size {
		return dst
	}
	if disc < 1e-7*size*size {
		c.theta = math.Inf(1)
		return append(dst, c)
	}
	// a·cos θ + b·sin θ is √(a²+b²)·cos(θ−φ).
	phi, half := math.Atan2(b, a), math.Acos(-k/math.Hypot(a, b))
	for _, s := range [2]float64{-1, 1} {
		c.theta = math.Remainder(phi+s*half, 2*math.Pi)
		if c.theta > OpeningLeast.Radians()-1e-3 && c.theta < OpeningMost.Radians()+1e-3 && c.near() {
			dst = append(dst, c)
		}
	}
	return dst
}

// near says whether the features come within a micrometre at the angle.
func (c *pairing) near() bool {
	sin, cos := math.Sincos(c.theta)
	var lo [3]r3.Vec
	for i, p := range c.lo {
		lo[i] = r3.Vec{X: p.X, Y: p.Y*cos - p.Z*sin, Z: p.Y*sin + p.Z*cos}
	}
	inf := math.Inf(1)
	a, b := [2]r3.Vec{{X: inf, Y: inf, Z: inf}, {X: -inf, Y: -inf, Z: -inf}}, [2]r3.Vec{{X: inf, Y: inf, Z: inf}, {X: -inf, Y: -inf, Z: -inf}}
	grow := func(x *[2]r3.Vec, p r3.Vec) {
		x[0] = r3.Vec{X: min(x[0].X, p.X), Y: min(x[0].Y, p.Y), Z: min(x[0].Z, p.Z)}
		x[1] = r3.Vec{X: max(x[1].X, p.X), Y: max(x[1].Y, p.Y), Z: max(x[1].Z, p.Z)}
	}
	for _, p := range lo[:len(c.lo)] {
		grow(&a, p)
	}
	for _, p := range c.up {
		grow(&b, p)
	}
	const s = 1e-3
	return a[0].X < b[1].X+s && b[0].X < a[1].X+s && a[0].Y < b[1].Y+s && b[0].Y < a[1].Y+s && a[0].Z < b[1].Z+s && b[0].Z < a[1].Z+s
}

// bruteClosing is the largest opening at which any two features come within
// slack of each other, in the mandible's frame at opening 0. It is −Inf for
// none, and knows nothing of surfaces that cross at OpeningMost.
func bruteClosing(up, lo *bruteMesh, slack float64) float64 {
	var all []pairing
	add := func(q, p []r3.Vec) { all = pairing{lo: q, up: p}.candidates(all) }
	face := func(m *bruteMesh, f [3]int) []r3.Vec { return []r3.Vec{m.v[f[0]], m.v[f[1]], m.v[f[2]]} }
	overlap := func(p, q []r3.Vec) bool {
		pl, ph, ql, qh := p[0].X, p[0].X, q[0].X, q[0].X
		for _, v := range p {
			pl, ph = min(pl, v.X), max(ph, v.X)
		}
		for _, v := range q {
			ql, qh = min(ql, v.X), max(qh, v.X)
		}
		return pl <= qh+slack && ql <= ph+slack
	}
	// A point against a face, or against its edges where the face lies across
	// the axis and the point moves in it.
	meet := func(p r3.Vec, f []r3.Vec, add func(p, f []r3.Vec)) {
		if !overlap([]r3.Vec{p}, f) {
			return
		}
		if f[0].X == f[1].X && f[0].X == f[2].X {
			for i := range 3 {
				add([]r3.Vec{p}, []r3.Vec{f[i], f[(i+1)%3]})
			}
			return
		}
		add([]r3.Vec{p}, f)
	}
	for _, f := range up.f {
		p := face(up, f)
		for _, q := range lo.v {
			meet(q, p, func(q, p []r3.Vec) { add(q, p) })
		}
	}
	for _, f := range lo.f {
		q := face(lo, f)
		for _, p := range up.v {
			meet(p, q, func(p, q []r3.Vec) { add(q, p) })
		}
	}
	for _, e := range up.e {
		p := []r3.Vec{up.v[e[0]], up.v[e[1]]}
		for _, g := range lo.e {
			if q := []r3.Vec{lo.v[g[0]], lo.v[g[1]]}; overlap(p, q) {
				add(q, p)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b pairing) int {
		switch {
		case a.theta > b.theta:
			return -1
		case a.theta < b.theta:
			return 1
		}
		return 0
	})
	best := math.Inf(-1)
	for i := range all {
		if all[i].theta < best-1e-5 {
			break
		}
		if u, ok := all[i].decide(slack); ok {
			best = max(best, 2*math.Atan(u))
		}
	}
	return best
}

// The rest is arithmetic with 300 bits.

const bruteBits = 300

type num = *big.Float

func lit(x float64) num { return new(big.Float).SetPrec(bruteBits).SetFloat64(x) }
func plus(a, b num) num { return new(big.Float).SetPrec(bruteBits).Add(a, b) }
func less(a, b num) num { return new(big.Float).SetPrec(bruteBits).Sub(a, b) }
func by(a, b num) num   { return new(big.Float).SetPrec(bruteBits).Mul(a, b) }
func over(a, b num) num { return new(big.Float).SetPrec(bruteBits).Quo(a, b) }
func root(a num) num    { return new(big.Float).SetPrec(bruteBits).Sqrt(a) }
func f64(a num) float64 { x, _ := a.Float64(); return x }

type vec3 [3]num

func exact(p r3.Vec) vec3      { return vec3{lit(p.X), lit(p.Y), lit(p.Z)} }
func (a vec3) sub(b vec3) vec3 { return vec3{less(a[0], b[0]), less(a[1], b[1]), less(a[2], b[2])} }
func (a vec3) dot(b vec3) num  { return plus(plus(by(a[0], b[0]), by(a[1], b[1])), by(a[2], b[2])) }
func (a vec3) cross(b vec3) vec3 {
	return vec3{
		less(by(a[1], b[2]), by(a[2], b[1])),
		less(by(a[2], b[0]), by(a[0], b[2])),
		less(by(a[0], b[1]), by(a[1], b[0])),
	}
}
func (a vec3) turn(cos, sin num) vec3 {
	return vec3{a[0], less(by(a[1], cos), by(a[2], sin)), plus(by(a[1], sin), by(a[2], cos))}
}

// decide solves the pairing and says whether the features meet, within slack,
// at an opening in range, and at which; u = tan(θ/2) of the widest.
func (c *pairing) decide(slack float64) (best float64, ok bool) {
	det := func(cos, sin num) num {
		var lo, up [3]vec3
		for i, p := range c.lo {
			lo[i] = exact(p).turn(cos, sin)
		}
		for i, p := range c.up {
			up[i] = exact(p)
		}
		x := vec3{lit(1), lit(0), lit(0)}
		switch {
		case len(c.lo) == 1 && len(c.up) == 3:
			return up[1].sub(up[0]).cross(up[2].sub(up[0])).dot(lo[0].sub(up[0]))
		case len(c.lo) == 3:
			return lo[1].sub(lo[0]).cross(lo[2].sub(lo[0])).dot(up[0].sub(lo[0]))
		case len(c.lo) == 2 && len(c.up) == 2:
			return lo[1].sub(lo[0]).cross(up[1].sub(up[0])).dot(up[0].sub(lo[0]))
		case len(c.lo) == 1:
			return x.cross(up[1].sub(up[0])).dot(lo[0].sub(up[0]))
		}
		return x.cross(lo[1].sub(lo[0])).dot(up[0].sub(lo[0]))
	}
	d0, d1, d2 := det(lit(1), lit(0)), det(lit(0), lit(1)), det(lit(-1), lit(0))
	k, a := by(plus(d0, d2), lit(0.5)), by(less(d0, d2), lit(0.5))
	b := less(d1, k)
	disc := less(plus(by(a, a), by(b, b)), by(k, k))
	scale := plus(by(a, a), by(b, b))
	if scale.Sign() == 0 {
		return 0, false // never, or always: then some other pair tells when
	}
	if disc.Sign() < 0 {
		if slack == 0 || f64(over(disc, scale)) < -1e-26 {
			return 0, false
		}
		disc = lit(0)
	}
	w, q := root(disc), less(k, a)
	for _, s := range [2]float64{-1, 1} {
		// Of the two forms of a root the one that does not divide by 0 or subtract.
		m := plus(new(big.Float).Neg(b), by(lit(s), w))
		var u *big.Float
		switch {
		case q.Sign() != 0:
			u = over(m, q)
		default: // the quadratic is linear; the other root is at ±180°
			if b.Sign() == 0 {
				continue
			}
			u = over(plus(k, a), by(lit(-2), b))
		}
		x := f64(u)
		if x > uMost+1e-12 || x < uLeast-1e-12 || (ok && x <= best) {
			continue
		}
		if c.meets(u, slack) {
			best, ok = x, true
		}
	}
	return best, ok
}

// meets says whether the features, not only their planes and lines, meet.
func (c *pairing) meets(u num, slack float64) bool {
	uu := by(u, u)
	den := plus(lit(1), uu)
	cos, sin := over(less(lit(1), uu), den), over(by(lit(2), u), den)
	var lo, up [3]vec3
	for i, p := range c.lo {
		lo[i] = exact(p).turn(cos, sin)
	}
	for i, p := range c.up {
		up[i] = exact(p)
	}
	const tiny = 1e-60
	slack += tiny
	// between says whether s, a share of a segment e, lies on it.
	between := func(s num, e vec3) bool {
		m := over(lit(slack), root(e.dot(e)))
		return s.Cmp(new(big.Float).Neg(m)) >= 0 && s.Cmp(plus(lit(1), m)) <= 0
	}
	onFace := func(p vec3, f [3]vec3) bool {
		n := f[1].sub(f[0]).cross(f[2].sub(f[0]))
		nn := root(n.dot(n))
		if nn.Sign() == 0 {
			return false
		}
		for i := range 3 {
			e := f[(i+1)%3].sub(f[i])
			h := e.cross(p.sub(f[i])).dot(n)
			if f64(over(over(h, nn), root(e.dot(e)))) < -slack {
				return false
			}
		}
		return true
	}
	onEdge := func(p, a, b vec3) bool {
		e := b.sub(a)
		ee := e.dot(e)
		return ee.Sign() > 0 && between(over(p.sub(a).dot(e), ee), e)
	}
	switch {
	case len(c.lo) == 1 && len(c.up) == 3:
		return onFace(lo[0], up)
	case len(c.lo) == 3:
		return onFace(up[0], lo)
	case len(c.lo) == 2 && len(c.up) == 2:
		e, f, d := lo[1].sub(lo[0]), up[1].sub(up[0]), up[0].sub(lo[0])
		n := e.cross(f)
		nn := n.dot(n)
		size := by(e.dot(e), f.dot(f))
		if size.Sign() == 0 || f64(over(nn, size)) < 1e-50 {
			return false // parallel: an end meets the other
		}
		return between(over(d.cross(f).dot(n), nn), e) && between(over(d.cross(e).dot(n), nn), f)
	case len(c.lo) == 1:
		return onEdge(lo[0], up[0], up[1])
	}
	return onEdge(up[0], lo[0], lo[1])
}

// bruteCrossing says whether an edge of one mesh passes through a face of the
// other at an opening.
func bruteCrossing(up, lo *bruteMesh, opening float64) bool {
	sin, cos := math.Sincos(opening)
	turned := &bruteMesh{f: lo.f, e: lo.e}
	for _, p := range lo.v {
		turned.v = append(turned.v, r3.Vec{X: p.X, Y: p.Y*cos - p.Z*sin, Z: p.Y*sin + p.Z*cos})
	}
	return stabs(up, turned) || stabs(turned, up)
}

func stabs(m, o *bruteMesh) bool {
	volume := func(a, b, c, d r3.Vec) float64 { return r3.Dot(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)), r3.Sub(d, a)) }
	for _, e := range m.e {
		p, q := m.v[e[0]], m.v[e[1]]
		for _, f := range o.f {
			a, b, c := o.v[f[0]], o.v[f[1]], o.v[f[2]]
			if volume(a, b, c, p)*volume(a, b, c, q) >= 0 {
				continue
			}
			x, y, z := volume(p, q, a, b), volume(p, q, b, c), volume(p, q, c, a)
			if (x > 0 && y > 0 && z > 0) || (x < 0 && y < 0 && z < 0) {
				return true
			}
		}
	}
	return false
}
