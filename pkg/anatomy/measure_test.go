package anatomy

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// cap of a sphere: points on the lower side of a sphere about a centre.
func spherePoints(rng *rand.Rand, n int, c r3.Vec, r, noise float64) []r3.Vec {
	var out []r3.Vec
	for range n {
		a, b := 2*math.Pi*rng.Float64(), 0.28*math.Sqrt(rng.Float64())
		d := r + noise*rng.NormFloat64()
		out = append(out, r3.Add(c, r3.Scale(d, r3.Vec{X: math.Sin(b) * math.Cos(a), Y: math.Sin(b) * math.Sin(a), Z: -math.Cos(b)})))
	}
	return out
}

func TestFitSphere(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 8))
	c := r3.Vec{X: 3, Y: -60, Z: 70}
	// Monson's sphere, seen from a cap as wide as an arch.
	s, ok := FitSphere(spherePoints(rng, 24, c, 101.6, 0))
	require.True(t, ok)
	require.InDelta(t, 101.6, s.Radius, 1e-6)
	require.InDelta(t, 0, r3.Norm(r3.Sub(c, s.Centre)), 1e-6)
	require.InDelta(t, 0, s.RMS, 1e-6)
	// With noise it is no worse than the true sphere and its neighbours.
	pts := spherePoints(rng, 24, c, 101.6, 0.2)
	s, ok = FitSphere(pts)
	require.True(t, ok)
	rms := func(c r3.Vec, r float64) float64 {
		sum := 0.0
		for _, p := range pts {
			e := r3.Norm(r3.Sub(p, c)) - r
			sum += e * e
		}
		return math.Sqrt(sum / float64(len(pts)))
	}
	require.LessOrEqual(t, s.RMS, rms(c, 101.6))
	for range 200 {
		d := r3.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		require.LessOrEqual(t, s.RMS, rms(r3.Add(s.Centre, r3.Scale(0.1, d)), s.Radius+0.1*rng.NormFloat64()))
	}
	_, ok = FitSphere(pts[:3])
	require.False(t, ok)
	_, ok = FitSphere([]r3.Vec{{}, {X: 1}, {Y: 1}, {X: 1, Y: 1}, {X: 5, Y: 2}})
	require.False(t, ok, "a plane")
	_, ok = FitSphere(make([]r3.Vec, 9))
	require.False(t, ok, "one spot")
	_, ok = CuspSphere(nil)
	require.False(t, ok)
}

// landmarkAt is a landmark of a drawn arch, mm.
func landmarkAt(t dentition.ToothID, f Feature, x, y, z float64) Landmark {
	return Landmark{Tooth: t, Feature: f, Point: r3.Vec{X: x, Y: y, Z: z}, Confidence: 1}
}

// drawnLower is a lower arch with the occlusal plane at z = 0.
func drawnLower() []Landmark {
	return []Landmark{
		landmarkAt(31, MesioincisalEdge, 0.2, -80, 0),
		landmarkAt(41, MesioincisalEdge, -0.2, -80, 0),
		landmarkAt(31, IncisalEdge, 2.5, -79.5, 0),
		landmarkAt(41, IncisalEdge, -2.5, -79.5, 0.1),
		landmarkAt(33, CanineCusp, 13, -72, 0.4),
		landmarkAt(43, CanineCusp, -13.5, -72, 0.4),
		landmarkAt(35, BuccalCusp, 20, -60, -1),
		landmarkAt(36, MesiobuccalCusp, 23, -52, -1.5),
		landmarkAt(36, DistobuccalCusp, 24, -47.9, -1.2),
		landmarkAt(36, BuccalGroove, 23.5, -49.5, -2),
		landmarkAt(37, DistobuccalCusp, 27, -38, 0),
		landmarkAt(45, BuccalCusp, -20, -60, -2.25),
		landmarkAt(46, MesiobuccalCusp, -23, -52, -1.5),
		landmarkAt(46, DistobuccalCusp, -23, -48, -1.5),
		landmarkAt(46, BuccalGroove, -23, -50, -2),
		landmarkAt(47, DistobuccalCusp, -27, -38, 0),
		landmarkAt(48, DistobuccalCusp, -28, -28, -9),
	}
}

