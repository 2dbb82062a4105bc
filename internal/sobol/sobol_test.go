package sobol

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// The first points without scrambling, as scipy 1.10.1 gives them:
// scipy.stats.qmc.Sobol(64, scramble=False).random(16), columns 0 to 7, 20, 39 and 63.
func TestFirstPointsAreScipys(t *testing.T) {
	columns := [...]int{0, 1, 2, 3, 4, 5, 6, 7, 20, 39, 63}
	want := [][len(columns)]float64{
		{},
		{0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5},
		{0.75, 0.25, 0.25, 0.25, 0.75, 0.75, 0.25, 0.75, 0.25, 0.25, 0.75},
		{0.25, 0.75, 0.75, 0.75, 0.25, 0.25, 0.75, 0.25, 0.75, 0.75, 0.25},
		{0.375, 0.375, 0.625, 0.875, 0.375, 0.125, 0.375, 0.875, 0.125, 0.875, 0.125},
		{0.875, 0.875, 0.125, 0.375, 0.875, 0.625, 0.875, 0.375, 0.625, 0.375, 0.625},
		{0.625, 0.125, 0.875, 0.625, 0.625, 0.875, 0.125, 0.125, 0.375, 0.625, 0.875},
		{0.125, 0.625, 0.375, 0.125, 0.125, 0.375, 0.625, 0.625, 0.875, 0.125, 0.375},
		{0.1875, 0.3125, 0.9375, 0.4375, 0.5625, 0.3125, 0.4375, 0.9375, 0.1875, 0.5625, 0.6875},
		{0.6875, 0.8125, 0.4375, 0.9375, 0.0625, 0.8125, 0.9375, 0.4375, 0.6875, 0.0625, 0.1875},
		{0.9375, 0.0625, 0.6875, 0.1875, 0.3125, 0.5625, 0.1875, 0.1875, 0.4375, 0.8125, 0.4375},
		{0.4375, 0.5625, 0.1875, 0.6875, 0.8125, 0.0625, 0.6875, 0.6875, 0.9375, 0.3125, 0.9375},
		{0.3125, 0.1875, 0.3125, 0.5625, 0.9375, 0.4375, 0.0625, 0.0625, 0.0625, 0.4375, 0.5625},
		{0.8125, 0.6875, 0.8125, 0.0625, 0.4375, 0.9375, 0.5625, 0.5625, 0.5625, 0.9375, 0.0625},
		{0.5625, 0.4375, 0.0625, 0.8125, 0.1875, 0.6875, 0.3125, 0.8125, 0.3125, 0.1875, 0.3125},
		{0.0625, 0.9375, 0.5625, 0.3125, 0.6875, 0.1875, 0.8125, 0.3125, 0.8125, 0.6875, 0.8125},
	}
	s := plain(MaxDims)
	x := make([]float64, MaxDims)
	for i, row := range want {
		s.Point(uint32(i), x)
		for k, c := range columns {
			require.InDelta(t, row[k], x[c], 1e-9, "point %d, column %d", i, c)
		}
	}
	// Point 777, columns 0, 1, 2, 30, 50 and 63, of the same.
	s.Point(777, x)
	for k, c := range [...]int{0, 1, 2, 30, 50, 63} {
		require.InDelta(t, [...]float64{0.6923828125, 0.9365234375, 0.1630859375, 0.5419921875, 0.0830078125, 0.4267578125}[k], x[c], 1e-9)
	}
}

// Scrambled, 2^m points still lie one in each 2^m-th of every coordinate, and those of the
// first two coordinates one in each box of 2^a by 2^(m−a): a (0, m, 2)-net.
func TestScrambledPointsStayANet(t *testing.T) {
	const m, n = 8, 256
	s := New(MaxDims, 42)
	points := make([][]float64, n)
	for i := range points {
		points[i] = make([]float64, MaxDims)
		s.Point(uint32(i), points[i])
	}
	for k := range MaxDims {
		var seen [n]int
		for _, x := range points {
			seen[int(x[k]*n)]++
		}
		for _, c := range seen {
			require.Equal(t, 1, c, "dimension %d", k)
		}
	}
	for a := range m + 1 {
		seen := map[[2]int]int{}
		for _, x := range points {
			seen[[2]int{int(x[0] * math.Ldexp(1, a)), int(x[1] * math.Ldexp(1, m-a))}]++
		}
		require.Len(t, seen, n, "boxes of 2^-%d by 2^-%d", a, m-a)
	}
}

// Scrambling is nested: numbers with the same first k bits keep the same first k bits, and
// it is one to one.
func TestScramblingIsNested(t *testing.T) {
	for i := range uint32(1000) {
		x := i * 2654435761
		for k := range size {
			y := x ^ 1<<(size-1-k) // differs first at bit k
			a, b := scramble(x, 7), scramble(y, 7)
			require.Equal(t, uint32(1), (a^b)>>(size-1-k), "first difference at bit %d", k)
		}
	}
}

// Another seed gives other points; means over scramblings are those of the uniform law, and
// the mean of a smooth function errs far less than with as many random points (1/√n of its
// standard deviation).
func TestScramblingsAreFair(t *testing.T) {
	const n, dims, times = 256, 8, 64
	sumSq, mean := 0.0, 0.0
	x := make([]float64, dims)
	for seed := range uint64(times) {
		s := New(dims, seed)
		sum := 0.0
		for i := range uint32(n) {
			s.Point(i, x)
			f := 1.0
			for _, v := range x {
				f *= 1 + (v-0.5)/4
			}
			sum += f
		}
		e := sum/n - 1 // of a function with mean 1
		mean, sumSq = mean+e/times, sumSq+e*e/times
	}
	plainRMS := math.Sqrt((math.Pow(1+1.0/(16*12), dims) - 1) / n)
	require.Less(t, math.Sqrt(sumSq), plainRMS/5)
	require.Less(t, math.Abs(mean), 3*math.Sqrt(sumSq/times))
}

func TestDimensions(t *testing.T) {
	require.Equal(t, 3, New(3, 1).Dims())
	New(0, 1).Point(5, nil)
	require.Panics(t, func() { New(MaxDims+1, 1) })
}
