package mesh_test

import (
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
)

func BenchmarkWeld(b *testing.B) {
	m := testmesh.Unwelded(testmesh.Wavy(300))
	for _, c := range []struct {
		name string
		tol  float64
	}{{"180k/equal", 0}, {"180k/within1um", 0.001}} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				w, _ := mesh.Weld(m, c.tol)
				require.Equal(b, 301*301, w.NumVertices())
			}
		})
	}
}

func BenchmarkTopology(b *testing.B) {
	m := testmesh.Wavy(300)
	b.Run("180k", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			require.Len(b, mesh.BuildTopology(m).Loops(), 1)
		}
	})
	b.Run("180k/soup", func(b *testing.B) {
		s := testmesh.Unwelded(m)
		b.ReportAllocs()
		for b.Loop() {
			require.Len(b, mesh.BuildTopology(s).Loops(), 180000)
		}
	})
}
