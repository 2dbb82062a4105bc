package testcase

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/golden"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
)

var files = golden.New("../../testdata/case")

func TestMain(m *testing.M) { os.Exit(files.Run(m)) }

// The case that stands in testdata for readers of the documentation is that of the
// documentation, with the arches as they are made here.
func TestTheCaseOfTheDocumentation(t *testing.T) {
	doc, err := os.ReadFile("../../docs/case-file.md")
	require.NoError(t, err)
	_, after, found := strings.Cut(string(doc), "A case that says everything")
	require.True(t, found)
	_, after, found = strings.Cut(after, "```yaml\n")
	require.True(t, found)
	example, _, found := strings.Cut(after, "```\n")
	require.True(t, found)
	files.Check(t, "case.yaml", example)

	dir := t.TempDir()
	_, err = New(8).Write(dir, nil)
	require.NoError(t, err)
	for _, jaw := range []string{"upper", "lower"} {
		// As PLY, a third of the size, with the vertices in the order of the labels.
		soup, err := meshfile.ReadFile(filepath.Join(dir, jaw+".stl"), meshfile.ReadOptions{Unit: mesh.Millimetre})
		require.NoError(t, err)
		welded, _ := mesh.Weld(soup, 0)
		require.NoError(t, meshfile.WriteFile(filepath.Join(dir, jaw+".ply"), welded, nil))
		for _, name := range []string{jaw + ".ply", jaw + ".labels.json"} {
			content, err := os.ReadFile(filepath.Join(dir, name))
			require.NoError(t, err)
			files.Check(t, name, string(content))
		}
	}
}
