package meshfile

import (
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestOBJAsProgramsWriteIt(t *testing.T) {
	verts := "v 0 0 0\nv 1.5 0 0\nv 0 2 -0.25\n"
	for name, data := range map[string]string{
		"plain":                 textOBJ,
		"CRLF":                  strings.ReplaceAll(textOBJ, "\n", "\r\n"),
		"byte order mark":       "\xef\xbb\xbf" + textOBJ,
		"no final newline":      strings.TrimSpace(textOBJ),
		"indented, many spaces": "  v   0 0\t0\n v 1.5 0 0 \nv 0 2 -0.25\n f  1 2   3 \n",
		"comments":              "# head\nv 0 0 0 # first\nv 1.5 0 0\nv 0 2 -0.25\n#f 9 9 9\nf 1 2 3 # 4 5\n",
		"colours":               "v 0 0 0 1 1 1\nv 1.5 0 0 0.5 0.5 0.5\nv 0 2 -0.25 255 0 0\nf 1 2 3\n",
		"weights":               "v 0 0 0 1.0\nv 1.5 0 0 1.0\nv 0 2 -0.25 1.0\nf 1 2 3\n",
		"weights and colours":   "v 0 0 0 1 .1 .1 .1\nv 1.5 0 0 1 .1 .1 .1\nv 0 2 -0.25 1 .1 .1 .1\nf 1 2 3\n",
		"textures":              verts + "vt 0 0\nf 1/1 2/1 3/1\n",
		"normals":               verts + "vn 0 0 1\nf 1//1 2//1 3//1\n",
		"both":                  verts + "vt 0 0\nvn 0 0 1\nf 1/1/1 2/1/1 3/1/1\n",
		"both mixed":            verts + "vt 0 0\nvn 0 0 1\nf 1/1/1 2 3//-1\n",
		"empty texture":         verts + "f 1/ 2/ 3/\n",
		"negative":              verts + "f -3 -2 -1\n",
		"negative with normals": verts + "f -3//-1 -2//-1 -1//-1\n",
		"face before vertices":  "f 1 2 3\n" + verts,
		"negative in between":   "v 0 0 0\nv 1.5 0 0\nv 0 2 -0.25\nf -3 -2 -1\n",
		"other statements":      "mtllib a.mtl\no x\ng y\ns off\nusemtl z\n" + verts + "l 1 2\np 1\nvp 0 0\nf 1 2 3\ncurv 1 2\n",
		"continued lines":       "v 0 0 \\\n0\nv 1.5 0 0\nv 0 \\\n 2 \\\r\n -0.25\nf 1\\\n 2 3\n",
		"continued at the end":  textOBJ[:len(textOBJ)-1] + "\\",
	} {
		t.Run(name, func(t *testing.T) {
			m, err := readString(data, "a.obj")
			require.NoError(t, err)
			requireOneFacet(t, m)
		})
	}
}

func TestOBJPolygonsBecomeFans(t *testing.T) {
	m, err := readString("v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nv -1 .5 0\nf 1 2 3 4 5\nf 4 3 2\n", "a.obj")
	require.NoError(t, err)
	require.Equal(t, [][3]mesh.VertexID{{0, 1, 2}, {0, 2, 3}, {0, 3, 4}, {3, 2, 1}}, m.Triangles())
	require.Equal(t, r3.Vec{X: -1, Y: 0.5}, m.Vertex(4))
}

func TestOBJFaults(t *testing.T) {
	verts := "v 0 0 0\nv 1.5 0 0\nv 0 2 -0.25\n"
	requireFaults(t, "a.obj", []fault{
		{"number too large", verts + "f 1 2 4\n", mesh.ErrIndexRange, 4, 0,
			"line 4: vertex number out of range: found 4, but there are 3 vertices"},
		{"number zero", verts + "f 0 1 2\n", mesh.ErrIndexRange, 4, 0, "found 0, expected 1 to 3 or -3 to -1"},
		{"number too negative", verts + "f -4 1 2\n", mesh.ErrIndexRange, 4, 0, "found -4"},
		{"negative before its vertex", "f -1 -2 -3\n" + verts, mesh.ErrIndexRange, 1, 0, "found -1"},
		{"huge number", verts + "f 1 2 99999999999\n", ErrSyntax, 4, 0, `found "99999999999"`},
		{"no number", verts + "f 1 2 c\n", ErrSyntax, 4, 0, `found "c", expected a vertex number such as 7, 7/1`},
		{"two corners", verts + "f 1 2\n", ErrSyntax, 4, 0, "found a face with 2 corners"},
		{"two coordinates", "v 0 0\n" + verts, ErrTruncated, 1, 0, "expected a number"},
		{"NaN", "v 0 nan 0\n" + verts, mesh.ErrNonFinite, 1, 0, "found (0, NaN, 0)"},
		{"far", "v 0 1e10 0\n" + verts, mesh.ErrTooFar, 1, 0, "1e+10"},
		{"fault after a continued line", "v 0 \\\n0 0\nv a 0 0\n", ErrSyntax, 3, 0, `found "a"`},
		{"points only", verts, ErrEmpty, 0, -1, "found 3 vertices but no faces in the OBJ file"},
	})
}
