package mesh

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// sharedFile is the path of a real scan, which is not part of the project; the
// test is skipped where it is missing.
func sharedFile(t testing.TB, name string) string {
	path := filepath.Join("..", "..", "..", "shared", "data", "adult-cbct", name)
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
			raw, err := ReadFile(sharedFile(t, c.file), ReadOptions{Unit: Millimetre})
			require.NoError(t, err)
			require.Equal(t, 3*c.tris, raw.NumVertices())
			m, remap := Weld(raw, 0)
			require.Equal(t, c.verts, m.NumVertices())
			require.Equal(t, c.tris, m.NumTriangles())
			next := VertexID(0) // numbers appear in order, without gaps
			for old, v := range remap {
				require.LessOrEqual(t, v, next)
				if v == next {
					next++
				}
				if m.Vertex(v) != raw.Vertex(VertexID(old)) {
					t.Fatalf("vertex %d moved", old)
				}
			}
			require.NoError(t, CheckSize(m, Millimetre))
		})
	}
}

func BenchmarkReadSTL(b *testing.B) {
	path := sharedFile(b, "upper.stl")
	for _, weld := range []bool{false, true} {
		name := "binary180k/read"
		if weld {
			name = "binary180k/read+weld"
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				m, err := ReadFile(path, ReadOptions{Unit: Millimetre})
				require.NoError(b, err)
				if weld {
					m, _ = Weld(m, 0)
				}
				require.Equal(b, 179987, m.NumTriangles())
			}
		})
	}
}

func BenchmarkWeld(b *testing.B) {
	m, err := ReadFile(sharedFile(b, "upper.stl"), ReadOptions{Unit: Millimetre})
	require.NoError(b, err)
	for name, tol := range map[string]float64{"equal": 0, "within1um": 0.001} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				w, _ := Weld(m, tol)
				require.Equal(b, 90376, w.NumVertices())
			}
		})
	}
}

func readShared(t testing.TB, name string) []byte {
	data, err := os.ReadFile(sharedFile(t, name))
	require.NoError(t, err)
	return data
}
