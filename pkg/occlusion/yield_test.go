package occlusion

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// two teeth on springs under a stiff plate that only goes up, the second a step
// lower.
func two(step float64, spring casefile.Spring) *yielder {
	stiff := casefile.Spring{Soft: 1e7, Firm: 2e7, Free: 1}
	site := func(u, l dentition.ToothID, gap float64) yieldSite {
		return yieldSite{upper: u, lower: l, gap: gap, normal: r3.Vec{Z: -1}, row: twist{0, 0, -1}}
	}
	axes := [3]r3.Vec{{Z: 1}, {X: 1}, {Y: 1}}
	firm := [3]casefile.Spring{stiff, stiff, stiff}
	twice := casefile.Spring{Soft: 2 * spring.Soft, Firm: 2 * spring.Firm, Free: spring.Free}
	return &yielder{
		free: []twist{{0, 0, 1}}, push: []float64{1},
		teeth: []dentition.ToothID{16, 26, 46, 36}, axes: [][3]r3.Vec{axes, axes, axes, axes},
		spring: [][3]casefile.Spring{firm, firm, {spring, stiff, stiff}, {twice, stiff, stiff}},
		sites:  []yieldSite{site(16, 46, 0), site(26, 36, step)},
	}
}

func on(s findings.YieldStep, tooth findings.Part) findings.YieldLoad {
	for _, l := range s.Teeth {
		if l.Tooth == tooth {
			return l
		}
	}
	return findings.YieldLoad{}
}

// Two springs in parallel share a force as their stiffnesses.
func TestYieldShares(t *testing.T) {
	s, err := two(0, casefile.Spring{Soft: 100, Firm: 1000, Free: 1}).step(6)
	require.NoError(t, err)
	require.InDelta(t, 2, on(s, 46).ForceN, 1e-3)
	require.InDelta(t, 4, on(s, 36).ForceN, 1e-3)
	require.InDelta(t, 20, on(s, 46).AxialUm, 1e-2)
	require.InDelta(t, 20, s.ClosingUm, 1e-2)
	require.LessOrEqual(t, s.Residual, 1e-6)
}

// The second tooth joins in when the first has given by the step, and the free
// phase ends where it should.
func TestYieldOrderAndPhases(t *testing.T) {
	y := two(0.03, casefile.Spring{Soft: 100, Firm: 1000, Free: 0.02})
	for _, c := range []struct{ force, first, second float64 }{
		{1, 1, 0},                // 10 µm, soft
		{2, 2, 0},                // 20 µm, the end of the free phase
		{7, 7, 0},                // 25 µm: 2 + 5
		{12, 12, 0},              // 30 µm: the second begins
		{12 + 12, 22, 2},         // 40 µm: 2 + 20, and the second 10 µm at 200
		{12 + 24 + 40 - 6, 0, 0}, // balance only
	} {
		s, err := y.step(c.force)
		require.NoError(t, err)
		a, b := on(s, 46), on(s, 36)
		require.InDelta(t, c.force, a.ForceN+b.ForceN, 1e-4)
		require.LessOrEqual(t, s.Residual, 1e-6)
		if c.first > 0 {
			require.InDelta(t, c.first, a.ForceN, 2e-2, "%g N", c.force)
			require.InDelta(t, c.second, b.ForceN, 2e-2, "%g N", c.force)
		}
		// The spring's law holds at the displacement found.
		u := a.AxialUm / 1000
		require.InDelta(t, 100*u+900*max(0, u-0.02), a.ForceN, 1e-4)
	}
}

// Molars that give more under the same force let the casts close farther, and the
// findings say that they were so set.
func TestYieldSupport(t *testing.T) {
	casts := assembled(t, casefile.SettleRest)
	soft := casefile.DefaultSupport()
	soft.Molar = casefile.ToothSupport{AxialFreeUm: 30, Axial50NUm: 92, LateralFreeUm: 50, Lateral5NUm: 100}
	var closing [2]float64
	for i, s := range []*casefile.Support{nil, &soft} {
		y, err := Yield(context.Background(), casts, nil, YieldOptions{Support: s, ForcesN: []float64{20}})
		require.NoError(t, err)
		closing[i] = y.Steps[0].ClosingUm
		for _, v := range y.Support {
			require.Equal(t, i == 1 && strings.HasPrefix(v.Key, "molar."), v.Status == casefile.FromCase, v.Key)
		}
	}
	require.Greater(t, closing[1], 1.2*closing[0])
	soft.Molar.Axial50NUm = 1000
	for _, bad := range []casefile.Support{soft, {}} {
		_, err := Yield(context.Background(), casts, nil, YieldOptions{Support: &bad})
		require.ErrorIs(t, err, ErrYield)
	}
}

// On the synthetic dentition more stops carry as the force rises, the casts close
// monotonically, and every step is in balance.
func TestYieldGrows(t *testing.T) {
	for _, settle := range []casefile.SettleTo{casefile.SettleRest, casefile.SettleNone} {
		casts := assembled(t, settle, "raise,tooth=26,um=30")
		all := &casefile.Record{Marks: casefile.Marks{Centric: []casefile.Mark{{Upper: 16}, {Upper: 17}, {Upper: 24}, {Upper: 27}}}}
		y, err := Yield(context.Background(), casts, all, YieldOptions{})
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
		require.True(t, slices.ContainsFunc(y.Order, func(o findings.YieldStop) bool { return o.Upper == 26 && o.FromN == y.Steps[0].ForceN }), "%v", y.Order)
		t.Log(settle, y.Order, y.Steps[len(y.Steps)-1].ClosingUm)
	}
	_, err := Yield(context.Background(), &Casts{Upper: &Cast{}, Lower: &Cast{}}, nil, YieldOptions{})
	require.ErrorIs(t, err, ErrYield)
}

// assembled is the synthetic dentition, labelled and mounted.
func assembled(t testing.TB, settle casefile.SettleTo, disturb ...string) *Casts {
	t.Helper()
	c := synthetic(t, disturb...)
	scan := func(a typodont.Arch) *Scan {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		return &Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
	}
	cs := casefile.Default()
	cs.Mount = casefile.Mount{Matrix: &[16]float64{1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1}}
	cs.Settle.How = settle
	if settle != casefile.SettleRest {
		cs.Settle = casefile.Settle{How: settle}
	}
	casts, err := Assemble(context.Background(), cs, scan(c.Upper), scan(c.Lower))
	require.NoError(t, err)
	return casts
}

func BenchmarkYield(b *testing.B) {
	casts := assembled(b, casefile.SettleRest)
	b.ReportAllocs()
	var y *findings.Yielding
	var err error
	for b.Loop() {
		y, err = Yield(context.Background(), casts, nil, YieldOptions{})
	}
	require.NoError(b, err)
	require.NotEmpty(b, y.Steps)
}
