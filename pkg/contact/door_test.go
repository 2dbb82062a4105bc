package contact_test

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// What a caller may get wrong is an error that says what to do, never a panic
// and never a wrong number.
func TestArchesThatAreRefused(t *testing.T) {
	_, err := contact.NewArch(t.Context(), nil, nil, contact.Options{})
	require.EqualError(t, err, "arch: the mesh is nil")

	soup := testmesh.Unwelded(testmesh.Grid(2))
	_, err = contact.NewArch(t.Context(), soup, nil, contact.Options{})
	require.ErrorIs(t, err, contact.ErrUnwelded)
	require.EqualError(t, err, "arch: mesh is not welded: 15 of its 24 vertices lie at the place of another; join them with mesh.Weld(m, 0)")
	welded, _ := mesh.Weld(soup, 0)
	good, err := contact.NewArch(t.Context(), welded, nil, contact.Options{})
	require.NoError(t, err)

	for _, bad := range []*contact.Arch{nil, {}, {Index: good.Index}} {
		_, err := contact.NewCloser(t.Context(), bad, good, contact.Options{})
		require.ErrorIs(t, err, contact.ErrNoArch)
		require.ErrorContains(t, err, "upper arch: ")
		_, err = contact.NewCloser(t.Context(), good, bad, contact.Options{})
		require.ErrorContains(t, err, "lower arch: ")
		_, err = contact.AppendUpperClearances(nil, good, bad, kinematics.Pose{}, &contact.ClearanceScratch{})
		require.ErrorIs(t, err, contact.ErrNoArch)
		_, err = contact.AppendLowerClearances(nil, bad, good, kinematics.Pose{}, &contact.ClearanceScratch{})
		require.ErrorIs(t, err, contact.ErrNoArch)
		_, _, err = contact.AppendClearances(nil, nil, bad, good, kinematics.Pose{}, &contact.ClearanceScratch{})
		require.ErrorIs(t, err, contact.ErrNoArch)
		_, err = contact.AppendPatches(nil, bad, good, kinematics.Pose{}, []float64{0.01}, false, &contact.PatchScratch{})
		require.ErrorIs(t, err, contact.ErrNoArch)
		_, err = contact.AppendUpperMap(t.Context(), nil, bad, good, kinematics.Pose{}, 1, contact.Options{})
		require.ErrorIs(t, err, contact.ErrNoArch)
		_, err = contact.AppendLowerMap(t.Context(), nil, good, bad, kinematics.Pose{}, 1, contact.Options{})
		require.ErrorIs(t, err, contact.ErrNoArch)
	}
}

