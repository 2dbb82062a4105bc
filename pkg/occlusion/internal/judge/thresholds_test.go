package judge

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// The borders of the case are those that movements are judged by.
func TestMovementThresholdsOfTheCaseAreUsed(t *testing.T) {
	c := casefile.Default()
	l := &c.Thresholds
	require.Equal(t, findings.Foil(40), TouchFoil(c))
	l.TouchUm = 20
	require.Equal(t, findings.Foil(8), TouchFoil(c))

	// Tooth 46 clears from 1.1 mm on (the gap is the way less 1 mm).
	x := along("right", 40, func(w float64) float64 { return w }, canine)
	immediate := func() bool {
		m := newMovement(t, x, c)
		return m.disclusions()[1].Immediate
	}
	require.False(t, immediate())
	l.BegunMM = 1.2
	require.True(t, immediate())

	// A bend of 8° is a kink only by a border below it.
	bend := along("right", 40, func(w float64) float64 { return 0.3*w + 0.16*max(0, w-2) }, canine)
	kinks := func() int {
		m := newMovement(t, bend, c)
		return len(m.smoothness().Kinks)
	}
	require.Zero(t, kinks())
	l.KinkDeg = 5
	require.Equal(t, 1, kinks())
}
