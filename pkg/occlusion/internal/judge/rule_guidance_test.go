package judge

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Which foil tells who touches in a movement: the thickest up to touch_um, or the thinnest of all.
func TestRuleFoilOfAMovement(t *testing.T) {
	c := casefile.Default()
	for _, x := range []struct {
		um   float64
		want findings.Foil
	}{{8, 8}, {39.99, 8}, {40, 40}, {99, 40}, {1, 8}} {
		c.Thresholds.TouchUm = x.um
		require.Equal(t, x.want, TouchFoil(c), "%g", x.um)
	}
}

// Where guiding teeth stand edge to edge: at the first lowest place of the incisal point from which it
// rises by more than 0.05 mm (our choice), unless posterior teeth that should not held it there. Numbers
// are heights in mm, frame by frame.
func TestRuleEdgeToEdge(t *testing.T) {
	for name, c := range map[string]struct {
		z    []float64
		who  findings.Pair
		want int // -1 for none
	}{
		"rises by 0.05":             {[]float64{1, 0, 0.05}, rightCanines, -1},
		"rises by more":             {[]float64{1, 0, 0.0500001}, rightCanines, 1},
		"rises by 0.054":            {[]float64{1, 0, 0.054}, rightCanines, 1},
		"rises bit by bit":          {[]float64{1, 0, 0.03, 0.06}, rightCanines, 1},
		"level before it rises":     {[]float64{1, 0, 0, 1}, rightCanines, 1},
		"rises from the start":      {[]float64{0, 1, 2}, rightCanines, -1},
		"sinks below it again":      {[]float64{1, 0.5, 0.54, 0, 1}, rightCanines, 3},
		"held by posterior teeth":   {[]float64{1, 0, 1}, pair(26, 36), -1},
		"held, and down once more":  {[]float64{1, 0, 1, 0.5, 0.4, 1}, pair(26, 36), -1},
		"no one carries":            {[]float64{1, 0, 1}, pair(255, 255), 1},
		"posterior, working side":   {[]float64{1, 0, 1}, pair(16, 46), 1},
		"sinks to the end":          {[]float64{2, 1, 0}, rightCanines, -1},
		"no frame":                  {nil, rightCanines, -1},
		"not labelled what carries": {[]float64{1, 0, 1}, findings.Pair{}, 1},
	} {
		x := made(findings.Right, len(c.z), func(i int, f *findings.Frame) {
			f.IncisalPoint = &findings.Vec{0, 0, c.z[i]}
			if c.who.Upper != 255 {
				carry(f, c.who)
			}
		})
		m := newMovement(t, x, defaults)
		i, ok := m.edgeToEdge()
		require.Equal(t, c.want >= 0, ok, name)
		require.Equal(t, max(0, c.want), i, name)
		require.Equal(t, map[bool]int{true: c.want, false: len(c.z) - 1}[ok], m.End, name)
		for _, lost := range []int{0, 2} { // a frame in which the incisal point is not known
			if lost < len(x.Frames) {
				kept := x.Frames[lost].IncisalPoint
				x.Frames[lost].IncisalPoint = nil
				_, ok := m.edgeToEdge()
				require.False(t, ok, name)
				x.Frames[lost].IncisalPoint = kept
			}
		}
	}
}

// How far the incisal point has gone aside, and how steeply its path goes down, where it is known.
func TestRulePathOfTheIncisalPoint(t *testing.T) {
	m := ruled(t, made(findings.Right, 4, func(i int, f *findings.Frame) {
		f.IncisalPoint = &findings.Vec{3 * float64(i), 4 * float64(i), -5 * float64(i)}
	}), -1)
	require.InDelta(t, 10, m.incisalWay(2), 0)
	for mm, want := range map[float64]int{0: 0, 5: 1, 5.0001: 2, 15: 3, 15.0001: -1} {
		i, ok := m.reached(mm)
		require.Equal(t, want >= 0, ok)
		require.Equal(t, max(0, want), i)
	}
	for _, c := range []struct {
		i, j int
		ok   bool
	}{{0, 1, true}, {2, 3, true}, {-1, 0, false}, {3, 4, false}, {1, 1, false}} {
		deg, ok := m.inclination(c.i, c.j)
		require.Equal(t, c.ok, ok, "%v", c)
		if ok {
			require.InDelta(t, 45, deg, 1e-12)
		}
	}
	m.x.Frames[2].IncisalPoint = nil
	for _, c := range [][2]int{{1, 2}, {2, 3}} {
		_, ok := m.inclination(c[0], c[1])
		require.False(t, ok)
	}
	require.InDelta(t, 0.5, m.incisalWay(2), 0, "the travel")
	m.x.Frames[0].IncisalPoint = nil
	require.InDelta(t, 0.25, m.incisalWay(1), 0, "the travel")
}

