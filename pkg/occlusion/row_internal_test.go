package occlusion

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/stretchr/testify/require"
)

// madeRows is how the teeth of a synthetic dentition stand in their rows.
func madeRows(t *testing.T, list ...typodont.Disturbance) map[dentition.ToothID]placed {
	t.Helper()
	g, err := typodont.Generate(t.Context(), typodont.Params{Triangles: 30000, Disturbances: list})
	require.NoError(t, err)
	out := map[dentition.ToothID]placed{}
	for _, a := range []typodont.Arch{g.Upper, g.Lower} {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		c, err := newCast(&Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}, a.Labels.Jaw(), kinematics.Pose{})
		require.NoError(t, err)
		for k, p := range c.inRows() {
			out[k] = p
		}
	}
	return out
}

// Teeth that were moved along the arch or turned in a dentition of two like sides
// show by how much, within a tenth, and so do their twins, seen from them; nothing
// else does, tipped teeth neither. 36 drifted into the gap of a missing tooth.
func TestDriftedAndRotatedTeethOfTruth(t *testing.T) {
	for k, p := range madeRows(t) {
		require.Less(t, math.Hypot(p.mesial, p.buccal), 0.1, k)
		require.Less(t, math.Abs(p.turn), 1.0, k)
	}
	got := madeRows(t,
		typodont.Disturbance{Kind: typodont.Drift, Tooth: 25, MM: 1}, typodont.Disturbance{Kind: typodont.Tip, Tooth: 27, Degrees: 15}, typodont.Disturbance{Kind: typodont.Rotate, Tooth: 14, Degrees: -20},
		typodont.Disturbance{Kind: typodont.Missing, Tooth: 35}, typodont.Disturbance{Kind: typodont.Drift, Tooth: 36, MM: 2}, typodont.Disturbance{Kind: typodont.Drift, Tooth: 47, MM: -1})
	want := map[dentition.ToothID]placed{25: {mesial: 1}, 14: {turn: -20}, 36: {mesial: 2}, 47: {mesial: -1}}
	for k := range want {
		p := want[k]
		want[k.Mirror()] = placed{-p.mesial, -p.buccal, -p.turn}
	}
	for _, k := range []dentition.ToothID{14, 24, 25, 15, 17, 27, 36, 46, 37, 47, 33, 43} {
		p, ok := got[k]
		require.True(t, ok, k)
		w := want[k]
		asBuilt(t, w.mesial, p.mesial, 0.25, k)
		asBuilt(t, w.buccal, p.buccal, 0.25, k)
		asBuilt(t, w.turn, p.turn, 2, k)
	}
	require.NotContains(t, got, dentition.ToothID(35))
	require.NotContains(t, got, dentition.ToothID(45), "its twin is missing")
}

// asBuilt checks a size that was built in within a tenth, and none within the error of
// teeth between others that were moved.
func asBuilt(t *testing.T, want, got, none float64, k dentition.ToothID) {
	t.Helper()
	if want == 0 {
		require.InDelta(t, 0, got, none, k)
		return
	}
	require.InEpsilon(t, want, got, 0.1, k)
}
