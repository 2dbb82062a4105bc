package casts

import (
	"math"
	"os"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/stretchr/testify/require"
)

// madeRows is how the teeth of a synthetic dentition stand in their rows, and how far
// neighbours are apart, by the first of the two.
func madeRows(t *testing.T, list ...typodont.Disturbance) (map[dentition.ToothID]Placed, map[dentition.ToothID]float64) {
	t.Helper()
	g, err := typodont.Generate(t.Context(), typodont.Params{Triangles: 30000, Disturbances: list})
	require.NoError(t, err)
	out, apart := map[dentition.ToothID]Placed{}, map[dentition.ToothID]float64{}
	for _, a := range []typodont.Arch{g.Upper, g.Lower} {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		c, err := NewCast(t.Context(), &Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}, a.Labels.Jaw(), kinematics.Pose{}, AllSurface)
		require.NoError(t, err)
		for k, p := range c.InRows() {
			out[k] = p
		}
		for _, k := range c.ByPart[1:] {
			if mm, ok := c.space(k, k+1); ok && k.Quadrant() == (k+1).Quadrant() {
				apart[k] = mm
			}
		}
	}
	return out, apart
}

// Teeth that were moved along the arch or turned in a dentition of two like sides
// show by how much, within a tenth, and so do their twins, seen from them, unless only
// one of both left a space; nothing else does, tipped teeth neither. 36 drifted into
// the gap of a missing tooth.
func TestDriftedAndRotatedTeethOfTruth(t *testing.T) {
	got, apart := madeRows(t)
	for k, p := range got {
		require.Less(t, math.Hypot(p.mesial, p.buccal), 0.1, k)
		require.Less(t, math.Abs(p.turn), 1.0, k)
	}
	require.Len(t, apart, 24)
	for k, mm := range apart {
		require.Less(t, mm, 0.3, k)
	}
	got, apart = madeRows(t,
		typodont.Disturbance{Kind: typodont.Drift, Tooth: 25, MM: 1}, typodont.Disturbance{Kind: typodont.Tip, Tooth: 27,
			Degrees: 15}, typodont.Disturbance{Kind: typodont.Rotate, Tooth: 14, Degrees: -20},
		typodont.Disturbance{Kind: typodont.Missing, Tooth: 35}, typodont.Disturbance{Kind: typodont.Drift, Tooth: 36,
			MM: 2}, typodont.Disturbance{Kind: typodont.Drift, Tooth: 47, MM: -1})
	want := map[dentition.ToothID]Placed{25: {mesial: 1}, 14: {turn: -20}, 36: {mesial: 2}, 47: {mesial: -1}}
	for k := range want {
		p := want[k]
		want[k.Mirror()] = Placed{mesial: -p.mesial, buccal: -p.buccal, turn: -p.turn}
	}
	want[46], want[37] = Placed{}, Placed{} // 36 and 47 left a space, these did not
	for _, k := range []dentition.ToothID{14, 24, 25, 15, 17, 27, 36, 46, 37, 47, 33, 43} {
		p, ok := got[k]
		require.True(t, ok, k)
		w := want[k]
		asBuilt(t, w.mesial, p.mesial, 0.25, k)
		asBuilt(t, w.buccal, p.buccal, 0.25, k)
		asBuilt(t, w.turn, p.turn, 2, k)
	}
	require.InDelta(t, 15, got[27].TippedDeg(), 1)
	for k, p := range got {
		if k != 27 && k != 17 {
			require.Less(t, p.TippedDeg(), 4.0, k)
		}
	}
	// Spaces are left where teeth went away; scanning rounds their edges.
	for k, mm := range apart {
		switch k {
		case 36:
			require.InDelta(t, 2, mm, 0.2)
		case 46:
			require.InDelta(t, 1, mm, 0.2)
		default:
			require.Less(t, mm, 0.75, k) // 25 left one of 0.8 to 26, which rounding closes in part
		}
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

// The real casts have two spaces that were not closed when they were made, as their
// notes say, measured on the crowns before: 1.03 mm from 25 to 26 and 1.46 mm from 46 to
// 47. All others were closed as lost contacts.
func TestSpacesOfTheRealCasts(t *testing.T) {
	const dir = "../../../shared/data/adult-cbct/"
	if _, err := os.Stat(dir); err != nil {
		t.Skip("the real scans are not there: ", err)
	}
	want := map[dentition.ToothID]float64{25: 1.03, 46: 1.46}
	for _, jaw := range []dentition.Jaw{dentition.Upper, dentition.Lower} {
		raw, err := meshfile.ReadFile(dir+jaw.String()+".stl", meshfile.ReadOptions{Unit: mesh.Millimetre})
		require.NoError(t, err)
		m, _ := mesh.Weld(raw, 0)
		f, err := os.Open(dir + jaw.String() + ".labels.json")
		require.NoError(t, err)
		defer f.Close()
		l, err := dentition.ReadLabels(dir, f, jaw, m.NumVertices())
		require.NoError(t, err)
		teeth, err := l.Triangles(m)
		require.NoError(t, err)
		c, err := NewCast(t.Context(), &Scan{Mesh: m, Labels: l, Teeth: teeth}, jaw, kinematics.Pose{}, AllSurface)
		require.NoError(t, err)
		for _, k := range c.ByPart[1:] {
			for _, x := range c.Spaces(k) {
				first := k
				if want[k] == 0 {
					first = k - 1
				}
				require.InDelta(t, want[first], x.Value, 0.02, x.Text)
			}
			if w := want[k]; w > 0 {
				require.Len(t, c.Spaces(k), 1, k)
			}
		}
	}
}
