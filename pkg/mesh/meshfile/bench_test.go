package meshfile

import (
	"bytes"
	"io"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/hschendel/stl"
	"github.com/stretchr/testify/require"
)

func written(b *testing.B, write func(io.Writer) error) []byte {
	var buf bytes.Buffer
	require.NoError(b, write(&buf))
	return buf.Bytes()
}

func benchRead(b *testing.B, data []byte, weld bool) {
	b.ReportAllocs()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		m, err := Read(bytes.NewReader(data), ReadOptions{Unit: mesh.Millimetre})
		require.NoError(b, err)
		if weld {
			m, _ = mesh.Weld(m, 0)
		}
		require.Equal(b, 180000, m.NumTriangles())
	}
}

func BenchmarkReadSTL(b *testing.B) {
	m := testmesh.Wavy(300)
	data := written(b, func(w io.Writer) error { return WriteSTL(w, m) })
	solid, err := stl.ReadAll(bytes.NewReader(data))
	require.NoError(b, err)
	solid.IsAscii = true
	text := written(b, solid.WriteAll)
	b.Run("180k/binary", func(b *testing.B) { benchRead(b, data, false) })
	b.Run("180k/binary+weld", func(b *testing.B) { benchRead(b, data, true) })
	b.Run("180k/text", func(b *testing.B) { benchRead(b, text, false) })
	for _, c := range []struct {
		name string
		data []byte
	}{{"180k/binary-hschendel", data}, {"180k/text-hschendel", text}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(c.data)))
			for b.Loop() {
				s, err := stl.ReadAll(bytes.NewReader(c.data))
				require.NoError(b, err)
				require.Len(b, s.Triangles, 180000)
			}
		})
	}
}

func BenchmarkReadPLY(b *testing.B) {
	m := testmesh.Wavy(300)
	data := written(b, func(w io.Writer) error { return WritePLY(w, m, nil) })
	b.Run("180k/binary", func(b *testing.B) { benchRead(b, data, false) })
}

func BenchmarkReadOBJ(b *testing.B) {
	m := testmesh.Wavy(300)
	data := written(b, func(w io.Writer) error { return WriteOBJ(w, m) })
	b.Run("180k", func(b *testing.B) { benchRead(b, data, false) })
}
