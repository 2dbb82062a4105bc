package occlusion_test

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
)

// A finding holds where an examination with the other settings shows it too, and
// depends on what makes it go: each change is made in the case itself, and the casts
// are examined anew with it.
func TestHoldsIsWhatExaminationsWithOtherSettingsShow(t *testing.T) {
	if testing.Short() {
		t.Skip("nine examinations")
	}
	ctx := context.Background()
	params := typodont.Params{Triangles: 50000,
		Disturbances: []typodont.Disturbance{{Kind: typodont.Interference, Tooth: 37, Movement: "right"}}}
	made, err := typodont.Generate(ctx, params)
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, made.WriteDir(dir))
	var upper, lower *casts.Scan
	var usual *casts.Casts // as mounted by the case
	examined := func(o occlusion.Options, edit func(*casefile.Case)) *findings.Findings {
		c, _, err := casefile.Read(dir + "/" + typodont.CaseFile)
		require.NoError(t, err)
		c.Settle = casefile.Settle{How: casefile.SettleNone}
		c.Excursions = []casefile.Excursion{{Movement: kinematics.Protrusive, MaxMM: 1.4, StepMM: 0.2}}
		edit(c)
		if upper == nil {
			upper, lower, err = occlusion.Load(ctx, c)
			require.NoError(t, err)
		}
		casts := usual
		if casts == nil || c.Mount.Matrix != nil {
			casts, err = occlusion.Assemble(ctx, c, upper, lower)
			require.NoError(t, err)
		}
		if usual == nil {
			usual = casts
		}
		f, err := occlusion.Examine(ctx, c, casts, o)
		require.NoError(t, err)
		return f
	}
	whole := examined(occlusion.Options{}, func(*casefile.Case) {})
	bySettings := func(edit func(*casefile.Side, float64)) (out []*findings.Findings) {
		for _, by := range []float64{-5, 5} {
			out = append(out, examined(asSet, func(c *casefile.Case) { edit(&c.Settings.Right, by); edit(&c.Settings.Left, by) }))
		}
		return out
	}
	byAxis := func() (out []*findings.Findings) {
		for _, s := range [][2]float64{{-5, 0}, {5, 0}, {0, -5}, {0, 5}} {
			out = append(out, examined(asSet, func(c *casefile.Case) {
				m := whole.Mount.ScanToArticulator.Matrix()
				m[7] -= s[0]
				m[11] -= s[1]
				c.Landmarks.IncisalPoint = c.Mount.Average.IncisalPoint
				c.Mount = casefile.Mount{Matrix: &m}
			}))
		}
		return out
	}
	others := map[findings.Setting][]*findings.Findings{
		findings.CondylarInclination: bySettings(func(s *casefile.Side, by float64) { s.CondylarInclinationDeg += by }),
		findings.SideShiftAngle:      bySettings(func(s *casefile.Side, by float64) { s.SideShiftAngleDeg += by }),
		findings.AxisPosition:        byAxis(),
	}
	depend := 0
	for i, x := range whole.Excursions {
		for _, g := range x.Findings {
			for name, list := range others {
				survives := !slices.ContainsFunc(list, func(o *findings.Findings) bool {
					return !slices.ContainsFunc(o.Excursions[i].Findings, func(h findings.Finding) bool {
						return sameFinding(g, h)
					})
				})
				require.Equal(t, !survives, slices.Contains(g.Robustness.DependsOn, name), fmt.Sprint(name, ": ", g.Text, " ", g.Robustness))
				if !survives {
					depend++
				}
			}
			require.True(t, g.Robustness.State == findings.Robust || g.Robustness.State == findings.Depends, g.Robustness)
		}
	}
	require.Positive(t, depend, "something depends on settings here")
}

// sameFinding says whether h is what g finds, under another setting.
func sameFinding(g, h findings.Finding) bool {
	same := g.Upper == h.Upper && g.Lower == h.Lower
	if g.Kind == findings.KindGuidance {
		same = g.Pattern == h.Pattern
	}
	return g.Kind == h.Kind && same && h.FromMM <= g.ToMM+1 && h.ToMM >= g.FromMM-1
}

// Condyles that cannot follow their recorded path turned by 5° leave that one change
// untried; the others are tried.
func TestSettingsThatCannotBeTriedAreNamed(t *testing.T) {
	c := synthetic(t, func(c *casefile.Case) {
		steep := &casefile.CondylarPath{PointsMM: [][2]float64{{0, 0}, {0.05, 1}, {3, 3}, {8, 6}}}
		for _, s := range []*casefile.Side{&c.Settings.Right, &c.Settings.Left} {
			s.Path, s.CondylarInclinationDeg = steep, steep.InclinationDeg()
		}
		c.Excursions = c.Excursions[:1]
		c.Excursions[0].MaxMM = 1.5
	})
	ctx := context.Background()
	upper, lower, err := occlusion.Load(ctx, c)
	require.NoError(t, err)
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	require.NoError(t, err)
	f, err := occlusion.Examine(ctx, c, casts, occlusion.Options{})
	require.NoError(t, err)
	require.NotEmpty(t, f.Excursions[0].Findings)
	for _, g := range f.Excursions[0].Findings {
		require.Contains(t, g.Robustness.Untried, findings.CondylarInclination)
		require.NotEqual(t, findings.NotTried, g.Robustness.State)
	}
}
