package occlusion_test

import (
	"context"
	"os"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
)

// made is a synthetic dentition and what its examination found.
type made struct {
	*typodont.Case
	found *occlusion.Findings
}

// disturbed examines the synthetic dentition with disturbances built in.
func disturbed(list ...typodont.Disturbance) (made, error) {
	ctx := context.Background()
	var m made
	var err error
	if m.Case, err = typodont.Generate(ctx, typodont.Params{Triangles: 50000, Disturbances: list}); err != nil {
		return m, err
	}
	dir, err := os.MkdirTemp("", "typodont")
	if err != nil {
		return m, err
	}
	defer os.RemoveAll(dir)
	if err := m.WriteDir(dir); err != nil {
		return m, err
	}
	c, _, err := casefile.Read(dir + "/" + typodont.CaseFile)
	if err != nil {
		return m, err
	}
	c.Settle = casefile.Settle{How: casefile.SettleNone}
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return m, err
	}
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return m, err
	}
	m.found, err = occlusion.Examine(ctx, c, casts, occlusion.Options{})
	return m, err
}

// undisturbed is examined once for all tests.
var undisturbed = sync.OnceValues(func() (made, error) { return disturbed() })

// found lists the findings of a kind that begin before the edge-to-edge position.
func found(f *occlusion.Findings, kind occlusion.Kind) (out []occlusion.Finding, movements []string) {
	for _, x := range f.Excursions {
		for _, g := range x.Findings {
			if g.Kind == kind && !g.PastEdge {
				out, movements = append(out, g), append(movements, x.Movement)
			}
		}
	}
	return out, movements
}

func TestUndisturbedDentitionIsGuidedAsBuilt(t *testing.T) {
	m, err := undisturbed()
	require.NoError(t, err)
	f := m.found
	require.Equal(t, occlusion.Acceptable, f.Centric.Mounting.Verdict)
	for _, x := range f.Excursions {
		want := occlusion.CanineGuidance
		if x.Movement == "protrusive" {
			want = occlusion.AnteriorGuidance
		}
		require.Equal(t, want, x.Guidance.Patterns[1].Pattern, x.Movement)
		for _, g := range x.Findings {
			require.True(t, g.Kind == occlusion.KindGuidance || g.PastEdge, g.Text)
		}
	}
}

func TestNonworkingInterferenceIsFound(t *testing.T) {
	const travel, high = 2.0, 200.0
	m, err := disturbed(typodont.Disturbance{Kind: typodont.Interference, Tooth: 37, Movement: "right", MM: travel, Um: high})
	require.NoError(t, err)
	f := m.found
	got, movements := found(f, occlusion.KindNonworkingCarries)
	require.Len(t, got, 1)
	require.Equal(t, "right", movements[0])
	g := got[0]
	require.Equal(t, [2]occlusion.Part{27, 37}, [2]occlusion.Part{g.Upper, g.Lower})
	require.LessOrEqual(t, g.FromMM, travel)
	require.GreaterOrEqual(t, g.ToMM, travel)
	// It is as high as built where it was built; a little beyond, where the
	// guidance is flatter, it stands out more.
	require.GreaterOrEqual(t, *g.HeightUm, 0.95*high)
	require.LessOrEqual(t, *g.HeightUm, 1.15*high)
	require.Equal(t, "holds", g.Holds)
	require.Contains(t, g.Text, "carries on the nonworking (left) side")
}

func TestShortIncisorMakesProtrusionUneven(t *testing.T) {
	m, err := disturbed(typodont.Disturbance{Kind: typodont.Incisor, Tooth: 41, Um: -150})
	require.NoError(t, err)
	f := m.found
	got, movements := found(f, occlusion.KindUneven)
	require.Len(t, got, 1)
	require.Equal(t, "protrusive", movements[0])
	require.Equal(t, [2]occlusion.Part{21, 31}, [2]occlusion.Part{got[0].Upper, got[0].Lower})
}

// raised has a premature cusp and is examined once for all tests.
var raised = sync.OnceValues(func() (made, error) {
	return disturbed(typodont.Disturbance{Kind: typodont.Raise, Tooth: 26, Cusp: "mesiopalatal", Um: 150})
})

func TestRaisedCuspHoldsTheCastsOpen(t *testing.T) {
	m, err := raised()
	require.NoError(t, err)
	f := m.found
	require.Equal(t, occlusion.Remount, f.Centric.Mounting.Verdict)
	got, _ := found(f, occlusion.KindBackCarries)
	require.Len(t, got, 1)
	require.Equal(t, [2]occlusion.Part{26, 36}, [2]occlusion.Part{got[0].Upper, got[0].Lower})
	require.Equal(t, "left molars", f.Centric.Mounting.Areas[2].Area)
	require.Equal(t, occlusion.ClassHolds, f.Centric.Mounting.Areas[2].Class)
}
