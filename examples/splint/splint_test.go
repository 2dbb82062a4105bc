package main

import (
	"math"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// The splint for synthetic casts is sound, and the lower arch closes and moves on
// it as it was designed, by the closing of package contact.
func TestSplintForSyntheticCasts(t *testing.T) {
	dir := t.TempDir()
	cmd := exec.Command("go", "run", "./cmd/cusptrace", "typodont", "-o", dir)
	cmd.Dir = filepath.Join("..", "..")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	c, pair, err := load(t.Context(), filepath.Join(dir, "case.yaml"))
	require.NoError(t, err)
	made, err := build(t.Context(), c, pair)
	require.NoError(t, err)

	require.True(t, made.solidity.closed)
	require.Zero(t, made.solidity.selfIntersections)
	require.Zero(t, made.solidity.singular)
	t.Logf("volume %.0f mm³", made.solidity.volume)
	require.Greater(t, made.solidity.volume, 500.0)
	welded, err := fromSTL(made.stl)
	require.NoError(t, err)
	require.False(t, hasRim(welded), "the STL file is watertight too")

	r := made.result
	require.GreaterOrEqual(t, len(r.cusps), 14, "two on a molar, one on a premolar")
	for _, g := range r.cusps {
		require.Less(t, math.Abs(g.gap), 0.06, "%v %v touches in closing (mm)", g.tooth, g.cusp)
	}
	for _, p := range r.moves {
		if p.travel >= 1 { // before, the anterior teeth are free by half a millimetre
			require.True(t, p.guide.Type().Anterior(), "%v at %g mm is guided by %v", p.movement, p.travel, p.guide)
			require.Greater(t, p.back, 0.1, "posterior teeth are clear %v at %g mm", p.movement, p.travel)
		}
		if p.travel >= 1.5 {
			require.InDelta(t, p.wanted.Degrees(), p.opening.Degrees(), 0.06,
				"%v at %g mm opens as designed (0.1 mm at the incisors)", p.movement, p.travel)
		}
	}
}