// Who carries from where to where. A letter is a frame: a, b carry, - no one; the end is the
// edge-to-edge position, at which a stretch ends, too.
func TestRuleStretchesOfGuidance(t *testing.T) {
	who := map[byte]findings.Pair{'a': pair(13, 43), 'b': pair(14, 44)}
	for course, c := range map[string]struct {
		end  int
		want []findings.Stretch
	}{
		"aaa": {-1, []findings.Stretch{{Upper: 13, Lower: 43, ToMM: 0.5}}},
		"aab": {-1, []findings.Stretch{{Upper: 13, Lower: 43, ToMM: 0.25}, {Upper: 14, Lower: 44, FromMM: 0.5, ToMM: 0.5}}},
		"a-a": {-1, []findings.Stretch{{Upper: 13, Lower: 43}, {Upper: 13, Lower: 43, FromMM: 0.5, ToMM: 0.5}}},
		"a--": {-1, []findings.Stretch{{Upper: 13, Lower: 43}}},
		"aaaa": {1, []findings.Stretch{{Upper: 13, Lower: 43, ToMM: 0.25},
			{Upper: 13, Lower: 43, FromMM: 0.5, ToMM: 0.75, PastEdge: true}}},
		"aab-": {2, []findings.Stretch{{Upper: 13, Lower: 43, ToMM: 0.25}, {Upper: 14, Lower: 44, FromMM: 0.5, ToMM: 0.5}}},
	} {
		m := ruled(t, made(findings.Right, len(course), func(i int, f *findings.Frame) {
			if p, ok := who[course[i]]; ok {
				carry(f, p)
			}
		}), c.end)
		require.Equal(t, c.want, m.guidance(nil).Stretches, course)
	}
}

// Who guides longest: the stretches of a pair up to the edge-to-edge position together, half a step
// on each side, and their mean inclination by length.
func TestRuleGuidesAreSummedUp(t *testing.T) {
	deg := func(d float64) *float64 { return &d }
	m := ruled(t, made(findings.Right, 9, func(int, *findings.Frame) {}), -1)
	got := m.guides([]findings.Stretch{
		{Upper: 13, Lower: 43, FromMM: 0.25, ToMM: 0.5, ToothDeg: deg(30)},
		{Upper: 14, Lower: 44, FromMM: 0.75, ToMM: 1.25, ToothDeg: deg(10)},
		{Upper: 13, Lower: 43, FromMM: 1.5, ToMM: 2, ToothDeg: deg(60)},
		{Upper: 15, Lower: 45, FromMM: 0, ToMM: 0},
		{Upper: 15, Lower: 45, FromMM: 0, ToMM: 2, PastEdge: true, ToothDeg: deg(1)},
		{Upper: 12, Lower: 42, FromMM: 0, ToMM: 0, ToothDeg: deg(5)}, // of one frame: no length to weigh by
	})
	require.Equal(t, []findings.Guide{
		{Upper: 13, Lower: 43, CarryMM: 0.5 + 0.625, ToothDeg: deg(50)},
		{Upper: 14, Lower: 44, CarryMM: 0.75, ToothDeg: deg(10)},
		{Upper: 15, Lower: 45, CarryMM: 0.125},
		{Upper: 12, Lower: 42, CarryMM: 0.125},
	}, got)
	require.Equal(t, []findings.Guide{}, m.guides(nil))
}

// How steeply the spot that carries goes down: in a lateral movement against its way aside, in
// protrusion against its way forward; not where it does not go there.
func TestRuleInclinationOfAGuidingTooth(t *testing.T) {
	for _, c := range []struct {
		movement findings.Movement
		way      r3.Vec
		want     float64 // NaN for none
	}{
		{"right", r3.Vec{X: -1, Y: -9, Z: -1}, 45}, {"left", r3.Vec{X: 1, Z: -1}, 45}, {"right", r3.Vec{X: -1, Z: 1}, -45},
		{"right", r3.Vec{Y: -1, Z: -1}, math.NaN()}, {"protrusive", r3.Vec{X: 9, Y: -1, Z: -1}, 45},
		{"protrusive", r3.Vec{Y: 1, Z: -1}, math.NaN()}, {"protrusive", r3.Vec{X: 1, Z: -1}, math.NaN()}, {"right", r3.Vec{}, math.NaN()},
	} {
		m := ruled(t, made(c.movement, 2, func(i int, f *findings.Frame) {
			f.Pose = moved(r3.Scale(float64(i), c.way))
			f.Carrier = &findings.Touch{}
		}), -1)
		got := m.toothInclination(0, 1)
		require.Equal(t, math.IsNaN(c.want), got == nil, "%v", c)
		if got != nil {
			require.InDelta(t, c.want, *got, 1e-12)
		}
		for _, turned := range []s1.Angle{0, 0.1, 0.3} { // a place that is turned back and forth comes out beside itself
			m.x.Frames[1].Pose.Pose = kinematics.Rotation(r3.Vec{X: 1, Y: 2, Z: 3}, turned)
			m.x.Frames[1].Carrier.PointMM = findings.Vec{1.1, -70.3, -30.7}
			require.Nil(t, m.toothInclination(1, 1))
		}
		m.x.Frames[0].Carrier = nil
		require.Nil(t, m.toothInclination(0, 1))
	}
}

