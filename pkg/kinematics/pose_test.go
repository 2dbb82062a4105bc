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

func randomVec(rng *rand.Rand, size float64) r3.Vec {
	return r3.Vec{X: size * (2*rng.Float64() - 1), Y: size * (2*rng.Float64() - 1), Z: size * (2*rng.Float64() - 1)}
}

// randomPose turns by any angle and moves by up to 200 mm along each axis.
func randomPose(rng *rand.Rand) kinematics.Pose {
	return kinematics.Rotation(randomVec(rng, 1), s1.Angle(math.Pi*(2*rng.Float64()-1))).
		Then(kinematics.Translation(randomVec(rng, 200)))
}

// samePose compares all entries of the matrices.
func samePose(t *testing.T, want, got kinematics.Pose, tol float64, msg ...any) {
	t.Helper()
	w, g := want.Matrix(), got.Matrix()
	assert.InDeltaSlice(t, w[:], g[:], tol, msg...)
}

func near(t *testing.T, want, got r3.Vec, tol float64, msg ...any) {
	t.Helper()
	assert.InDelta(t, 0, r3.Norm(r3.Sub(want, got)), tol, msg...)
}

func TestZeroPoseIsIdentity(t *testing.T) {
	var p kinematics.Pose
	q := r3.Vec{X: 1.25, Y: -80.1, Z: 1e-9}
	assert.Equal(t, q, p.Apply(q))
	assert.Equal(t, q, p.Rotate(q))
	assert.Equal(t, p, p.Then(p))
	assert.Equal(t, [16]float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1}, p.Matrix())
	assert.Zero(t, p.Angle())
	assert.Equal(t, p, kinematics.Rotation(r3.Vec{}, 1), "no axis, no rotation")
}

func TestPoseLaws(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		a, b, c := randomPose(rng), randomPose(rng), randomPose(rng)
		p, q := randomVec(rng, 100), randomVec(rng, 100)
		near(t, p, a.Then(a.Inverse()).Apply(p), 1e-12)
		near(t, p, a.Inverse().Then(a).Apply(p), 1e-12)
		near(t, b.Apply(a.Apply(p)), a.Then(b).Apply(p), 1e-12)
		samePose(t, a.Then(b).Then(c), a.Then(b.Then(c)), 1e-12)
		samePose(t, b.Inverse().Then(a.Inverse()), a.Then(b).Inverse(), 1e-12)
		assert.InDelta(t, r3.Norm(r3.Sub(p, q)), r3.Norm(r3.Sub(a.Apply(p), a.Apply(q))), 1e-12)
		near(t, r3.Sub(a.Apply(p), a.Apply(q)), a.Rotate(r3.Sub(p, q)), 1e-12)
		near(t, a.Offset(), a.Apply(r3.Vec{}), 0)
		near(t, r3.Cross(a.Rotate(p), a.Rotate(q)), a.Rotate(r3.Cross(p, q)), 1e-9, "no mirror")
	}
}

func TestPoseStaysRigidOverManyCompositions(t *testing.T) {
	step := kinematics.Rotation(r3.Vec{X: 1, Y: 2, Z: 3}, 0.01).Then(kinematics.Translation(r3.Vec{X: 1e-3}))
	var p kinematics.Pose
	for range 10_000 {
		p = p.Then(step)
	}
	_, err := kinematics.FromMatrix(p.Matrix())
	require.NoError(t, err)
	assert.InDelta(t, 1, r3.Norm(p.Rotate(r3.Vec{Y: 1})), 1e-11)
}

func TestRotationTurnsByTheRightHandRule(t *testing.T) {
	near(t, r3.Vec{Z: 1}, kinematics.RotationX(deg(90)).Apply(r3.Vec{Y: 1}), 1e-15)
	for _, c := range []struct {
		axis, from, to r3.Vec
		angle          float64
	}{
		{r3.Vec{X: 2}, r3.Vec{Y: 1}, r3.Vec{Z: 1}, 90},
		{r3.Vec{Y: 3}, r3.Vec{Z: 1}, r3.Vec{X: 1}, 90},
		{r3.Vec{Z: 4}, r3.Vec{X: 1}, r3.Vec{Y: 1}, 90},
		{r3.Vec{X: 1, Y: 1, Z: 1}, r3.Vec{X: 1}, r3.Vec{Y: 1}, 120},
	} {
		near(t, c.to, kinematics.Rotation(c.axis, deg(c.angle)).Apply(c.from), 1e-15)
	}
	rng := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		a := s1.Angle(math.Pi * (2*rng.Float64() - 1))
		samePose(t, kinematics.RotationX(a), kinematics.Rotation(r3.Vec{X: 5}, a), 1e-15)
		axis := randomVec(rng, 1)
		p := kinematics.Rotation(axis, a)
		near(t, axis, p.Apply(axis), 1e-14)
		assert.InDelta(t, math.Abs(a.Radians()), p.Angle().Radians(), 1e-14)
	}
}

