package casefile_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/casefile"
)

func TestOnlyScansNeeded(t *testing.T) {
	c, w, err := casefile.Parse("c.yaml", []byte("upper: {scan: u.stl}\nlower: {scan: l.stl}\n"))
	require.NoError(t, err)
	require.Empty(t, w)
	want := casefile.Default()
	want.Dir, want.Upper.Scan, want.Lower.Scan = ".", "u.stl", "l.stl"
	require.Equal(t, want, c)
}
