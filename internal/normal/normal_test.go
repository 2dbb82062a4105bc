package normal

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// Against gonum's least squares by QR on random rows.
func TestAgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for n := 1; n <= Most; n++ {
		for range 50 {
			const rows = 12
			a, b := mat.NewDense(rows, n, nil), mat.NewVecDense(rows, nil)
			e := New(n)
			for r := range rows {
				for c := range n {
					a.Set(r, c, rng.NormFloat64())
				}
				b.SetVec(r, rng.NormFloat64())
				e.Add(a.RawRowView(r), b.AtVec(r), 1)
			}
			var want mat.VecDense
			require.NoError(t, want.SolveVec(a, b))
			x, ok := e.Solve(1e9)
			require.True(t, ok)
			for i := range n {
				require.InDelta(t, want.AtVec(i), x[i], 1e-10)
			}
			inverse, ok := e.Inverse()
			require.True(t, ok)
			again := Symmetric(n, func(i, j int) float64 { return inverse[i][j] })
			back, ok := again.Inverse()
			require.True(t, ok)
			for i := range n {
				require.InDeltaSlice(t, e.a[i][:n], back[i][:n], 1e-8)
			}
		}
	}
}

// A weight of 3 is the row three times; rows that leave an unknown free are not solved.
func TestWeightsAndFreeUnknowns(t *testing.T) {
	once, thrice := New(2), New(2)
	for _, r := range [][3]float64{{1, 2, 3}, {2, -1, 1}, {1, 1, 0}} {
		once.Add(r[:2], r[2], 3)
		for range 3 {
			thrice.Add(r[:2], r[2], 1)
		}
	}
	x, ok := once.Solve(1e6)
	require.True(t, ok)
	y, _ := thrice.Solve(1e6)
	require.InDeltaSlice(t, y[:], x[:], 1e-12)

	free := New(2)
	free.Add([]float64{1, 1}, 1, 1)
	_, ok = free.Solve(1e6)
	require.False(t, ok)
	free.Add([]float64{1, 1 + 1e-6}, 1, 1)
	_, ok = free.Solve(1e6)
	require.False(t, ok, "nearly free")
	none := New(3)
	_, ok = none.Solve(1e6)
	require.False(t, ok)
}
