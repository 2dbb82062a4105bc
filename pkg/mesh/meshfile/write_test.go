package meshfile

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestWrittenFilesReadBack(t *testing.T) {
	dir := t.TempDir()
	fine := testmesh.New([]r3.Vec{{X: 0.1, Y: -1.0 / 3, Z: math.Pi}, {X: 1e-300},
		{Y: 123456.789, Z: math.Copysign(0, -1)}}, [][3]mesh.VertexID{{0, 1, 2}, {2, 1, 0}, {1, 1, 1}})
	for name, m := range map[string]*mesh.Mesh{"tetrahedron": testmesh.Tetrahedron(), "trough": testmesh.Trough(60), "fine": fine} {
		for _, ext := range []string{".ply", ".obj", ".stl"} {
			t.Run(name+ext, func(t *testing.T) {
				path := filepath.Join(dir, name+ext)
				require.NoError(t, WriteFile(path, m, nil))
				got, err := ReadFile(path, ReadOptions{Unit: mesh.Millimetre})
				require.NoError(t, err)
				if ext != ".stl" {
					require.True(t, testmesh.Equal(m, got))
					return
				}
				require.Equal(t, m.NumTriangles(), got.NumTriangles())
				for i := range m.NumTriangles() {
					a, b, c := m.Corners(mesh.TriID(i))
					p, q, r := got.Corners(mesh.TriID(i))
					for k, v := range [3]r3.Vec{a, b, c} {
						s := single(v)
						require.Equal(t, r3.Vec{X: float64(s[0]), Y: float64(s[1]), Z: float64(s[2])}, [3]r3.Vec{p, q, r}[k])
					}
				}
			})
		}
	}
}

func TestSTLBytes(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteSTL(&b, testmesh.New([]r3.Vec{{}, {X: 1.5}, {Y: 2, Z: -0.25}, {X: 1e-300}},
		[][3]mesh.VertexID{{0, 1, 2}, {0, 0, 3}})))
	require.Equal(t, 84+2*50, b.Len())
	require.Equal(t, "binary STL, lengths in mm", string(bytes.TrimRight(b.Bytes()[:80], "\x00")))
	want := binarySTL("", oneFacet)[84:]
	require.Equal(t, want[12:], b.Bytes()[84+12:84+50])
	require.Equal(t, make([]byte, 12), b.Bytes()[134:146], "no area, no normal")
}

func TestPLYBytesAndColours(t *testing.T) {
	m := testmesh.New([]r3.Vec{{}, {X: 1.5}, {Y: 2, Z: -0.25}}, [][3]mesh.VertexID{{0, 1, 2}})
	var b bytes.Buffer
	require.NoError(t, WritePLY(&b, m, []RGB{{1, 2, 3}, {4, 5, 6}, {255, 0, 9}}))
	require.Equal(t, plyFile(`ply
format binary_little_endian 1.0
comment lengths in mm
element vertex 3
property float x
property float y
property float z
property uchar red
property uchar green
property uchar blue
element face 1
property list uchar int vertex_indices
end_header
`,
		[]any{float32(0), float32(0), float32(0), uint8(1), uint8(2), uint8(3)},
		[]any{float32(1.5), float32(0), float32(0), uint8(4), uint8(5), uint8(6)},
		[]any{float32(0), float32(2), float32(-0.25), uint8(255), uint8(0), uint8(9)},
		[]any{uint8(3), int32(0), int32(1), int32(2)}), b.String())
	got, err := Read(&b, ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	require.True(t, testmesh.Equal(m, got))

	require.ErrorIs(t, WritePLY(io.Discard, m, []RGB{{}}), ErrColours)
	path := filepath.Join(t.TempDir(), "a.stl")
	require.ErrorIs(t, WriteFile(path, m, make([]RGB, 3)), ErrColours)
	require.NoFileExists(t, path)
}

func TestWritingIsAtomicAndRefusesOtherFormats(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.ply")
	require.NoError(t, WriteFile(path, testmesh.Tetrahedron(), nil))
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	require.ErrorIs(t, WriteFile(path, testmesh.Tetrahedron(), make([]RGB, 1)), ErrColours)
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, before, after)
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, left, 1, "nothing half-written stays")
	err = WriteFile(filepath.Join(dir, "a.step"), testmesh.Tetrahedron(), nil)
	require.ErrorIs(t, err, ErrFormat)
	require.ErrorContains(t, err, `found the extension ".step", expected .stl, .ply or .obj`)
	require.ErrorIs(t, WriteFile(filepath.Join(dir, "none", "a.stl"), testmesh.Tetrahedron(), nil), os.ErrNotExist)
}

type fullDisk struct{ left int }

func (w *fullDisk) Write(p []byte) (int, error) {
	if w.left -= len(p); w.left < 0 {
		return 0, errors.New("disk full")
	}
	return len(p), nil
}

func TestWriteErrorsAreReported(t *testing.T) {
	m := testmesh.Trough(60)
	for name, write := range map[string]func(io.Writer) error{
		"STL": func(w io.Writer) error { return WriteSTL(w, m) },
		"PLY": func(w io.Writer) error { return WritePLY(w, m, nil) },
		"OBJ": func(w io.Writer) error { return WriteOBJ(w, m) },
	} {
		for _, room := range []int{0, 5000} {
			require.EqualError(t, write(&fullDisk{room}), "disk full", name)
		}
	}
}

// The bytes are a pure function of the mesh; a change shows here.
func TestWrittenBytesStayTheSame(t *testing.T) {
	for want, write := range map[string]func(io.Writer, *mesh.Mesh) error{
		"733051cb9ede0052": WriteSTL,
		"82029693d661b768": func(w io.Writer, m *mesh.Mesh) error { return WritePLY(w, m, nil) },
		"21efe0574e040b28": WriteOBJ,
	} {
		h := sha256.New()
		require.NoError(t, write(h, testmesh.Grid(10)))
		require.Equal(t, want, fmt.Sprintf("%x", h.Sum(nil))[:16])
	}
}
