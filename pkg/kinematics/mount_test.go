package kinematics_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// average is a mounting of a lower arch whose points stand, in the scan frame,
// x to the left, y to the back and z up, with the midline off the middle.
func average() kinematics.Average {
	return kinematics.Average{
		IncisalPoint: r3.Vec{X: 1.5, Y: -20, Z: 3},
		RightMolar:   r3.Vec{X: -27, Y: 21, Z: 2.5},
		LeftMolar:    r3.Vec{X: 26, Y: 19, Z: 3.5},
		Up:           r3.Vec{X: 0.1, Y: -0.2, Z: 0.7},

		Intercondylar: 110, CondyleToIncisal: 105, Balkwill: deg(22), PlaneTilt: deg(8),
	}
}

func recorded() kinematics.RecordedAxis {
	return kinematics.RecordedAxis{
		RightCondyle: r3.Vec{X: -50, Y: 60, Z: 40},
		LeftCondyle:  r3.Vec{X: 57, Y: 62, Z: 38},
		Reference:    r3.Vec{X: -31, Y: -15, Z: 51},
		Up:           r3.Vec{Z: 1},
	}
}

func TestRecordedAxisMount(t *testing.T) {
	m := recorded()
	p, err := m.Mount()
	require.NoError(t, err)
	d := m.Intercondylar()
	assert.InDelta(t, r3.Norm(r3.Vec{X: 107, Y: 2, Z: -2}), d, 1e-12)
	near(t, r3.Vec{X: -d / 2}, p.Apply(m.RightCondyle), 1e-12)
	near(t, r3.Vec{X: d / 2}, p.Apply(m.LeftCondyle), 1e-12)
	ref := p.Apply(m.Reference)
	assert.InDelta(t, 0, ref.Z, 1e-12)
	assert.Less(t, ref.Y, -70.0, "the third point is in front")
	assert.Positive(t, p.Rotate(m.Up).Z)

	m.Up = r3.Vec{}
	unchecked, err := m.Mount()
	require.NoError(t, err)
	assert.Equal(t, p, unchecked)
}

func TestAverageMount(t *testing.T) {
	m := average()
	p, err := m.Mount()
	require.NoError(t, err)
	h := math.Sqrt(105*105 - 55*55)
	near(t, r3.Vec{Y: -h * math.Cos(30*math.Pi/180), Z: -h * math.Sin(30*math.Pi/180)}, p.Apply(m.IncisalPoint), 1e-12)

	// The Bonwill triangle has the sides that were asked for.
	for _, x := range []float64{-55, 55} {
		assert.InDelta(t, 105, r3.Norm(r3.Sub(p.Apply(m.IncisalPoint), r3.Vec{X: x})), 1e-12)
	}
	// The molars' line is parallel to the axis, right to left.
	across := p.Rotate(r3.Sub(m.LeftMolar, m.RightMolar))
	near(t, r3.Vec{X: r3.Norm(across)}, across, 1e-12)
	// The occlusal plane is lower in front, by the tilt.
	back := r3.Sub(p.Apply(m.LeftMolar), p.Apply(m.IncisalPoint))
	assert.InDelta(t, 8, math.Atan2(back.Z, back.Y)*180/math.Pi, 1e-12)
	// The axis is above the occlusal plane, and the Balkwill angle lies between
	// the plane and the triangle.
	triangle := r3.Scale(-1, p.Apply(m.IncisalPoint))
	assert.InDelta(t, 22, math.Atan2(triangle.Z, triangle.Y)*180/math.Pi-8, 1e-12)
	assert.Positive(t, p.Rotate(m.Up).Z)
}

// Bonwill's equilateral triangle of 4 inches with a Balkwill angle of 22° has
// the incisal point 81.58 mm in front of and 32.96 mm below the axis.
func TestAverageMountOfBonwillTriangle(t *testing.T) {
	m := average()
	m.Intercondylar, m.CondyleToIncisal, m.PlaneTilt = 101.6, 101.6, 0
	p, err := m.Mount()
	require.NoError(t, err)
	i := p.Apply(m.IncisalPoint)
	assert.InDelta(t, -81.5812, i.Y, digits(4))
	assert.InDelta(t, -32.9610, i.Z, digits(4))
}

func TestMatrixMount(t *testing.T) {
	want, err := average().Mount()
	require.NoError(t, err)
	got, err := kinematics.Matrix(want.Matrix()).Mount()
	require.NoError(t, err)
	samePose(t, want, got, 1e-15)
	_, err = kinematics.Matrix{}.Mount()
	require.ErrorIs(t, err, kinematics.ErrNotRigid)
}

// Wherever the scanner put the scans, the casts come to the same place.
func TestMountingDoesNotDependOnTheScanFrame(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	a, r := average(), recorded()
	wantA, err := a.Mount()
	require.NoError(t, err)
	wantR, err := r.Mount()
	require.NoError(t, err)
	for range 300 {
		move := randomPose(rng)
		a2 := a
		a2.IncisalPoint, a2.RightMolar, a2.LeftMolar = move.Apply(a.IncisalPoint), move.Apply(a.RightMolar), move.Apply(a.LeftMolar)
		a2.Up = move.Rotate(a.Up)
		got, err := a2.Mount()
		require.NoError(t, err)
		samePose(t, wantA, move.Then(got), 1e-11)

		r2 := kinematics.RecordedAxis{RightCondyle: move.Apply(r.RightCondyle), LeftCondyle: move.Apply(r.LeftCondyle),
			Reference: move.Apply(r.Reference), Up: move.Rotate(r.Up)}
		got, err = r2.Mount()
		require.NoError(t, err)
		samePose(t, wantR, move.Then(got), 1e-11)
	}
}

