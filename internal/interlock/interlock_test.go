package interlock

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The worth of a gap has the derivatives that it says, is 1 at touch and half of that
// at one width.
func TestWorth(t *testing.T) {
	const h, w = 1e-5, 0.3
	for _, g := range []float64{-0.5, -0.2, -0.05, 0.02, 0.3, 1} {
		a, _, _ := worth(g-h, w)
		b, slope, bend := worth(g, w)
		c, _, _ := worth(g+h, w)
		require.InDelta(t, (c-a)/(2*h), slope, 1e-6)
		require.InDelta(t, (a-2*b+c)/(h*h), bend, 1e-3)
	}
	top, _, _ := worth(0, w)
	half, _, _ := worth(w, w)
	lost, _, _ := worth(-w/3, w)
	require.InDeltaSlice(t, []float64{1, 0.5, 0}, []float64{top, half, lost}, 1e-12)
}

// Labelled arches are found where they were built, whatever frames they come in, to
// within what the relief shows, the same on one and on several cores; nothing in
// another relation comes near; and what a person points at is kept to.
func TestSearchOnAnyCores(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Seed: 3, Triangles: 40000})
	require.NoError(t, err)
	turn := kinematics.Rotation(r3.Unit(r3.Vec{X: 1, Y: 2, Z: 3}), 2*s1.Radian).Then(kinematics.Translation(r3.Vec{X: 40, Y: -7, Z: 90}))
	upper, err := FromTeeth(c.Upper.Mesh, c.Upper.Labels)
	require.NoError(t, err)
	lower, err := FromTeeth(testmesh.Moved(c.Lower.Mesh, turn.Apply), c.Lower.Labels)
	require.NoError(t, err)
	require.Len(t, upper.Teeth, len(c.Upper.Labels.Teeth()))
	front, ok := upper.Tooth(11)
	require.True(t, ok)
	require.InDelta(t, 0, front.Top.Z, 1.5)
	require.Less(t, front.Centre.X, 0.0, "11 is on the right")

	places, err := Search(context.Background(), upper, lower, Options{Workers: 1})
	require.NoError(t, err)
	truth := lower.FromScan.Inverse().Then(turn.Inverse()).Then(upper.FromScan)
	require.Less(t, Between(truth, places[0].Pose, lower.Depth), 0.4)
	require.Greater(t, places[0].Strength(), 6.0)
	for _, p := range places[1:] {
		if Between(places[0].Pose, p.Pose, lower.Depth) > 2.5 {
			require.Less(t, p.Area, 0.7*places[0].Area)
		}
	}
	for _, g := range places[0].Give {
		require.Greater(t, g, 0.01)
		require.Less(t, g, 1.0)
	}
	again, err := Search(context.Background(), upper, lower, Options{Workers: 3})
	require.NoError(t, err)
	require.Equal(t, places, again)

	near, err := Search(context.Background(), upper, lower, Options{Start: &truth})
	require.NoError(t, err)
	require.Less(t, Between(places[0].Pose, near[0].Pose, lower.Depth), 0.1)
	// A first premolar a tooth's width away from where it bites is a place, if it is one
	// at all, that keeps to it.
	a, _ := upper.Tooth(14)
	b, _ := lower.Tooth(46)
	wrong, err := Search(context.Background(), upper, lower, Options{Pairs: []Pair{{a.Centre, b.Centre}}, Within: 3})
	require.NoError(t, err)
	for _, p := range wrong {
		q := p.Pose.Apply(b.Centre)
		require.LessOrEqual(t, math.Hypot(q.X-a.Centre.X, q.Y-a.Centre.Y), 3.0)
		require.Less(t, p.Area, 0.7*places[0].Area)
	}
}

// Teeth of one side alone show no midline.
func TestFromTeethNeedsBothSides(t *testing.T) {
	m, _ := testmesh.Arch(3, 5, 6)
	one := make([]dentition.ToothID, m.NumVertices())
	for i := range one {
		one[i] = 36
	}
	labels, err := dentition.NewLabels(dentition.Lower, one)
	require.NoError(t, err)
	_, err = FromTeeth(m, labels)
	require.ErrorIs(t, err, ErrTeeth)
	require.Zero(t, Place{}.Strength())
}
