package contact_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// bench is four balls, parts 0 to 3, over a wavy surface 60 mm in front of the
// axis, a few mm apart.
func bench(t testing.TB) (upper, lower *contact.Arch, c *contact.Closer) {
	t.Helper()
	ball := testmesh.Sphere(3, 10)
	up, parts := testmesh.Join(
		testmesh.Shifted(ball, r3.Vec{X: -8, Y: -60, Z: -20}), testmesh.Shifted(ball, r3.Vec{X: 8, Y: -60, Z: -20}),
		testmesh.Shifted(ball, r3.Vec{X: -8, Y: -50, Z: -20}), testmesh.Shifted(ball, r3.Vec{X: 8, Y: -50, Z: -20}))
	upper = newArch(t, up, parts)
	lower = newArch(t, testmesh.Shifted(testmesh.Wavy(100), r3.Vec{X: -10, Y: -65, Z: -28}), nil)
	c, err := contact.NewCloser(t.Context(), upper, lower, contact.Options{})
	require.NoError(t, err)
	return upper, lower, c
}

var travels = []float64{0, 0.5, 1, 1.5, 2, 2.5, 3}

// Each frame is what the single calls give, in order, for every movement.
func TestFramesAreTheSingleCalls(t *testing.T) {
	upper, lower, c := bench(t)
	set := kinematics.MeanSettings()
	foils := []float64{0.04, 0.2}
	var scratch contact.FrameScratch
	for _, m := range []kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive} {
		n := 0
		o := contact.FrameOptions{Foils: foils, Clearances: true, Scratch: &scratch}
		for f, err := range c.Frames(t.Context(), set.Stations(m, travels), o) {
			require.NoError(t, err)
			st, err := set.Station(m, travels[n])
			require.NoError(t, err)
			require.Equal(t, st, f.Station)
			touch, err := c.Close(st.Base(), &contact.CloserScratch{})
			require.NoError(t, err)
			require.True(t, f.Touches && f.Guided)
			require.Equal(t, touch, f.Touch)
			require.Equal(t, touch.Pose, f.Pose)
			require.Equal(t, touch.Opening, f.Opening)
			patches, err := contact.AppendPatches(nil, upper, lower, touch.Pose, foils, false, &contact.PatchScratch{})
			require.NoError(t, err)
			require.NotEmpty(t, patches)
			require.Equal(t, patches, f.Patches)
			up, err := contact.AppendUpperClearances(nil, upper, lower, touch.Pose, &contact.ClearanceScratch{})
			require.NoError(t, err)
			require.Len(t, up, 4)
			require.Equal(t, up, f.Upper)
			lo, err := contact.AppendLowerClearances(nil, upper, lower, touch.Pose, &contact.ClearanceScratch{})
			require.NoError(t, err)
			require.Equal(t, lo, f.Lower)
			n++
		}
		require.Equal(t, len(travels), n)
	}
}

// Under a guidance the lower arch stands where that says; the touch is told
// beside it.
func TestFramesUnderAGuidance(t *testing.T) {
	_, _, c := bench(t)
	set := kinematics.MeanSettings()
	for _, by := range []s1.Angle{-1 * s1.Degree, 10 * s1.Degree} {
		for f, err := range c.Frames(t.Context(), set.Stations(kinematics.Right, travels), contact.FrameOptions{Guidance: kinematics.Free(by)}) {
			require.NoError(t, err)
			require.Equal(t, by, f.Opening)
			require.Equal(t, f.Station.Pose(by), f.Pose)
			require.True(t, f.Touches)
			require.Equal(t, f.Touch.Opening > by, f.Overlaps())
		}
	}
}

func TestFramesEnd(t *testing.T) {
	_, _, c := bench(t)
	set := kinematics.MeanSettings()
	n := 0
	for range c.Frames(t.Context(), set.Stations(kinematics.Right, travels), contact.FrameOptions{}) {
		if n++; n == 2 {
			break
		}
	}
	require.Equal(t, 2, n)

	count := func(ctx context.Context, travels []float64, o contact.FrameOptions) (good int, last error) {
		for _, err := range c.Frames(ctx, set.Stations(kinematics.Left, travels), o) {
			require.NoError(t, last, "an error is the last")
			if last = err; err == nil {
				good++
			}
		}
		return good, last
	}
	good, err := count(t.Context(), []float64{0, 1, -2, 3}, contact.FrameOptions{})
	require.Equal(t, 2, good)
	require.ErrorIs(t, err, kinematics.ErrTravel)
	good, err = count(t.Context(), travels, contact.FrameOptions{Guidance: kinematics.Free(s1.Angle(math.NaN()))})
	require.Zero(t, good)
	require.ErrorIs(t, err, kinematics.ErrSetting)
	require.ErrorContains(t, err, "left movement at 0 mm: ")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	good, err = count(ctx, travels, contact.FrameOptions{})
	require.Zero(t, good)
	require.ErrorIs(t, err, context.Canceled)
	good, err = count(t.Context(), nil, contact.FrameOptions{})
	require.Zero(t, good)
	require.NoError(t, err)
}

// Arches that miss each other have frames without a touch.
func TestFramesWithoutATouch(t *testing.T) {
	up := newArch(t, testmesh.Shifted(testmesh.Sphere(1, 4), r3.Vec{X: 30, Y: -60}), nil)
	lo := newArch(t, testmesh.Shifted(testmesh.Sphere(1, 4), r3.Vec{X: -30, Y: -60}), nil)
	c, err := contact.NewCloser(t.Context(), up, lo, contact.Options{})
	require.NoError(t, err)
	for f, err := range c.Frames(t.Context(), kinematics.MeanSettings().Stations(kinematics.Protrusive, travels),
		contact.FrameOptions{Foils: []float64{0.04}, Clearances: true}) {
		require.NoError(t, err)
		require.False(t, f.Touches || f.Guided || f.Overlaps())
		require.Empty(t, f.Patches)
		require.Empty(t, f.Upper)
	}
}

// However many frames a movement has, it allocates as much as one of few.
func TestFramesAllocateNothing(t *testing.T) {
	_, _, c := bench(t)
	set := kinematics.MeanSettings()
	foils := []float64{0.04, 0.2}
	var s contact.FrameScratch
	long := slices.Concat(travels, travels)
	for _, o := range []contact.FrameOptions{
		{Scratch: &s},
		{Scratch: &s, Foils: foils, Clearances: true},
		{Scratch: &s, Foils: foils, Clearances: true, Guidance: kinematics.Free(5 * s1.Degree)},
	} {
		allocs := func(travels []float64) float64 {
			return testing.AllocsPerRun(1, func() {
				for _, err := range c.Frames(t.Context(), set.Stations(kinematics.Right, travels), o) {
					if err != nil {
						t.Fatal(err)
					}
				}
			})
		}
		allocs(long)
		require.Equal(t, allocs(travels), allocs(long), "per frame")
	}
}
