package occlusion_test

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
)

// The guiding canine keeps its guidance at the slope that was built, its
// neighbour could take it over, a nonworking interference is not built again, and
// stops are those that were built.
func TestTeethToBeRestored(t *testing.T) {
	var c *casefile.Case
	m, err := examined(typodont.Params{Triangles: 50000,
		Disturbances: []typodont.Disturbance{{Kind: typodont.Interference, Tooth: 37, Movement: "right"}}},
		occlusion.Options{AsSet: true}, func(of *casefile.Case) {
			c = of
			c.Restore = []dentition.ToothID{13, 14, 36, 37, 28}
			c.Excursions = c.Excursions[:1]
			c.Excursions[0].MaxMM, c.Excursions[0].StepMM = 2.5, 0.25
		})
	require.NoError(t, err)
	require.Equal(t, kinematics.Right, c.Excursions[0].Movement)
	r := map[dentition.ToothID]*findings.Restoration{}
	for i := range m.found.Restore {
		r[dentition.ToothID(m.found.Restore[i].Tooth)] = &m.found.Restore[i]
		t.Log(m.found.Restore[i].Text)
	}
	require.Len(t, r, 5)
	require.False(t, r[28].OnCast)
	require.Empty(t, r[28].Room)

	slope := m.Truth.Guidance[0].SlopeDeg
	for _, tooth := range []dentition.ToothID{13, 14} {
		require.Len(t, r[tooth].Guides, 1)
		g := r[tooth].Guides[0]
		require.Equal(t, tooth == 13, g.Guides)
		require.Equal(t, findings.Part(13), g.From)
		require.Equal(t, findings.Part(43), g.With)
		require.InDelta(t, slope, *g.ToothDeg, 6)
	}
	require.Empty(t, r[36].Guides, "the nonworking side")

	avoid := 0
	for _, a := range r[37].Avoid {
		if a.Movement == "right" {
			avoid++
			require.Equal(t, findings.Part(27), a.With)
			require.LessOrEqual(t, a.FromMM, 2.0)
			require.GreaterOrEqual(t, a.ToMM, 2.0)
			require.Equal(t, findings.NotTried, a.Robustness.State)
			require.False(t, a.PastEdge)
		}
	}
	require.Equal(t, 1, avoid)
	for _, tooth := range []dentition.ToothID{13, 14, 36, 37} {
		stops := len(r[tooth].Keep)
		for _, a := range r[tooth].Avoid {
			if a.Movement == findings.Closed {
				stops++
			}
		}
		built := 0
		for _, s := range m.Truth.Stops {
			if s.Upper == int(tooth) || s.Lower == int(tooth) {
				built++
			}
		}
		require.GreaterOrEqual(t, stops, built, tooth) // the foil may find one in two patches
	}
	require.Equal(t, []findings.Movement{findings.Closed, "right"}, []findings.Movement{r[37].Room[0].Movement, r[37].Room[1].Movement})
	require.Less(t, r[37].Room[1].LeastMM, 0.001, "it carries")
	require.InDelta(t, m.Truth.Expected[0].FromMM, r[37].Room[1].AtMM, 0.26, "from where it carries, in steps of 0.25 mm")
	require.Contains(t, r[13].Text.String(), "It guides right lateral movement on 43 at 49°: keep that.")
	least, at := math.Inf(1), 0.0
	for _, f := range m.found.Excursions[0].Frames {
		if d := f.ClearanceMM["36"]; f.TravelMM >= 0.3 && d < least {
			least, at = d, f.TravelMM
		}
	}
	require.Equal(t, findings.RestoreRoom{Movement: "right", LeastMM: least, AtMM: at}, r[36].Room[1])
}

// The map of the room holds for every vertex the least over all positions, by
// brute force over the whole arch, and nowhere less than the tooth's clearance.
func TestRoomMap(t *testing.T) {
	ctx := context.Background()
	c := synthetic(t, func(c *casefile.Case) {
		c.Excursions = c.Excursions[:1]
		c.Excursions[0].MaxMM, c.Excursions[0].StepMM = 2, 1
	})
	upper, lower, err := occlusion.Load(ctx, c)
	require.NoError(t, err)
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	require.NoError(t, err)
	f, err := occlusion.Examine(ctx, c, casts, occlusion.Options{AsSet: true})
	require.NoError(t, err)
	for _, tooth := range []dentition.ToothID{14, 36} {
		r, err := display.NewRoomMap(ctx, casts, f, tooth, display.Options{})
		require.NoError(t, err)
		own, to := casts.Lower, casts.Upper
		if tooth.Jaw() == dentition.Upper {
			own, to = to, own
		}
		want := make([]float64, own.Mesh().NumVertices())
		for i := range want {
			want[i] = math.Inf(1)
		}
		least := math.Inf(1)
		for _, frame := range f.Excursions[0].Frames { // the first is the closing in intercuspation
			p := frame.Pose.Pose
			measure, upper, lower := contact.AppendLowerMap, to.Arch, own.Arch
			if tooth.Jaw() == dentition.Upper {
				measure, upper, lower = contact.AppendUpperMap, own.Arch, to.Arch
			}
			gaps, err := measure(ctx, nil, upper, lower, p, display.DisplayRange, contact.Options{Workers: 1})
			require.NoError(t, err)
			for i, g := range gaps {
				want[i] = min(want[i], g)
			}
			least = min(least, frame.ClearanceMM[tooth.String()])
		}
		seen := 0
		for i, v := range r.Mesh.Vertices() {
			h, ok := own.Index.Nearest(casts.Mount.Apply(v), 1e-6)
			require.True(t, ok)
			for _, k := range own.Mesh().Triangle(h.Tri) {
				if d := own.Mesh().Vertex(k); math.Hypot(math.Hypot(d.X-h.Point.X, d.Y-h.Point.Y), d.Z-h.Point.Z) < 1e-6 {
					require.InDelta(t, want[k], r.LeastMM[i], 1e-9)
					seen++
				}
			}
			require.GreaterOrEqual(t, r.LeastMM[i], least-1e-9)
		}
		require.Equal(t, len(r.LeastMM), seen)
	}
	none, err := display.NewRoomMap(ctx, casts, f, 28, display.Options{})
	require.NoError(t, err)
	require.Nil(t, none)
}
