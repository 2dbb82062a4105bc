package carve_test

import (
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/cover"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/carve"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
)

// The plates of these tests lie in a plane through the hinge axis, so that closing brings
// them together square.
var (
	lean   = 25 * math.Pi / 180
	radial = r3.Vec{Y: -math.Cos(lean), Z: -math.Sin(lean)}
	square = r3.Vec{Y: -math.Sin(lean), Z: math.Cos(lean)} // upwards
)

// plate is a plate of edge long around the distance 60 from the axis, heights above its
// plane given at x and distance from its middle; facing up or down.
func plate(n int, long float64, up bool, height func(x, y float64) float64) *mesh.Mesh {
	m := testmesh.Sheet(n, n, func(u, v float64) r3.Vec {
		x, y := long*(u-0.5), long*(v-0.5)
		p := r3.Add(r3.Vec{X: x}, r3.Scale(60-y, radial))
		return r3.Add(p, r3.Scale(height(x, y), square))
	})
	a := r3.Vec{}
	for t := range m.All() {
		a = r3.Add(a, m.AreaVector(t))
	}
	if (r3.Dot(a, square) > 0) != up {
		m = testmesh.Turned(m)
	}
	return m
}

// cap is the height of a cap of a sphere that stands out by h, with its middle at x, y.
func cap(radius, h, x, y float64) float64 {
	d := math.Hypot(x, y)
	return max(0, math.Sqrt(max(0, radius*radius-d*d))-(radius-h))
}

func side(m *mesh.Mesh, cost int64, most int32) carve.Side {
	s := carve.Side{Mesh: m, Out: surface.Normals(m), Cost: make([]int64, m.NumVertices()), Most: make([]int32, m.NumVertices())}
	for v, a := range surface.Areas(m) {
		s.Cost[v], s.Most[v] = max(1, int64(float64(cost)*1e4*a)), most
	}
	return s
}

// A cap of known height and volume goes, and nothing else: volume πh²(3ρ−h)/3, to within
// 5 µm everywhere. The opposite plate is dearer and stays.
func TestCapGoesAndNothingElse(t *testing.T) {
	const radius = 2.0
	for _, h := range []float64{0.05, 0.1, 0.2} {
		upper := plate(60, 4, false, func(x, y float64) float64 { return -cap(radius, h, x, y) })
		lower := plate(43, 4.2, true, func(x, y float64) float64 { return 0 })
		up, lo := side(upper, 1, 600), side(lower, 5, 600)
		cu, cl, err := carve.Carve(t.Context(), up, lo, []carve.Goal{{}})
		require.NoError(t, err)
		after, err := surface.Moved(upper, up.Out, func(v mesh.VertexID) float64 { return -float64(cu.Um[v]) / 1000 })
		require.NoError(t, err)
		deepest, volume := 0.0, 0.0
		for tri := range upper.All() {
			a, b, c := upper.Corners(tri)
			d, e, f := after.Corners(tri)
			volume += (r3.Dot(a, r3.Cross(b, c)) - r3.Dot(d, r3.Cross(e, f))) / 6
		}
		for v, p := range upper.Vertices() {
			above := r3.Dot(r3.Sub(p, r3.Scale(60, radial)), square)
			left := r3.Dot(r3.Sub(after.Vertex(mesh.VertexID(v)), r3.Scale(60, radial)), square)
			assert.Less(t, math.Abs(left), 0.005, "left of %g mm at a height of %g", h, above)
			deepest = max(deepest, left-above)
			if above == 0 {
				assert.Zero(t, cu.Um[v])
			}
		}
		assert.InDelta(t, h, deepest, 0.002)
		want := math.Pi * h * h * (3*radius - h) / 3
		assert.InDelta(t, want, volume, 0.04*want)
		for v := range cl.Um {
			assert.LessOrEqual(t, cl.Um[v], int32(1))
		}
	}
}

