package testcase

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// The arches are height fields over one grid: the upper one lies on the lower
// one at the stops and above it elsewhere.
func TestTheArchesTouchAtTheStopsOnly(t *testing.T) {
	for _, fine := range []int{4, 8} {
		a := New(fine)
		require.Equal(t, 56*fine*fine, a.Upper.NumTriangles())
		touching := 0
		for i, up := range a.Upper.Vertices() {
			lo := a.Lower.Vertices()[i]
			require.Equal(t, [2]float64{up.X, up.Y}, [2]float64{lo.X, lo.Y})
			if up.Z == lo.Z {
				require.Contains(t, a.Stops, lo)
				touching++
			} else {
				require.Greater(t, up.Z, lo.Z+1e-3)
			}
		}
		require.Equal(t, len(a.Stops), touching)
		for i := range a.Upper.NumTriangles() {
			require.Negative(t, a.Upper.AreaVector(mesh.TriID(i)).Z)
			require.Positive(t, a.Lower.AreaVector(mesh.TriID(i)).Z)
		}
		for i, s := range a.Stops {
			m := a.Stops[len(a.Stops)-1-i]
			require.Equal(t, -s.X, m.X)
			require.Equal(t, s.Y, m.Y)
			require.Equal(t, s.Z, m.Z)
		}
	}
	require.Greater(t, math.Abs(New(4).Left.X), 20.0)
}
