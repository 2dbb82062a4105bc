package occlusion_test

import (
	"math"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func pathOf(t *testing.T, f *findings.Findings, movement string, tooth dentition.ToothID, cusp string) findings.CuspPath {
	t.Helper()
	for _, x := range f.Excursions {
		for _, p := range x.CuspPaths {
			if x.Movement == findings.Movement(movement) && dentition.ToothID(p.Tooth) == tooth && p.Cusp == cusp {
				return p
			}
		}
	}
	require.Fail(t, "no such path", "%s %v %s", movement, tooth, cusp)
	return findings.CuspPath{}
}

// Textbook ways of the first molars' supporting cusps: the upper mesiolingual one
// leaves through the lower lingual groove to the working side and between the
// lower distobuccal and distal cusps to the other; the lower distobuccal one
// through the upper buccal groove to the working side.
func TestSupportingCuspsLeaveThroughTheGrooves(t *testing.T) {
	m := plain(t)
	for _, c := range []struct {
		tooth    dentition.ToothID
		cusp     string
		working  bool
		over     dentition.ToothID
		between  [2]findings.CuspOf
		toBuccal bool // of the opposing tooth
	}{
		{16, "mesiolingual cusp", true, 46, [2]findings.CuspOf{{Tooth: 46, Cusp: "mesiolingual cusp"},
			{Tooth: 46, Cusp: "distolingual cusp"}}, false},
		{16, "mesiolingual cusp", false, 46, [2]findings.CuspOf{{Tooth: 46, Cusp: "distobuccal cusp"}, {Tooth: 46, Cusp: "distal cusp"}}, true},
		{46, "distobuccal cusp", true, 16, [2]findings.CuspOf{{Tooth: 16, Cusp: "mesiobuccal cusp"},
			{Tooth: 16, Cusp: "distobuccal cusp"}}, true},
		{46, "mesiobuccal cusp", true, 16, [2]findings.CuspOf{{Tooth: 15, Cusp: "buccal cusp"}, {Tooth: 16, Cusp: "mesiobuccal cusp"}}, true},
		{46, "distal cusp", false, 16, [2]findings.CuspOf{{Tooth: 16, Cusp: "mesiolingual cusp"}, {Tooth: 16, Cusp: "distolingual cusp"}}, false},
	} {
		for _, mirrored := range []bool{false, true} {
			movement, tooth, over, between := "right", c.tooth, c.over, c.between
			if mirrored {
				tooth, over = mirror(tooth), mirror(over)
				for i := range between {
					between[i].Tooth = findings.Part(mirror(dentition.ToothID(between[i].Tooth)))
				}
			}
			if c.working == mirrored {
				movement = "left"
			}
			p := pathOf(t, m.found, movement, tooth, c.cusp)
			require.Equal(t, findings.Part(over), p.Over)
			require.NotNil(t, p.Leaves, "%v %s", tooth, c.cusp)
			require.Equal(t, between, p.Leaves.Between, "%v %s to the %s", tooth, c.cusp, movement)
			require.NotNil(t, p.DirectionDeg)
			require.Equal(t, c.toBuccal, *p.DirectionDeg > 0, "%v %s to the %s", tooth, c.cusp, movement)
			require.NotNil(t, p.GrooveDeg)
		}
	}
}

// mirror is the tooth on the other side.
func mirror(t dentition.ToothID) dentition.ToothID {
	if t.Quadrant()%2 == 1 {
		return t + 10
	}
	return t - 10
}

// Paths and their angle follow from the condyles and the prescribed slope of the
// guidance alone, which the truth gives as openings.
func TestCuspPathsFollowThePrescribedGuidance(t *testing.T) {
	m := plain(t)
	path, err := kinematics.Straight(m.Params.CondylarInclination)
	require.NoError(t, err)
	side := kinematics.Side{Path: path, SideShiftAngle: m.Params.SideShiftAngle}
	set := kinematics.Settings{Intercondylar: m.Params.Intercondylar, Right: side, Left: side}
	tip := func(tooth int, cusp string) r3.Vec {
		for _, tt := range m.Truth.Teeth {
			k := slices.IndexFunc(tt.Cusps, func(p typodont.PointTruth) bool { return p.Name == cusp })
			if tt.Tooth == tooth && k >= 0 {
				return tt.Cusps[k].Point.Vec()
			}
		}
		return r3.Vec{}
	}
	for _, tooth := range []int{36, 46, 37, 47, 34, 44} {
		name := map[bool]string{true: "mesiobuccal", false: "buccal"}[tooth%10 > 5]
		q := tip(tooth, name)
		require.NotZero(t, q)
		between := 0.0
		for _, g := range m.Truth.Guidance[:2] {
			mv, err := kinematics.ParseMovement(g.Movement)
			require.NoError(t, err)
			o := g.Openings[len(g.Openings)-1]
			st, err := set.Station(mv, o.TravelMM)
			require.NoError(t, err)
			d := r3.Sub(st.Pose(Degrees(o.OpeningDeg)).Apply(q), q)
			between += math.Atan2(math.Abs(d.X), -d.Y) * 180 / math.Pi

			p := pathOf(t, m.found, g.Movement, dentition.ToothID(tooth), name+" cusp")
			for i, w := range p.PathMM {
				require.GreaterOrEqual(t, w[2], 0.0)
				if i > 0 && float64(i)*0.1 <= o.TravelMM {
					step := math.Hypot(w[0]-p.PathMM[i-1][0], w[1]-p.PathMM[i-1][1])
					require.InDelta(t, 0.1, step, 0.07, "about as far as the condyle")
				}
			}
		}
		k := slices.IndexFunc(m.found.CuspAngles, func(a findings.CuspAngle) bool {
			return dentition.ToothID(a.Tooth) == dentition.ToothID(tooth) && a.Cusp == name+" cusp"
		})
		require.GreaterOrEqual(t, k, 0)
		a := m.found.CuspAngles[k]
		require.InDelta(t, between, a.BetweenDeg, 0.5, "%d", tooth)
		require.InDelta(t, a.WorkingDeg+a.NonworkingDeg, a.BetweenDeg, 1e-9)
		require.Greater(t, a.ShiftDeg, a.RotationDeg, "side shift widens")
	}
}
