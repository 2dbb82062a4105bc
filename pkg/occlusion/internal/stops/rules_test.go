package stops

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// site is one side of a stop that loads its tooth by so much to mesial and to buccal.
func site(tooth dentition.ToothID, f anatomy.Feature, mesial, buccal float64) bearing {
	return bearing{Site: anatomy.Site{Tooth: tooth, Feature: f}, load: r3.Vec{X: mesial, Y: buccal, Z: 1}}
}

// What a stop between posterior teeth is called across and along the arch: by where the
// lower tooth faces there, from facing_deg (here 30°, half a unit of load) on, and on which side of its
// central groove it lies (A, B and C contacts, closure stoppers and equalisers: textbooks).
func TestRuleWhatAStopIsCalled(t *testing.T) {
	const half = 0.5
	less := math.Nextafter(half, 0)
	for name, c := range map[string]struct {
		mesial, buccal float64 // where the lower tooth faces; the upper one faces the other way
		buccalSide     bool
		up, lo         dentition.ToothID
		across         findings.Across
		along          findings.Along
	}{
		"to buccal on the buccal side":    {0, half, true, 16, 46, findings.ContactA, ""},
		"to buccal on the lingual side":   {0, half, false, 16, 46, findings.ContactC, ""},
		"to lingual on the buccal side":   {0, -half, true, 16, 46, findings.ContactB, ""},
		"to lingual on the lingual side":  {0, -half, false, 16, 46, "", ""},
		"hardly to buccal":                {0, less, true, 16, 46, "", ""},
		"hardly to lingual":               {0, -less, true, 16, 46, "", ""},
		"to mesial":                       {half, 0, true, 16, 46, "", findings.ClosureStopper},
		"to distal":                       {-half, 0, true, 16, 46, "", findings.Equaliser},
		"hardly to mesial":                {less, 0, true, 16, 46, "", ""},
		"hardly to distal":                {-less, 0, true, 16, 46, "", ""},
		"of an anterior upper tooth":      {half, half, true, 13, 44, "", ""},
		"of an anterior lower tooth":      {half, half, true, 14, 43, "", ""},
		"farther than a right angle goes": {2, 2, true, 16, 46, findings.ContactA, findings.ClosureStopper},
	} {
		s := spot{up: site(c.up, 0, c.mesial, c.buccal), lo: site(c.lo, 0, -c.mesial, -c.buccal)} // pushed back
		s.lo.buccal = c.buccalSide
		s.sort(math.Asin(half) * 180 / math.Pi)
		require.Equal(t, c.across, s.across, name)
		require.Equal(t, c.along, s.along, name)
	}
}

// Which tooth a stop is told of first: that of a supporting cusp, then that of a guiding one, then the upper.
func TestRuleWhichSideOfAStopComesFirst(t *testing.T) {
	supporting, guiding, place := anatomy.MesiolingualCusp, anatomy.MesiobuccalCusp, anatomy.CentralFossa
	for _, c := range []struct {
		up, lo anatomy.Feature
		first  dentition.ToothID
	}{
		{supporting, place, 16}, {place, supporting, 16}, {place, guiding, 16}, {guiding, guiding, 46}, {guiding, place, 16}, {place, place, 16},
		{place, anatomy.MesiobuccalCusp, 46}, {guiding, supporting, 16}, {place, anatomy.MesiolingualCusp, 46},
		{supporting, anatomy.MesiobuccalCusp, 16},
	} {
		s := spot{up: site(16, c.up, 0, 0), lo: site(46, c.lo, 0, 0)}
		of, on := s.sides()
		rank := func(b *bearing) int {
			return map[anatomy.Role]int{anatomy.Supporting: 0, anatomy.Guiding: 1}[b.Role()]
		}
		want := dentition.ToothID(16)
		ranks := map[bool]int{}
		for i, b := range []*bearing{&s.up, &s.lo} {
			ranks[i == 1] = rank(b)
			if b.Role() == anatomy.NoRole {
				ranks[i == 1] = 2
			}
		}
		if ranks[true] < ranks[false] {
			want = 46
		}
		require.Equal(t, want, of.Tooth, "%v", c)
		require.NotEqual(t, of.Tooth, on.Tooth)
	}
}

