package meshfile

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// plyFile writes records as text or binary after a header, as the header's
// format line says. Values carry the types of the file.
func plyFile(header string, records ...[]any) string {
	var b bytes.Buffer
	b.WriteString(header)
	var order binary.ByteOrder
	switch {
	case strings.Contains(header, "binary_little_endian"):
		order = binary.LittleEndian
	case strings.Contains(header, "binary_big_endian"):
		order = binary.BigEndian
	}
	for _, r := range records {
		for i, v := range r {
			if order == nil {
				if i > 0 {
					b.WriteByte(' ')
				}
				fmt.Fprint(&b, v)
			} else if err := binary.Write(&b, order, v); err != nil {
				panic(err)
			}
		}
		if order == nil {
			b.WriteByte('\n')
		}
	}
	return b.String()
}

var plyFormats = []string{"ascii", "binary_little_endian", "binary_big_endian"}

func TestPLYWithUnknownPropertiesAndElements(t *testing.T) {
	for _, format := range plyFormats {
		for _, eol := range []string{"\n", "\r\n", "\r"} {
			if format == "ascii" && eol == "\r" {
				continue // records below end in LF
			}
			t.Run(fmt.Sprintf("%s%q", format, eol), func(t *testing.T) {
				header := strings.ReplaceAll("ply\nformat "+format+` 1.0
comment by hand
obj_info num_cols 3
element camera 1
property float view
property list uchar float lens
element vertex 4
property uchar red
property double x
property list ushort short history
property double z
property double y
property float confidence
element nothing 100000
element face 2
property uchar flags
property list uchar float texcoord
property list uchar int vertex_indices
property int material
element tail 2
property list int double numbers
end_header
`, "\n", eol)
				u8, u16 := func(v int) uint8 { return uint8(v) }, func(v int) uint16 { return uint16(v) }
				f, d := func(v float64) float32 { return float32(v) }, func(v float64) float64 { return v }
				data := plyFile(header,
					[]any{f(1), u8(2), f(0.5), f(0.25)},
					[]any{u8(255), d(0), u16(0), d(0), d(0), f(1)},
					[]any{u8(255), d(1.5), u16(2), int16(-3), int16(4), d(0), d(0), f(1)},
					[]any{u8(255), d(0.1), u16(1), int16(7), d(-0.25), d(2), f(1)},
					[]any{u8(255), d(-1), u16(0), d(0), d(1), f(1)},
					[]any{u8(1), u8(2), f(0), f(1), u8(4), int32(0), int32(1), int32(2), int32(3), int32(5)},
					[]any{u8(1), u8(0), u8(3), int32(3), int32(2), int32(1), int32(5)},
					[]any{int32(1), d(3)},
					[]any{int32(2), d(3), d(4)},
				)
				m, err := readString(data, "a.ply")
				require.NoError(t, err)
				require.Equal(t, []r3.Vec{{}, {X: 1.5}, {X: 0.1, Y: 2, Z: -0.25}, {X: -1, Y: 1}}, m.Vertices())
				require.Equal(t, [][3]mesh.VertexID{{0, 1, 2}, {0, 2, 3}, {3, 2, 1}}, m.Triangles())
			})
		}
	}
}