// What two surfaces cannot give together is refused with what lacks most.
func TestTooMuchIsRefused(t *testing.T) {
	upper := plate(60, 4, false, func(x, y float64) float64 { return -cap(2, 0.8, x, y) })
	lower := plate(43, 4.2, true, func(x, y float64) float64 { return 0 })
	_, _, err := carve.Carve(t.Context(), side(upper, 1, 300), side(lower, 1, 300), []carve.Goal{{}})
	require.ErrorIs(t, err, cover.ErrInfeasible)
	var no *carve.InfeasibleError
	require.ErrorAs(t, err, &no)
	assert.Equal(t, int32(600), no.LimitUm)
	assert.InDelta(t, 800, no.NeedUm, 5)
}

// Two curved surfaces that shall slide over each other do so afterwards: exact closings
// reach every goal to within 2 µm, and less went than 1.3 times what overlapped.
func TestSlidingSurfacesReachTheirGoals(t *testing.T) {
	upper := plate(70, 6, false, func(x, y float64) float64 { return -cap(2, 0.4, x, y) })
	lower := plate(75, 6, true, func(x, y float64) float64 { return cap(3, 0.3, x-0.4, y+0.2) })
	var goals []carve.Goal
	most := 0.0
	for i := range 12 {
		base := kinematics.Translation(r3.Vec{X: 0.1 * float64(i), Y: -0.05 * float64(i)})
		goals = append(goals, carve.Goal{Base: base, Opening: s1.Angle(0.55 / 60)})
		most = max(most, 0.15)
	}
	up, lo := side(upper, 1, 600), side(lower, 1, 600)
	cu, cl, err := carve.Carve(t.Context(), up, lo, goals)
	require.NoError(t, err)
	a, err := surface.Moved(upper, up.Out, func(v mesh.VertexID) float64 { return -float64(cu.Um[v]) / 1000 })
	require.NoError(t, err)
	b, err := surface.Moved(lower, lo.Out, func(v mesh.VertexID) float64 { return -float64(cl.Um[v]) / 1000 })
	require.NoError(t, err)
	archA, err := contact.NewArch(t.Context(), a, nil, contact.Options{})
	require.NoError(t, err)
	archB, err := contact.NewArch(t.Context(), b, nil, contact.Options{})
	require.NoError(t, err)
	c, err := contact.NewCloser(t.Context(), archA, archB, contact.Options{})
	require.NoError(t, err)
	var s contact.CloserScratch
	for i, g := range goals {
		touch, err := c.Close(g.Base, &s)
		require.NoError(t, err)
		assert.LessOrEqual(t, 1000*60*(touch.Opening-g.Opening).Radians(), 2.0, "goal %d", i)
	}
	deepest := int32(0)
	for v := range cu.Um {
		deepest = max(deepest, cu.Um[v])
	}
	for v := range cl.Um {
		deepest = max(deepest, cl.Um[v])
	}
	assert.Less(t, float64(deepest), 1.3*1000*most)
}

// sliding are two curved plates and goals at which they overlap.
func sliding(mirrored bool) (up, lo carve.Side, goals []carve.Goal) {
	flip := func(m *mesh.Mesh) *mesh.Mesh {
		if !mirrored {
			return m
		}
		return testmesh.Moved(testmesh.Turned(m), func(p r3.Vec) r3.Vec { p.X = -p.X; return p })
	}
	upper := flip(plate(40, 5, false, func(x, y float64) float64 { return -cap(2, 0.3, x, y) }))
	lower := flip(plate(43, 5, true, func(x, y float64) float64 { return cap(3, 0.3, x-0.4, y+0.2) }))
	for i := range 8 {
		to := r3.Vec{X: 0.12 * float64(i), Y: -0.05 * float64(i)}
		if mirrored {
			to.X = -to.X
		}
		goals = append(goals, carve.Goal{Base: kinematics.Translation(to), Opening: s1.Angle(0.5 / 60)})
	}
	return side(upper, 1, 600), side(lower, 2, 600), goals
}

