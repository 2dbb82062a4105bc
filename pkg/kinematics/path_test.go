package kinematics_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/interp"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// polyline is the length of a path between two travels by many short chords.
func polyline(p kinematics.CondylarPath, from, to float64, n int) float64 {
	var sum float64
	f0, g0 := p.At(from)
	for i := range n {
		f, g := p.At(from + (to-from)*float64(i+1)/float64(n))
		sum += math.Hypot(f-f0, g-g0)
		f0, g0 = f, g
	}
	return sum
}

// somePoints is a path as a recorder gives it: steep first, then flatter,
// with a level end.
var somePoints = []kinematics.PathPoint{{}, {Forward: 0.4, Down: 0.5}, {Forward: 1.1, Down: 1.2},
	{Forward: 2.5, Down: 2.3}, {Forward: 5, Down: 3.6}, {Forward: 8, Down: 4.5}, {Forward: 9, Down: 4.5}}

func samplePaths(t testing.TB) map[string]kinematics.CondylarPath {
	t.Helper()
	arc, err := kinematics.Arc(12, deg(40))
	require.NoError(t, err)
	rec, err := kinematics.Recorded(somePoints)
	require.NoError(t, err)
	return map[string]kinematics.CondylarPath{
		"straight": straightPath(t, 33), "arc": arc, "recorded": rec,
		"tilted arc": kinematics.Tilt(arc, deg(-5)), "tilted recorded": kinematics.Tilt(rec, deg(5)),
	}
}

func TestPathsHaveUnitSpeed(t *testing.T) {
	for name, p := range samplePaths(t) {
		t.Run(name, func(t *testing.T) {
			f, g := p.At(0)
			assert.Equal(t, [2]float64{}, [2]float64{f, g})
			end := min(p.Length(), 12)
			for _, to := range []float64{0.01, 0.5, 3, 7.3, end} {
				// The chords fall short by a share of (κ·chord)²/24.
				assert.InEpsilon(t, to, polyline(p, 0, to, 4000), 2e-7, "to %g", to)
			}
		})
	}
}

func TestStraightPath(t *testing.T) {
	f, g := straightPath(t, 30).At(4)
	assert.InDelta(t, 4*math.Sqrt(3)/2, f, 1e-15)
	assert.InDelta(t, 2, g, 1e-15)
	f, g = straightPath(t, -10).At(1)
	assert.InDelta(t, math.Cos(math.Pi/18), f, 1e-15)
	assert.InDelta(t, -math.Sin(math.Pi/18), g, 1e-15)
	assert.True(t, math.IsInf(straightPath(t, 30).Length(), 1))
}

func TestArcPath(t *testing.T) {
	for _, c := range []struct{ radius, h float64 }{{5, 35}, {10, 40}, {20, 33}, {15, 0}, {1e6, 33}} {
		p, err := kinematics.Arc(c.radius, deg(c.h))
		require.NoError(t, err)
		f, g := p.At(kinematics.ArcChord)
		assert.InDelta(t, c.h, math.Atan2(g, f)*180/math.Pi, 1e-12, "chord over the first 5 mm")

		// All points lie on a circle of the radius, whose centre is above the
		// path: in intercuspation the normal to the start tangent.
		start := c.h*math.Pi/180 + kinematics.ArcChord/(2*c.radius)
		centreF, centreUp := c.radius*math.Sin(start), c.radius*math.Cos(start)
		for _, travel := range []float64{0.1, 1, 2.5, 5, 8} {
			f, g := p.At(travel)
			assert.InEpsilon(t, c.radius, math.Hypot(f-centreF, -g-centreUp), 1e-12)
			// Convex downwards: within its chord an arc lies below it.
			if travel < 5 && c.radius < 1e3 {
				assert.Greater(t, g, f*math.Tan(c.h*math.Pi/180))
			}
		}
	}
	// A huge radius is the straight path.
	p, err := kinematics.Arc(1e12, deg(33))
	require.NoError(t, err)
	f, g := p.At(6)
	f2, g2 := straightPath(t, 33).At(6)
	assert.InDelta(t, f2, f, 1e-11)
	assert.InDelta(t, g2, g, 1e-11)

	// It ends where it would turn back.
	p, err = kinematics.Arc(5, deg(35))
	require.NoError(t, err)
	f, _ = p.At(p.Length())
	before, _ := p.At(p.Length() - 0.1)
	after, _ := p.At(p.Length() + 0.1)
	assert.Greater(t, f, before)
	assert.Greater(t, f, after)
}