// Every scalar type, under both of its names, as coordinate, as length of the
// corner list and as corner number.
func TestPLYTypes(t *testing.T) {
	as := map[string]func(int) any{
		"char": func(v int) any { return int8(v) }, "int8": func(v int) any { return int8(v) },
		"uchar": func(v int) any { return uint8(v) }, "uint8": func(v int) any { return uint8(v) },
		"short": func(v int) any { return int16(v) }, "int16": func(v int) any { return int16(v) },
		"ushort": func(v int) any { return uint16(v) }, "uint16": func(v int) any { return uint16(v) },
		"int": func(v int) any { return int32(v) }, "int32": func(v int) any { return int32(v) },
		"uint": func(v int) any { return uint32(v) }, "uint32": func(v int) any { return uint32(v) },
		"float": func(v int) any { return float32(v) }, "float32": func(v int) any { return float32(v) },
		"double": func(v int) any { return float64(v) }, "float64": func(v int) any { return float64(v) },
	}
	for _, format := range plyFormats {
		for typ, v := range as {
			t.Run(format+"/"+typ, func(t *testing.T) {
				data := plyFile(strings.NewReplacer("FORMAT", format, "TYPE", typ).Replace(`ply
format FORMAT 1.0
element face 1
property list TYPE TYPE vertex_index
element vertex 3
property TYPE x
property TYPE y
property TYPE z
end_header
`),
					[]any{v(3), v(2), v(1), v(0)}, // faces may come before the vertices
					[]any{v(1), v(2), v(3)}, []any{v(4), v(5), v(6)}, []any{v(7), v(8), v(100)})
				m, err := readString(data, "a.ply")
				require.NoError(t, err)
				require.Equal(t, []r3.Vec{{X: 1, Y: 2, Z: 3}, {X: 4, Y: 5, Z: 6}, {X: 7, Y: 8, Z: 100}}, m.Vertices())
				require.Equal(t, [][3]mesh.VertexID{{2, 1, 0}}, m.Triangles())
			})
		}
	}
}

func TestPLYEndings(t *testing.T) {
	for name, data := range map[string]string{
		"no final newline": strings.TrimSpace(textPLY),
		"blank lines":      strings.Replace(textPLY, "\n1.5", "\n\n \n1.5", 1) + "\n\n",
		"CRLF":             strings.ReplaceAll(textPLY, "\n", "\r\n"),
		"CR":               strings.ReplaceAll(textPLY, "\n", "\r"),
		"byte order mark":  "\xef\xbb\xbf" + textPLY,
		"newline after binary": plyFile(binaryPLYHeader("vertex 3", "face 1"),
			[]any{float32(0), float32(0), float32(0), float32(1.5), float32(0), float32(0), float32(0), float32(2), float32(-0.25)},
			[]any{int32(3), int32(0), int32(1), int32(2)}) + "\r\n",
	} {
		t.Run(name, func(t *testing.T) {
			m, err := readString(data, "a.ply")
			require.NoError(t, err)
			requireOneFacet(t, m)
		})
	}
}

