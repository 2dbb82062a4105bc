package staircase_test

import (
	"context"
	"math"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/staircase"
)

// plain is a pair of arches whose teeth all meet at once, within a micrometre.
var plain = sync.OnceValues(func() (*typodont.Case, error) {
	return typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
})

// casts is two labelled arches ready for closing.
type casts struct {
	upper, lower *contact.Arch
	closer       *contact.Closer
	up, lo       []dentition.ToothID
}

// toothOf: the parts of the arches here are numbered as their teeth.
func toothOf(part int32) dentition.ToothID { return dentition.ToothID(part) }

func newCasts(t testing.TB, upper, lower *mesh.Mesh, ul, ll *dentition.Labels) *casts {
	t.Helper()
	up, err := ul.Triangles(upper)
	require.NoError(t, err)
	lo, err := ll.Triangles(lower)
	require.NoError(t, err)
	return castsWith(t, upper, lower, up, lo)
}

// castsWith has the teeth of all triangles.
func castsWith(t testing.TB, upper, lower *mesh.Mesh, up, lo []dentition.ToothID) *casts {
	t.Helper()
	c := &casts{up: up, lo: lo}
	parts := func(teeth []dentition.ToothID) (out []int32) {
		for _, t := range teeth {
			out = append(out, int32(t))
		}
		return out
	}
	var err error
	c.upper, err = contact.NewArch(t.Context(), upper, parts(c.up), contact.Options{})
	require.NoError(t, err)
	c.lower, err = contact.NewArch(t.Context(), lower, parts(c.lo), contact.Options{})
	require.NoError(t, err)
	c.closer, err = contact.NewCloser(t.Context(), c.upper, c.lower, contact.Options{})
	require.NoError(t, err)
	return c
}

func (c *casts) climb(labelled bool, l staircase.Limits) []staircase.Step {
	var s contact.CloserScratch
	return staircase.Climb(c.closer, kinematics.Pose{},
		staircase.Cast{Mesh: c.upper.Mesh(), Tooth: func(t mesh.TriID) dentition.ToothID { return c.up[t] }, OfPart: toothOf},
		staircase.Cast{Mesh: c.lower.Mesh(), Tooth: func(t mesh.TriID) dentition.ToothID { return c.lo[t] }, OfPart: toothOf}, labelled, l, &s)
}

var all = staircase.Limits{Most: 28, Deep: 1}

// stopOf is a stop of a lower tooth.
func stopOf(t testing.TB, c *typodont.Case, lower int) (at r3.Vec, upper dentition.ToothID) {
	t.Helper()
	for _, s := range c.Truth.Stops {
		if s.Lower == lower {
			return s.At.Vec(), dentition.ToothID(s.Upper)
		}
	}
	require.Failf(t, "no stop", "%d", lower)
	return r3.Vec{}, 0
}

// A bump of a known height is the first step and as high as it was built, and a second one
// behind it the second step: each against the level of all others.
func TestStepsAreTheBuiltHeights(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	c, err := plain()
	require.NoError(t, err)
	first, upper1 := stopOf(t, c, 46)
	second, upper2 := stopOf(t, c, 35)
	for _, um := range [][2]float64{{90, 0}, {200, 0}, {150, 60}} {
		lower := c.Lower.Mesh
		lower, err = faultkit.Bump(lower, first, faultkit.Closing(first), um[0], 1.8, nil)
		require.NoError(t, err)
		lower, err = faultkit.Bump(lower, second, faultkit.Closing(second), um[1], 1.8, nil)
		require.NoError(t, err)
		steps := newCasts(t, c.Upper.Mesh, lower, c.Upper.Labels, c.Lower.Labels).climb(true, all)
		require.Greater(t, len(steps), 12)
		assert.Equal(t, [2]dentition.ToothID{upper1, 46}, [2]dentition.ToothID{steps[0].Upper, steps[0].Lower})
		next := um[0]
		if um[1] > 0 {
			assert.Equal(t, [2]dentition.ToothID{upper2, 35}, [2]dentition.ToothID{steps[1].Upper, steps[1].Lower})
			assert.InDelta(t, um[1], 1000*steps[1].Height, 3)
			// Along the arc of the first spot.
			next -= um[1] * r3.Norm(r3.Vec{Y: first.Y, Z: first.Z}) / r3.Norm(r3.Vec{Y: second.Y, Z: second.Z})
		}
		assert.InDelta(t, next, 1000*steps[0].Height, 3)
	}
}

