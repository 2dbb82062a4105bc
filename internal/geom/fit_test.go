package geom_test

import (
	"testing"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/stretchr/testify/require"
)

func TestQuadricFit(t *testing.T) {
	var q geom.Quadric
	f := func(x, y float64) float64 { return 1 + 0.3*x - 0.2*y - 2*x*x + 0.5*x*y - y*y }
	for x := -1.0; x <= 1; x += 0.5 {
		for y := -1.0; y <= 1; y += 0.5 {
			q.Add(x, y, f(x, y))
		}
	}
	x, y, z, ok := q.Top()
	require.True(t, ok)
	// The gradient vanishes: 0.3 − 4x + 0.5y = 0, −0.2 + 0.5x − 2y = 0.
	require.InDelta(t, 0, 0.3-4*x+0.5*y, 1e-9)
	require.InDelta(t, 0, -0.2+0.5*x-2*y, 1e-9)
	require.InDelta(t, f(x, y), z, 1e-9)

	var bowl geom.Quadric
	for x := -1.0; x <= 1; x += 0.5 {
		for y := -1.0; y <= 1; y += 0.5 {
			bowl.Add(x, y, x*x+y*y)
		}
	}
	_, _, _, ok = bowl.Top()
	require.False(t, ok, "a bowl has no top")
	var few geom.Quadric
	few.Add(0, 0, 1)
	_, _, _, ok = few.Top()
	require.False(t, ok)
}
