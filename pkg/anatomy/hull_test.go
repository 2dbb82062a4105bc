package anatomy

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r2"
)

// The hull holds every point, its corners are points and turn left; leaving out what lies
// inside changes none of them.
func TestConvexHull(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 32))
	for range 400 {
		pts := make([]r2.Vec, 3+rng.IntN(200))
		for i := range pts {
			a, r := 2*math.Pi*rng.Float64(), 3*math.Sqrt(rng.Float64())
			pts[i] = r2.Vec{X: r * math.Cos(a), Y: 2 * r * math.Sin(a)}
			if rng.IntN(4) == 0 { // on a grid, with equal points and straight rows
				pts[i] = r2.Vec{X: math.Round(pts[i].X), Y: math.Round(pts[i].Y)}
			}
		}
		given := append([]r2.Vec(nil), pts...)
		h := convexHull(pts)
		require.ElementsMatch(t, given, pts)
		for i, a := range h {
			require.Contains(t, given, a)
			b, c := h[(i+1)%len(h)], h[(i+2)%len(h)]
			if len(h) > 2 {
				require.Greater(t, r2.Cross(r2.Sub(b, a), r2.Sub(c, b)), 0.0)
			}
			for _, q := range given {
				require.GreaterOrEqual(t, r2.Cross(r2.Sub(b, a), r2.Sub(q, a)), -1e-12)
			}
		}
	}
}
