package cli_test

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"gonum.org/v1/gonum/spatial/r3"
)

// The command writes labels that a case can use: on the synthetic dentition
// every tooth is there.
func TestSegmentCommand(t *testing.T) {
	dir := t.TempDir()
	code, _, stderr := run(t, "typodont", "-o", dir, "--triangles", "30000")
	require.Zero(t, code, stderr)
	out := filepath.Join(dir, "found.json")
	code, stdout, stderr := run(t, "segment", filepath.Join(dir, "lower.stl"), "--units", "mm", "-o", out)
	require.Zero(t, code, stderr)
	require.Regexp(t, `^14 teeth found in .*lower\.stl \(lower arch\)`, stdout)
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
		"wrong jaw":      {scan, "--jaw", "left", "--units", "mm", "-o", out},
		"no shape":       {scan, "--units", "mm", "-o", out},
		"no unit":        {scan, "--jaw", "upper", "-o", out},
		"no output":      {scan, "--jaw", "upper", "--units", "mm"},
		"no teeth":       {scan, "--jaw", "upper", "--units", "mm", "-o", out},
		"missing scan":   {filepath.Join(dir, "none.stl"), "--jaw", "upper", "--units", "mm", "-o", out},
		"bad correction": {scan, "--jaw", "upper", "--units", "mm", "-o", out, "--correct", "19=0,0,0"},
		"bad edit":       {scan, "--jaw", "upper", "--units", "mm", "-o", out, "--correct", "14=15.."},
		"two for two":    {scan, "--jaw", "upper", "--units", "mm", "-o", out, "--correct", "14+15=15+16"},
		"two ways":       {scan, "--jaw", "upper", "--units", "mm", "-o", out, "--correct", "14=15", "--colours", scan},
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

// Teeth that another program has coloured are read with a table; colours that are not in it are
// said.
func TestSegmentByColours(t *testing.T) {
	dir := t.TempDir()
	scan, table, out := filepath.Join(dir, "scan.ply"), filepath.Join(dir, "colours.txt"), filepath.Join(dir, "labels.json")
	m, err := mesh.New([]r3.Vec{{}, {X: 10}, {X: 10, Y: 10}, {Y: 10}, {X: -10, Y: 10}}, [][3]mesh.VertexID{{0, 1, 2}, {0, 2, 3}, {0, 3, 4}})
	require.NoError(t, err)
	red, white := meshfile.RGB{255}, meshfile.RGB{255, 255, 255}
	require.NoError(t, meshfile.WriteFile(scan, m, []meshfile.RGB{red, red, red, white, white}))
	args := []string{"segment", scan, "--jaw", "upper", "--units", "mm", "--colours", table, "-o", out}
	for text, says := range map[string]string{
		"#ff0000 16 # the first molar\n": "#ffffff", "#ff0000 19\n": "19", "255 0 0\n": "expected", "": "no colour", "#ff0000 46": "upper",
	} {
		require.NoError(t, os.WriteFile(table, []byte(text), 0o600))
		code, _, stderr := run(t, args...)
		require.Equal(t, 2, code)
		require.Contains(t, stderr, says)
		require.NoFileExists(t, out)
	}
	require.NoError(t, os.WriteFile(table, []byte("#ff0000 16\n\n255,255,255,0\n"), 0o600))
	code, stdout, stderr := run(t, args...)
	require.Zero(t, code, stderr)
	require.Contains(t, stdout, "1 teeth read")
	f, err := os.Open(out)
	require.NoError(t, err)
	defer f.Close()
	l, err := dentition.ReadLabels(out, f, dentition.Upper, 5)
	require.NoError(t, err)
	for v, want := range []dentition.ToothID{16, 16, 16, 0, 0} {
		require.Equal(t, want, l.Vertex(mesh.VertexID(v)))
	}
	// The teeth of the table tell the jaw.
	said, err := os.ReadFile(out)
	require.NoError(t, err)
	args = slices.DeleteFunc(args, func(s string) bool { return s == "--jaw" || s == "upper" })
	code, _, stderr = run(t, append(args, "--replace")...)
	require.Zero(t, code, stderr)
	told, err := os.ReadFile(out)
	require.NoError(t, err)
	require.Equal(t, said, told)
	require.NoError(t, os.WriteFile(table, []byte("#ff0000 0\n#ffffff 0\n"), 0o600))
	code, _, stderr = run(t, append(args, "--replace")...)
	require.Equal(t, 2, code)
	require.Contains(t, stderr, "no colour of a tooth")
}