func TestTextPLYFaults(t *testing.T) {
	replace := func(old, new string) string {
		require.Contains(t, textPLY, old)
		return strings.Replace(textPLY, old, new, 1)
	}
	requireFaults(t, "a.ply", []fault{
		{"no format", replace("format ascii 1.0\n", ""), ErrSyntax, 8, 0, `no line "format"`},
		{"unknown format", replace("ascii", "asci"), ErrSyntax, 2, 0, `found format "asci", expected ascii, binary_little_endian`},
		{"unknown type", replace("float y", "real y"), ErrSyntax, 5, 0, `found "real", expected list, char`},
		{"unknown list type", replace("uchar int", "byte int"), ErrSyntax, 8, 0, `found "byte" as the type of a list's length`},
		{"unknown header word", replace("element face", "elements face"), ErrSyntax, 7, 0, `found "elements", expected format`},
		{"no end of header", replace("end_header\n", ""), ErrSyntax, 9, 0, `found "0"`},
		{"cut in the header", textPLY[:strings.Index(textPLY, "end_header")], ErrTruncated, 8, 0, `no line "end_header"`},
		{"no name of a property", replace("float z", "float"), ErrSyntax, 6, 0, "a property without a name"},
		{"property before elements", replace("element vertex 3\n", ""), ErrSyntax, 3, 0, "before the first element"},
		{"element twice", replace("element face 1", "element vertex 1"), ErrSyntax, 7, 0, `element "vertex" comes a second time`},
		{"negative count", replace("vertex 3", "vertex -3"), ErrCount, 3, 0, `element "vertex": found count "-3"`},
		{"no z", replace("property float z\n", ""), ErrSyntax, 3, 0, `no property "z"`},
		{"z a list", replace("property float z", "property list uchar float z"), ErrSyntax, 3, 0, `no property "z"`},
		{"no corners", replace("vertex_indices", "corners"), ErrSyntax, 7, 0, `no list "vertex_indices"`},
		{"too few vertices", replace("vertex 3", "vertex 4"), ErrSyntax, 13, 0, `found "2" after the last value`},
		{"too many vertices", replace("vertex 3", "vertex 2"), ErrSyntax, 12, 0, "face with 0 corners"},
		{"count bomb", replace("vertex 3", "vertex 1000000"), ErrCount, 3, 0,
			`1000000 records of element "vertex" take 5999999 bytes at least, but only`},
		{"too few faces", replace("face 1", "face 2"), ErrTruncated, 13, 0, "fewer records"},
		{"more records", textPLY + "3 0 1 2\n", ErrCount, 14, 0, `found "3" after the last record`},
		{"more values", replace("0 2 -0.25", "0 2 -0.25 7"), ErrSyntax, 12, 0, `found "7" after the last value`},
		{"fewer values", replace("0 2 -0.25", "0 2"), ErrTruncated, 12, 0, "expected a number"},
		{"list bomb", replace("3 0 1 2", "300000000 0 1 2"), ErrCount, 13, 0, `list "vertex_indices" is to have 3e+08 values, but at most`},
		{"negative list", replace("3 0 1 2", "-3 0 1 2"), ErrSyntax, 13, 0, "found -3 as the length"},
		{"two corners", replace("3 0 1 2", "2 0 1"), ErrSyntax, 13, 0, "face with 2 corners"},
		{"corner out of range", replace("3 0 1 2", "3 0 1 3"), mesh.ErrIndexRange, 13, 0, "found 3, expected a whole number from 0 to 2"},
		{"negative corner", replace("3 0 1 2", "3 0 1 -1"), mesh.ErrIndexRange, 13, 0, "found -1"},
		{"half a corner", replace("3 0 1 2", "3 0 1 1.5"), mesh.ErrIndexRange, 13, 0, "found 1.5"},
		{"NaN", replace("1.5 0 0", "1.5 nan 0"), mesh.ErrNonFinite, 11, 0, "NaN"},
		{"no number", replace("1.5 0 0", "1.5 O 0"), ErrSyntax, 11, 0, `found "O"`},
		{"not PLY at all", "polygons\n", ErrSyntax, 1, 0, `begins with the line "ply"`},
		{"no faces", strings.Replace(replace("face 1", "face 0"), "3 0 1 2\n", "", 1), ErrEmpty, 0, -1, "3 vertices but no faces"},
	})
}

func TestBinaryPLYFaults(t *testing.T) {
	header := binaryPLYHeader("vertex 3", "face 1")
	start := int64(len(header))
	verts := []any{float32(0), float32(0), float32(0), float32(1), float32(0), float32(0), float32(0), float32(1), float32(0)}
	whole := plyFile(header, verts, []any{int32(3), int32(0), int32(1), int32(2)})
	requireFaults(t, "a.ply", []fault{
		{"cut in the vertices", whole[:start+20], ErrCount, 0, start, `3 records of element "vertex" take 36 bytes at least, but only 20 follow`},
		{"cut before the faces", whole[:start+36], ErrCount, 0, start + 36, "only 0 follow"},
		{"cut in a face", whole[:len(whole)-1], ErrCount, 0, start + 36, "3 values, but at most 2 are left"},
		{"bytes too many", whole + "x", ErrCount, 0, start + 52, "found 1 bytes after the last record"},
		{"corner out of range", plyFile(header, verts, []any{int32(3), int32(0), int32(3), int32(2)}), mesh.ErrIndexRange,
			0, start + 44, "found 3"},
		{"cut in an unknown property", plyFile(strings.Replace(header, "property list",
			"property list uchar double more\nproperty list", 1), verts, []any{uint8(9), int32(3)}), ErrCount, 0,
			start + 36 + 32, `list "more" is to have 9 values, but at most 0 are left`},
		{"cut before a number", plyFile(strings.Replace(header, "property list",
			"property list uchar uchar more\nproperty list", 1), verts, []any{uint8(4), int32(3)}), ErrTruncated, 0,
			start + 36 + 36, "expected a value of 4 bytes, 0 are left"},
		{"other byte order", strings.Replace(whole, "little", "big", 1), ErrCount, 0, start + 36 - 3, "5.0331648e+07 values"},
	})
}
