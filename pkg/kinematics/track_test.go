package kinematics_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

func TestSamples(t *testing.T) {
	for _, c := range []struct {
		max, step float64
		want      []float64
	}{
		{1, 0.25, []float64{0, 0.25, 0.5, 0.75, 1}},
		{0.5, 0.1, []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5}},
		{1, 0.3, []float64{0, 0.3, 0.6, 0.3 * 3, 1}},
		{0.1, 0.1, []float64{0, 0.1}},
		{0.1, 5, []float64{0, 0.1}},
	} {
		got, err := kinematics.Samples(c.max, c.step)
		require.NoError(t, err)
		assert.InDeltaSlice(t, c.want, got, 1e-15)
		assert.Len(t, got, len(c.want))
	}
	got, err := kinematics.Samples(8, 0.1)
	require.NoError(t, err)
	require.Len(t, got, 81)
	assert.Equal(t, 0.3, got[3], "as it would be written")
	assert.Equal(t, 8.0, got[80])
	for i, v := range got {
		assert.InDelta(t, float64(i)/10, v, 0)
	}
	for _, n := range []int{1, 2, 3, 7, 80, 81, 9999} {
		step := 8 / float64(n)
		got, err := kinematics.Samples(8, step)
		require.NoError(t, err)
		require.Len(t, got, n+1)
		for i, v := range got {
			assert.InDelta(t, float64(i)*step, v, 1e-12)
		}
	}
}

func TestSamplesErrors(t *testing.T) {
	for _, c := range [][2]float64{{0, 0.1}, {-1, 0.1}, {math.NaN(), 0.1}, {math.Inf(1), 0.1}, {8, 0}, {8, -0.1},
		{8, math.NaN()}, {8, math.Inf(1)}, {8, 1e-9}, {1e300, 1e-300}} {
		_, err := kinematics.Samples(c[0], c[1])
		require.ErrorIs(t, err, kinematics.ErrSampling, "%v", c)
	}
}

func TestPathOf(t *testing.T) {
	q := r3.Vec{Y: -10}
	got := kinematics.PathOf(q, []kinematics.Pose{{}, kinematics.Translation(r3.Vec{X: 2}), kinematics.RotationX(deg(90))})
	require.Len(t, got, 3)
	assert.Equal(t, q, got[0])
	assert.Equal(t, r3.Vec{X: 2, Y: -10}, got[1])
	near(t, r3.Vec{Z: -10}, got[2], 1e-14)
	assert.Empty(t, kinematics.PathOf(q, nil))
}

func TestInclinationOf(t *testing.T) {
	for _, c := range []struct {
		to   r3.Vec
		want float64
	}{
		{r3.Vec{Y: -1, Z: -1}, 45}, {r3.Vec{X: 3, Y: -4, Z: 5}, -45}, {r3.Vec{Z: -2}, 90}, {r3.Vec{X: 1}, 0},
		{r3.Vec{Y: 1, Z: -math.Sqrt(3)}, 60},
	} {
		from := r3.Vec{X: 1, Y: 2, Z: 3}
		got, err := kinematics.InclinationOf([]r3.Vec{from, {X: 9, Y: 9, Z: 9}, r3.Add(from, c.to)})
		require.NoError(t, err)
		assert.InDelta(t, c.want, got.Degrees(), 1e-12)
	}
	for _, bad := range [][]r3.Vec{nil, {{}}, {{X: 1}, {X: 1}}, {{}, {X: math.NaN()}}} {
		_, err := kinematics.InclinationOf(bad)
		assert.Error(t, err)
	}
}
