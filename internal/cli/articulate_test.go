package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// Arches put together by hand make a case that can be examined.
func TestArticulate(t *testing.T) {
	dir := t.TempDir()
	run := func(args ...string) (code int, stdout, stderr string) {
		var out, errs bytes.Buffer
		code = Run(context.Background(), args, nil, &out, &errs)
		return code, out.String(), errs.String()
	}
	casts, file := filepath.Join(dir, "casts"), filepath.Join(dir, "case.yaml")
	code, _, stderr := run("typodont", "-o", casts)
	require.Zero(t, code, stderr)
	upper, lower := filepath.Join(casts, "upper.stl"), filepath.Join(casts, "lower.stl")
	code, stdout, stderr := run("articulate", "--units", "mm", upper, lower, "-o", file)
	require.Zero(t, code, stderr)
	require.Contains(t, stdout, "clearly arches that belong together: they come close over")
	require.FileExists(t, filepath.Join(dir, "case-lower.ply"))
	code, stdout, stderr = run("examine", file, "-o", filepath.Join(dir, "out"), "--tables-only")
	require.Zero(t, code, stderr)
	require.Contains(t, stdout, "they lock")

	for _, args := range [][]string{
		{upper, "-o", file, "--units", "mm"},
		{upper, lower, "--units", "mm"},
		{upper, lower, "-o", file},
		{upper, lower, "-o", file, "--units", "ell"},
		{upper, lower, "-o", file, "--units", "m"},
		{upper, filepath.Join(dir, "none.stl"), "-o", file, "--units", "mm"},
		{upper, upper, "-o", filepath.Join(dir, "two.yaml"), "--units", "mm"},
		{upper, lower, "-o", file, "--units", "mm", "--teeth", "46=16"},
		{upper, lower, "-o", file, "--units", "mm", "--teeth", "16"},
		{upper, lower, "-o", file, "--units", "mm", "--points", "1,2,3"},
		{upper, lower, "-o", file, "--units", "mm", "--points", "1,2,3=4,5"},
		{upper, lower, "-o", file, "--units", "mm", "--points", "1,2,x=4,5,6"},
		{upper, lower, "-o", file, "--units", "mm", "--place", "-1"},
		{upper, lower, "-o", filepath.Join(dir, "none", "case.yaml"), "--units", "mm"},
	} {
		code, _, stderr := run(append([]string{"articulate"}, args...)...)
		require.Equal(t, badInput, code, "%v: %s", args, stderr)
		require.NotEmpty(t, stderr)
	}
	_, err := os.Stat(filepath.Join(dir, "two.yaml"))
	require.ErrorIs(t, err, os.ErrNotExist)
}
