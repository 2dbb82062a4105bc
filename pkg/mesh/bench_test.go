package mesh

import (
	"bytes"
	"io"
	"math"
	"testing"

	"github.com/hschendel/stl"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// wavy is a surface of 180,000 triangles with the size and spacing of a scan.
func wavy(b *testing.B) *Mesh {
	m, err := grid(b, 300).Transform(func(v r3.Vec) r3.Vec {
		return r3.Vec{X: 0.2 * v.X, Y: 0.2 * v.Y, Z: float64(float32(3 * math.Sin(v.X/9) * math.Cos(v.Y/7)))}
	})
	require.NoError(b, err)
	return m
}

func written(b *testing.B, write func(io.Writer) error) []byte {
	var buf bytes.Buffer
	require.NoError(b, write(&buf))
	return buf.Bytes()
}

func benchRead(b *testing.B, data []byte, weld bool) {
	b.ReportAllocs()
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		m, err := Read(bytes.NewReader(data), ReadOptions{Unit: Millimetre})
		require.NoError(b, err)
		if weld {
			m, _ = Weld(m, 0)
		}
		require.Equal(b, 180000, m.NumTriangles())
	}
}

func BenchmarkReadSTL(b *testing.B) {
	m := wavy(b)
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
	m := wavy(b)
	data := written(b, func(w io.Writer) error { return WritePLY(w, m, nil) })
	b.Run("180k/binary", func(b *testing.B) { benchRead(b, data, false) })
}

func BenchmarkReadOBJ(b *testing.B) {
	m := wavy(b)
	data := written(b, func(w io.Writer) error { return WriteOBJ(w, m) })
	b.Run("180k", func(b *testing.B) { benchRead(b, data, false) })
}

func BenchmarkWeld(b *testing.B) {
	m := soup(b, wavy(b))
	for _, c := range []struct {
		name string
		tol  float64
	}{{"180k/equal", 0}, {"180k/within1um", 0.001}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				w, _ := Weld(m, c.tol)
				require.Equal(b, 301*301, w.NumVertices())
			}
		})
	}
}

func BenchmarkTopology(b *testing.B) {
	m := wavy(b)
	b.Run("180k", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			require.Len(b, BuildTopology(m).Loops(), 1)
		}
	})
	b.Run("180k/soup", func(b *testing.B) {
		s := soup(b, m)
		b.ReportAllocs()
		for b.Loop() {
			require.Len(b, BuildTopology(s).Loops(), 180000)
		}
	})
}

func BenchmarkInspect(b *testing.B) {
	m := wavy(b)
	b.Run("180k", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			require.Equal(b, 1, Inspect(m).Components)
		}
	})
}
