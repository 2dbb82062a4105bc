package wear

import (
	"fmt"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/facet"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// exactly returns the number near a first guess of which f makes what is wanted to the last bit.
func exactly(t *testing.T, want, guess float64, f func(float64) float64) float64 {
	t.Helper()
	for up, down := guess, guess; up-guess < 1e-12; up, down = math.Nextafter(up, math.Inf(1)), math.Nextafter(down, math.Inf(-1)) {
		for _, x := range []float64{up, down} {
			if f(x) == want {
				return x
			}
		}
	}
	t.Fatalf("no number near %g gives %g", guess, want)
	return 0
}

// leaning is a direction that leans from the vertical towards y by an angle of this tangent.
func leaning(tan float64) r3.Vec { return r3.Vec{Y: tan, Z: 1} }

// The movement that would grind a facet is the one whose slide lies in its plane up to 15° (common
// practice, 10 to 15°, no source) over at least 0.2 mm (our choice); those within 4° of the best explain it alike.
func TestRuleWhatGrindsAFacet(t *testing.T) {
	slide := func(m findings.Movement, deg, way float64) findings.Slide {
		return findings.Slide{Movement: m, AngleDeg: deg, WayMM: way}
	}
	for name, c := range map[string]struct {
		slides []findings.Slide
		want   []findings.Movement
	}{
		"at 15°":                 {[]findings.Slide{slide("right", 15, 1)}, []findings.Movement{"right"}},
		"more":                   {[]findings.Slide{slide("right", 15.0001, 1)}, nil},
		"16°":                    {[]findings.Slide{slide("right", 16, 1)}, nil},
		"over 0.2 mm":            {[]findings.Slide{slide("right", 5, 0.2)}, []findings.Movement{"right"}},
		"over less":              {[]findings.Slide{slide("right", 5, 0.1999)}, nil},
		"alike":                  {[]findings.Slide{slide("right", 9, 1), slide("left", 5, 1)}, []findings.Movement{"left", "right"}},
		"not alike":              {[]findings.Slide{slide("right", 9.0001, 1), slide("left", 5, 1)}, []findings.Movement{"left"}},
		"4.4° are not alike":     {[]findings.Slide{slide("right", 9.4, 1), slide("left", 5, 1)}, []findings.Movement{"left"}},
		"equal, in their order":  {[]findings.Slide{slide("right", 5, 1), slide("left", 5, 1)}, []findings.Movement{"right", "left"}},
		"the best is too short":  {[]findings.Slide{slide("right", 9, 1), slide("left", 1, 0.1)}, []findings.Movement{"right"}},
		"nothing slides over it": {nil, nil},
	} {
		f := findings.WearFacet{Slides: c.slides}
		explainFacet(&f)
		require.Equal(t, c.want, f.GroundBy, name)
	}
}

// The angle of a slide is the least mean over a stretch of 0.2 mm, by length, or that of all of it
// where it is shorter.
func TestRuleAngleOfASlide(t *testing.T) {
	for _, c := range []struct {
		steps []bit
		want  float64
	}{
		{[]bit{{0.1, 10}}, 10},
		{[]bit{{0.05, 10}, {0.1, 40}}, 30},
		{[]bit{{0.125, 40}, {0.125, 10}, {0.125, 10}, {0.125, 40}}, 10},
		{[]bit{{0.1, 40}, {0.1, 20}, {0.1, 10}}, 15},
		{[]bit{{0.2, 30}, {0.2, 10}, {0.2, 30}}, 10},
		{[]bit{{0.3, 20}, {0.1, 0}}, 15},
		{[]bit{{0.1, 40}, {0.3, 20}}, 20},
	} {
		require.InDelta(t, c.want, leastAngle(c.steps), 1e-9, "%v", c.steps)
	}
	// A stretch of just 0.2 mm counts, one that lacks a bit does not.
	require.InDelta(t, 0, leastAngle([]bit{{0.2, 0}, {0.2, 40}}), 0)
	require.InDelta(t, 20, leastAngle([]bit{{0.19, 0}, {0.19, 40}}), 1e-9)
	require.InDelta(t, 3.8095, leastAngle([]bit{{0.19, 0}, {0.02, 40}}), 1e-3)
}

// The angle of a way to a plane; what does not move slides in none.
func TestRuleAngleToAPlane(t *testing.T) {
	n := r3.Vec{Z: 1}
	require.InDelta(t, 0, offPlane(r3.Vec{X: 2}, n), 1e-12)
	require.InDelta(t, 45, offPlane(r3.Vec{X: 1, Z: -1}, n), 1e-12)
	require.InDelta(t, 90, offPlane(r3.Vec{}, n), 0)
}

// A scan shows facets up to a mean edge of 0.45 mm of its teeth (on synthetic dentitions of 0.44
// all above 0.4 mm² are found).
func TestRuleCoarseScansShowNoFacets(t *testing.T) {
	cast := func(long float64, teeth ...dentition.ToothID) *casts.Cast {
		m, err := mesh.New([]r3.Vec{{}, {X: long}, {X: long / 2}, {X: 9}}, [][3]mesh.VertexID{{0, 1, 2}, {0, 1, 3}}[:len(teeth)])
		require.NoError(t, err)
		arch, err := contact.NewArch(t.Context(), m, nil, contact.Options{})
		require.NoError(t, err)
		return &casts.Cast{Arch: arch, Teeth: teeth}
	}
	long := exactly(t, 0.45, 0.675, func(x float64) float64 { mm, _ := meanEdge(cast(x, 16)); return mm })
	for _, c := range []struct {
		cast *casts.Cast
		want bool
	}{
		{cast(long, 16), false}, {cast(long+1e-9, 16), true}, {cast(0.7, 16), true},
		{cast(long, 16, dentition.NoTooth), false}, // what is no tooth may be coarse
		{cast(long, dentition.NoTooth), false}, {cast(long, 16, 17), true},
	} {
		mm, coarse := meanEdge(c.cast)
		require.Equal(t, c.want, coarse, "%g", mm)
	}
}

// flat is an upper and a lower patch of 1 mm radius, sharp enough together, one over the other.
func flat() (up, lo foundFacet) {
	of := func(tooth dentition.ToothID, z float64) foundFacet {
		return foundFacet{findings.WearFacet{Tooth: findings.Part(tooth)},
			facet.Facet{Tooth: tooth, Normal: r3.Vec{Z: z}, Area: math.Pi, Sharpness: 0.85}}
	}
	return of(16, -1), of(46, 1)
}

// through is a movement through poses.
func through(poses ...kinematics.Pose) passage {
	w := passage{Excursion: &findings.Excursion{Movement: findings.Right}, poses: poses}
	for i := range poses {
		w.Frames = append(w.Frames, findings.Frame{TravelMM: 0.25 * float64(i)})
	}
	return w
}

// along slides by x forward (mm) a frame from a place.
func along(from r3.Vec, n int, by r3.Vec) passage {
	var poses []kinematics.Pose
	for i := range n {
		poses = append(poses, kinematics.Translation(r3.Add(from, r3.Scale(float64(i), by))))
	}
	return through(poses...)
}

// Two patches are partners where a movement lays them on each other: of opposing jaws, not more than
// their radii and 10 mm apart in intercuspation, sharp enough together, within 0.6 mm of each other's plane, over
// each other, and parallel, and sliding in both planes, up to 15° (common practice, 10 to 15°, no source; the
// lengths our choice).
func TestRulePartnersOfFacets(t *testing.T) {
	at := func(f func(up, lo *foundFacet)) func(up, lo *foundFacet) passage {
		return func(up, lo *foundFacet) passage { f(up, lo); return along(r3.Vec{}, 3, r3.Vec{X: 0.01}) }
	}
	moved := func(from, by r3.Vec) func(up, lo *foundFacet) passage {
		return func(_, _ *foundFacet) passage { return along(from, 3, by) }
	}
	tan15 := math.Tan(15 * math.Pi / 180)
	parallel := tan15 - 1e-12
	steep := tan15 - 1e-12
	for name, c := range map[string]struct {
		set  func(up, lo *foundFacet) passage
		want bool
	}{
		"one on the other":    {moved(r3.Vec{}, r3.Vec{X: 0.01}), true},
		"of one jaw":          {at(func(_, lo *foundFacet) { lo.at.Tooth = 17 }), false},
		"hardly sharp enough": {at(func(_, lo *foundFacet) { lo.at.Sharpness = facet.FacetTogether - 0.85 }), true},
		"not sharp enough":    {at(func(_, lo *foundFacet) { lo.at.Sharpness = 0.8499 }), false},
		"12 mm apart":         {func(_, lo *foundFacet) passage { lo.at.Centre.X = 12; return along(r3.Vec{X: -12}, 3, r3.Vec{X: 0.01}) }, true},
		"farther apart": {func(_, lo *foundFacet) passage {
			lo.at.Centre.X = 12.001
			return along(r3.Vec{X: -12}, 3, r3.Vec{X: 0.01})
		}, false},
		"12.5 mm apart": {func(_, lo *foundFacet) passage {
			lo.at.Centre.X = 12.5
			return along(r3.Vec{X: -12.5}, 3, r3.Vec{X: 0.01})
		}, false},
		"0.6 mm off the plane":  {moved(r3.Vec{Z: -0.6}, r3.Vec{X: 0.01}), true},
		"farther off the plane": {moved(r3.Vec{Z: -0.6001}, r3.Vec{X: 0.01}), false},
		"0.65 mm off the plane": {moved(r3.Vec{Z: -0.65}, r3.Vec{X: 0.01}), false},
		"2 mm beside":           {moved(r3.Vec{Y: 2}, r3.Vec{Y: 0.01}), true},
		"farther beside":        {moved(r3.Vec{Y: 2.0001}, r3.Vec{Y: 0.01}), false},
		"2 mm beside, and off":  {moved(r3.Vec{Y: 2, Z: -0.5}, r3.Vec{Y: 0.01}), true},
		"parallel to 15°":       {at(func(_, lo *foundFacet) { lo.at.Normal = leaning(parallel) }), true},
		"not parallel":          {at(func(_, lo *foundFacet) { lo.at.Normal = leaning(parallel + 1e-9) }), false},
		"16° off parallel":      {at(func(_, lo *foundFacet) { lo.at.Normal = leaning(math.Tan(16 * math.Pi / 180)) }), false},
		"slides at 15° to it":   {moved(r3.Vec{}, r3.Vec{X: 1, Z: steep}), true},
		"slides more steeply":   {moved(r3.Vec{}, r3.Vec{X: 1, Z: steep + 1e-9}), false},
		"slides at 16° to it":   {moved(r3.Vec{}, r3.Vec{X: 1, Z: math.Tan(16 * math.Pi / 180)}), false},
		"stands still":          {moved(r3.Vec{}, r3.Vec{}), false},
		"slides off one of both": {func(_, lo *foundFacet) passage {
			lo.at.Normal = leaning(math.Tan(-10 * math.Pi / 180))
			return along(r3.Vec{}, 3, r3.Vec{Y: 1, Z: -0.2})
		}, false},
	} {
		up, lo := flat()
		all := []foundFacet{up, lo}
		courses := []passage{c.set(&all[0], &all[1])}
		for i := range all {
			got := meet(&all[i], all, courses)
			require.Equal(t, c.want, got.of == 1-i, "%s: %v", name, got)
			require.Equal(t, !c.want, got.of < 0, name)
		}
	}
	// A patch that turns later to lie more askew is no better partner than the first of the list.
	first, _ := flat()
	turned := first
	turned.at.Normal, turned.Tooth = leaning(0.1), 17
	turned.at.Normal.Z = -1
	_, below := flat()
	require.Zero(t, meet(&below, []foundFacet{first, turned, below}, []passage{along(r3.Vec{}, 3, r3.Vec{X: 0.01})}).of)
	// Of several the most nearly parallel is meant, of equals the first of both lists.
	up, lo := flat()
	skew := lo
	skew.at.Normal, skew.Tooth = leaning(0.1), 47
	for _, all := range [][]foundFacet{{up, lo, skew}, {up, skew, lo}, {up, lo, lo}} {
		got := meet(&all[0], all, []passage{along(r3.Vec{}, 3, r3.Vec{X: 0.01})})
		require.Equal(t, findings.Part(46), got.match.Tooth)
		require.Zero(t, got.match.TravelMM)
		if all[2].Tooth == 46 && all[1].Tooth == 46 {
			require.Equal(t, 1, got.of)
		}
	}
}

// A patch is a facet by itself from its own sharpness on, or with a partner; facets are numbered on
// their teeth.
func TestRuleWhatIsAFacet(t *testing.T) {
	up, lo := flat()
	alone := up
	alone.at.Sharpness, alone.at.Centre.X = facet.FacetAlone, 100
	dull := alone
	dull.at.Sharpness = math.Nextafter(facet.FacetAlone, 0)
	got := worn([]foundFacet{up, dull, alone, dull, lo, alone}, []passage{along(r3.Vec{}, 3, r3.Vec{X: 0.01})})
	var text []string
	for _, f := range got {
		line := fmt.Sprintf("%v number %d", f.Tooth, f.Number)
		if f.Partner != nil {
			line += fmt.Sprintf(" on %v number %d", f.Partner.Tooth, f.Partner.Number)
		}
		text = append(text, line)
	}
	require.Equal(t, []string{"16 number 1 on 46 number 1", "16 number 2", "46 number 1 on 16 number 1", "16 number 3"}, text)
}

// level is a cast of one level sheet of 20 mm at a height, half of it each of two teeth by x.
func level(t *testing.T, jaw dentition.Jaw, z float64, right, left dentition.ToothID) *casts.Cast {
	t.Helper()
	m := testmesh.Sheet(2, 1, func(u, v float64) r3.Vec { return r3.Vec{X: 20 * (u - 0.5), Y: 20 * (v - 0.5), Z: z} })
	arch, err := contact.NewArch(t.Context(), m, nil, contact.Options{})
	require.NoError(t, err)
	c := &casts.Cast{Arch: arch, Jaw: jaw}
	for i := range m.NumTriangles() {
		a, b, d := m.Corners(mesh.TriID(i))
		c.Teeth = append(c.Teeth, map[bool]dentition.ToothID{true: left, false: right}[a.X+b.X+d.X > 0])
	}
	return c
}

// A facet is followed while the opposing surface is within 0.6 mm (our choice) of it, from the first
// such frame until it leaves. Numbers are gaps in mm, frame by frame; a frame goes 2 mm.
func TestRuleSlideOverAFacet(t *testing.T) {
	for name, c := range map[string]struct {
		gaps     []float64
		from, to float64 // below 0 for none
		way      float64
		um       float64
	}{
		"near all the way":           {[]float64{0.5, 0.25, 0.5}, 0, 0.5, 6, 250},
		"0.6 mm":                     {[]float64{0.6, 0.6, 0.6}, 0, 0.5, 6, 600},
		"farther":                    {[]float64{0.61, 0.61, 0.61}, -1, 0, 0, 0},
		"comes near":                 {[]float64{2, 0.5, 0.25, 0.25}, 0.25, 0.75, 6, 250},
		"leaves, and comes again":    {[]float64{0.5, 0.5, 2, 0.25}, 0, 0.25, 4, 500},
		"near in the last frame":     {[]float64{2, 2, 0.5}, 0.5, 0.5, 2, 500},
		"near in a frame in between": {[]float64{2, 0.5, 2}, 0.25, 0.25, 2, 500},
	} {
		for _, upper := range []bool{false, true} {
			var poses []kinematics.Pose
			for i, gap := range c.gaps {
				poses = append(poses, kinematics.Translation(r3.Vec{Y: float64(2 * i), Z: -gap}))
			}
			w := through(poses...)
			e := &frames.Setup{Casts: &casts.Casts{Upper: level(t, dentition.Upper, 0, 16, 26), Lower: level(t, dentition.Lower, 0, 46, 36)}}
			f := foundFacet{at: facet.Facet{Tooth: 46, Normal: r3.Vec{Z: 1}, Centre: r3.Vec{X: -1}}}
			over := findings.Part(16)
			if upper {
				f.at.Tooth, f.at.Normal.Z, over = 16, -1, 46
			}
			s, ok := slide(e, &f, &w)
			require.Equal(t, c.from >= 0, ok, name)
			if !ok {
				continue
			}
			require.InDelta(t, c.from, s.FromMM, 0, name)
			require.InDelta(t, c.to, s.ToMM, 0, name)
			require.InDelta(t, c.um, s.GapUm, 1e-9, name)
			require.Equal(t, over, s.Over, name)
			require.InDelta(t, c.way, s.WayMM, 0.6, name) // and what it sinks
		}
	}
}

// Of teeth that come as near the one that does so first is named; what stands still slides over none;
// of a patch of more than eight vertices about eight are followed.
func TestRuleWhatIsFollowedOfAFacet(t *testing.T) {
	e := &frames.Setup{Casts: &casts.Casts{Upper: level(t, dentition.Upper, 0, 16, 26), Lower: level(t, dentition.Lower, 0, 46, 36)}}
	f := foundFacet{at: facet.Facet{Tooth: 46, Normal: r3.Vec{Z: 1}, Centre: r3.Vec{X: -1}}}
	w := along(r3.Vec{Z: -0.25}, 3, r3.Vec{X: 2})
	s, ok := slide(e, &f, &w)
	require.True(t, ok)
	require.Equal(t, findings.Part(16), s.Over)
	require.InDelta(t, 6, s.WayMM, 1e-12)
	require.InDelta(t, 0, s.AngleDeg, 1e-12)
	w = along(r3.Vec{Z: -0.25}, 3, r3.Vec{})
	_, ok = slide(e, &f, &w)
	require.False(t, ok)
	// 17 vertices: every second one.
	for near, want := range map[int]bool{0: true, 1: false, 2: true, 15: false, 16: true} {
		verts := make([]r3.Vec, 17)
		for i := range verts {
			verts[i] = r3.Vec{X: -1, Y: float64(i) / 8, Z: -2}
			f.at.Vertices = append(f.at.Vertices[:i], mesh.VertexID(i))
		}
		verts[near].Z = -0.25
		m, err := mesh.New(verts, [][3]mesh.VertexID{{0, 1, 2}})
		require.NoError(t, err)
		arch, err := contact.NewArch(t.Context(), m, nil, contact.Options{})
		require.NoError(t, err)
		e.Casts.Lower = &casts.Cast{Arch: arch, Jaw: dentition.Lower}
		f.at.Centre = r3.Vec{X: -1, Z: -2}
		w := along(r3.Vec{}, 3, r3.Vec{Y: 0.125})
		_, ok := slide(e, &f, &w)
		require.Equal(t, want, ok, near)
	}
}