// Landmarks at chosen places give the numbers of plain geometry, in any frame.
func TestMeasuresOfDrawnLandmarks(t *testing.T) {
	lower := drawnLower()
	upper := []Landmark{
		landmarkAt(11, IncisalEdge, -4, -82, -2.9),
		landmarkAt(21, IncisalEdge, 4, -82.5, -2.5),
		landmarkAt(13, CanineCusp, -17, -75, 0),
		landmarkAt(23, CanineCusp, 17, -75, 0),
		landmarkAt(16, MesiobuccalCusp, -25, -53, -1),
		landmarkAt(26, MesiobuccalCusp, 26, -49.5, -1),
	}
	turn := r3.NewRotation(0.7, r3.Vec{X: 1, Y: -2, Z: 0.5})
	for _, f := range []func(r3.Vec) r3.Vec{func(v r3.Vec) r3.Vec { return v },
		func(v r3.Vec) r3.Vec { return r3.Add(turn.Rotate(v), r3.Vec{X: 10, Z: -4}) }} {
		moved := func(l []Landmark) (out []Landmark) {
			for _, x := range l {
				x.Point = f(x.Point)
				out = append(out, x)
			}
			return out
		}
		lo, up := moved(lower), moved(upper)
		above := r3.Sub(f(r3.Vec{Z: 1}), f(r3.Vec{}))
		plane, ok := NewOcclusalPlane(lo, above)
		require.True(t, ok)
		require.InDelta(t, 0, r3.Norm(r3.Sub(above, plane.Up)), 1e-9)
		over := plane.Overlaps(up, lo)
		require.Len(t, over, 2)
		require.InDelta(t, 2.5, over[0].Overjet, 1e-9)
		require.InDelta(t, 3.0, over[0].Overbite, 1e-9)
		require.InDelta(t, 3.0, over[1].Overjet, 1e-9)
		require.InDelta(t, 2.5, over[1].Overbite, 1e-9)
		spee := plane.Spee(lo)
		require.Len(t, spee, 2)
		require.Equal(t, [2]dentition.ToothID{45, 36}, [2]dentition.ToothID{spee[0].Tooth, spee[1].Tooth})
		require.InDelta(t, 2.25, spee[0].MM, 1e-9)
		require.InDelta(t, 1.5, spee[1].MM, 1e-9)
		rel := plane.MolarRelations(up, lo)
		require.Len(t, rel, 2)
		require.InDelta(t, 3, rel[0].MM, 1e-9)
		require.Equal(t, "II", rel[0].Class())
		require.InDelta(t, -2.5/math.Sqrt(1+4.1*4.1), rel[1].MM, 1e-9)
		require.Equal(t, "I", rel[1].Class())
		require.Equal(t, "III", MolarRelation{MM: -2}.Class())
		w := Widths(lo)
		require.Len(t, w, 3)
		require.InDelta(t, 26.5, w[0].MM, 1e-9)
		require.Equal(t, "canine", w[0].Right.Type().String())
		require.InDelta(t, math.Hypot(40, 1.25), w[1].MM, 1e-9)
		require.InDelta(t, 46, w[2].MM, 1e-9)
		require.Len(t, Widths(up), 2)
	}
	plane, ok := NewOcclusalPlane(lower[1:], r3.Vec{Z: 1})
	require.False(t, ok, "without 31 there is no incisal point")
	require.Empty(t, Widths(nil))
	require.Empty(t, plane.MolarRelations(upper, nil))
}

// With every other tip above the plane, the tip that spans it is no depth.
func TestSpeeOfAFlatSide(t *testing.T) {
	flat := drawnLower()
	for i := range flat {
		if flat[i].Tooth.Side() == dentition.Left {
			flat[i].Point.Z = max(flat[i].Point.Z, 0.1)
		}
		if flat[i].Tooth == 37 {
			flat[i].Point.Z = 0
		}
		if flat[i].Feature == MesioincisalEdge {
			flat[i].Point.Z = 0
		}
	}
	level, ok := NewOcclusalPlane(flat, r3.Vec{Z: 1})
	require.True(t, ok)
	require.Equal(t, [2]dentition.ToothID{47, 37}, [2]dentition.ToothID{level.Right, level.Left})
	spee := level.Spee(flat)
	require.Len(t, spee, 1)
	require.EqualValues(t, 45, spee[0].Tooth)
}
