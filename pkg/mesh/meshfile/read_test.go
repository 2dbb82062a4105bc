package meshfile

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/inputfile"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func readString(s string, name string) (*mesh.Mesh, error) {
	return Read(strings.NewReader(s), ReadOptions{Unit: mesh.Millimetre, Name: name})
}

// binarySTL makes a file by the layout of the format (80 bytes, count, 50 bytes
// a facet), not by our writer.
func binarySTL(header string, corners ...[9]float32) []byte {
	b := make([]byte, 80, 84+50*len(corners))
	copy(b, header)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(corners)))
	for _, c := range corners {
		b = append(b, make([]byte, 12)...) // normal zero
		for _, f := range c {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(f))
		}
		b = append(b, 0, 0)
	}
	return b
}

var oneFacet = [9]float32{0, 0, 0, 1.5, 0, 0, 0, 2, -0.25}

const textSTL = `solid a name with words
  facet normal 0 0 1
    outer loop
      vertex 0 0 0
      vertex 1.5 0 0
      vertex 0 2 -0.25
    endloop
  endfacet
endsolid a name with words
`

const textPLY = `ply
format ascii 1.0
element vertex 3
property float x
property float y
property float z
element face 1
property list uchar int vertex_indices
end_header
0 0 0
1.5 0 0
0 2 -0.25
3 0 1 2
`

const textOBJ = "v 0 0 0\nv 1.5 0 0\nv 0 2 -0.25\nf 1 2 3\n"

func requireOneFacet(t *testing.T, m *mesh.Mesh) {
	t.Helper()
	require.Equal(t, []r3.Vec{{}, {X: 1.5}, {Y: 2, Z: -0.25}}, m.Vertices())
	require.Equal(t, [][3]mesh.VertexID{{0, 1, 2}}, m.Triangles())
}

func TestContentDecidesTheFormat(t *testing.T) {
	for _, name := range []string{"a.stl", "a.ply", "a.obj", "a", "a.scan"} {
		for format, data := range map[string]string{
			"binary STL":               string(binarySTL("some scanner", oneFacet)),
			"binary STL called solid":  string(binarySTL("solid but binary", oneFacet)),
			"binary STL called ply":    string(binarySTL("ply shaped", oneFacet)),
			"text STL":                 textSTL,
			"text PLY":                 textPLY,
			"PLY with CRLF":            strings.ReplaceAll(textPLY, "\n", "\r\n"),
			"OBJ":                      textOBJ,
			"OBJ after comments":       "# by a scanner\n\n#\n" + textOBJ,
			"OBJ with a material file": "mtllib a.mtl\no thing\n" + textOBJ,
		} {
			t.Run(name+"/"+format, func(t *testing.T) {
				m, err := readString(data, name)
				require.NoError(t, err)
				requireOneFacet(t, m)
			})
		}
	}
}

func TestFormatGivenOrByExtension(t *testing.T) {
	odd := "call other.obj\n" + textOBJ // no statement that would show OBJ first
	m, err := readString(odd, "a.obj")
	require.NoError(t, err)
	requireOneFacet(t, m)
	_, err = readString(odd, "a.txt")
	require.ErrorIs(t, err, ErrFormat)
	require.ErrorContains(t, err, `a.txt: file format not known: neither the content nor the extension ".txt"`)
	m, err = Read(strings.NewReader(odd), ReadOptions{Unit: mesh.Millimetre, Format: OBJ})
	require.NoError(t, err)
	requireOneFacet(t, m)
	_, err = Read(strings.NewReader(textOBJ), ReadOptions{Unit: mesh.Millimetre, Format: PLY})
	require.ErrorIs(t, err, ErrSyntax)
	require.Equal(t, []Format{STL, PLY, OBJ, FormatUnknown},
		[]Format{FormatOf("x/a.STL"), FormatOf("a.ply"), FormatOf("a.Obj"), FormatOf("a.step")})
}