func TestPosesThatAreNotFinite(t *testing.T) {
	up, lo := newArch(t, testmesh.Plane(4, 2), nil), newArch(t, testmesh.Sphere(1, 4), nil)
	c, err := contact.NewCloser(t.Context(), up, lo, contact.Options{})
	require.NoError(t, err)
	for _, bad := range []kinematics.Pose{
		kinematics.Translation(r3.Vec{Y: math.NaN()}),
		kinematics.Translation(r3.Vec{X: math.Inf(-1)}),
		kinematics.RotationX(s1.Angle(math.NaN())),
		kinematics.Rotation(r3.Vec{Z: 1}, s1.Angle(math.Inf(1))),
		kinematics.Translation(r3.Vec{X: math.MaxFloat64}).Then(kinematics.Translation(r3.Vec{X: math.MaxFloat64})),
	} {
		require.ErrorIs(t, bad.Validate(), kinematics.ErrNotFinite)
		_, err := c.Close(bad, &contact.CloserScratch{})
		require.ErrorIs(t, err, kinematics.ErrNotFinite)
		_, err = contact.NewCloserAbout(t.Context(), up, lo, bad, contact.Options{})
		require.ErrorIs(t, err, kinematics.ErrNotFinite)
		gaps, err := contact.AppendUpperClearances([]contact.Gap{{Dist: 7}}, up, lo, bad, &contact.ClearanceScratch{})
		require.ErrorIs(t, err, kinematics.ErrNotFinite)
		require.Equal(t, []contact.Gap{{Dist: 7}}, gaps, "what was there stays")
		ups, los, err := contact.AppendClearances([]contact.Gap{{Dist: 7}}, []contact.Gap{{Dist: 8}}, up, lo, bad, &contact.ClearanceScratch{})
		require.ErrorIs(t, err, kinematics.ErrNotFinite)
		require.Equal(t, []contact.Gap{{Dist: 7}, {Dist: 8}}, append(ups, los...), "what was there stays")
		_, err = contact.AppendLowerClearances(nil, up, lo, bad, &contact.ClearanceScratch{})
		require.ErrorIs(t, err, kinematics.ErrNotFinite)
		_, err = contact.AppendPatches(nil, up, lo, bad, []float64{0.01}, false, &contact.PatchScratch{})
		require.ErrorIs(t, err, kinematics.ErrNotFinite)
		_, err = contact.AppendLowerMap(t.Context(), nil, up, lo, bad, 1, contact.Options{})
		require.ErrorIs(t, err, kinematics.ErrNotFinite)
		_, ok := contact.LeastGap(up.Index, lo.Index, bad, math.Inf(1), &contact.GapScratch{})
		require.False(t, ok)
		require.Empty(t, contact.AppendPairs(nil, up.Index, lo.Index, bad, 9, &contact.GapScratch{}))
		_, ok = contact.PartGap(up, lo, 0, 0, bad, &contact.GapScratch{})
		require.False(t, ok)
	}
	_, err = contact.AppendLowerMap(t.Context(), nil, up, lo, kinematics.Pose{}, math.NaN(), contact.Options{})
	require.ErrorContains(t, err, "the limit is NaN mm, must be 0 or more")
}

func TestBuildsHonourTheirContext(t *testing.T) {
	m := testmesh.Wavy(150)
	a := newArch(t, m, nil)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := contact.NewArch(ctx, m, nil, contact.Options{})
	require.ErrorIs(t, err, context.Canceled)
	for _, hinge := range []kinematics.Pose{{}, kinematics.Translation(r3.Vec{Z: 1})} {
		_, err = contact.NewCloserAbout(ctx, a, a, hinge, contact.Options{})
		require.ErrorIs(t, err, context.Canceled)
	}
	_, err = contact.AppendUpperMap(ctx, nil, a, a, kinematics.Pose{}, 1, contact.Options{})
	require.ErrorIs(t, err, context.Canceled)
}

// Numbers from 0 are parts as any others; NoPart is none. The clearances are
// those of the parts, whatever their numbers.
func TestPartsNumberedFromZero(t *testing.T) {
	up, parts := testmesh.Join(testmesh.Sphere(1, 4), testmesh.Shifted(testmesh.Sphere(1, 4), r3.Vec{X: 5, Z: -1}))
	lo := newArch(t, testmesh.Shifted(testmesh.Plane(20, 4), r3.Vec{Z: -3}), nil)
	var s contact.ClearanceScratch
	measured := func(shift func(part int32) int32) (parted []int, gaps []float64) {
		numbers := make([]int32, len(parts))
		for i, p := range parts {
			numbers[i] = shift(p)
		}
		a := newArch(t, up, numbers)
		out, err := contact.AppendUpperClearances(nil, a, lo, kinematics.Pose{}, &s)
		require.NoError(t, err)
		for _, g := range out {
			gaps = append(gaps, g.Dist)
		}
		return a.Parts, gaps
	}
	first := parts[0]
	number, gaps := measured(func(p int32) int32 { return p - first })
	require.Equal(t, []int{0, 1}, number)
	require.InDeltaSlice(t, []float64{2, 1}, gaps, 1e-12)
	number, gaps = measured(func(int32) int32 { return 0 })
	require.Equal(t, []int{0}, number)
	require.InDeltaSlice(t, []float64{1}, gaps, 1e-12)
	number, gaps = measured(func(p int32) int32 {
		if p == first {
			return contact.NoPart
		}
		return 46
	})
	require.Equal(t, []int{46}, number)
	require.InDeltaSlice(t, []float64{1}, gaps, 1e-12)
	number, gaps = measured(func(int32) int32 { return contact.NoPart })
	require.Empty(t, number)
	require.Empty(t, gaps)
}
