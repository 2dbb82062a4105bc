package interlock

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/normal"
	"github.com/cusptrace/cusptrace/internal/qp"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Of the climb: the length, in mm, by which turns are made comparable to shifts, its
// longest and its last step, mm, the most steps, and what damps them, in mm² per mm².
const (
	turnLength = 20.0
	stepMost   = 0.3
	stepLeast  = 0.003
	stepsMost  = 40
	damping    = 20.0
)

// slopes are the first and the positive part of the second derivatives of the area
// under small shifts and turns about a centre, six numbers of mm.
type slopes struct {
	centre r3.Vec
	g      [6]float64
	h      [36]float64 // lower triangle
}

// moved is the rigid motion of six small numbers: a shift, and a turn about the
// centre, as its vector times turnLength.
func (s *slopes) moved(x []float64) kinematics.Pose {
	w := r3.Scale(1/turnLength, r3.Vec{X: x[3], Y: x[4], Z: x[5]})
	return kinematics.Translation(r3.Scale(-1, s.centre)).Then(kinematics.Rotation(w, s1.Angle(r3.Norm(w)))).
		Then(kinematics.Translation(r3.Add(s.centre, r3.Vec{X: x[0], Y: x[1], Z: x[2]})))
}

// area is that of [Place.Area] at a width, under a pose, with its derivatives added
// to s.
func (m *matcher) area(p kinematics.Pose, width float64, s *slopes) float64 {
	const cell = lowerStep * lowerStep
	sum := 0.0
	for i, q := range m.points {
		q = p.Apply(q)
		g, n, soft, ok := m.gap(q, m.tooth[i])
		if !ok || g > reach*width {
			continue
		}
		v, slope, bend := worth(g, width)
		if soft && v < -softMost {
			sum -= softMost * cell
			continue
		}
		sum += v * cell
		t := r3.Scale(1/turnLength, r3.Cross(r3.Sub(q, s.centre), n))
		row := [6]float64{n.X, n.Y, n.Z, t.X, t.Y, t.Z}
		for j, a := range row {
			s.g[j] += cell * slope * a
			if bend < 0 {
				for k := range j + 1 {
					s.h[6*j+k] -= cell * bend * a * row[k]
				}
			}
		}
	}
	return sum
}

// climb goes to the nearest best place by damped Newton steps (Levenberg 1944, Q Appl
// Math 2:164-168).
func (m *matcher) climb(pose kinematics.Pose, width float64) (kinematics.Pose, float64) {
	look := func(p kinematics.Pose) (float64, *slopes) {
		s := &slopes{centre: p.Apply(r3.Vec{Y: m.depth / 2})}
		return m.area(p, width, s), s
	}
	now, s := look(pose)
	damp := 1.0
	for range stepsMost {
		step := qp.Problem{H: make([]float64, 36), G: make([]float64, 6)}
		for i := range step.H {
			step.H[i] = s.h[i]
		}
		for i := range step.G {
			step.H[7*i] += damp * damping
			step.G[i] = -s.g[i]
		}
		sol, err := qp.Solve(&step)
		if err != nil {
			break // flat: nothing comes near
		}
		size := 0.0
		for _, x := range sol.X {
			size += x * x
		}
		size = math.Sqrt(size)
		if size > stepMost {
			for i := range sol.X {
				sol.X[i] *= stepMost / size
			}
		}
		next := pose.Then(s.moved(sol.X))
		if then, t := look(next); then > now {
			pose, now, s = next, then, t
			damp = max(damp/4, 1e-3)
		} else {
			damp *= 6
		}
		if size < stepLeast {
			break
		}
	}
	return pose, now
}

// giveShare is the share of the area that is lost where [Place.Give] is reached.
const giveShare = 0.125

// give is [Place.Give], from the bend of the area at its top.
func (m *matcher) give(p kinematics.Pose, area float64) (out [3]float64) {
	s := &slopes{centre: p.Apply(r3.Vec{Y: m.depth / 2})}
	m.area(p, 0.3, s)
	h := normal.Symmetric(6, func(i, j int) float64 { return s.h[6*i+j] })
	inverse, ok := h.Inverse()
	if !ok {
		return [3]float64{math.Inf(1), math.Inf(1), math.Inf(1)}
	}
	for k, q := range ends(m.depth) {
		arm := r3.Scale(1/turnLength, r3.Sub(p.Apply(q), s.centre))
		sum := 0.0
		for _, e := range [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
			t := r3.Cross(arm, e)
			row := [6]float64{e.X, e.Y, e.Z, t.X, t.Y, t.Z}
			for i, v := range row {
				for j, w := range row {
					sum += v * inverse[i][j] * w
				}
			}
		}
		out[k] = math.Sqrt(2 * giveShare * max(0, area) * sum)
	}
	return out
}