func TestTiltOfArcIsTheSteeperArc(t *testing.T) {
	a, err := kinematics.Arc(12, deg(40))
	require.NoError(t, err)
	b, err := kinematics.Arc(12, deg(45))
	require.NoError(t, err)
	a = kinematics.Tilt(a, deg(5))
	for _, travel := range []float64{0, 0.3, 5, 8} {
		f, g := a.At(travel)
		f2, g2 := b.At(travel)
		assert.InDelta(t, f2, f, 1e-14)
		assert.InDelta(t, g2, g, 1e-14)
	}
}

func TestRecordedPathGoesThroughItsPoints(t *testing.T) {
	p, err := kinematics.Recorded(somePoints)
	require.NoError(t, err)
	f, g := p.At(p.Length())
	assert.Equal(t, somePoints[len(somePoints)-1], kinematics.PathPoint{Forward: f, Down: g})
	var fb interp.FritschButland
	var xs, ys []float64
	for _, q := range somePoints {
		xs, ys = append(xs, q.Forward), append(ys, q.Down)
	}
	require.NoError(t, fb.Fit(xs, ys))
	lastF, lastG := 0.0, 0.0
	for i := range 2000 {
		f, g := p.At(p.Length() * float64(i) / 2000)
		assert.InDelta(t, fb.Predict(f), g, 1e-15)
		assert.GreaterOrEqual(t, f, lastF)
		assert.GreaterOrEqual(t, g, lastG-1e-15, "no bump between rising points")
		lastF, lastG = f, g
	}
	assert.LessOrEqual(t, p.Length(), 9+4.5)
	assert.GreaterOrEqual(t, p.Length(), math.Hypot(9, 4.5))
}

func TestRecordedLineIsTheStraightPath(t *testing.T) {
	sin, cos := math.Sincos(33 * math.Pi / 180)
	for _, n := range []int{2, 3, 17} {
		var points []kinematics.PathPoint
		for i := range n {
			s := 9 * float64(i) / float64(n-1)
			points = append(points, kinematics.PathPoint{Forward: s * cos, Down: s * sin})
		}
		p, err := kinematics.Recorded(points)
		require.NoError(t, err)
		assert.InDelta(t, 9, p.Length(), 1e-13)
		for _, travel := range []float64{0, 1e-9, 0.1, 4.4, 8.999} {
			f, g := p.At(travel)
			assert.InDelta(t, travel*cos, f, 1e-13)
			assert.InDelta(t, travel*sin, g, 1e-13)
		}
	}
}

// A parabola's arc length has a closed form, and the cubic through three of
// its points with the right end slopes would be the parabola itself; with many
// points the interpolant comes near it.
func TestRecordedParabolaHasItsArcLength(t *testing.T) {
	const k = 0.15 // down = forward − k/2·forward²
	var points []kinematics.PathPoint
	for i := range 201 {
		f := 6 * float64(i) / 200
		points = append(points, kinematics.PathPoint{Forward: f, Down: f - k/2*f*f})
	}
	p, err := kinematics.Recorded(points)
	require.NoError(t, err)
	// ∫√(1 + u²)du/k over the slope u from 1 − 6k to 1.
	prim := func(u float64) float64 { return (u*math.Sqrt(1+u*u) + math.Asinh(u)) / 2 }
	assert.InEpsilon(t, (prim(1)-prim(1-6*k))/k, p.Length(), 1e-8)
}