// The mirrored surfaces get the mirrored cut, to the micrometre of its rounding.
func TestMirroredCut(t *testing.T) {
	up, lo, goals := sliding(false)
	cu, cl, err := carve.Carve(t.Context(), up, lo, goals)
	require.NoError(t, err)
	up, lo, goals = sliding(true)
	mu, ml, err := carve.Carve(t.Context(), up, lo, goals)
	require.NoError(t, err)
	cut := 0
	for v := range cu.Um {
		assert.InDelta(t, cu.Um[v], mu.Um[v], 1)
		cut += int(cu.Um[v])
	}
	for v := range cl.Um {
		assert.InDelta(t, cl.Um[v], ml.Um[v], 1)
	}
	assert.Positive(t, cut)
}

// The cut is the same on any number of cores.
func TestCutOnAnyCores(t *testing.T) {
	up, lo, goals := sliding(false)
	first, second, err := carve.Carve(t.Context(), up, lo, goals)
	require.NoError(t, err)
	for _, n := range []int{1, 3} {
		old := runtime.GOMAXPROCS(n)
		cu, cl, err := carve.Carve(t.Context(), up, lo, goals)
		runtime.GOMAXPROCS(old)
		require.NoError(t, err)
		require.Equal(t, first, cu)
		require.Equal(t, second, cl)
	}
}

// Wax of any shape on one surface, trimmed, opens no goal by more than 2 µm, and nothing of
// the other surface is touched.
func TestRandomWaxOpensNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 5))
	for range 3 {
		var hills [5][3]float64
		for i := range hills {
			hills[i] = [3]float64{3 * (rng.Float64() - 0.5), 3 * (rng.Float64() - 0.5), 0.1 + 0.5*rng.Float64()}
		}
		tooth := plate(30, 5, false, func(x, y float64) float64 { return 0 })
		wax := plate(30, 5, false, func(x, y float64) float64 {
			high := 0.0
			for _, h := range hills {
				high = max(high, cap(1.5, h[2], x-h[0], y-h[1]))
			}
			return -high
		})
		own := side(wax, 1, 0)
		for v := range own.Out {
			own.Out[v] = r3.Scale(-1, square)
			own.Most[v] = int32(math.Ceil(1000 * r3.Norm(r3.Sub(wax.Vertex(mesh.VertexID(v)), tooth.Vertex(mesh.VertexID(v))))))
		}
		lower := side(plate(33, 5, true, func(x, y float64) float64 { return cap(3, 0.3, x-0.4, y+0.2) }), 1, 0)
		var goals []carve.Goal
		for i := range 8 {
			goals = append(goals, carve.Goal{Base: kinematics.Translation(r3.Vec{X: 0.12 * float64(i)}), Opening: s1.Angle(0.31 / 59)})
		}
		cu, cl, err := carve.Carve(t.Context(), own, lower, goals)
		require.NoError(t, err)
		for v := range cl.Um {
			require.Zero(t, cl.Um[v])
		}
		trimmed, err := surface.Moved(wax, own.Out, func(v mesh.VertexID) float64 { return -float64(cu.Um[v]) / 1000 })
		require.NoError(t, err)
		archA, err := contact.NewArch(t.Context(), trimmed, nil, contact.Options{})
		require.NoError(t, err)
		archB, err := contact.NewArch(t.Context(), lower.Mesh, nil, contact.Options{})
		require.NoError(t, err)
		c, err := contact.NewCloser(t.Context(), archA, archB, contact.Options{})
		require.NoError(t, err)
		var s contact.CloserScratch
		for _, g := range goals {
			touch, err := c.Close(g.Base, &s)
			require.NoError(t, err)
			require.LessOrEqual(t, 1000*60*(touch.Opening-g.Opening).Radians(), 2.1)
		}
	}
}