// At which distances patterns are named, within which foils, and beyond which of them the teeth
// stand edge to edge (distances: Ogawa et al. 1998, J Prosthet Dent 80:67-74).
func TestRuleWherePatternsAreNamed(t *testing.T) {
	m := ruled(t, made(findings.Right, 9, func(_ int, f *findings.Frame) {
		touch(f, rightCanines, 1)
		f.Contacts = append(f.Contacts, findings.Contact{Upper: 27, Lower: 37, FoilUm: 200})
	}), 4)
	m.Limits.TouchUm = 40
	g := m.guidance([]findings.Foil{8, 40, 41})
	require.Len(t, g.Patterns, 6) // at 0.5, 1 and 2 mm, within 8 and 40 µm
	for i, p := range g.Patterns {
		require.Equal(t, []float64{0.5, 0.5, 1, 1, 2, 2}[i], p.AtMM)
		require.Equal(t, p.AtMM, p.TravelMM)
		require.Equal(t, []findings.Foil{8, 40}[i%2], p.FoilUm)
		require.Equal(t, map[bool]findings.PatternClass{true: findings.CanineGuidance, false: findings.NoContact}[p.FoilUm == 40], p.Pattern)
		require.Equal(t, p.AtMM > 1, p.PastEdge)
	}
	// Nothing is measured of a movement that no one carries at its beginning.
	m.Measure(nil)
	require.Nil(t, m.x.Guidance)
	for i := range m.x.Frames {
		carry(&m.x.Frames[i], rightCanines)
	}
	m.Measure(nil)
	require.NotNil(t, m.x.Guidance)
	require.NotNil(t, m.x.Smoothness)
}

// What a pattern counts as, beyond those of the Glossary: teeth of the other side's front and of no
// label beside others.
func TestRulePatternsOfMixedPairs(t *testing.T) {
	for _, c := range []struct {
		movement findings.Movement
		pairs    []findings.Pair
		want     findings.PatternClass
	}{
		{"right", []findings.Pair{{}}, findings.NotLabelled},
		{"right", []findings.Pair{{}, rightCanines}, findings.CanineGuidance},
		{"right", []findings.Pair{pair(21, 31)}, findings.AnteriorGuidance},
		{"right", []findings.Pair{pair(21, 31), rightCanines}, findings.Mixed},
		{"right", []findings.Pair{pair(26, 36), pair(16, 46)}, findings.Balanced},
		{"right", []findings.Pair{pair(26, 36), pair(12, 42)}, findings.Balanced},
		{"right", []findings.Pair{pair(26, 36), pair(27, 37)}, findings.NonworkingOnly},
		{"right", []findings.Pair{pair(23, 33)}, findings.NonworkingOnly}, // a canine of the other side
		{"right", []findings.Pair{pair(14, 44), pair(12, 42)}, findings.GroupFunction},
		{"protrusive", []findings.Pair{pair(16, 46), pair(13, 43)}, findings.Balanced},
		{"protrusive", []findings.Pair{pair(16, 46), pair(26, 36)}, findings.PosteriorGuidance},
		{"protrusive", []findings.Pair{pair(13, 43)}, findings.AnteriorGuidance},
	} {
		m := ruled(t, made(c.movement, 1, func(_ int, f *findings.Frame) {
			for _, p := range c.pairs {
				touch(f, p, 1)
				touch(f, p, 1) // a second patch of a pair counts once
			}
		}), -1)
		require.Equal(t, c.want, m.Pattern(&m.x.Frames[0]), "%s %v", c.movement, c.pairs)
	}
	require.Equal(t, dentition.Right, ruled(t, made(findings.Right, 1, func(int, *findings.Frame) {}), -1).Working)
}
