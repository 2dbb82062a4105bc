package typodont

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// In intercuspation the mounting is the identity, the arches touch without overlap, and
// every stop's pair of teeth is within 1 µm.
func TestStopsTouchWhenClosed(t *testing.T) {
	for _, n := range []int{20000, 100000} {
		c := ready(t, disturbed(t, Params{Triangles: n}))
		mount, err := kinematics.Average{
			IncisalPoint: c.Truth.IncisalPoint.Vec(), RightMolar: c.Truth.RightMolar.Vec(), LeftMolar: c.Truth.LeftMolar.Vec(), Up: r3.Vec{Z: 1},
			Intercondylar: c.Params.Intercondylar, CondyleToIncisal: c.Params.CondyleToIncisal, Balkwill: c.Params.Balkwill,
		}.Mount()
		require.NoError(t, err)
		assert.InDelta(t, 0, r3.Norm(mount.Offset()), 1e-9)
		assert.InDelta(t, 0, mount.Angle().Degrees(), 1e-9)

		open, _, _, _ := c.close(t, "protrusive", 0)
		assert.Less(t, open, 0.0, "the arches overlap in intercuspation")
		assert.Greater(t, open*math.Pi/180*90e3, -1.0, "µm at the incisal point")
		require.GreaterOrEqual(t, len(c.Truth.Stops), 20)
		for _, s := range c.Truth.Stops {
			up, lo := patchAround(t, c.Upper, s.Upper, s.point()), patchAround(t, c.Lower, s.Lower, s.point())
			gap, ok := contact.LeastGap(up, lo, kinematics.Pose{}, 1, &contact.GapScratch{})
			require.True(t, ok)
			assert.Lessf(t, gap.Dist, 0.001, "%d %s on %d %s", s.Lower, s.LowerFeature, s.Upper, s.UpperFeature)
			assert.Greater(t, gap.Dist, 0.0)
		}
	}
}

// patchAround is an index of a tooth's triangles within 1 mm of a point.
func patchAround(t testing.TB, a Arch, tooth int, at r3.Vec) *index.Index {
	t.Helper()
	var tris [][3]mesh.VertexID
	for _, tri := range a.Mesh.All() {
		for _, v := range tri {
			if int(a.Labels.Vertex(v)) == tooth && r3.Norm(r3.Sub(a.Mesh.Vertex(v), at)) < 1 {
				tris = append(tris, tri)
				break
			}
		}
	}
	m, err := mesh.New(a.Mesh.Vertices(), tris)
	require.NoError(t, err)
	x, err := index.New(context.Background(), m, nil, index.Options{})
	require.NoError(t, err)
	return x
}

// The undisturbed arches move as they were built to: the guiding teeth carry, at
// the opening of the prescribed slope, and the finer mesh follows it closer.
func TestGuidance(t *testing.T) {
	worst := map[int]float64{}
	for _, n := range []int{50000, 100000} {
		c := ready(t, disturbed(t, Params{Triangles: n}))
		for _, g := range c.Truth.Guidance {
			require.Greaterf(t, g.ToMM, 1.2, "%s", g.Movement)
			for _, o := range g.Openings[1:] {
				open, upper, lower, _ := c.close(t, g.Movement, o.TravelMM)
				worst[n] = max(worst[n], math.Abs(open-o.OpeningDeg)*math.Pi/180*90)
				if o.TravelMM > 0.15 {
					assert.Containsf(t, g.Lower, lower, "%s at %.1f", g.Movement, o.TravelMM)
					if g.Movement != "protrusive" {
						assert.Containsf(t, g.Upper, upper, "%s at %.1f", g.Movement, o.TravelMM)
					}
				}
			}
		}
	}
	t.Log("largest departure at the incisal point, mm:", worst)
	assert.Less(t, worst[50000], 0.05)
	assert.Less(t, worst[100000], worst[50000])
}

// In every movement the posterior teeth clear, more the farther it goes.
func TestBackTeethClear(t *testing.T) {
	c := ready(t, undisturbed(t))
	for _, movement := range []string{"right", "left", "protrusive"} {
		for _, travel := range []float64{1, 1.5} {
			_, _, _, touch := c.close(t, movement, travel)
			up, err := contact.AppendUpperClearances(nil, c.upper, c.lower, touch.Pose, &contact.ClearanceScratch{})
			require.NoError(t, err)
			for i, part := range c.upper.Parts {
				if part%10 >= 4 {
					assert.Greaterf(t, up[i].Dist, 0.1*travel, "%d in %s at %g", part, movement, travel)
				}
			}
		}
	}
}

// Other overlaps keep the promises too, or are refused.
func TestOverjetAndOverbite(t *testing.T) {
	for _, p := range []Params{{Overjet: 2, Overbite: 2.4}, {Overjet: 3, Overbite: 3.6}} {
		p.Triangles = 30000
		c := ready(t, generate(t, p))
		open, _, _, _ := c.close(t, "protrusive", 0)
		assert.Less(t, open, 0.0)
		assert.Greater(t, open*math.Pi/180*90e3, -1.0, "µm at the incisal point")
		for _, g := range c.Truth.Guidance {
			o := g.Openings[len(g.Openings)/2]
			got, _, lower, _ := c.close(t, g.Movement, o.TravelMM)
			assert.Contains(t, g.Lower, lower)
			assert.InDelta(t, o.OpeningDeg, got, 0.03)
		}
	}
	_, err := Generate(context.Background(), Params{Overjet: 2, Overbite: 3.6, Triangles: 20000})
	assert.ErrorIs(t, err, ErrParams)
}
