package kinematics

import (
	"math"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Twist is a small rigid motion: a shift t (mm) and a rotation vector ω times a
// length ρ (mm), so that all six numbers are lengths.
type Twist [6]float64

// TwistFrame says what twists mean: they turn about a centre, and ρ is a length
// typical of the arch.
type TwistFrame struct {
	Centre r3.Vec
	Length float64 // ρ, mm
}

// Pose is the rigid motion of a twist: the rotation about the centre, then the
// shift.
func (f TwistFrame) Pose(x Twist) Pose {
	w := r3.Scale(1/f.Length, r3.Vec{X: x[3], Y: x[4], Z: x[5]})
	back := Translation(r3.Scale(-1, f.Centre))
	forth := Translation(r3.Add(f.Centre, r3.Vec{X: x[0], Y: x[1], Z: x[2]}))
	return back.Then(Rotation(w, s1.Angle(r3.Norm(w)))).Then(forth)
}

// Of is the twist of a rigid motion; it undoes pose.
func (f TwistFrame) Of(p Pose) Twist {
	t := r3.Sub(p.Apply(f.Centre), f.Centre)
	w := r3.Scale(f.Length, RotationVector(p))
	return Twist{t.X, t.Y, t.Z, w.X, w.Y, w.Z}
}

// RotationVector is the axis of a rotation times its angle (radians).
func RotationVector(p Pose) r3.Vec {
	m := p.Matrix()
	axis := r3.Vec{X: m[9] - m[6], Y: m[2] - m[8], Z: m[4] - m[1]}
	n := r3.Norm(axis)
	if n == 0 {
		return r3.Vec{}
	}
	return r3.Scale(p.Angle().Radians()/n, axis)
}

// Along is the row of the linear form x ↦ n·δ(p), with δ(p) = t + ω×(p − c) the
// displacement of the point p by a small twist x.
func (f TwistFrame) Along(p, n r3.Vec) Twist {
	m := r3.Scale(1/f.Length, r3.Cross(r3.Sub(p, f.Centre), n))
	return Twist{n.X, n.Y, n.Z, m.X, m.Y, m.Z}
}

// Metric is the quadratic form whose value at a twist is the mean square
// displacement (mm²) of weighted points: 6×6 row-major, positive definite unless
// the points lie on one line.
func (f TwistFrame) Metric(points []r3.Vec, weight []float64) [36]float64 {
	var m [36]float64
	sum := 0.0
	for k, p := range points {
		sum += weight[k]
		for _, e := range [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
			row := f.Along(p, e)
			for i, a := range row {
				for j, b := range row {
					m[6*i+j] += weight[k] * a * b
				}
			}
		}
	}
	for i := range m {
		m[i] /= sum
	}
	return m
}

// NormIn is the root of the mean square displacement.
func NormIn(m *[36]float64, x Twist) float64 {
	sum := 0.0
	for i, a := range x {
		for j, b := range x {
			sum += a * m[6*i+j] * b
		}
	}
	return math.Sqrt(max(sum, 0))
}
