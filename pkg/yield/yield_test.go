package yield

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// two teeth on springs under a stiff plate that only goes up, the second a step
// lower.
func two(t *testing.T, step float64, spring casefile.Spring) *yielder {
	stiff := casefile.Spring{Soft: 1e7, Firm: 2e7, Free: 1}
	site := func(u, l dentition.ToothID, gap float64) yieldSite {
		return yieldSite{upper: u, lower: l, gap: gap, normal: r3.Vec{Z: -1}, row: kinematics.Twist{0, 0, -1}}
	}
	axes := [3]r3.Vec{{Z: 1}, {X: 1}, {Y: 1}}
	firm := [3]casefile.Spring{stiff, stiff, stiff}
	twice := casefile.Spring{Soft: 2 * spring.Soft, Firm: 2 * spring.Firm, Free: spring.Free}
	y := &yielder{
		free: []kinematics.Twist{{0, 0, 1}}, push: []float64{1},
		teeth: []dentition.ToothID{16, 26, 46, 36}, axes: [][3]r3.Vec{axes, axes, axes, axes},
		spring: [][3]casefile.Spring{firm, firm, {spring, stiff, stiff}, {twice, stiff, stiff}},
		sites:  []yieldSite{site(16, 46, 0), site(26, 36, step)},
	}
	require.NoError(t, y.prepare())
	return y
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
	s, err := two(t, 0, casefile.Spring{Soft: 100, Firm: 1000, Free: 1}).step(6)
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
	y := two(t, 0.03, casefile.Spring{Soft: 100, Firm: 1000, Free: 0.02})
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

// The force at which the second tooth joins in is found between two steps: 12 N by the closed
// form, within 2 %, and the same from any steps around it.
func TestYieldFindsWhereAPairBegins(t *testing.T) {
	y := two(t, 0.03, casefile.Spring{Soft: 100, Firm: 1000, Free: 0.02})
	for _, steps := range [][2]float64{{1, 200}, {11.9, 12.1}, {5, 13}} {
		out := &findings.Yielding{}
		low, err := y.step(steps[0])
		require.NoError(t, err)
		join(out, &low)
		require.Equal(t, []findings.YieldStop{{Upper: 16, Lower: 46, FromN: steps[0]}}, out.Order)
		high, err := y.step(steps[1])
		require.NoError(t, err)
		require.NoError(t, y.between(out, steps[0], &high))
		require.Len(t, out.Order, 2)
		require.InEpsilon(t, 12, out.Order[1].FromN, 0.021)
		require.GreaterOrEqual(t, out.Order[1].FromN, 12.0)
	}
}

// A tooth that carries just less than teeth were measured with is not beyond that, one that
// carries just more is: 50 N along its axis.
func TestYieldBeyondWhatWasMeasured(t *testing.T) {
	y := two(t, 10, casefile.Spring{Soft: 100, Firm: 1000, Free: 0.02})
	for force, want := range map[float64]bool{49.9: false, 50.1: true} {
		s, err := y.step(force)
		require.NoError(t, err)
		require.Equal(t, want, y.beyond(&s), "%g N", force)
	}
}