// The inch is 25.4 mm by definition; all others follow from the metre.
func TestUnitsConvertToMillimetres(t *testing.T) {
	for u, mm := range map[mesh.Unit]float64{mesh.Millimetre: 1.5, mesh.Centimetre: 15, mesh.Metre: 1500,
		mesh.Inch: 38.1, mesh.Micrometre: 0.0015} {
		for _, data := range []string{string(binarySTL("", oneFacet)), textSTL, textPLY, textOBJ} {
			m, err := Read(strings.NewReader(data), ReadOptions{Unit: u})
			require.NoError(t, err)
			require.InDelta(t, mm, m.Vertex(1).X, 1e-12)
		}
	}
	_, err := Read(strings.NewReader(textOBJ), ReadOptions{Name: "a.obj"})
	require.ErrorIs(t, err, mesh.ErrUnit)
	require.ErrorContains(t, err, "not given for a.obj, and the file cannot say it; expected one of mm, cm, m, inch, um")
	_, err = Read(strings.NewReader(textOBJ), ReadOptions{Unit: 77})
	require.ErrorIs(t, err, mesh.ErrUnit)
	_, err = ReadFile("none.stl", ReadOptions{})
	require.ErrorIs(t, err, mesh.ErrUnit, "what is asked wrongly comes before what is not there")
}

func TestFilesThatCannotBeOpened(t *testing.T) {
	dir := t.TempDir()
	o := ReadOptions{Unit: mesh.Millimetre}
	_, err := ReadFile(filepath.Join(dir, "none.stl"), o)
	require.ErrorIs(t, err, os.ErrNotExist)
	require.ErrorContains(t, err, filepath.Join(dir, "none.stl")+": cannot open: no such file")
	require.Equal(t, 1, strings.Count(err.Error(), "none.stl"))
	_, err = ReadFile(dir, o)
	require.ErrorIs(t, err, inputfile.ErrKind)
	require.ErrorContains(t, err, "must be a file, not a folder")
	path := filepath.Join(dir, "a.stl")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	require.NoError(t, os.Truncate(path, 3<<30)) // a sparse file
	_, err = ReadFile(path, o)
	require.ErrorIs(t, err, ErrFormat)
	require.ErrorContains(t, err, "found 3221225472 bytes, expected at most 1073741824")
	for _, blank := range []string{"", " \n\n", "\xef\xbb\xbf"} {
		require.NoError(t, os.WriteFile(path, []byte(blank), 0o600))
		_, err = ReadFile(path, o)
		require.ErrorIs(t, err, ErrEmpty)
		require.EqualError(t, err, path+": no triangles: the file is empty")
	}
	require.NoError(t, os.WriteFile(path, []byte(textSTL), 0o600))
	m, err := ReadFile(path, o)
	require.NoError(t, err)
	requireOneFacet(t, m)
}

type failingReader struct{ n int }

func (r *failingReader) Read(p []byte) (int, error) {
	if r.n == 0 {
		return 0, os.ErrClosed
	}
	r.n--
	return copy(p, "solid"), nil
}

func TestReaderErrorsArePassedOn(t *testing.T) {
	_, err := Read(&failingReader{2}, ReadOptions{Unit: mesh.Millimetre, Name: "pipe"})
	require.ErrorIs(t, err, os.ErrClosed)
	require.ErrorContains(t, err, "pipe: byte 10: ")
}

// fault is one way in which a file can be wrong, and how it must be reported.
type fault struct {
	name   string
	data   string
	reason error
	line   int
	offset int64 // where line is 0
	says   string
}

func requireFaults(t *testing.T, file string, faults []fault) {
	for _, f := range faults {
		t.Run(f.name, func(t *testing.T) {
			m, err := readString(f.data, file)
			require.Nil(t, m)
			require.ErrorIs(t, err, f.reason)
			var pe *ParseError
			require.ErrorAs(t, err, &pe)
			require.Equal(t, file, pe.File)
			require.Equal(t, f.line, pe.Line, err)
			if f.line == 0 {
				require.Equal(t, f.offset, pe.Offset, err)
			}
			require.ErrorContains(t, err, f.says)
		})
	}
}

