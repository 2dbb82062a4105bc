package cli_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

// The command writes labels that a case can use: on the synthetic dentition
// every tooth is there.
func TestSegmentCommand(t *testing.T) {
	dir := t.TempDir()
	code, _, stderr := run(t, "typodont", "-o", dir, "--triangles", "30000")
	require.Zero(t, code, stderr)
	out := filepath.Join(dir, "found.json")
	code, stdout, stderr := run(t, "segment", filepath.Join(dir, "lower.stl"), "--jaw", "lower", "--units", "mm", "-o", out)
	require.Zero(t, code, stderr)
	require.Contains(t, stdout, "14 teeth found")
	soup, err := meshfile.ReadFile(filepath.Join(dir, "lower.stl"), meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	scan, _ := mesh.Weld(soup, 0)
	read := func(path string) *dentition.Labels {
		f, err := os.Open(path)
		require.NoError(t, err)
		defer f.Close()
		l, err := dentition.ReadLabels(path, f, dentition.Lower, scan.NumVertices())
		require.NoError(t, err)
		return l
	}
	got, want := read(out), read(filepath.Join(dir, "lower.labels.json"))
	require.Equal(t, want.Teeth(), got.Teeth())
}

func TestSegmentMistakes(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "scan.stl"), []byte("solid x\nendsolid x\n"), 0o666))
	scan, out := filepath.Join(dir, "scan.stl"), filepath.Join(dir, "labels.json")
	for name, args := range map[string][]string{
		"no jaw":         {scan, "--units", "mm", "-o", out},
		"no unit":        {scan, "--jaw", "upper", "-o", out},
		"no output":      {scan, "--jaw", "upper", "--units", "mm"},
		"no teeth":       {scan, "--jaw", "upper", "--units", "mm", "-o", out},
		"missing scan":   {filepath.Join(dir, "none.stl"), "--jaw", "upper", "--units", "mm", "-o", out},
		"bad correction": {scan, "--jaw", "upper", "--units", "mm", "-o", out, "--correct", "19=0,0,0"},
		"short point":    {scan, "--jaw", "upper", "--units", "mm", "-o", out, "--correct", "16=0,0"},
	} {
		t.Run(name, func(t *testing.T) {
			code, stdout, stderr := run(t, append([]string{"segment"}, args...)...)
			require.Equal(t, 2, code, stderr)
			require.Empty(t, stdout)
			require.NotEmpty(t, stderr)
			require.NoFileExists(t, out)
		})
	}
}
