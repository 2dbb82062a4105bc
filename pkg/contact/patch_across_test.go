package contact

import (
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// A patch goes on across a side where something on it is within the foil, just so, as seen from
// either triangle, or where both are nearest at one and the same point; never to what is not
// near or lies beyond the foil.
func TestPatchesGoOnAcrossASide(t *testing.T) {
	const foil = 0.04
	m, err := mesh.New([]r3.Vec{{}, {X: 1}, {Y: 1}, {X: 1, Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}, {1, 3, 2}})
	require.NoError(t, err)
	arch, err := NewArch(t.Context(), m, nil, Options{})
	require.NoError(t, err)
	shared := [2]int{-1, -1} // the common side, as each triangle numbers it
	for tri := range mesh.TriID(2) {
		for side := range 3 {
			if arch.Topology.Neighbour(tri, side) == 1-tri {
				shared[tri] = side
			}
		}
	}
	require.NotContains(t, shared, -1)
	type near struct {
		dist, here, there float64 // of the other triangle; of the side from here and from there
		elsewhere         float64 // of the other triangle's other sides
		at                r3.Vec
	}
	for name, c := range map[string]struct {
		near
		goes bool
	}{
		"from here, just so":            {near{0.02, foil, 0.05, 0.05, r3.Vec{X: 1}}, true},
		"just beyond":                   {near{0.02, 0.0401, 0.0401, 0.05, r3.Vec{X: 1}}, false},
		"from there":                    {near{0.02, 0.05, foil, 0.05, r3.Vec{X: 1}}, true},
		"another side":                  {near{0.02, 0.05, 0.05, 0.01, r3.Vec{X: 1}}, false},
		"the other just within":         {near{foil, 0.01, 0.01, 0.05, r3.Vec{X: 1}}, true},
		"the other beyond":              {near{0.0401, 0.01, 0.01, 0.05, r3.Vec{X: 1}}, false},
		"one point":                     {near{0.03, 0.05, 0.05, 0.05, r3.Vec{Z: 1}}, true},
		"one point at other distances":  {near{0.02, 0.05, 0.05, 0.05, r3.Vec{Z: 1}}, false},
		"another point at one distance": {near{0.03, 0.05, 0.05, 0.05, r3.Vec{X: 1}}, false},
	} {
		for first := range mesh.TriID(2) {
			t0 := nearTri{tri: first, dist: 0.03, at: r3.Vec{Z: 1}, side: [3]float64{0.05, 0.05, 0.05}}
			t1 := nearTri{tri: 1 - first, dist: c.dist, at: c.at, side: [3]float64{c.elsewhere, c.elsewhere, c.elsewhere}}
			t0.side[shared[first]], t1.side[shared[1-first]] = c.here, c.there
			f := field{upper: arch, s: &PatchScratch{near: []nearTri{t0, t1}, place: make([]int32, 2)}}
			f.s.place[first], f.s.place[1-first] = 1, 2
			want := int32(-1)
			if c.goes {
				want = 1
			}
			require.Equal(t, want, f.across(&f.s.near[0], shared[first], foil), name)
			require.Equal(t, int32(-1), f.across(&f.s.near[0], (shared[first]+1)%3, foil), "%s: nothing is beyond", name)
			f.s.place[1-first] = 0
			require.Equal(t, int32(-1), f.across(&f.s.near[0], shared[first], foil), "%s: far off", name)
		}
	}
}