// The inversion from travel to place is exact: the length of the cubic, by a
// dense composite rule here, is the travel.
func TestRecordedTravelIsArcLength(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for range 60 {
		points := []kinematics.PathPoint{{}}
		var xs, ys = []float64{0}, []float64{0}
		for range 1 + rng.IntN(12) {
			last := points[len(points)-1]
			next := kinematics.PathPoint{Forward: last.Forward + 0.02 + 1.5*rng.Float64(), Down: last.Down + 1.5*rng.NormFloat64()}
			points = append(points, next)
			xs, ys = append(xs, next.Forward), append(ys, next.Down)
		}
		p, err := kinematics.Recorded(points)
		require.NoError(t, err)
		var fb interp.FritschButland
		require.NoError(t, fb.Fit(xs, ys))
		travel := p.Length() * rng.Float64()
		f, g := p.At(travel)
		assert.InDelta(t, fb.Predict(f), g, 1e-13)
		// Simpson's rule on each segment, up to f.
		var length float64
		for i := 0; i+1 < len(xs) && xs[i] < f; i++ {
			a, b := xs[i], min(xs[i+1], f)
			const n = 4000
			h := (b - a) / n
			speed := func(x float64) float64 { return math.Hypot(1, fb.PredictDerivative(x)) }
			sum := speed(a) + speed(b)
			for j := 1; j < n; j++ {
				w := 2.0
				if j%2 == 1 {
					w = 4
				}
				sum += w * speed(a+h*float64(j))
			}
			length += sum * h / 3
		}
		assert.InEpsilon(t, travel, length, 1e-10)
	}
}

func TestPathErrors(t *testing.T) {
	arc := func(r, h float64) func() (kinematics.CondylarPath, error) {
		return func() (kinematics.CondylarPath, error) { return kinematics.Arc(r, deg(h)) }
	}
	rec := func(p ...kinematics.PathPoint) func() (kinematics.CondylarPath, error) {
		return func() (kinematics.CondylarPath, error) { return kinematics.Recorded(p) }
	}
	line := func(h float64) func() (kinematics.CondylarPath, error) {
		return func() (kinematics.CondylarPath, error) { return kinematics.Straight(deg(h)) }
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name string
		make func() (kinematics.CondylarPath, error)
		says string
	}{
		{"straight 200", line(200), "condylar inclination is 200°"},
		{"straight 90", line(90), "within −90° and 90°"},
		{"straight nan", line(nan), "condylar inclination"},
		{"arc inclination", arc(10, -90), "condylar inclination is -90°"},
		{"arc radius 0", arc(0, 30), "radius of the condylar path is 0 mm"},
		{"arc radius negative", arc(-5, 30), "above 0"},
		{"arc radius nan", arc(nan, 30), "above 0"},
		{"arc radius infinite", arc(inf, 30), "above 0"},
		{"arc starting backwards", arc(5, 70), "would start at 98.6°"},
		{"no points", rec(), "0 points"},
		{"one point", rec(kinematics.PathPoint{}), "1 points"},
		{"not from rest", rec(kinematics.PathPoint{Forward: 1, Down: 0.5}, kinematics.PathPoint{Forward: 2, Down: 1}),
			"must begin at the closed position"},
		{"backwards", rec(kinematics.PathPoint{}, kinematics.PathPoint{Forward: 2, Down: 1},
			kinematics.PathPoint{Forward: 1.9, Down: 2}), "point 3"},
		{"standing", rec(kinematics.PathPoint{}, kinematics.PathPoint{Forward: 0, Down: 1}), "point 2"},
		{"nan", rec(kinematics.PathPoint{}, kinematics.PathPoint{Forward: 1, Down: nan}), "must be finite"},
		{"infinite", rec(kinematics.PathPoint{}, kinematics.PathPoint{Forward: inf, Down: 1}), "must be finite"},
		{"huge", rec(kinematics.PathPoint{}, kinematics.PathPoint{Forward: 1.7e308, Down: 1.7e308}), "no finite length"},
		{"vertical", rec(kinematics.PathPoint{}, kinematics.PathPoint{Forward: 5e-324, Down: 1},
			kinematics.PathPoint{Forward: 1, Down: 2}), "steeper than 89.9° from point 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, err := c.make()
			require.ErrorIs(t, err, kinematics.ErrSetting)
			assert.ErrorContains(t, err, c.says)
			assert.Nil(t, p)
		})
	}
}

