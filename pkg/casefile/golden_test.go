package casefile_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/faults"
	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/pkg/casefile"
)

var files = golden.New(filepath.Join("testdata", "golden"))

func TestMain(m *testing.M) { os.Exit(files.Run(m)) }

// names lists the files of a folder in testdata, without their extension.
func names(t *testing.T, folder string) []string {
	t.Helper()
	entries, err := os.ReadDir(filepath.Join("testdata", folder))
	require.NoError(t, err)
	var out []string
	for _, e := range entries {
		out = append(out, strings.TrimSuffix(e.Name(), filepath.Ext(e.Name())))
	}
	return out
}

// Every file in testdata/bad is refused with the text in testdata/golden.
func TestGoldenBadFiles(t *testing.T) {
	for _, name := range names(t, "bad") {
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join("testdata", "bad", name+".yaml"))
			require.NoError(t, err)
			c, w, err := casefile.Parse(name+".yaml", data)
			require.Error(t, err)
			require.True(t, faults.In(err))
			require.Nil(t, c)
			require.Nil(t, w)
			files.Check(t, name+".txt", err.Error()+"\n")
			for line := range strings.Lines(err.Error()) {
				require.True(t, strings.HasPrefix(line, name+".yaml:") || strings.HasPrefix(line, "and "), line)
			}
		})
	}
}

// Every file in testdata/unusual is read with the warnings in testdata/golden.
func TestGoldenUnusualFiles(t *testing.T) {
	for _, name := range names(t, "unusual") {
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join("testdata", "unusual", name+".yaml"))
			require.NoError(t, err)
			_, warnings, err := casefile.Parse(name+".yaml", data)
			require.NoError(t, err)
			var text strings.Builder
			for _, w := range warnings {
				text.WriteString(w.String() + "\n")
			}
			files.Check(t, name+".txt", text.String())
		})
	}
}

// The errors that docs/case-file.md shows are those that a reader gets.
func TestDocumentedErrors(t *testing.T) {
	doc, err := os.ReadFile(filepath.Join("..", "..", "docs", "case-file.md"))
	require.NoError(t, err)
	_, after, found := strings.Cut(string(doc), "```text\n")
	require.True(t, found)
	want, _, found := strings.Cut(after, "\n```")
	require.True(t, found)
	_, _, err = casefile.Parse("case.yaml", []byte(scans+"settings:\n  interconylar_mm: 110\n  right: {condylar_inclination_deg: 200}\n"))
	require.EqualError(t, err, want)
}

func TestNoNameIsThereTwice(t *testing.T) {
	bad := names(t, "bad")
	for _, name := range names(t, "unusual") {
		require.NotContains(t, bad, name)
	}
}
