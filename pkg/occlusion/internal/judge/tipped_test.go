package judge

import (
	"math"
	"strings"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// tip turns the crown of a tooth of the mesh of a cast about a horizontal axis through its neck, which stands in the
// direction around from its buccal side.
func tip(t *testing.T, m *mesh.Mesh, c *casts.Cast, tooth dentition.ToothID, around, by s1.Angle) *mesh.Mesh {
	t.Helper()
	f, low := c.Frames[tooth], 0.0
	own := func(v mesh.VertexID) bool { return c.Labels.Vertex(v) == tooth }
	for v, p := range m.Vertices() {
		if own(mesh.VertexID(v)) {
			_, _, o := f.Local(p)
			low = min(low, o)
		}
	}
	neck := f.World(0, 0, low)
	sin, cos := math.Sincos(around.Radians())
	axis := r3.Add(r3.Scale(sin, f.Mesial), r3.Scale(cos, f.Buccal))
	pose := kinematics.Translation(r3.Scale(-1, neck)).Then(kinematics.Rotation(axis, by)).Then(kinematics.Translation(neck))
	out, err := faultkit.MovedPart(m, pose, own)
	require.NoError(t, err)
	return out
}

// Crowns that a test tips, to all sides, are told from 12° on by the angle by which they were
// tipped, within half a degree, neighbours not. Of 24 such crowns 18 are named and not their twins;
// with 6 it is left open which of the two is tipped.
func TestCrownsTippedToAllSides(t *testing.T) {
	if testing.Short() {
		t.Skip("seconds")
	}
	made, err := typodont.Generate(t.Context(), typodont.Params{Triangles: 20000})
	require.NoError(t, err)
	cast := func(m *mesh.Mesh, l *dentition.Labels) *casts.Cast {
		teeth, err := l.Triangles(m)
		require.NoError(t, err)
		c, err := casts.NewCast(t.Context(), &casts.Scan{Mesh: m, Labels: l, Teeth: teeth}, l.Jaw(), kinematics.Pose{}, casts.AllSurface)
		require.NoError(t, err)
		return c
	}
	straight := &casts.Casts{Upper: cast(made.Upper.Mesh, made.Upper.Labels), Lower: cast(made.Lower.Mesh, made.Lower.Labels)}
	open := 0
	for around := s1.Angle(0); around < 360*s1.Degree; around += 90 * s1.Degree {
		for _, tipped := range []map[dentition.ToothID]float64{
			{17: 14, 24: 18, 36: 14, 45: 18}, {15: 11, 27: 18, 34: 13, 46: 11},
		} {
			upper, lower := straight.Upper.Whole, straight.Lower.Whole
			for tooth, deg := range tipped {
				if by := s1.Angle(deg) * s1.Degree; tooth.Jaw() == dentition.Upper {
					upper = tip(t, upper, straight.Upper, tooth, around, by)
				} else {
					lower = tip(t, lower, straight.Lower, tooth, around, by)
				}
			}
			pair := casts.Casts{Upper: cast(upper, made.Upper.Labels), Lower: cast(lower, made.Lower.Labels)}
			h := NewShape(&pair, nil)
			for _, c := range []*casts.Cast{pair.Upper, pair.Lower} {
				for tooth := range c.Frames {
					told, either := 0.0, false
					for _, cause := range h.standing(tooth) {
						if cause.Cause == "tipped_tooth" {
							told, either = cause.Value, strings.Contains(cause.Text.String(), "lean differently")
						}
					}
					want := tipped[tooth]
					if either {
						open++
						want = max(want, tipped[tooth.Mirror()])
					}
					if want < tippedDeg {
						want = 0
					}
					require.InDelta(t, want, told, 0.5, "%v, %v tipped to %v: row %.2f", tooth, tipped, around, h.inRow(c, tooth).TippedDeg())
				}
			}
		}
	}
	require.Equal(t, 2*6, open, "of 24 pairs of twins")
}
