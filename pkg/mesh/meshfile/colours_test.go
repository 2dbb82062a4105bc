package meshfile_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

const square = "element vertex 4\nproperty float x\nproperty float y\nproperty float z\n%v" +
	"element face 1\nproperty list uchar int vertex_indices\n%fend_header\n"

// coloured writes a square of one face with colours of vertices, of the face, or none.
func coloured(t testing.TB, vertex, face, body string) string {
	path := filepath.Join(t.TempDir(), "square.ply")
	text := "ply\nformat ascii 1.0\n" + strings.NewReplacer("%v", vertex, "%f", face).Replace(square) + body
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

const (
	bytesOf  = "property uchar red\nproperty uchar green\nproperty uchar blue\n"
	floatsOf = "property float red\nproperty float green\nproperty float blue\n"
	plain    = "0 0 0\n1 0 0\n1 1 0\n0 1 0\n"
)

func TestReadColours(t *testing.T) {
	red, grey := meshfile.RGB{255, 0, 0}, meshfile.RGB{128, 128, 128}
	c, err := meshfile.ReadColours(coloured(t, "", bytesOf, plain+"4 0 1 2 3 255 0 0\n"))
	require.NoError(t, err)
	require.Equal(t, &meshfile.Colours{Triangles: []meshfile.RGB{red, red}}, c) // the square is cut into two
	c, err = meshfile.ReadColours(coloured(t, floatsOf, "", "0 0 0 1 0 0\n1 0 0 1 0 0\n1 1 0 .5 .5 .5\n0 1 0 1 0 0\n4 0 1 2 3\n"))
	require.NoError(t, err)
	require.Equal(t, &meshfile.Colours{Vertices: []meshfile.RGB{red, red, grey, red}}, c)
	_, err = meshfile.ReadColours(coloured(t, "", "", plain+"4 0 1 2 3\n"))
	require.ErrorIs(t, err, meshfile.ErrColours)
	_, err = meshfile.ReadColours(coloured(t, floatsOf, "", "0 0 0 2 0 0\n1 0 0 1 0 0\n1 1 0 .5 .5 .5\n0 1 0 1 0 0\n4 0 1 2 3\n"))
	require.ErrorContains(t, err, "channel")
}

// Colours written with a mesh are those that are read.
func TestColoursThereAndBack(t *testing.T) {
	m, err := mesh.New([]r3.Vec{{}, {X: 1}, {Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}})
	require.NoError(t, err)
	want := []meshfile.RGB{{1, 2, 3}, {4, 5, 6}, {250, 251, 252}}
	path := filepath.Join(t.TempDir(), "m.ply")
	require.NoError(t, meshfile.WriteFile(path, m, want))
	c, err := meshfile.ReadColours(path)
	require.NoError(t, err)
	got, err := c.ByVertex(m)
	require.NoError(t, err)
	require.Equal(t, want, got)
}

// A vertex takes the colour of most triangles around it.
func TestColoursByVertex(t *testing.T) {
	m, err := mesh.New([]r3.Vec{{}, {X: 1}, {X: 1, Y: 1}, {Y: 1}, {X: -1, Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}, {0, 2, 3}, {0, 3, 4}})
	require.NoError(t, err)
	a, b := meshfile.RGB{1}, meshfile.RGB{2}
	got, err := (&meshfile.Colours{Triangles: []meshfile.RGB{a, b, b}}).ByVertex(m)
	require.NoError(t, err)
	require.Equal(t, []meshfile.RGB{b, a, a, b, b}, got)
	_, err = (&meshfile.Colours{Triangles: []meshfile.RGB{a}}).ByVertex(m)
	require.ErrorIs(t, err, meshfile.ErrColours)
}

func FuzzReadColours(f *testing.F) {
	for _, path := range []string{coloured(f, "", bytesOf, plain+"4 0 1 2 3 255 0 0\n"), coloured(f, "", "", plain+"4 0 1 2 3\n")} {
		b, err := os.ReadFile(path)
		require.NoError(f, err)
		f.Add(b)
	}
	path := filepath.Join(f.TempDir(), "fuzz.ply")
	f.Fuzz(func(t *testing.T, b []byte) {
		require.NoError(t, os.WriteFile(path, b, 0o600))
		c, err := meshfile.ReadColours(path)
		require.True(t, (err == nil) == (c != nil))
	})
}