// Stops of a cusp enclose it where no half of the plan is free of them: three to whom the gap is less
// than 180°.
func TestRulePointsAroundACusp(t *testing.T) {
	at := func(x, y float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: 1} }
	for name, c := range map[string]struct {
		loads []r3.Vec
		want  findings.Points
	}{
		"none":                         {nil, findings.NoPoint},
		"one":                          {[]r3.Vec{at(1, 0)}, findings.Single},
		"two":                          {[]r3.Vec{at(1, 0), at(-1, 0)}, findings.TwoPoint},
		"around":                       {[]r3.Vec{at(1, 0), at(-1, 1), at(-1, -1)}, findings.Tripod},
		"a gap of a half":              {[]r3.Vec{at(1, 0), at(0, 1), at(-1, 0)}, findings.OneSided},
		"a gap of hardly less":         {[]r3.Vec{at(1, -0.001), at(0, 1), at(-1, -0.001)}, findings.Tripod},
		"the gap lies over the start":  {[]r3.Vec{at(0, 1), at(1, 1), at(1, -1)}, findings.OneSided},
		"the gap lies in the middle":   {[]r3.Vec{at(-1, -1), at(-1, 1), at(-2, -1)}, findings.OneSided},
		"one straight down":            {[]r3.Vec{at(1, 0), at(-1, 0.001), at(0, 0)}, findings.OneSided},
		"three around, one down":       {[]r3.Vec{at(1, 0), at(-1, 1), at(-1, -1), at(0, 0)}, findings.Tripod},
		"two, and two straight down":   {[]r3.Vec{at(0, 0), at(0, 0), at(1, 0), at(-1, 1e-3)}, findings.OneSided},
		"all straight down":            {[]r3.Vec{at(0, 0), at(0, 0), at(0, 0)}, findings.OneSided},
		"sideways by a rounding error": {[]r3.Vec{at(1, 0), at(-1, 1), at(-1e-9, -0)}, findings.OneSided},
		"sideways by more than that":   {[]r3.Vec{at(1, 0), at(-1, 1), at(-1.1e-9, -1.1e-9)}, findings.Tripod},
	} {
		require.Equal(t, c.want, points(c.loads), name)
	}
}

// What the stops of a tooth do together: their mean direction, nothing where they cancel; along the axis
// from axial_share (here 0.8: 3, 4 and 5) on, and at least two of them.
func TestRuleStopsTogether(t *testing.T) {
	limits := casefile.DefaultThresholds()
	limits.AxialShare = 0.8
	k := cuspOf{16, anatomy.MesiolingualCusp}
	for name, c := range map[string]struct {
		loads []r3.Vec
		known bool
		want  bool
	}{
		"on the threshold": {[]r3.Vec{{X: 0.75, Z: 2}, {X: 2.25, Z: 2}}, true, true},
		"below it":         {[]r3.Vec{{X: 0.75, Z: 2}, {X: 2.2501, Z: 2}}, true, false},
		"one stop":         {[]r3.Vec{{Z: 1}}, true, false},
		"they cancel":      {[]r3.Vec{{X: 1}, {X: -1}}, false, false},
		"none":             {nil, false, false},
	} {
		_, _, ok := axial(c.loads)
		require.Equal(t, c.known, ok, name)
		_, ok = groups{k: c.loads}.seated(k, &limits)
		require.Equal(t, c.want, ok, name)
	}
	_, _, ok := axial([]r3.Vec{{X: 1e-9}})
	require.True(t, ok)
	_, _, ok = axial([]r3.Vec{{X: 0.99e-9}})
	require.False(t, ok)
	// Loads count to the tooth, and to the cusp that supports, of both teeth.
	g := grouped([]spot{{up: site(16, anatomy.MesiolingualCusp, 0, 0), lo: site(46, anatomy.CentralFossa, 0, 0)}})
	require.Len(t, g, 3)
	require.Len(t, g[cuspOf{16, anatomy.MesiolingualCusp}], 1)
}

// On an incline of up to stable_incline_deg (30°) a stop in its place is stable by itself.
func TestRuleInclineOfAStableStop(t *testing.T) {
	for deg, want := range map[float64]bool{30: true, 30.0001: false} {
		for _, lower := range []bool{false, true} {
			s := spot{up: site(16, anatomy.MesiolingualCusp, 0.5, 0), lo: site(46, anatomy.CentralFossa, 0.5, 0)}
			if s.up.incline = deg; lower {
				s.up.incline, s.lo.incline = 0, deg
			}
			got, _ := s.weigh(grouped([]spot{s}), &casefile.Default().Thresholds)
			require.Equal(t, want, got)
		}
	}
}

