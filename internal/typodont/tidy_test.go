package typodont

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// sheet is a square of n by n cells over the plan, 1 mm wide each.
func sheet(n int) *surface {
	s := &surface{}
	at := func(x, y int) int32 { return int32(y*(n+1) + x) }
	for y := range n + 1 {
		for x := range n + 1 {
			s.verts = append(s.verts, r3.Vec{X: float64(x), Y: float64(y)})
		}
	}
	for y := range n {
		for x := range n {
			s.tris = append(s.tris, [3]int32{at(x, y), at(x+1, y), at(x+1, y+1)}, [3]int32{at(x, y), at(x+1, y+1), at(x, y+1)})
		}
	}
	return s
}

// sides counts each directed side of the triangles.
func (s *surface) sides() map[[2]int32]int {
	out := map[[2]int32]int{}
	for _, t := range s.tris {
		for k := range 3 {
			out[[2]int32{t[k], t[(k+1)%3]}]++
		}
	}
	return out
}

// requireDisc fails where a side is used twice or the border is not the given one.
func requireDisc(t *testing.T, s *surface, border map[[2]int32]bool) {
	t.Helper()
	sides := s.sides()
	free := map[[2]int32]bool{}
	for e, n := range sides {
		require.Equal(t, 1, n, "a side is used once each way")
		if sides[[2]int32{e[1], e[0]}] == 0 {
			free[e] = true
		}
	}
	require.Equal(t, border, free)
	used := map[int32]bool{}
	for _, t := range s.tris {
		used[t[0]], used[t[1]], used[t[2]] = true, true, true
	}
	edges := (len(sides) + len(free)) / 2
	require.Equal(t, 1, len(used)-edges+len(s.tris), "Euler's number of a disc")
}

func border(s *surface) map[[2]int32]bool {
	out := map[[2]int32]bool{}
	sides := s.sides()
	for e := range sides {
		if sides[[2]int32{e[1], e[0]}] == 0 {
			out[e] = true
		}
	}
	return out
}

// Vertices thrown past their neighbours in the plane fold the triangles; tidied,
// the sheet is a disc with the same border and covers every place once: its area
// is that of the square again.
func TestTidyUnfolds(t *testing.T) {
	const n = 12
	rnd := rand.New(rand.NewPCG(5, 12))
	for range 60 {
		s := sheet(n)
		edge := border(s)
		for range 1 + rnd.IntN(12) {
			v := int32((1+rnd.IntN(n-1))*(n+1) + 1 + rnd.IntN(n-1))
			s.verts[v] = r3.Add(s.verts[v], r3.Vec{X: 5 * (rnd.Float64() - 0.5), Y: 5 * (rnd.Float64() - 0.5)})
			s.verts[v].X, s.verts[v].Y = min(max(s.verts[v].X, 0.2), n-0.2), min(max(s.verts[v].Y, 0.2), n-0.2)
		}
		s.tidy(nil)
		requireDisc(t, s, edge)
		area := 0.0
		for _, tri := range s.tris {
			a, b, c := s.verts[tri[0]], s.verts[tri[1]], s.verts[tri[2]]
			w := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
			require.Positive(t, w.Z)
			area += w.Z / 2
			long := max(r3.Norm2(r3.Sub(b, a)), r3.Norm2(r3.Sub(c, b)), r3.Norm2(r3.Sub(a, c)))
			require.Less(t, long/w.Z, 50.0)
		}
		require.InDelta(t, n*n, area, 1e-9)
	}
}

// Sound surfaces stay as they are, and what lies outside the asked part as well.
func TestTidyLeavesTheRest(t *testing.T) {
	s := sheet(4)
	verts, tris := slices.Clone(s.verts), slices.Clone(s.tris)
	s.tidy(nil)
	assert.Equal(t, verts, s.verts)
	assert.Equal(t, tris, s.tris)
	s.verts[12].X += 1.7 // past its neighbour
	verts = slices.Clone(s.verts)
	s.tidy(map[int32]float64{0: 1})
	assert.Equal(t, verts, s.verts)
	assert.Equal(t, tris, s.tris)
	s.tidy(map[int32]float64{12: 1})
	assert.False(t, slices.Equal(verts, s.verts) && slices.Equal(tris, s.tris))
	for _, empty := range []*surface{{}, {verts: verts[:3]}, {verts: verts[:3], tris: [][3]int32{{0, 1, 2}}}} {
		empty.tidy(nil)
	}
}

// Tidying touches little: nearly all vertices of an arch still lie on the surface
// that the mesh follows, the others within a lattice spacing of it.
func TestTidyKeepsToTheSurface(t *testing.T) {
	p, err := newPair(mustParams(t, Params{Triangles: 50000}))
	require.NoError(t, err)
	h := spacing(50000, false)
	s, err := p.lower.mesh(context.Background(), h)
	require.NoError(t, err)
	s.tidy(nil)
	off, worst := 0, 0.0
	for _, tri := range s.tris {
		for _, v := range tri {
			if q := s.verts[v]; q.Z > p.lower.base+h {
				f, _ := p.lower.value(q)
				worst = max(worst, math.Abs(f))
				if math.Abs(f) > 1e-4 {
					off++
				}
			}
		}
	}
	t.Logf("%d of %d corners off the surface, at most %.3f mm", off, 3*len(s.tris), worst)
	assert.Less(t, off, 3*len(s.tris)/200)
	assert.Less(t, worst, h)
}

func mustParams(t *testing.T, p Params) Params {
	t.Helper()
	p, err := p.withDefaults()
	require.NoError(t, err)
	return p
}
