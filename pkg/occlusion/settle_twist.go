package occlusion

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// twist is a small rigid motion: a shift t (mm) and a rotation vector ω times a
// length ρ (mm), so that all six numbers are lengths.
type twist [6]float64

// twistFrame says what twists mean: they turn about a centre, and ρ is a length
// typical of the arch.
type twistFrame struct {
	centre r3.Vec
	length float64 // ρ, mm
}

// pose is the rigid motion of a twist: the rotation about the centre, then the
// shift.
func (f twistFrame) pose(x twist) kinematics.Pose {
	w := r3.Scale(1/f.length, r3.Vec{X: x[3], Y: x[4], Z: x[5]})
	back := kinematics.Translation(r3.Scale(-1, f.centre))
	forth := kinematics.Translation(r3.Add(f.centre, r3.Vec{X: x[0], Y: x[1], Z: x[2]}))
	return back.Then(kinematics.Rotation(w, s1.Angle(r3.Norm(w)))).Then(forth)
}

// of is the twist of a rigid motion; it undoes pose.
func (f twistFrame) of(p kinematics.Pose) twist {
	t := r3.Sub(p.Apply(f.centre), f.centre)
	w := r3.Scale(f.length, rotationVector(p))
	return twist{t.X, t.Y, t.Z, w.X, w.Y, w.Z}
}

// rotationVector is the axis of a rotation times its angle (radians).
func rotationVector(p kinematics.Pose) r3.Vec {
	m := p.Matrix()
	axis := r3.Vec{X: m[9] - m[6], Y: m[2] - m[8], Z: m[4] - m[1]}
	n := r3.Norm(axis)
	if n == 0 {
		return r3.Vec{}
	}
	return r3.Scale(p.Angle().Radians()/n, axis)
}

// along is the row of the linear form x ↦ n·δ(p), with δ(p) = t + ω×(p − c) the
// displacement of the point p by a small twist x.
func (f twistFrame) along(p, n r3.Vec) twist {
	m := r3.Scale(1/f.length, r3.Cross(r3.Sub(p, f.centre), n))
	return twist{n.X, n.Y, n.Z, m.X, m.Y, m.Z}
}

// metric is the quadratic form whose value at a twist is the mean square
// displacement (mm²) of weighted points: 6×6 row-major, positive definite unless
// the points lie on one line.
func (f twistFrame) metric(points []r3.Vec, weight []float64) [36]float64 {
	var m [36]float64
	sum := 0.0
	for k, p := range points {
		sum += weight[k]
		for _, e := range [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
			row := f.along(p, e)
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

// norm is the root of the mean square displacement.
func norm(m *[36]float64, x twist) float64 {
	sum := 0.0
	for i, a := range x {
		for j, b := range x {
			sum += a * m[6*i+j] * b
		}
	}
	return math.Sqrt(max(sum, 0))
}
