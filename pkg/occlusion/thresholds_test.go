package occlusion

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// Every border of the case is the one that is judged by.
func TestThresholdsOfTheCaseAreUsed(t *testing.T) {
	c := casefile.Default()
	l := &c.Thresholds
	l.HoldsUm, l.DragsUm, l.ScanDoubtUm = 10, 12, 5
	for gap, want := range map[float64]findings.HoldClass{10: findings.ClassHolds, 12: findings.ClassDrags, 17: findings.ClassUndecided, 17.1: findings.ClassPasses} {
		require.Equal(t, want, classify(gap, l), "%g µm", gap)
	}
	require.Equal(t, findings.Undecided, judge(three(0, 16, 0), l).Verdict)
	require.Equal(t, findings.Remount, judge(three(0, 18, 0), l).Verdict)

	require.Equal(t, 40.0, touchFoil(c))
	l.TouchUm = 20
	require.Equal(t, 8.0, touchFoil(c))

	// Tooth 46 clears from 1.1 mm on (the gap is the way less 1 mm).
	x := along("right", 40, func(w float64) float64 { return w }, canine)
	immediate := func() bool {
		m := newMovement(x, c)
		return m.disclusions()[1].Immediate
	}
	require.False(t, immediate())
	l.BegunMM = 1.2
	require.True(t, immediate())

	// A bend of 8° is a kink only by a border below it.
	bend := along("right", 40, func(w float64) float64 { return 0.3*w + 0.16*max(0, w-2) }, canine)
	kinks := func() int {
		m := newMovement(bend, c)
		return len(m.smoothness().Kinks)
	}
	require.Zero(t, kinks())
	l.KinkDeg = 5
	require.Equal(t, 1, kinks())

	// A V of 30° and 60° has a share of cos 15° along the axis; its steeper wall alone
	// does not hold.
	upper, lower := ball(t, wall{30, 90}, wall{60, -90})
	for _, share := range []float64{0.9, 0.99} {
		l.AxialShare = share
		got := heldBy(t, upper, lower, c)
		require.Equal(t, share < 0.966, *got.Support[0].Axial)
		require.Equal(t, share < 0.966, got.Stops[0].Stable && got.Stops[1].Stable)
	}
	l.StableInclineDeg = 65
	got := heldBy(t, upper, lower, c)
	require.True(t, got.Stops[0].Stable && got.Stops[1].Stable)
	require.Equal(t, "BC", got.Support[0].Across)
	l.FacingDeg = 70
	require.Empty(t, heldBy(t, upper, lower, c).Support[0].Across)
}
