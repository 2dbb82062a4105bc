package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Two bare scans, given the wrong way round, are examined as upper and lower one.
func TestExamineTwoScans(t *testing.T) {
	if testing.Short() {
		t.Skip("makes casts and examines them")
	}
	dir := t.TempDir()
	run := func(args ...string) (int, string, string) {
		var stdout, stderr bytes.Buffer
		code := Run(context.Background(), args, bytes.NewReader(nil), &stdout, &stderr)
		return code, stdout.String(), stderr.String()
	}
	casts := filepath.Join(dir, "casts")
	code, _, stderr := run("typodont", "--triangles", "40000", "-o", casts)
	require.Zero(t, code, stderr)
	upper, lower, out := filepath.Join(casts, "upper.stl"), filepath.Join(casts, "lower.stl"), filepath.Join(dir, "out")
	code, stdout, stderr := run("examine", lower, upper, "--units", "mm", "-o", out, "--tables-only", "--as-set")
	require.Zero(t, code, stderr)
	require.Contains(t, stderr, upper+" looks like the upper arch")
	require.Contains(t, stdout, "Assumed: mean values")
	text, err := os.ReadFile(filepath.Join(out, assumedCase))
	require.NoError(t, err)
	require.Contains(t, string(text), `upper: {scan: "../casts/upper.stl"}`)

	// What was made is examined as a case, and not made again over it.
	code, again, stderr := run("examine", filepath.Join(out, assumedCase), "-o", out, "--tables-only", "--as-set")
	require.Zero(t, code, stderr)
	require.Contains(t, stdout, again)
	code, _, stderr = run("examine", upper, lower, "--units", "mm", "-o", out)
	require.Equal(t, 2, code)
	require.Contains(t, stderr, "exists")

	// Two scans of one jaw are no pair, and leave nothing behind.
	other := filepath.Join(dir, "other")
	code, _, stderr = run("examine", upper, upper, "--units", "mm", "-o", other)
	require.Equal(t, 2, code)
	require.Contains(t, stderr, "both look like the upper arch")
	_, err = os.Stat(filepath.Join(other, assumedCase))
	require.ErrorIs(t, err, os.ErrNotExist)
	code, _, stderr = run("examine", upper, lower, "-o", other)
	require.Equal(t, 2, code)
	require.Contains(t, stderr, "--units")
}
