package typodont

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The surface is a function of position: the middles of a finer mesh's triangles lie
// closer to it, by the square of the triangles' size, that is by their number
// (a triangle's sagitta over a curved surface).
func TestFinerMeshConverges(t *testing.T) {
	off := map[int]float64{} // root mean square over the area of the lower crowns, mm
	for _, n := range []int{20000, 50000, 100000} {
		s, err := surfaces[n]()
		require.NoError(t, err)
		assert.InEpsilon(t, n, len(s.lo.tris), 0.05)
		assert.InEpsilon(t, n, len(s.up.tris), 0.05)
		sum, area := 0.0, 0.0
		for _, tri := range s.lo.tris {
			if s.lo.tooth[tri[0]] < 0 {
				continue
			}
			a, b, c := s.lo.verts[tri[0]], s.lo.verts[tri[1]], s.lo.verts[tri[2]]
			w := r3.Norm(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
			d, _ := s.lower.value(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))))
			sum += w * d * d
			area += w
		}
		off[n] = math.Sqrt(sum / area)
	}
	t.Log(off)
	assert.Less(t, off[20000], 0.05)
	assert.InEpsilon(t, 2.5, off[20000]/off[50000], 0.25)
	assert.InEpsilon(t, 2.0, off[50000]/off[100000], 0.25)
}

// A lengthened incisor meets first in intercuspation and opens the closing by the angle that
// its lever gives: with the normal n of its stop at q and the long axis o, δ·n·o =
// θ·n·(x × q), to 3 %, since the edge is so blunt that the first touch moves along it.
func TestLongIncisorOpens(t *testing.T) {
	const n = 100000
	s, err := surfaces[n]()
	require.NoError(t, err)
	for _, um := range []float64{75, 150} {
		c := ready(t, disturbed(t, Params{Triangles: n, Disturbances: []Disturbance{{Kind: Incisor, Tooth: 31, Um: um}}}))
		open, upper, lower, _ := c.close(t, "protrusive", 0)
		assert.Equal(t, 31, lower)
		want := 0.0
		for _, st := range c.Truth.Stops {
			if st.Lower == 31 {
				assert.Equal(t, st.Upper, upper)
				q, normal, o := st.point(), s.normal(st), s.lower.find(31).o
				want = um / 1000 * r3.Dot(normal, o) / r3.Dot(normal, r3.Vec{Y: -q.Z, Z: q.Y}) * 180 / math.Pi
			}
		}
		assert.InEpsilonf(t, math.Abs(want), open, 0.03, "%g µm", um)
		t.Logf("%g µm: %.4f°, by the lever %.4f°", um, open, math.Abs(want))
	}
}
