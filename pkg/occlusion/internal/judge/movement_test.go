package judge

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/stretchr/testify/require"
)

// along makes a movement whose incisal point follows z = −f(y) forward in steps
// of 0.1 mm, carried and touched by what the function who says.
func along(name findings.Movement, n int, f func(way float64) float64, who func(way float64) findings.Pair) *findings.Excursion {
	x := &findings.Excursion{Movement: name}
	for i := range n + 1 {
		way := float64(i) * 0.1
		p := who(way)
		x.Frames = append(x.Frames, findings.Frame{
			TravelMM: way, IncisalPoint: &findings.Vec{0, -80 - way, -35 - f(way)}, Carrier: &findings.Touch{Upper: p.Upper, Lower: p.Lower},
			Contacts:    []findings.Contact{{Upper: p.Upper, Lower: p.Lower, FoilUm: 40, AreaMM2: 0.5}},
			ClearanceMM: map[string]float64{"16": way / 10, "46": max(0, way-1)},
		})
	}
	return x
}

func canine(float64) findings.Pair { return findings.Pair{Upper: 13, Lower: 43} }

var defaults = casefile.Default()

func newMovement(t *testing.T, x *findings.Excursion, c *casefile.Case) Movement {
	t.Helper()
	m, err := NewMovement(x, c)
	require.NoError(t, err)
	return m
}

// What is no movement is an error, not one without a working side.
func TestUnknownMovement(t *testing.T) {
	for _, name := range []findings.Movement{"", findings.Closed, "up"} {
		x := findings.Excursion{Movement: name}
		_, err := NewMovement(&x, defaults)
		require.Error(t, err, name)
		_, err = Movements([]findings.Excursion{x}, defaults)
		require.Error(t, err, name)
		_, err = CompareSides(&frames.Setup{Case: defaults}, []*findings.Excursion{&x})
		require.Error(t, err, name)
	}
}

// A path of two straight stretches has one kink, of the angle between them, and
// turns by nothing else.
func TestKinkOfAKnownAngle(t *testing.T) {
	slope := func(deg float64) float64 { return math.Tan(deg * math.Pi / 180) }
	for _, c := range []struct{ before, after float64 }{{10, 45}, {45, 20}, {0, 12}, {30, 21}} {
		x := along("protrusive", 40, func(w float64) float64 {
			return min(w, 2)*slope(c.before) + max(0, w-2)*slope(c.after)
		}, func(w float64) findings.Pair {
			if w > 2.05 {
				return findings.Pair{Upper: 21, Lower: 31}
			}
			return findings.Pair{Upper: 11, Lower: 41}
		})
		m := newMovement(t, x, defaults)
		s := m.smoothness()
		require.Equal(t, 1, s.Switches)
		if math.Abs(c.after-c.before) < defaults.Thresholds.KinkDeg {
			require.Empty(t, s.Kinks)
		} else {
			require.Len(t, s.Kinks, 1)
			require.InDelta(t, 2, s.Kinks[0].TravelMM, 0.05)
			require.InDelta(t, c.after-c.before, s.Kinks[0].ChangeDeg, 1e-6)
			require.Zero(t, s.Kinks[0].JumpMM)
			require.Equal(t, [2]findings.Part{11, 21}, [2]findings.Part{s.Kinks[0].From.Upper, s.Kinks[0].To.Upper})
		}
		// All turning lies in the kink; the way counts from the second sample.
		way := 1.9/math.Cos(c.before*math.Pi/180) + 2/math.Cos(c.after*math.Pi/180)
		require.InDelta(t, math.Abs(c.after-c.before)/way, *s.TurningDegPerMM, 1e-6)
	}
}

// An arc of radius R turns by 180/(π·R) degrees a mm and has no kink.
func TestTurningOfAnArc(t *testing.T) {
	for _, r := range []float64{5, 10, 20} {
		x := along("right", 40, func(w float64) float64 { return r - math.Sqrt(r*r-w*w) }, canine)
		m := newMovement(t, x, defaults)
		s := m.smoothness()
		require.Empty(t, s.Kinks)
		require.InEpsilon(t, 180/(math.Pi*r), *s.TurningDegPerMM, 0.01)
		require.Nil(t, s.Evenness)
	}
}

