package inspect

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/stretchr/testify/require"
)

// sharedFile is the path of a real scan, which is not part of the project; the
// test is skipped where it is missing.
func sharedFile(t testing.TB, name string) string {
	path := filepath.Join("..", "..", "..", "..", "shared", "data", "adult-cbct", name)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("real scans not at hand: %v", err)
	}
	return path
}

// The numbers are those of the data's own description, found by other programs.
func TestRealArchesWeldToTheirDescription(t *testing.T) {
	for _, c := range []struct {
		file        string
		verts, tris int
	}{
		{"upper.stl", 90376, 179987},
		{"lower.stl", 90371, 179975},
	} {
		t.Run(c.file, func(t *testing.T) {
			raw, err := meshfile.ReadFile(sharedFile(t, c.file), meshfile.ReadOptions{Unit: mesh.Millimetre})
			require.NoError(t, err)
			require.Equal(t, 3*c.tris, raw.NumVertices())
			m, remap := mesh.Weld(raw, 0)
			require.Equal(t, c.verts, m.NumVertices())
			require.Equal(t, c.tris, m.NumTriangles())
			next := mesh.VertexID(0) // numbers appear in order, without gaps
			for old, v := range remap {
				require.LessOrEqual(t, v, next)
				if v == next {
					next++
				}
				if m.Vertex(v) != raw.Vertex(mesh.VertexID(old)) {
					t.Fatalf("vertex %d moved", old)
				}
			}
			require.NoError(t, CheckSize(m, mesh.Millimetre))
		})
	}
}

func readShared(t testing.TB, name string) []byte {
	data, err := os.ReadFile(sharedFile(t, name))
	require.NoError(t, err)
	return data
}