// Where a load pushes a tooth: by the larger part, to buccal or lingual where both are alike.
func TestRuleDirectionOfALoad(t *testing.T) {
	for _, c := range []struct {
		x, y float64
		want string
	}{
		{2, 1, "mesial"}, {-2, 1, "distal"}, {1, 2, "buccal"}, {1, -2, "lingual"}, {1, 1, "buccal"}, {1, -1, "lingual"},
		{-1, 1, "buccal"}, {0, 0, "lingual"},
	} {
		require.Equal(t, c.want, aside(r3.Vec{X: c.x, Y: c.y}).String(), "%v", c)
	}
}

// A narrow strip of foil tries the surface within 1.5 mm of a tip, seen along the long axis, and less
// than 3 mm below it (strips of 8 mm: Harper & Setchell 2002, Int J Prosthodont 15:347-352; that one of 3 mm is cut for a
// cusp is common practice, no source); what two tips are as near to belongs to the first.
func TestRuleWhatAStripTries(t *testing.T) {
	tip := func(tooth dentition.ToothID, f anatomy.Feature, at r3.Vec) anatomy.Landmark {
		return anatomy.Landmark{Tooth: tooth, Feature: f, Point: at, Confidence: 1}
	}
	tried := func(tooth dentition.ToothID, middle r3.Vec, marks ...anatomy.Landmark) anatomy.Feature {
		spread := func(x, y float64) r3.Vec { return r3.Add(middle, r3.Vec{X: x, Y: y}) }
		m, err := mesh.New([]r3.Vec{spread(-0.25, -0.25), spread(0.5, -0.25), spread(-0.25, 0.5)}, [][3]mesh.VertexID{{0, 1, 2}})
		require.NoError(t, err)
		arch, err := contact.NewArch(t.Context(), m, nil, contact.Options{})
		require.NoError(t, err)
		s, err := newStrips(t.Context(), &casts.Cast{Arch: arch, Teeth: []dentition.ToothID{tooth}, Landmarks: marks,
			Frames: map[dentition.ToothID]anatomy.Frame{tooth: {Tooth: tooth, Mesial: r3.Vec{X: 1}, Buccal: r3.Vec{Y: 1}, Occlusal: r3.Vec{Z: -1}}}})
		require.NoError(t, err)
		if s.arch == nil {
			return 0
		}
		return s.cusps[s.arch.Parts[0]-1].feature
	}
	own := tip(16, anatomy.MesiolingualCusp, r3.Vec{})
	for name, c := range map[string]struct {
		middle r3.Vec
		want   bool
	}{
		"at the tip": {r3.Vec{}, true}, "just within": {r3.Vec{X: 1.499}, true}, "just beyond": {r3.Vec{X: 1.501}, false},
		"1.6 mm away":         {r3.Vec{Y: 1.6}, false},
		"half of it each way": {r3.Vec{X: 1.1, Y: 1.1}, false}, "just less deep": {r3.Vec{Z: 2.999}, true},
		"just deeper": {r3.Vec{Z: 3.001}, false},
		"3.2 mm deep": {r3.Vec{Z: 3.2}, false}, "above it": {r3.Vec{Z: -9}, true}, "on the border": {r3.Vec{X: 1.5}, false},
		"on the lower border": {r3.Vec{Z: 3}, false},
	} {
		require.Equal(t, c.want, tried(16, c.middle, own) != 0, name)
	}
	// The tips of guiding cusps, of anterior teeth and of other teeth try nothing.
	require.Zero(t, tried(16, r3.Vec{}, tip(16, anatomy.MesiobuccalCusp, r3.Vec{})))
	require.Zero(t, tried(43, r3.Vec{}, tip(43, anatomy.CanineCusp, r3.Vec{})))
	require.Zero(t, tried(17, r3.Vec{}, own))
	require.Zero(t, tried(16, r3.Vec{}, tip(16, anatomy.CentralFossa, r3.Vec{})))
	// Of two tips the nearer, of equals the first.
	other := func(x float64) anatomy.Landmark { return tip(16, anatomy.DistolingualCusp, r3.Vec{X: x}) }
	require.Equal(t, anatomy.DistolingualCusp, tried(16, r3.Vec{X: 0.75}, own, other(1)))
	require.Equal(t, anatomy.MesiolingualCusp, tried(16, r3.Vec{X: 0.25}, own, other(1)))
	require.Equal(t, anatomy.MesiolingualCusp, tried(16, r3.Vec{X: 0.5}, own, other(1)))
}
