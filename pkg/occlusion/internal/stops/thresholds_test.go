package stops

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// TestClassThresholdsOfTheCaseAreUsed and its like in the other rooms change every border
// of a case: each is the one that is judged by.
func TestClassThresholdsOfTheCaseAreUsed(t *testing.T) {
	c := casefile.Default()
	l := &c.Thresholds
	l.HoldsUm, l.DragsUm, l.ScanDoubtUm = 10, 12, 5
	for gap, want := range map[float64]findings.HoldClass{10: findings.ClassHolds, 12: findings.ClassDrags,
		17: findings.ClassUndecided, 17.1: findings.ClassPasses} {
		require.Equal(t, want, Classify(gap, l), "%g µm", gap)
	}

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

// Borders: Harper & Setchell 2002, Int J Prosthodont 15:347-352.
func TestFoilClasses(t *testing.T) {
	for _, c := range []struct {
		gap  float64
		want findings.HoldClass
	}{{0, findings.ClassHolds}, {6, findings.ClassHolds}, {6.1, findings.ClassDrags}, {8, findings.ClassDrags},
		{8.1, findings.ClassUndecided}, {8 + 36.7, findings.ClassUndecided}, {45, findings.ClassPasses}, {400, findings.ClassPasses}} {
		require.Equal(t, c.want, Classify(c.gap, &casefile.Default().Thresholds), "%g µm", c.gap)
	}
}
