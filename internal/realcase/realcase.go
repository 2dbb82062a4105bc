// Package realcase reads the scans of a real patient for tests. They stay outside
// the project; where they are missing the test skips and says so.
package realcase

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/stretchr/testify/require"
)

// Dir is where the data lie, seen from the folder of a package two levels deep.
const Dir = "../../../shared/data/adult-cbct"

// Path is the path of a file of the case.
func Path(t testing.TB, name string) string {
	t.Helper()
	path := filepath.Join(filepath.FromSlash(Dir), name)
	if _, err := os.Stat(path); err != nil {
		t.Skip("the real case is not here: ", err)
	}
	return path
}

// Arch is one arch, welded, with a person's labels.
func Arch(t testing.TB, jaw dentition.Jaw) (*mesh.Mesh, *dentition.Labels) {
	t.Helper()
	soup, err := meshfile.ReadFile(Path(t, jaw.String()+".stl"), meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	m, _ := mesh.Weld(soup, 0)
	f, err := os.Open(Path(t, jaw.String()+".labels.json"))
	require.NoError(t, err)
	defer f.Close()
	l, err := dentition.ReadLabels(f.Name(), f, jaw, m.NumVertices())
	require.NoError(t, err)
	return m, l
}