// Every step is the closing of its pair alone, found again on the two teeth cut out of the
// scans, and the steps fall. Corners and edges on the seam between two teeth count for one
// of them only, so that a pair that meets on one may meet a little later than cut out.
func TestStepsArePairsAlone(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	c, err := plain()
	require.NoError(t, err)
	casts := newCasts(t, c.Upper.Mesh, c.Lower.Mesh, c.Upper.Labels, c.Lower.Labels)
	steps := casts.climb(true, all)
	cut := func(m *mesh.Mesh, of []dentition.ToothID, tooth dentition.ToothID) *contact.Arch {
		var tris [][3]mesh.VertexID
		for t, v := range m.All() {
			if of[t] == tooth {
				tris = append(tris, v)
			}
		}
		part, err := mesh.New(m.Vertices(), tris)
		require.NoError(t, err)
		a, err := contact.NewArch(t.Context(), part, nil, contact.Options{})
		require.NoError(t, err)
		return a
	}
	var s contact.CloserScratch
	seen, compared := map[[2]dentition.ToothID]bool{}, 0
	for k, step := range steps {
		if k > 0 {
			assert.LessOrEqual(t, step.Touch.Opening, steps[k-1].Touch.Opening)
		}
		p := [2]dentition.ToothID{step.Upper, step.Lower}
		assert.False(t, seen[p])
		seen[p] = true
		assert.NotEqual(t, dentition.NoTooth, step.Upper)
		if k%3 > 0 {
			continue
		}
		alone, err := contact.NewCloser(t.Context(), cut(c.Upper.Mesh, casts.up, step.Upper),
			cut(c.Lower.Mesh, casts.lo, step.Lower), contact.Options{})
		require.NoError(t, err)
		touch, err := alone.Close(kinematics.Pose{}, &s)
		require.NoError(t, err)
		assert.LessOrEqual(t, step.Touch.Opening.Radians(), touch.Opening.Radians()+1e-9)
		if within(c.Upper.Labels, c.Upper.Mesh, step.Touch.Upper) && within(c.Lower.Labels, c.Lower.Mesh, step.Touch.Lower) {
			compared++
			assert.InDelta(t, touch.Opening.Radians(), step.Touch.Opening.Radians(), 1e-9, "%v/%v", step.Upper, step.Lower)
		}
	}
	assert.Greater(t, compared, 3)
	assert.Less(t, len(steps), all.Most)
	assert.Positive(t, steps[len(steps)-1].Height)
}

// within says whether all corners of a triangle belong to one tooth.
func within(l *dentition.Labels, m *mesh.Mesh, t mesh.TriID) bool {
	v := m.Triangle(t)
	return l.Vertex(v[0]) == l.Vertex(v[1]) && l.Vertex(v[1]) == l.Vertex(v[2])
}

// Steps end at the limits; without labels there is one, and surfaces that never meet give
// none.
func TestStairsEnd(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	c, err := plain()
	require.NoError(t, err)
	casts := newCasts(t, c.Upper.Mesh, c.Lower.Mesh, c.Upper.Labels, c.Lower.Labels)
	assert.Len(t, casts.climb(true, staircase.Limits{Most: 3, Deep: 1}), 3)
	assert.Empty(t, casts.climb(true, staircase.Limits{Most: 0, Deep: 1}))
	near := casts.climb(true, staircase.Limits{Most: 28, Deep: 0.02})
	assert.InDelta(t, 12, len(near), 2, "the level of all that touch")
	bare := castsWith(t, c.Upper.Mesh, c.Lower.Mesh, make([]dentition.ToothID, len(casts.up)), make([]dentition.ToothID, len(casts.lo)))
	assert.Empty(t, bare.climb(true, all), "no teeth, no pairs of teeth")
	one := bare.climb(false, all)
	require.Len(t, one, 1)
	assert.True(t, math.IsNaN(one[0].Height))
}