func TestSmallRotationsKeepTheirDigits(t *testing.T) {
	for _, a := range []float64{1e-3, 1e-6, 1e-9, 1e-12} {
		p := kinematics.Rotation(r3.Vec{X: 1, Y: -2, Z: 0.5}, s1.Angle(a))
		assert.InEpsilon(t, a, p.Angle().Radians(), 1e-14)
		back := p.Then(p).Then(p.Inverse())
		assert.InEpsilon(t, a, back.Angle().Radians(), 1e-13)
	}
}

// A million turns of 1e-8 make one of 1e-2, since the part 1 − cos of each,
// 5e-17, is not lost.
func TestManyTinyRotationsAddUp(t *testing.T) {
	step := kinematics.RotationX(1e-8)
	var p kinematics.Pose
	for range 1_000_000 {
		p = p.Then(step)
	}
	assert.InEpsilon(t, 1e-2, p.Angle().Radians(), 1e-10)
	assert.InDelta(t, 1, r3.Norm(p.Rotate(r3.Vec{Y: 1})), 1e-12)
}

func TestMatrixRoundTrip(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 500 {
		p := randomPose(rng)
		got, err := kinematics.FromMatrix(p.Matrix())
		require.NoError(t, err)
		samePose(t, p, got, 1e-15)
		assert.Equal(t, got.Matrix()[3], p.Matrix()[3])
	}
	// A matrix as written reads back as the same motion, again and again.
	first, err := kinematics.FromMatrix(randomPose(rng).Matrix())
	require.NoError(t, err)
	again, err := kinematics.FromMatrix(first.Matrix())
	require.NoError(t, err)
	assert.Equal(t, first, again)
}

func TestRoundedMatrixBecomesTheNearestRotation(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 200 {
		p := randomPose(rng)
		m := p.Matrix()
		for i := range m {
			m[i] = math.Round(m[i]*1e7) / 1e7
		}
		got, err := kinematics.FromMatrix(m)
		require.NoError(t, err)
		samePose(t, p, got, 3e-7)
		r := got.Matrix()
		for i := range 3 {
			for j := range 3 {
				var dot float64
				for k := range 3 {
					dot += r[4*i+k] * r[4*j+k]
				}
				want := 0.0
				if i == j {
					want = 1
				}
				assert.InDelta(t, want, dot, 1e-15)
			}
		}
		// Nearest: what was taken out is symmetric, and turns nothing.
		taken := [3]float64{}
		for k := range 3 {
			taken[0] += (m[k]-r[k])*r[4+k] - (m[4+k]-r[4+k])*r[k]
			taken[1] += (m[k]-r[k])*r[8+k] - (m[8+k]-r[8+k])*r[k]
			taken[2] += (m[4+k]-r[4+k])*r[8+k] - (m[8+k]-r[8+k])*r[4+k]
		}
		assert.InDeltaSlice(t, make([]float64, 3), taken[:], 1e-13)
	}
}

func TestFromMatrixRefusesWhatIsNotRigid(t *testing.T) {
	unit := kinematics.Pose{}.Matrix()
	for _, c := range []struct {
		name string
		bad  func(m *[16]float64)
		says string
	}{
		{"mirror", func(m *[16]float64) { m[0] = -1 }, "mirrors"},
		{"scale", func(m *[16]float64) { m[0], m[5], m[10] = 1.001, 1.001, 1.001 }, "rows 1 and 1"},
		{"shear", func(m *[16]float64) { m[4] = 1e-5 }, "rows 2 and 1"},
		{"zero", func(m *[16]float64) { *m = [16]float64{15: 1} }, "rows 1 and 1"},
		{"perspective", func(m *[16]float64) { m[12] = 0.1 }, "last row"},
		{"column-major", func(m *[16]float64) { m[12], m[13] = 5, 6 }, "last row"},
		{"nan", func(m *[16]float64) { m[3] = math.NaN() }, "entry 3"},
		{"infinite", func(m *[16]float64) { m[7] = math.Inf(1) }, "entry 7"},
		{"huge", func(m *[16]float64) { m[0] = 1e200 }, "rows 1 and 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := unit
			c.bad(&m)
			_, err := kinematics.FromMatrix(m)
			require.ErrorIs(t, err, kinematics.ErrNotRigid)
			assert.ErrorContains(t, err, c.says)
		})
	}
}
