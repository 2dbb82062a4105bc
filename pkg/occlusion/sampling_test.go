package occlusion_test

import (
	"context"
	"encoding/json"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
)

// sampled is a synthetic pair with an interference of the nonworking side, and how it is
// examined with samples.
func sampled(t *testing.T) func(doubt casefile.Doubt, samples, workers int) *findings.Findings {
	ctx := context.Background()
	made, err := typodont.Generate(ctx, typodont.Params{Triangles: 20000,
		Disturbances: []typodont.Disturbance{{Kind: typodont.Interference, Tooth: 37, Movement: "right", Um: 200}}})
	require.NoError(t, err)
	c := made.CaseFile()
	c.Excursions = []casefile.Excursion{{Movement: kinematics.Right, MaxMM: 3, StepMM: 0.2}}
	scan := func(a typodont.Arch) *casts.Scan {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		return &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
	}
	pair, err := occlusion.Assemble(ctx, c, scan(made.Upper), scan(made.Lower))
	require.NoError(t, err)
	return func(doubt casefile.Doubt, samples, workers int) *findings.Findings {
		of := *c
		of.Doubt = doubt
		f, err := occlusion.Examine(ctx, &of, pair, occlusion.Options{AsSet: true, Samples: samples, Workers: workers})
		require.NoError(t, err)
		return f
	}
}

// probable are the findings with a probability.
func probable(f *findings.Findings) (out []*findings.Finding) {
	for i := range f.Excursions {
		for k := range f.Excursions[i].Findings {
			if g := &f.Excursions[i].Findings[k]; g.Probability != nil {
				out = append(out, g)
			}
		}
	}
	return out
}

// Samples give the same bytes whatever the number of cores, and change no finding.
func TestSamplesOnAnyCores(t *testing.T) {
	examined := sampled(t)
	samples, others := 5, []int{2, 3}
	if testing.Short() { // as under the race detector, which takes twenty times as long
		samples, others = 2, []int{3}
	}
	one := examined(casefile.Doubt{}, samples, 1)
	want, err := json.Marshal(one)
	require.NoError(t, err)
	for _, workers := range others {
		got, err := json.Marshal(examined(casefile.Doubt{}, samples, workers))
		require.NoError(t, err)
		require.Equal(t, string(want), string(got))
	}
	if testing.Short() {
		return
	}
	none := examined(casefile.Doubt{}, 0, 1)
	require.Nil(t, none.Doubt)
	for i := range none.Excursions[0].Findings {
		a, b := none.Excursions[0].Findings[i], one.Excursions[0].Findings[i]
		require.Nil(t, a.Probability)
		b.Probability = nil
		require.Equal(t, a, b)
	}
}

// Where nothing is in doubt every finding stands in every sample, at its own height, and
// it depends on nothing; with doubts it stands in some, and what is turned up most is
// named.
func TestDoubtsDecideTheShares(t *testing.T) {
	examined := sampled(t)
	zero := 0.0
	sure := casefile.Doubt{CondylarInclinationDeg: &zero, SideShiftAngleDeg: &zero, ImmediateSideShiftMM: &zero, IntercondylarMM: &zero,
		AxisMM: &zero, PlaneDeg: &zero, RegistrationUm: &zero, RegistrationDeg: &zero, UpperDriftUm: &zero, LowerDriftUm: &zero, PressMM: &zero}
	f := examined(sure, 4, 0)
	list := probable(f)
	require.Len(t, list, len(f.Excursions[0].Findings), "every finding is looked for")
	interferences := 0
	for _, g := range list {
		require.Equal(t, 1.0, g.Probability.Share, g.Text)
		require.Empty(t, g.Probability.Mostly)
		if g.Kind == findings.KindNonworkingInterference {
			interferences++
			h := g.Probability.HeightUm
			require.InDelta(t, h.P10, h.P90, 1e-6)
			require.InDelta(t, *g.HeightUm, h.P50, 0.1**g.HeightUm)
		}
	}
	require.Positive(t, interferences)
	for _, tooth := range f.Centric.Teeth {
		if tooth.GapUm <= f.Thresholds.HoldsUm-1 {
			require.Equal(t, 1.0, *tooth.HoldsShare, tooth.Tooth)
		} else if tooth.GapUm > f.Thresholds.HoldsUm+1 {
			require.Equal(t, 0.0, *tooth.HoldsShare, tooth.Tooth)
		}
	}

	steep := 12.0
	sure.CondylarInclinationDeg = &steep
	f = examined(sure, 48, 0)
	for _, g := range probable(f) {
		if g.Kind == findings.KindNonworkingInterference && *g.HeightUm > 50 {
			// The left condyle advances in the right lateral movement.
			require.Contains(t, []findings.DoubtSource{findings.DoubtInclinationLeft}, g.Probability.Mostly, g.Text)
			require.Less(t, g.Probability.HeightUm.P10, g.Probability.HeightUm.P90)
		}
	}
	require.Equal(t, 48, f.Doubt.Samples)
	sum := 0.0
	for _, s := range f.Centric.Staircase {
		sum += *s.FirstShare
	}
	require.InDelta(t, 1, sum, 1e-9, "some pair meets first in every sample")
}
