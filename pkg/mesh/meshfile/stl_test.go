package meshfile

import (
	"bytes"
	"encoding/binary"
	"math"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/hschendel/stl"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestTextSTLAsProgramsWriteIt(t *testing.T) {
	for name, data := range map[string]string{
		"plain":                textSTL,
		"CRLF":                 strings.ReplaceAll(textSTL, "\n", "\r\n"),
		"CR alone":             strings.ReplaceAll(textSTL, "\n", "\r"),
		"byte order mark":      "\xef\xbb\xbf" + textSTL,
		"blank lines before":   "\n  \n" + textSTL,
		"no final newline":     strings.TrimSpace(textSTL),
		"no name":              strings.ReplaceAll(textSTL, " a name with words", ""),
		"no space after solid": strings.ReplaceAll(textSTL, "solid a", "solida"),
		"upper case":           strings.ToUpper(textSTL),
		"tabs":                 strings.ReplaceAll(textSTL, "  ", "\t"),
		"scientific":           strings.NewReplacer("1.5", "+1.5000e+00", "vertex 0 2 -0.25", "vertex 0.0E-38 .2e1 -2.5E-001").Replace(textSTL),
		"zero normal":          strings.Replace(textSTL, "normal 0 0 1", "normal 0 0 0", 1),
		"normal not a number":  strings.Replace(textSTL, "normal 0 0 1", "normal -nan(ind) nan inf", 1),
		"name with key words":  strings.ReplaceAll(textSTL, "a name with words", "facet vertex 1 2 3"),
		"name not in ASCII":    strings.ReplaceAll(textSTL, "a name", "a näme"),
		"end name differs":     strings.Replace(textSTL, "endsolid a", "endsolid b", 1),
		"facet on one line": strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(textSTL, "\n", " "),
			"words   facet", "words\nfacet"), " endsolid", "\nendsolid"),
		"an empty solid before": "solid\nendsolid\n" + textSTL,
	} {
		t.Run(name, func(t *testing.T) {
			m, err := readString(data, "a.stl")
			require.NoError(t, err)
			requireOneFacet(t, m)
		})
	}
}

func TestAllSolidsOfATextAreRead(t *testing.T) {
	m, err := readString(textSTL+textSTL, "a.stl")
	require.NoError(t, err)
	require.Equal(t, [][3]mesh.VertexID{{0, 1, 2}, {3, 4, 5}}, m.Triangles())
}

func TestTextSTLFaults(t *testing.T) {
	cut := func(at string) string { return textSTL[:strings.Index(textSTL, at)] }
	replace := func(old, new string) string { return strings.Replace(textSTL, old, new, 1) }
	requireFaults(t, "a.stl", []fault{
		{"no endsolid", cut("endsolid"), ErrTruncated, 8, 0, `line 8: file ends too early: expected "facet" or "endsolid"`},
		{"cut in a facet", cut("endloop"), ErrTruncated, 7, 0, `expected "endloop"`},
		{"cut in a number", cut("0 0\n      vertex 0 2"), ErrTruncated, 5, 0, "expected a number"},
		{"two coordinates", replace("vertex 1.5 0 0", "vertex 1.5 0"), ErrTruncated, 5, 0, "found the end"},
		{"misspelt", replace("outer", "outre"), ErrSyntax, 3, 0, `found "outre", expected "outer"`},
		{"four corners", replace("endloop", "vertex 1 1 1 endloop"), ErrSyntax, 7, 0, `found "vertex", expected "endloop"`},
		{"words after the end", textSTL + "more", ErrSyntax, 10, 0, `found "more", expected "solid"`},
		{"decimal comma", replace("1.5", "1,5"), ErrSyntax, 5, 0, `found "1,5", expected a number such as`},
		{"NaN", replace("1.5", "nan"), mesh.ErrNonFinite, 5, 0, "found (NaN, 0, 0)"},
		{"infinite", replace("1.5", "-inf"), mesh.ErrNonFinite, 5, 0, "found (-Inf, 0, 0)"},
		{"overflow", replace("1.5", "1e999"), ErrSyntax, 5, 0, `found "1e999"`},
		{"absurdly far", replace("1.5", "1e30"), mesh.ErrTooFar, 5, 0, "found (1e+30, 0, 0) mm, expected at most ±1e+09"},
		{"no facet", "solid\nendsolid\n", ErrEmpty, 0, -1, "found 0 vertices but no faces in the STL file"},
	})
}

func TestBinarySTLFaults(t *testing.T) {
	whole := string(binarySTL("solid, they say", oneFacet, oneFacet))
	bomb := binarySTL("", oneFacet)
	binary.LittleEndian.PutUint32(bomb[80:], math.MaxUint32)
	nan, inf := oneFacet, oneFacet
	nan[4] = float32(math.NaN())
	inf[8] = float32(math.Inf(-1))
	requireFaults(t, "a.stl", []fault{
		{"one byte short", whole[:183], ErrCount, 0, 80,
			"header says 2 triangles, which take 184 bytes, but the file has 183, enough for 1 triangles"},
		{"one byte long", whole + "\x00", ErrCount, 0, 80, "but the file has 185"},
		{"count bomb", string(bomb), ErrCount, 0, 80, "says 4294967295 triangles, which take 214748364834 bytes, but the file has 134"},
		{"cut in the header", string(binarySTL("", oneFacet)[:50]), ErrTruncated, 0, 50, "found 50 bytes"},
		{"no facets", string(binarySTL("")), ErrEmpty, 0, -1, "no faces"},
		{"NaN", string(binarySTL("", oneFacet, nan)), mesh.ErrNonFinite, 0, 84 + 50 + 12 + 12,
			"triangle 1: coordinate is not a finite number: found (1.5, NaN, 0)"},
		{"infinite", string(binarySTL("", inf)), mesh.ErrNonFinite, 0, 84 + 12 + 24, "triangle 0: "},
	})
}

// hschendel/stl stands for what other programs read and write.
func TestSTLAgreesWithAnotherLibrary(t *testing.T) {
	m := testmesh.Trough(60)
	var ours bytes.Buffer
	require.NoError(t, WriteSTL(&ours, m))
	solid, err := stl.ReadAll(bytes.NewReader(ours.Bytes()))
	require.NoError(t, err)
	require.Len(t, solid.Triangles, m.NumTriangles())
	for i, s := range solid.Triangles {
		a, b, c := m.Corners(mesh.TriID(i))
		require.Equal(t, [3]stl.Vec3{single(a), single(b), single(c)}, s.Vertices)
		n := r3.Unit(m.AreaVector(mesh.TriID(i)))
		for k, want := range [3]float64{n.X, n.Y, n.Z} {
			require.InDelta(t, want, s.Normal[k], 1e-6)
		}
	}
	for _, text := range []bool{false, true} {
		solid.IsAscii = text
		var theirs bytes.Buffer
		require.NoError(t, solid.WriteAll(&theirs))
		got, err := Read(&theirs, ReadOptions{Unit: mesh.Millimetre})
		require.NoError(t, err)
		require.Equal(t, m.NumTriangles(), got.NumTriangles())
		for i := range solid.Triangles {
			for k, v := range solid.Triangles[i].Vertices {
				require.InDeltaSlice(t, []float64{float64(v[0]), float64(v[1]), float64(v[2])},
					[]float64{got.Vertex(mesh.VertexID(3*i + k)).X, got.Vertex(mesh.VertexID(3*i + k)).Y, got.Vertex(mesh.VertexID(3*i + k)).Z}, 1e-5)
			}
		}
	}
}
