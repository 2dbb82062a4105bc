package occlusion_test

import (
	"context"
	"os"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
)

// A further scan that is a copy of the first is refused: it would prove a perfect scanner.
func TestCopyIsNoFurtherScan(t *testing.T) {
	c := synthetic(t, nil)
	scan, err := os.ReadFile(c.Path("upper.stl"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(c.Path("again.stl"), scan, 0o666))
	c.Upper.Again = []string{"again.stl"}
	_, _, err = occlusion.Load(context.Background(), c)
	require.ErrorContains(t, err, "again.stl: the same bytes as upper.stl")
	scan[0] ^= 1 // of the header: other bytes, the same surface
	require.NoError(t, os.WriteFile(c.Path("again.stl"), scan, 0o666))
	upper, _, err := occlusion.Load(context.Background(), c)
	require.NoError(t, err)
	require.Len(t, upper.Again, 1)
	require.Equal(t, findings.UpperAgain, upper.Inputs[1].Role)
}