// A path with corners, where Newton's steps leave the bracket.
func TestRecordedPathWithCornersHasUnitSpeed(t *testing.T) {
	p, err := kinematics.Recorded([]kinematics.PathPoint{{}, {Forward: 1, Down: 0.01}, {Forward: 1.1, Down: 20},
		{Forward: 9, Down: 20}, {Forward: 9.05, Down: 0}})
	require.NoError(t, err)
	const n = 2000
	step := p.Length() / n
	for i := range n {
		assert.InEpsilon(t, step, polyline(p, step*float64(i), step*float64(i+1), 200), 1e-3)
	}
}

// A path never goes past its end, however close to it the travel is: Newton's last
// step once overshot it by a rounding error.
func TestRecordedPathEndsAtItsEnd(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 400 {
		end := kinematics.PathPoint{Forward: 1 + 200*rng.Float64(), Down: 10 * rng.Float64()}
		p, err := kinematics.Recorded([]kinematics.PathPoint{{}, {Forward: 0.17, Down: 8}, {Forward: 0.67, Down: 2 * rng.Float64()}, end})
		require.NoError(t, err)
		travel := p.Length()
		for range 6 {
			travel = math.Nextafter(travel, 0)
			f, _ := p.At(travel)
			require.LessOrEqual(t, f, end.Forward)
		}
	}
}

// FuzzRecorded reads points of any kind: an accepted path begins in intercuspation, ends
// at its last point, and moves no faster than its travel.
func FuzzRecorded(f *testing.F) {
	f.Add(1.0, 0.8, 2.0, 1.1, 5.0, 3.0, 0.3)
	f.Add(1e-300, 1e300, 2.0, 1.0, 3.0, 1.0, 0.5)
	f.Add(0.5, 0.0, 0.6, 40.0, 9.0, 0.0, 0.99)
	f.Add(1.0, 1.0, 1.0000000000000002, 5.0, 2.0, 2.0, 0.5)
	f.Add(0.17, 8.0, 0.67, 1.1, 117.0, 1.1, 0.9999999999999999) // once ended an ulp past its end
	f.Fuzz(func(t *testing.T, f1, g1, f2, g2, f3, g3, share float64) {
		p, err := kinematics.Recorded([]kinematics.PathPoint{{}, {Forward: f1, Down: g1}, {Forward: f2, Down: g2}, {Forward: f3, Down: g3}})
		if err != nil {
			require.ErrorIs(t, err, kinematics.ErrSetting)
			return
		}
		if !(share >= 0 && share <= 1) {
			return
		}
		x, y := p.At(0)
		assert.Equal(t, [2]float64{}, [2]float64{x, y})
		travel := share * p.Length()
		x, y = p.At(travel)
		assert.True(t, x >= 0 && x <= f3, "forward %g", x)
		assert.LessOrEqual(t, math.Hypot(x, y), travel*(1+1e-9))
		x, y = p.At(p.Length())
		assert.Equal(t, [2]float64{f3, g3}, [2]float64{x, y})
	})
}

func BenchmarkRecordedAt(b *testing.B) {
	p, err := kinematics.Recorded(somePoints)
	require.NoError(b, err)
	b.ReportAllocs()
	var sink float64
	for b.Loop() {
		f, g := p.At(4.321)
		sink += f + g
	}
	assert.False(b, math.IsNaN(sink))
}
