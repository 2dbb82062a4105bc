package yield_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testcast"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/yield"
	"github.com/stretchr/testify/require"
)

// Molars that give more under the same force let the casts close farther, and the
// findings say that they were so set.
func TestYieldSupport(t *testing.T) {
	casts := assembled(t, casefile.SettleSeat)
	soft := casefile.DefaultSupport()
	soft.Molar = casefile.ToothSupport{AxialFreeUm: 30, Axial50NUm: 92, LateralFreeUm: 50, Lateral5NUm: 100}
	var closing [2]float64
	for i, s := range []*casefile.Support{nil, &soft} {
		y, err := yield.Yield(context.Background(), casts, nil, yield.Options{Support: s, ForcesN: []float64{20}})
		require.NoError(t, err)
		closing[i] = y.Steps[0].ClosingUm
		for _, v := range y.Support {
			require.Equal(t, i == 1 && strings.HasPrefix(v.Key, "molar."), v.Status == casefile.FromCase, v.Key)
		}
	}
	require.Greater(t, closing[1], 1.2*closing[0])
	soft.Molar.Axial50NUm = 1000
	for _, bad := range []casefile.Support{soft, {}} {
		_, err := yield.Yield(context.Background(), casts, nil, yield.Options{Support: &bad})
		require.ErrorIs(t, err, yield.ErrYield)
	}
}

// On the synthetic dentition more stops carry as the force rises, the casts close
// monotonically, and every step is in balance.
func TestYieldGrows(t *testing.T) {
	for _, settle := range []casefile.SettleTo{casefile.SettleSeat, casefile.SettleNone} {
		casts := assembled(t, settle, "raise,tooth=26,um=30")
		all := &casefile.Record{Marks: casefile.Marks{Centric: []casefile.Mark{{Upper: 16}, {Upper: 17}, {Upper: 24}, {Upper: 27}}}}
		y, err := yield.Yield(context.Background(), casts, all, yield.Options{})
		require.NoError(t, err)
		last := -math.MaxFloat64
		for _, s := range y.Steps {
			require.LessOrEqual(t, s.Residual, 1e-6)
			require.Greater(t, s.ClosingUm, last)
			last = s.ClosingUm
		}
		require.Greater(t, len(y.Steps[len(y.Steps)-1].Pairs), len(y.Steps[0].Pairs))
		require.NotEmpty(t, y.OnlyYielding)
		// The raised tooth is among those that carry from the first.
		require.True(t, slices.ContainsFunc(y.Order,
			func(o findings.YieldStop) bool { return o.Upper == 26 && o.FromN == y.Steps[0].ForceN }), "%v", y.Order)
		t.Log(settle, y.Order, y.Steps[len(y.Steps)-1].ClosingUm)
	}
	_, err := yield.Yield(context.Background(), &casts.Casts{Upper: &casts.Cast{}, Lower: &casts.Cast{}}, nil, yield.Options{})
	require.ErrorIs(t, err, yield.ErrYield)
}

// assembled is the synthetic dentition, labelled and mounted.
func assembled(t testing.TB, settle casefile.SettleTo, disturb ...string) *casts.Casts {
	t.Helper()
	c := testcast.Synthetic(t, disturb...)
	scan := func(a typodont.Arch) *casts.Scan {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		return &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
	}
	cs := casefile.Default()
	cs.Mount = casefile.Mount{Matrix: &[16]float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1}}
	cs.Settle.How = settle
	if settle != casefile.SettleSeat {
		cs.Settle = casefile.Settle{How: settle}
	}
	out, err := occlusion.Assemble(context.Background(), cs, scan(c.Upper), scan(c.Lower))
	require.NoError(t, err)
	return out
}

func BenchmarkYield(b *testing.B) {
	casts := assembled(b, casefile.SettleSeat)
	b.ReportAllocs()
	var y *findings.Yielding
	var err error
	for b.Loop() {
		y, err = yield.Yield(context.Background(), casts, nil, yield.Options{})
	}
	require.NoError(b, err)
	require.NotEmpty(b, y.Steps)
}