// A step of 0.4 mm within one sample is one jump of that height.
func TestJumpOfAKnownHeight(t *testing.T) {
	x := along("protrusive", 40, func(w float64) float64 {
		if w > 2.05 {
			return 0.2*w + 0.4
		}
		return 0.2 * w
	}, canine)
	m := newMovement(t, x, defaults)
	s := m.smoothness()
	require.Len(t, s.Kinks, 1)
	require.InDelta(t, 0.4, s.Kinks[0].JumpMM, 1e-9)
	require.InDelta(t, 2, s.Kinks[0].TravelMM, 0.05)
}

func TestEvennessOfProtrusion(t *testing.T) {
	right, left := findings.Pair{Upper: 11, Lower: 41}, findings.Pair{Upper: 21, Lower: 31}
	for _, c := range []struct {
		until float64
		want  float64
	}{{9, 0}, {2.15, 1}, {3.05, 10.0 / 28}} {
		x := along("protrusive", 40, func(w float64) float64 { return w }, func(w float64) findings.Pair {
			if w < c.until {
				return right
			}
			return left
		})
		m := newMovement(t, x, defaults)
		require.InDelta(t, c.want, *m.evenness(), 0.06, "right until %g mm", c.until)
	}
}

// The incisal point is lowest where the guiding teeth stand edge to edge.
func TestEdgeToEdgeIsTheLowestPoint(t *testing.T) {
	m := newMovement(t, along("right", 60, func(w float64) float64 { return 3 - math.Abs(w-3) }, canine), defaults)
	i, ok := m.edgeToEdge()
	require.True(t, ok)
	require.InDelta(t, 3, m.x.Frames[i].TravelMM, 0.05)
	m = newMovement(t, along("right", 60, func(w float64) float64 { return w }, canine), defaults)
	_, ok = m.edgeToEdge()
	require.False(t, ok)
	require.Equal(t, 60, m.End)
	// Where a posterior tooth of the nonworking side carries it down and lets it rise
	// again, the guiding teeth are not edge to edge.
	hump := func(w float64) float64 { return 3 - math.Abs(w-3) + max(0, 0.5-math.Abs(w-1)) }
	hindered := along("right", 60, hump, func(w float64) findings.Pair {
		if math.Abs(w-1) < 0.5 {
			return findings.Pair{Upper: 27, Lower: 37}
		}
		return findings.Pair{Upper: 13, Lower: 43}
	})
	m = newMovement(t, hindered, defaults)
	i, ok = m.edgeToEdge()
	require.True(t, ok)
	require.InDelta(t, 3, m.x.Frames[i].TravelMM, 0.05)
	// Where it carries at the place itself, what the guiding teeth would do counts.
	stuck := along("right", 60, func(w float64) float64 { return w },
		func(float64) findings.Pair { return findings.Pair{Upper: 27, Lower: 37} })
	m = newMovement(t, stuck, defaults)
	_, ok = m.edgeToEdge()
	require.False(t, ok)
	for i := range stuck.Frames {
		w := stuck.Frames[i].TravelMM
		stuck.Frames[i].Unhindered = &findings.Unhindered{IncisalPoint: &findings.Vec{0, -80 - w, -35 - 3 + math.Abs(w-3)}}
	}
	m = newMovement(t, stuck, defaults)
	i, ok = m.edgeToEdge()
	require.True(t, ok)
	require.InDelta(t, 3, m.x.Frames[i].TravelMM, 0.05)
}

func TestStretchesAndTheirInclination(t *testing.T) {
	x := along("right", 30, func(w float64) float64 { return w * math.Tan(40*math.Pi/180) }, func(w float64) findings.Pair {
		if w > 1.55 {
			return findings.Pair{Upper: 12, Lower: 42}
		}
		return findings.Pair{Upper: 13, Lower: 43}
	})
	m := newMovement(t, x, defaults)
	g := m.guidance(findings.Foils(defaults.FoilsUm))
	require.Len(t, g.Stretches, 2)
	require.Equal(t, [2]findings.Part{13, 12}, [2]findings.Part{g.Stretches[0].Upper, g.Stretches[1].Upper})
	require.InDelta(t, 1.5, g.Stretches[0].ToMM, 1e-9)
	require.InDelta(t, 1.6, g.Stretches[1].FromMM, 1e-9)
	require.InDelta(t, 40, *g.Stretches[0].InclinationDeg, 1e-6)
	require.Nil(t, g.EdgeToEdgeMM)
}