// A count bomb must be refused before memory is taken for it.
func TestCountBombsTakeNoMemory(t *testing.T) {
	stl := binarySTL("", oneFacet)
	binary.LittleEndian.PutUint32(stl[80:], 0xffffffff)
	for name, data := range map[string][]byte{
		"STL":                  stl,
		"PLY vertices":         []byte(strings.Replace(textPLY, "vertex 3", "vertex 2000000000", 1)),
		"PLY faces":            []byte(strings.Replace(textPLY, "face 1", "face 2000000000", 1)),
		"PLY corners":          []byte(strings.Replace(textPLY, "\n3 0 1 2", "\n2000000000 0 1 2", 1)),
		"PLY unknown element":  []byte(strings.Replace(textPLY, "element face", "element nothing 2000000000\nelement face", 1)),
		"binary PLY vertices":  []byte(binaryPLYHeader("vertex 2000000000", "face 0")),
		"binary PLY faces":     []byte(binaryPLYHeader("vertex 0", "face 2000000000")),
		"binary PLY long list": append([]byte(binaryPLYHeader("vertex 0", "face 1")), 0xff, 0xff, 0xff, 0x7f),
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := Read(bytes.NewReader(data), ReadOptions{Unit: mesh.Millimetre, Name: "a.stl"})
			runtime.ReadMemStats(&after)
			require.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(50000))
			if name == "PLY unknown element" { // it has no properties, so nothing is stored for it
				require.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, ErrCount)
		})
	}
}

func binaryPLYHeader(vertex, face string) string {
	return "ply\nformat binary_little_endian 1.0\nelement " + vertex +
		"\nproperty float x\nproperty float y\nproperty float z\nelement " + face +
		"\nproperty list int int vertex_index\nend_header\n"
}

// What is made to take memory is refused before it does.
func TestBombs(t *testing.T) {
	many := func(s string, n int) string { return strings.Repeat(s, n) }
	plyHead := func(more string, vertices, faces int) string {
		return fmt.Sprintf("ply\nformat ascii 1.0\n%selement vertex %d\nproperty float x\nproperty float y\nproperty float z\nelement face %d\n"+
			"property list uint int vertex_indices\nend_header\n%s", more, vertices, faces, many("0 0 0\n", vertices))
	}
	const n = 1 << 20
	for name, c := range map[string]struct {
		format Format
		text   string
		reason error
	}{
		"one polygon, PLY":          {PLY, plyHead("", 3, 1) + fmt.Sprint(n) + many(" 1", n), ErrSyntax},
		"one polygon, OBJ":          {OBJ, "v 0 0 0\nv 1 0 0\nv 0 1 0\nf" + many(" 1", n), ErrSyntax},
		"a long line, OBJ":          {OBJ, "v 0 0 0\nf " + many("1 \\\n", n), ErrSyntax},
		"polygons, OBJ":             {OBJ, "v 0 0 0\nv 1 0 0\nv 0 1 0\n" + many("f"+many(" 1", 5000)+"\n", n/5000), ErrCount},
		"polygons, PLY":             {PLY, plyHead("", 3, n/5000) + many("5000"+many(" 1", 5000)+"\n", n/5000), ErrCount},
		"elements":                  {PLY, plyHead(manyElements(40_000), 3, 1) + "3 0 1 2\n", ErrSyntax},
		"properties":                {PLY, plyHead("element x 0\n"+many("property char c\n", 40_000), 3, 1) + "3 0 1 2\n", ErrSyntax},
		"more triangles than scans": {STL, "", ErrCount},
	} {
		t.Run(name, func(t *testing.T) {
			text := []byte(c.text)
			if c.text == "" {
				const tris = 4_000_001
				text = make([]byte, 84+50*tris)
				binary.LittleEndian.PutUint32(text[80:], tris)
			}
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			_, err := Read(bytes.NewReader(text), ReadOptions{Unit: mesh.Millimetre, Format: c.format})
			runtime.ReadMemStats(&after)
			require.ErrorIs(t, err, c.reason)
			var parse *ParseError
			require.ErrorAs(t, err, &parse)
			require.Less(t, float64(after.TotalAlloc-before.TotalAlloc), 20*float64(len(text)),
				"bytes that were ever taken, twice as many as at a time")
		})
	}
}

func manyElements(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "element e%d 0\n", i)
	}
	return b.String()
}