func mirrored(v r3.Vec) r3.Vec { return r3.Vec{X: -v.X, Y: v.Y, Z: v.Z} }

func TestMountingOfMirroredPointsIsMirrored(t *testing.T) {
	a, r := average(), recorded()
	ma, mr := a, r
	ma.IncisalPoint, ma.RightMolar, ma.LeftMolar, ma.Up = mirrored(a.IncisalPoint), mirrored(a.LeftMolar), mirrored(a.RightMolar), mirrored(a.Up)
	mr.RightCondyle, mr.LeftCondyle, mr.Reference, mr.Up = mirrored(r.LeftCondyle), mirrored(r.RightCondyle), mirrored(r.Reference), mirrored(r.Up)
	q := r3.Vec{X: 12, Y: -7, Z: 9}
	for _, pair := range [][2]kinematics.Mounting{{a, ma}, {r, mr}} {
		p, err := pair[0].Mount()
		require.NoError(t, err)
		m, err := pair[1].Mount()
		require.NoError(t, err)
		near(t, mirrored(p.Apply(q)), m.Apply(mirrored(q)), 1e-12)
	}
}

func TestMountingErrors(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		m    kinematics.Mounting
		says string
	}{
		{"axis of no length", with(recorded(), func(m *kinematics.RecordedAxis) { m.LeftCondyle = m.RightCondyle }), "same point"},
		{"third point on the axis", with(recorded(), func(m *kinematics.RecordedAxis) {
			m.Reference = r3.Add(m.RightCondyle, r3.Scale(0.3, r3.Sub(m.LeftCondyle, m.RightCondyle)))
		}), "one line"},
		{"third point at a condyle", with(recorded(), func(m *kinematics.RecordedAxis) { m.Reference = m.LeftCondyle }), "one line"},
		{"condyles exchanged", with(recorded(),
			func(m *kinematics.RecordedAxis) { m.LeftCondyle, m.RightCondyle = m.RightCondyle, m.LeftCondyle }), "exchanged"},
		{"not a number", with(recorded(), func(m *kinematics.RecordedAxis) { m.Reference.Y = nan }), "must be finite"},
		{"infinite", with(recorded(), func(m *kinematics.RecordedAxis) { m.Reference.Y = math.Inf(-1) }), "must be finite"},
		{"up not a number", with(recorded(), func(m *kinematics.RecordedAxis) { m.Up.Y = nan }), "up direction"},
		{"huge", with(recorded(), func(m *kinematics.RecordedAxis) { m.LeftCondyle.Y = 1e300 }), "one line"},
		{"molars exchanged", with(average(), func(m *kinematics.Average) { m.LeftMolar, m.RightMolar = m.RightMolar, m.LeftMolar }), "exchanged"},
		{"molars on one spot", with(average(), func(m *kinematics.Average) { m.LeftMolar = m.RightMolar }), "same point"},
		{"points on one line", with(average(),
			func(m *kinematics.Average) { m.IncisalPoint = r3.Scale(0.5, r3.Add(m.LeftMolar, m.RightMolar)) }), "one line"},
		{"points almost on one line", with(average(), func(m *kinematics.Average) {
			m.IncisalPoint = r3.Add(m.LeftMolar, r3.Vec{Y: -0.3})
		}), "one line"},
		{"no triangle", with(average(), func(m *kinematics.Average) { m.CondyleToIncisal = 54.9 }), "half the intercondylar distance"},
		{"flat triangle", with(average(), func(m *kinematics.Average) { m.CondyleToIncisal = 55 }), "half the intercondylar distance"},
		{"no side", with(average(), func(m *kinematics.Average) { m.CondyleToIncisal = nan }), "half the intercondylar distance"},
		{"no distance", with(average(), func(m *kinematics.Average) { m.Intercondylar = 0 }), "intercondylar distance is 0 mm"},
		{"negative distance", with(average(), func(m *kinematics.Average) { m.Intercondylar = -110 }), "above 0"},
		{"Balkwill angle", with(average(), func(m *kinematics.Average) { m.Balkwill = deg(200) }), "Balkwill angle is 200°"},
		{"tilt", with(average(), func(m *kinematics.Average) { m.PlaneTilt = s1.Angle(nan) }), "tilt of the occlusal plane"},
		{"tilt and Balkwill angle", with(average(),
			func(m *kinematics.Average) { m.PlaneTilt, m.Balkwill = deg(60), deg(60) }), "together is 120°"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.m.Mount()
			require.ErrorIs(t, err, kinematics.ErrMounting)
			assert.ErrorContains(t, err, c.says)
		})
	}
}

func with[T any](v T, change func(*T)) T {
	change(&v)
	return v
}
