package mincut

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

type edge struct{ a, b, capacity int32 }

// cost is what a side costs: the capacities that leave it.
func cost(n int, source, sink []int32, edges []edge, side func(int) bool) int64 {
	sum := int64(0)
	for v := range n {
		if side(v) {
			sum += int64(sink[v])
		} else {
			sum += int64(source[v])
		}
	}
	for _, e := range edges {
		if side(int(e.a)) != side(int(e.b)) {
			sum += int64(e.capacity)
		}
	}
	return sum
}

// Against every possible cut of small random networks.
func TestCutAgainstAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	for range 3000 {
		n := rng.IntN(9)
		source, sink := make([]int32, n), make([]int32, n)
		var edges []edge
		for v := range n {
			if rng.IntN(3) == 0 {
				source[v] = rng.Int32N(10)
			}
			if rng.IntN(3) == 0 {
				sink[v] = rng.Int32N(10)
			}
			for range rng.IntN(3) {
				edges = append(edges, edge{int32(v), rng.Int32N(int32(n)), rng.Int32N(8)})
			}
		}
		g := NewNetwork(n, len(edges))
		for v := range n {
			g.FromSource(int32(v), source[v])
			g.ToSink(int32(v), sink[v])
		}
		for _, e := range edges {
			g.Join(e.a, e.b, e.capacity)
		}
		side := g.Cut()
		got := cost(n, source, sink, edges, func(v int) bool { return side[v] })
		best := int64(1 << 60)
		for set := range 1 << n {
			best = min(best, cost(n, source, sink, edges, func(v int) bool { return set>>v&1 == 1 }))
		}
		require.Equal(t, best, got)
	}
}

// A grid whose middle column is cheap is cut there.
func TestCutFollowsTheValley(t *testing.T) {
	const w, h = 40, 30
	g := NewNetwork(w*h, 2*w*h)
	for y := range int32(h) {
		g.FromSource(y*w, Endless)
		g.ToSink(y*w+w-1, Endless)
		for x := range int32(w) {
			if x+1 < w {
				c := int32(100)
				if x == 25 {
					c = 1
				}
				g.Join(y*w+x, y*w+x+1, c)
			}
			if y+1 < h {
				g.Join(y*w+x, (y+1)*w+x, 100)
			}
		}
	}
	side := g.Cut()
	for y := range h {
		for x := range w {
			require.Equal(t, x <= 25, side[y*w+x])
		}
	}
}

func TestEndlessStaysEndless(t *testing.T) {
	g := NewNetwork(2, 1)
	g.FromSource(0, Endless)
	g.FromSource(0, Endless)
	g.ToSink(1, Endless)
	g.ToSink(1, Endless)
	g.Join(0, 1, 5)
	require.Equal(t, []bool{true, false}, g.Cut())
	require.Empty(t, NewNetwork(0, 0).Cut())
}
