package meshfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/stretchr/testify/require"
)

// checkRead holds what must be true of any bytes: an error with its place, or a
// mesh that is sound, can be welded, inspected, written and read back.
func checkRead(t *testing.T, data []byte, format Format) {
	o := ReadOptions{Unit: mesh.Millimetre, Format: format, Name: "fuzz"}
	sniff(data)
	m, err := Read(bytes.NewReader(data), o)
	if err != nil {
		var pe *ParseError
		if m != nil || !errors.As(err, &pe) || pe.File != "fuzz" || pe.Offset > int64(len(data)) {
			t.Fatalf("mesh %v, error %v", m, err)
		}
		return
	}
	if _, err := mesh.New(m.Vertices(), m.Triangles()); err != nil || m.NumTriangles() == 0 {
		t.Fatalf("%d triangles, %v", m.NumTriangles(), err)
	}
	w, _ := mesh.Weld(m, 0)
	report := inspect.Surface(w)
	require.Zero(t, report.CoincidentVertices)
	_, err = json.Marshal(report) // fails on NaN and infinities
	require.NoError(t, err)
	for _, write := range []func(io.Writer) error{
		func(w io.Writer) error { return WritePLY(w, m, nil) },
		func(w io.Writer) error { return WriteOBJ(w, m) },
		func(w io.Writer) error { return WriteSTL(w, m) },
	} {
		var b bytes.Buffer
		require.NoError(t, write(&b))
		first := bytes.Clone(b.Bytes())
		again, err := Read(&b, ReadOptions{Unit: mesh.Millimetre})
		require.NoError(t, err)
		require.Equal(t, m.NumTriangles(), again.NumTriangles())
		if !isBinarySTL(first) {
			require.True(t, testmesh.Equal(m, again))
			continue
		}
		var second bytes.Buffer // STL rounds to float32, but only once
		require.NoError(t, WriteSTL(&second, again))
		for i := range m.NumTriangles() {
			require.Equal(t, first[stlHeader+stlFacet*i+12:][:36], second.Bytes()[stlHeader+stlFacet*i+12:][:36])
		}
	}
}

func FuzzReadSTL(f *testing.F) {
	f.Add(binarySTL("solid", oneFacet))
	f.Add(binarySTL("", oneFacet, oneFacet)[:150])
	f.Add([]byte(textSTL))
	f.Add([]byte(strings.ReplaceAll(textSTL, "\n", "\r\n")))
	f.Add([]byte("\xef\xbb\xbf" + strings.ToUpper(strings.TrimSpace(textSTL+textSTL))))
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, data, STL) })
}

func FuzzReadPLY(f *testing.F) {
	f.Add([]byte(textPLY))
	f.Add([]byte(strings.ReplaceAll(textPLY, "\n", "\r")))
	for _, format := range plyFormats {
		f.Add([]byte(plyFile("ply\nformat "+format+` 1.0
comment c
element face 1
property uchar flags
property list uchar ushort vertex_index
element vertex 3
property list char short history
property double x
property int y
property float z
end_header
`, []any{uint8(7), uint8(4), uint16(0), uint16(1), uint16(2), uint16(1)},
			[]any{int8(1), int16(-1), 0.5, int32(1), float32(2)},
			[]any{int8(0), -0.5, int32(1), float32(2)},
			[]any{int8(0), 1e6, int32(-1), float32(0)})))
	}
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, data, PLY) })
}

func FuzzReadOBJ(f *testing.F) {
	f.Add([]byte(textOBJ))
	f.Add([]byte("f 1/1/1 2//2 -1 \\\r\n 3\nv 1 2 3 .5 .5 .5\nv 1e-3 -2 3\nv 0 0 -0\nvn 0 0 1\nf -1 -2 -3 # end"))
	f.Add([]byte("\xef\xbb\xbf# x\nmtllib a\ng b\nv 1 2 3 1\rv 4 5 6\rv 7 8 9\rf 1 2 3"))
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, data, OBJ) })
}
