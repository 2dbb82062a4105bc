package drift_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/drift"
	"github.com/cusptrace/cusptrace/internal/normal"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// arch is half an ellipse, 54 mm wide and 45 mm long.
func arch() []r3.Vec {
	var out []r3.Vec
	for i := range 61 {
		s, c := math.Sincos(math.Pi * (float64(i)/60 - 0.5))
		out = append(out, r3.Vec{X: 27 * s, Y: -45 * c})
	}
	return out
}

func path(t *testing.T, points []r3.Vec) *drift.Path {
	p, err := drift.NewPath(points)
	require.NoError(t, err)
	return p
}

// rigid takes the best rigid motion of some points out of displacements of others.
func rigid(p, u []r3.Vec, fit int) []r3.Vec {
	eq := normal.New(6)
	for i := range fit {
		d, s := p[i], u[i]
		eq.Add([]float64{1, 0, 0, 0, d.Z, -d.Y}, s.X, 1)
		eq.Add([]float64{0, 1, 0, -d.Z, 0, d.X}, s.Y, 1)
		eq.Add([]float64{0, 0, 1, d.Y, -d.X, 0}, s.Z, 1)
	}
	x, ok := eq.Solve(1e15)
	if !ok {
		panic("points on one line")
	}
	out := make([]r3.Vec, len(u))
	for i := range u {
		r := r3.Add(r3.Vec{X: x[0], Y: x[1], Z: x[2]}, r3.Cross(r3.Vec{X: x[3], Y: x[4], Z: x[5]}, p[i]))
		out[i] = r3.Sub(u[i], r)
	}
	return out
}

// walk is the same distortion made otherwise: the turn goes on by independent normal steps.
func walk(rng *rand.Rand, points []r3.Vec, sigma float64) []r3.Vec {
	u := make([]r3.Vec, len(points))
	var turn r3.Vec
	for i := 1; i < len(points); i++ {
		d := r3.Sub(points[i], points[i-1])
		u[i] = r3.Add(u[i-1], r3.Cross(turn, d))
		s := sigma * math.Sqrt(r3.Norm(d))
		turn = r3.Add(turn, r3.Scale(s, r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}))
	}
	return u
}

// The modes spread every place of the arch as random steps do: in six hundred draws of both, the
// root mean square of what a best fit leaves agrees within a tenth at the ends and in the
// middle. (The standard error of a root mean square of 600 × 3 values is 1.7 %.)
func TestModesSpreadAsRandomStepsDo(t *testing.T) {
	points := arch()
	p := path(t, points)
	require.InDelta(t, 115, p.Length(), 2)
	m := drift.NewModes(p)
	rng := rand.New(rand.NewPCG(1, 2))
	const draws = 600
	var modes, steps [61]float64
	var f drift.Field
	z := make([]float64, drift.Factors)
	for range draws {
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		f = m.Field(f, drift.Stitching, z)
		w := rigid(points, walk(rng, points, drift.Stitching), len(points))
		for i, q := range points {
			at := m.Place(q)
			modes[i] += r3.Norm2(f.At(&at)) / draws
			steps[i] += r3.Norm2(w[i]) / draws
		}
	}
	for _, i := range [...]int{0, 15, 30, 45, 60} {
		require.InEpsilon(t, math.Sqrt(steps[i]), math.Sqrt(modes[i]), 0.1, "point %d: %.1f against %.1f µm", i,
			1000*math.Sqrt(modes[i]), 1000*math.Sqrt(steps[i]))
	}
}

// Aligned on the first 30 mm, the other end shifts on the average by what is published for
// scans of whole arches: 122 to 287 µm in vitro (BMC Oral Health 2020,
// 10.1186/s12903-020-01090-x), and by the size that the package states; the distance of the
// molars, 54 mm, changes by 66 µm (standard deviation, of the same simulation by other code).
func TestEndShiftIsThePublishedOne(t *testing.T) {
	points := arch()
	p := path(t, points)
	m := drift.NewModes(p)
	rng := rand.New(rand.NewPCG(3, 4))
	first := 0
	for p.Nearest(points[first]) < 30 {
		first++
	}
	const draws = 600
	shift, wide := 0.0, 0.0
	var f drift.Field
	z := make([]float64, drift.Factors)
	for range draws {
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		f = m.Field(f, drift.Sigma(drift.StitchingEndUm), z)
		u := make([]r3.Vec, len(points))
		for i, q := range points {
			at := m.Place(q)
			u[i] = f.At(&at)
		}
		d := u[60].X - u[0].X
		wide += d * d / draws
		shift += r3.Norm(rigid(points, u, first)[60]) / draws
	}
	require.InEpsilon(t, drift.StitchingEndUm, 1000*shift, 0.1)
	require.InEpsilon(t, 66, 1000*math.Sqrt(wide), 0.1)
}

// What is scanned at one place is moved rigidly: a flat facet of 2 mm stays flat, and its
// sides keep their length, within 2 µm, while the ends of the arch stand wrong by a hundred.
func TestFacetsStayFlat(t *testing.T) {
	m := drift.NewModes(path(t, arch()))
	rng := rand.New(rand.NewPCG(5, 6))
	z := make([]float64, drift.Factors)
	for range 50 {
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		f := m.Field(nil, drift.Stitching, z)
		mid := r3.Add(arch()[rng.IntN(61)], r3.Vec{X: rng.Float64() * 4, Y: rng.Float64() * 4, Z: 5})
		e1 := r3.Unit(r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
		e2 := r3.Unit(r3.Cross(e1, r3.Vec{X: 0.3, Y: 0.5, Z: 0.8}))
		moved := func(a, b float64) r3.Vec {
			q := r3.Add(mid, r3.Add(r3.Scale(a, e1), r3.Scale(b, e2)))
			at := m.Place(q)
			return r3.Add(q, f.At(&at))
		}
		p0, p1, p2, p3 := moved(-1, -1), moved(1, -1), moved(1, 1), moved(-1, 1)
		n := r3.Unit(r3.Cross(r3.Sub(p1, p0), r3.Sub(p2, p0)))
		require.Less(t, math.Abs(r3.Dot(n, r3.Sub(p3, p0))), 2e-3, "flat")
		require.InDelta(t, 2, r3.Norm(r3.Sub(p1, p0)), 2e-3)
	}
}

func TestPaths(t *testing.T) {
	for _, points := range [][]r3.Vec{nil, {{X: 1}}, {{X: 1}, {X: 1}}} {
		_, err := drift.NewPath(points)
		require.ErrorIs(t, err, drift.ErrPath)
	}
	p := path(t, []r3.Vec{{}, {X: 10}, {X: 10}, {X: 10, Y: 10}})
	require.Equal(t, 20.0, p.Length())
	require.Equal(t, r3.Vec{X: 10, Y: 5}, p.At(15))
	require.Equal(t, r3.Vec{}, p.At(-1))
	require.Equal(t, r3.Vec{X: 10, Y: 10}, p.At(30))
	require.Equal(t, 10.0, p.Nearest(r3.Vec{X: 11, Y: -1}))
	require.Equal(t, 13.0, p.Nearest(r3.Vec{X: 14, Y: 3}))
	require.Equal(t, 3.0, p.Nearest(r3.Vec{X: 3, Y: -4}))
	// On a straight way nothing breaks.
	m := drift.NewModes(path(t, []r3.Vec{{}, {X: 50}}))
	at := m.Place(r3.Vec{X: 50})
	f := m.Field(nil, drift.Stitching, []float64{1, 1, 1})
	require.False(t, math.IsNaN(r3.Norm(f.At(&at))))
}
