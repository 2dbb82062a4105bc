package anatomy

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/normal"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

// Sphere is a sphere fitted to cusps, such as Monson's.
type Sphere struct {
	Centre r3.Vec
	Radius float64
	// RMS is the root mean square distance of the points, mm.
	RMS float64
	// Points is how many there were.
	Points int
}

// CuspSphere fits a sphere to the cusp tips of canines, premolars, first and
// second molars of an arch as far as they were seen (confidence of 0.5 and more).
// ok is false where there are too few or they lie in a plane.
func CuspSphere(l []Landmark) (s Sphere, ok bool) {
	var tips []r3.Vec
	for i := range l {
		if l[i].Feature.Cusp() && l[i].Tooth.Type() != dentition.ThirdMolar && l[i].Confidence >= 0.5 {
			tips = append(tips, l[i].Point)
		}
	}
	const fewest = 8
	if len(tips) < fewest {
		return s, false
	}
	return FitSphere(tips)
}

// sphereSteps bounds the steps of the fit, sphereMost the radius, mm, beyond which
// points count as lying in a plane, sphereFlat the condition of the equations from
// which they do.
const (
	sphereSteps = 50
	sphereMost  = 2000.0
	sphereFlat  = 1e13
)

// FitSphere is the sphere with the least sum of squared distances of the points,
// by Gauss's and Newton's method from the algebraic fit. ok is false for fewer than
// four points and for points in a plane.
func FitSphere(points []r3.Vec) (s Sphere, ok bool) {
	if len(points) < 4 {
		return s, false
	}
	var middle r3.Vec
	for _, p := range points {
		middle = r3.Add(middle, r3.Scale(1/float64(len(points)), p))
	}
	// |p|² = 2 c·p + r² − |c|², from the middle, in units of 10 mm.
	const unit = 10
	e := normal.New(4)
	for _, p := range points {
		q := r3.Scale(1./unit, r3.Sub(p, middle))
		e.Add([]float64{2 * q.X, 2 * q.Y, 2 * q.Z, 1}, r3.Norm2(q), 1)
	}
	x, ok := e.Solve(sphereFlat)
	if !ok {
		return s, false
	}
	c := r3.Vec{X: x[0], Y: x[1], Z: x[2]}
	s = Sphere{Centre: r3.Add(middle, r3.Scale(unit, c)), Radius: unit * math.Sqrt(max(0, x[3]+r3.Norm2(c))),
		Points: len(points)}
	for range sphereSteps {
		e = normal.New(4)
		for _, p := range points {
			d := r3.Sub(p, s.Centre)
			l := r3.Norm(d)
			if l == 0 {
				return s, false
			}
			e.Add([]float64{d.X / l, d.Y / l, d.Z / l, 1}, l-s.Radius, 1)
		}
		if x, ok = e.Solve(sphereFlat); !ok {
			return s, false
		}
		step := r3.Vec{X: x[0], Y: x[1], Z: x[2]}
		s.Centre, s.Radius = r3.Add(s.Centre, step), s.Radius+x[3]
		if r3.Norm(step) < 1e-9 {
			break
		}
	}
	if !(s.Radius < sphereMost) {
		return s, false
	}
	sum := 0.0
	for _, p := range points {
		e := r3.Norm(r3.Sub(p, s.Centre)) - s.Radius
		sum += e * e
	}
	s.RMS = math.Sqrt(sum / float64(len(points)))
	return s, true
}