// Names by the Glossary of Prosthodontic Terms, see [PatternClass].
func TestPatternNames(t *testing.T) {
	for _, c := range []struct {
		movement string
		pairs    []findings.Pair
		want     findings.PatternClass
	}{
		{"right", nil, findings.NoContact},
		{"right", []findings.Pair{{Upper: 13, Lower: 43}}, findings.CanineGuidance},
		{"right", []findings.Pair{{Upper: 13, Lower: 44}}, findings.CanineGuidance},
		{"left", []findings.Pair{{Upper: 23, Lower: 33}}, findings.CanineGuidance},
		{"right", []findings.Pair{{Upper: 13, Lower: 43}, {Upper: 14, Lower: 44}}, findings.GroupFunction},
		{"right", []findings.Pair{{Upper: 14, Lower: 44}, {Upper: 15, Lower: 45}, {Upper: 16, Lower: 46}}, findings.GroupFunction},
		{"right", []findings.Pair{{Upper: 15, Lower: 45}}, findings.PosteriorGuidance},
		{"right", []findings.Pair{{Upper: 12, Lower: 42}, {Upper: 11, Lower: 41}}, findings.AnteriorGuidance},
		{"right", []findings.Pair{{Upper: 13, Lower: 43}, {Upper: 12, Lower: 42}}, findings.Mixed},
		{"right", []findings.Pair{{Upper: 13, Lower: 43}, {Upper: 27, Lower: 37}}, findings.Balanced},
		{"left", []findings.Pair{{Upper: 17, Lower: 47}, {Upper: 24, Lower: 34}}, findings.Balanced},
		{"right", []findings.Pair{{Upper: 27, Lower: 37}}, findings.NonworkingOnly},
		{"protrusive", []findings.Pair{{Upper: 11, Lower: 41}, {Upper: 21, Lower: 31}}, findings.AnteriorGuidance},
		{"protrusive", []findings.Pair{{Upper: 11, Lower: 41}, {Upper: 17, Lower: 47}}, findings.Balanced},
		{"protrusive", []findings.Pair{{Upper: 17, Lower: 47}}, findings.PosteriorGuidance},
		{"protrusive", []findings.Pair{{Upper: 0, Lower: 0}}, findings.NotLabelled},
	} {
		x := &findings.Excursion{Movement: findings.Movement(c.movement), Frames: []findings.Frame{{}}}
		for _, p := range c.pairs {
			x.Frames[0].Contacts = append(x.Frames[0].Contacts, findings.Contact{Upper: p.Upper, Lower: p.Lower, FoilUm: 40},
				findings.Contact{Upper: p.Upper, Lower: p.Lower, FoilUm: 8}) // the other foil is not counted twice
		}
		m := newMovement(t, x, defaults)
		got, names := m.pattern(&x.Frames[0])
		require.Equal(t, c.want, got, "%s %v", c.movement, c.pairs)
		require.Len(t, names, len(c.pairs))
	}
}

func TestDisclusionOfKnownCurves(t *testing.T) {
	m := newMovement(t, along("right", 40, func(w float64) float64 { return w }, canine), defaults)
	d := m.disclusions()
	require.Len(t, d, 2)
	require.Equal(t, findings.Part(16), d[0].Tooth)
	require.InDelta(t, 0.5, *d[0].ClearsMM, 1e-9) // the first sample above 40 µm on w/10
	require.False(t, d[0].Immediate)
	require.InDelta(t, 1.1, *d[1].ClearsMM, 1e-9)
	require.InDelta(t, 2, d[1].ClearanceMM["3"], 1e-9)
	require.InDelta(t, 0.4, d[0].ClearanceMM["end"], 1e-9)
	require.NotContains(t, d[0].ClearanceMM, "edge")
}
