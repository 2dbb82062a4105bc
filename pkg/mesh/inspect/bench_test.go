package inspect

import (
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/stretchr/testify/require"
)

func BenchmarkSurface(b *testing.B) {
	m := testmesh.Wavy(300)
	b.Run("180k", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			require.Equal(b, 1, Surface(m).Components)
		}
	})
}
