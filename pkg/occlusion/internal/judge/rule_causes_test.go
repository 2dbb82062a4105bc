package judge

import (
	"math"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// texts are the sentences of causes.
func texts(list []findings.Cause) []string {
	var out []string
	for _, c := range list {
		out = append(out, c.Text.String())
	}
	return out
}

// ridged are casts on which teeth stand upright with their marginal ridges at heights along their axes,
// mesial and distal (mm); NaN for a ridge that is not seen.
func ridged(of map[dentition.ToothID][2]float64) *frames.Setup {
	var stand []anatomy.Frame
	for tooth := range dentition.All {
		if _, ok := of[tooth]; ok {
			stand = append(stand, upright(tooth))
		}
	}
	e := bare(stand...)
	for _, f := range stand {
		c := e.Casts.Upper
		if f.Tooth.Jaw() == dentition.Lower {
			c = e.Casts.Lower
		}
		for i, feature := range []anatomy.Feature{anatomy.MesialMarginalRidge, anatomy.DistalMarginalRidge} {
			if h := of[f.Tooth][i]; !math.IsNaN(h) {
				c.Landmarks = append(c.Landmarks, anatomy.Landmark{Tooth: f.Tooth, Feature: feature, Point: r3.Scale(h, f.Occlusal), Confidence: 1})
			}
		}
	}
	return e
}

// A tooth stands out of its row by its marginal ridges from half a millimetre on, where board
// examiners begin to mark (Casko et al. 1998, Am J Orthod Dentofacial Orthop 114:589-599, from memory),
// against the neighbour against which it does so most; third molars and the other side tell nothing.
func TestRuleStepsOfMarginalRidges(t *testing.T) {
	nan := math.NaN()
	type ridges = map[dentition.ToothID][2]float64
	const above, below = "the marginal ridges of 46 stand 0.5 mm more occlusal than those of its neighbours",
		"the marginal ridges of 46 stand 0.5 mm more cervical than those of its neighbours"
	for name, c := range map[string]struct {
		of   ridges
		want []string
	}{
		"half a millimetre above":     {ridges{45: {0, 0}, 46: {0.5, 0}, 47: {0, 0}}, []string{above}},
		"hardly less":                 {ridges{45: {0, 0}, 46: {0.4999, 0}, 47: {0, 0}}, nil},
		"half a millimetre below":     {ridges{45: {0, 0.5}, 46: {0, 0}, 47: {0, 0}}, []string{below}},
		"against the distal one":      {ridges{45: {0, 0}, 46: {0, 0.5}, 47: {0, 0}}, []string{above}},
		"most counts, mesial":         {ridges{45: {0, 0}, 46: {-0.5, 0.25}, 47: {0, 0}}, []string{below}},
		"most counts, distal":         {ridges{45: {0, 0}, 46: {0.25, -0.5}, 47: {0, 0}}, []string{below}},
		"of equals the mesial":        {ridges{45: {0, 0}, 46: {0.5, -0.5}, 47: {0, 0}}, []string{above}},
		"alone":                       {ridges{46: {9, 9}}, nil},
		"its ridge is not seen":       {ridges{45: {0, 0}, 46: {nan, 0}, 47: {0, 0}}, nil},
		"a neighbour's is not seen":   {ridges{45: {0, nan}, 46: {9, 0}, 47: {0, 0}}, nil},
		"against a third molar":       {ridges{47: {0, 0.5}, 48: {0, 0}}, nil},
		"it is not labelled":          {ridges{45: {0, 0}}, nil},
		"over the midline, no ridges": {ridges{41: {0.5, 0}, 31: {0, 0}}, nil},
	} {
		e := ridged(c.of)
		tooth := dentition.ToothID(46)
		switch name {
		case "against a third molar":
			tooth = 47
		case "over the midline, no ridges":
			tooth = 41
		}
		require.Equal(t, c.want, texts(NewShape(e.Casts, nil).standing(tooth)), name)
	}
	require.Nil(t, NewShape(bare().Casts, nil).standing(dentition.NoTooth))
	// 31 is the number after 28, and stands beside it in none of the arches.
	e := ridged(ridges{31: {9, 0}, 28: {0, 0}})
	_, ok := step(e.Casts.Lower, 31)
	require.False(t, ok)
}

// A missing antagonist explains a tooth that has no other, one of two where the tooth stands half a
// millimetre more occlusal, or where its ridges do not tell; where the opposing cast is labelled.
func TestRuleMissingAntagonists(t *testing.T) {
	type ridges = map[dentition.ToothID][2]float64
	const rises = "the marginal ridges of 46 stand 0.5 mm more occlusal than those of its neighbours"
	for name, c := range map[string]struct {
		tooth dentition.ToothID
		of    ridges
		want  []string
	}{
		"both there":                 {46, ridges{46: {}, 15: {}, 16: {}}, nil},
		"one lacks, not known":       {46, ridges{46: {}, 16: {}}, []string{"46 lacks 15, one of its 2 usual antagonists"}},
		"one lacks, it stands level": {46, ridges{45: {0, 0}, 46: {0, 0}, 16: {}}, nil},
		"one lacks, it hardly rises": {46, ridges{45: {0, 0}, 46: {0.4999, 0}, 16: {}}, nil},
		"one lacks, it rises": {46, ridges{45: {0, 0}, 46: {0.5, 0}, 16: {}},
			[]string{rises, "46 lacks 15, one of its 2 usual antagonists"}},
		"both lack, it stands level":    {46, ridges{45: {0, 0}, 46: {0, 0}}, []string{"46 lacks all its usual antagonists (15, 16)"}},
		"the only one":                  {31, ridges{31: {}}, []string{"31 lacks its usual antagonist 21"}},
		"a third molar lacks its twin":  {17, ridges{17: {}, 47: {}}, nil},
		"an upper tooth lacks both":     {26, ridges{26: {}}, []string{"26 lacks all its usual antagonists (36, 37)"}},
		"an upper tooth has one of two": {26, ridges{26: {}, 36: {}}, []string{"26 lacks 37, one of its 2 usual antagonists"}},
	} {
		e := ridged(c.of)
		e.Casts.Upper.Teeth, e.Casts.Lower.Teeth = []dentition.ToothID{}, []dentition.ToothID{}
		require.Equal(t, c.want, texts(NewShape(e.Casts, nil).standing(c.tooth)), name)
		e.Casts.Upper.Teeth, e.Casts.Lower.Teeth = nil, nil
		for _, text := range texts(NewShape(e.Casts, nil).standing(c.tooth)) {
			require.NotContains(t, text, "lacks", name)
		}
	}
}

// How the anterior teeth overlap is told as the mean of the central incisors, an incisal guide angle
// only where they overlap in both directions, the deeper curve of Spee of both sides.
func TestRuleOverlap(t *testing.T) {
	of := func(bite, jet float64) []findings.ArchOverlap {
		return []findings.ArchOverlap{{OverbiteMM: bite + 0.25, OverjetMM: jet}, {OverbiteMM: bite - 0.25, OverjetMM: jet}}
	}
	for _, c := range []struct {
		incisors []findings.ArchOverlap
		spee     []findings.ArchDepth
		want     []string
	}{
		{of(3, 3), []findings.ArchDepth{{DepthMM: 1}, {DepthMM: 2}}, []string{
			"the upper central incisors overlap the lower ones by 3.0 mm (mean of adults 2.9)",
			"the upper central incisors stand 3.0 mm in front of the lower ones",
			"together an incisal guide angle of 45°", "the curve of Spee is 2.0 mm deep (mean of adults about 2)"}},
		{of(-1, 3), nil, []string{"the central incisors stand 1.0 mm apart vertically: they cannot guide there",
			"the upper central incisors stand 3.0 mm in front of the lower ones"}},
		{of(0, 3), nil, []string{"the upper central incisors overlap the lower ones by 0.0 mm (mean of adults 2.9)",
			"the upper central incisors stand 3.0 mm in front of the lower ones"}},
		{of(3, 0), nil, []string{"the upper central incisors overlap the lower ones by 3.0 mm (mean of adults 2.9)",
			"the upper central incisors stand 0.0 mm in front of the lower ones"}},
		{nil, []findings.ArchDepth{{DepthMM: 0}}, nil},
		{nil, []findings.ArchDepth{{DepthMM: -1}}, nil},
	} {
		h := NewShape(bare().Casts, &findings.Arches{Incisors: c.incisors, Spee: c.spee})
		require.Equal(t, c.want, texts(h.overlap()))
		// They are told of protrusion alone.
		f := &findings.Finding{Upper: 16, Lower: 46}
		for movement, told := range map[findings.Movement]bool{"right": false, "protrusive": true} {
			m := ruled(t, made(movement, 2, func(int, *findings.Frame) {}), -1)
			want := []string(nil)
			if told {
				want = c.want
			}
			require.Equal(t, want, texts(m.causes(bare(), h, f)))
			require.Equal(t, want, texts(m.lateCauses(bare(), h, f)))
		}
	}
	require.Empty(t, NewShape(bare().Casts, nil).overlap())
}

// How steeply the intended guidance takes a lower tooth and how the surface slopes that it meets,
// as angles to the horizontal plane; where it moves, is in contact, and meets a surface from below.
func TestRuleSlopesOfAnInterference(t *testing.T) {
	own := pair(26, 36)
	for name, c := range map[string]struct {
		way    r3.Vec
		touch  findings.Pair
		normal findings.Vec
		at     float64
		want   []string
	}{
		"down": {r3.Vec{X: 1, Z: -1}, own, findings.Vec{1, 0, 1}, 0.25, []string{
			"at 0.2 mm the intended guidance takes the lower tooth down at 45° to the horizontal plane",
			"the upper surface there slopes down at 45° in that direction"}},
		"up, against a level surface": {r3.Vec{Y: 1, Z: 1}, own, findings.Vec{1, 0, 1}, 0.25, []string{
			"at 0.2 mm the intended guidance takes the lower tooth up at 45° to the horizontal plane",
			"the upper surface there slopes level in that direction"}},
		"in the first frame":         {r3.Vec{X: 1}, own, findings.Vec{1, 0, 1}, 0, nil},
		"beyond the last frame":      {r3.Vec{X: 1}, own, findings.Vec{1, 0, 1}, 0.3, nil},
		"not in contact":             {r3.Vec{X: 1}, pair(27, 37), findings.Vec{1, 0, 1}, 0.25, nil},
		"of another lower tooth":     {r3.Vec{X: 1}, pair(26, 37), findings.Vec{1, 0, 1}, 0.25, nil},
		"straight down":              {r3.Vec{Z: -1}, own, findings.Vec{1, 0, 1}, 0.25, nil},
		"under a vertical surface":   {r3.Vec{X: 1}, own, findings.Vec{1, 0, 0}, 0.25, nil},
		"under a surface from above": {r3.Vec{X: 1}, own, findings.Vec{1, 0, -1}, 0.25, nil},
	} {
		m := ruled(t, made(findings.Right, 2, func(i int, f *findings.Frame) {
			f.Pose = moved(r3.Scale(float64(i), c.way))
			touch(f, c.touch, 1)
			touch(f, pair(16, 46), 1)
			f.Contacts[0].Normal = c.normal
		}), -1)
		require.Equal(t, c.want, texts(m.steepness(bare(), &findings.Finding{Upper: 26, Lower: 36}, c.at)), name)
	}
}

// Slopes are told to the degree.
func TestRuleSlopesToTheDegree(t *testing.T) {
	for deg, want := range map[float64]string{-0.5: "up at 1°", -0.49: "level", 0: "level", 0.49: "level", 0.5: "down at 1°"} {
		require.Equal(t, want, slope(deg).String(), deg)
	}
}

// Late disclusion is explained by how the late teeth stand and by the pair that guides longest, of
// those that may and whose inclination is known.
func TestRuleCausesOfLateDisclusion(t *testing.T) {
	deg := func(d float64) *float64 { return &d }
	late := []findings.Disclusion{{Tooth: 46}}
	for name, c := range map[string]struct {
		guides []findings.Guide
		want   []string
	}{
		"the first": {[]findings.Guide{{Upper: 13, Lower: 43, ToothDeg: deg(20)}},
			[]string{"13/43, which guides longest, slopes down at 20°"}},
		"one that may": {[]findings.Guide{{Upper: 26, Lower: 36, ToothDeg: deg(9)}, {Upper: 14, Lower: 44, ToothDeg: deg(20)}},
			[]string{"14/44, which guides longest, slopes down at 20°"}},
		"one that slopes": {[]findings.Guide{{Upper: 13, Lower: 43}, {Upper: 14, Lower: 44, ToothDeg: deg(20)}},
			[]string{"14/44, which guides longest, slopes down at 20°"}},
		"none that may": {[]findings.Guide{{Upper: 26, Lower: 36, ToothDeg: deg(9)}}, nil},
		"none":          {nil, nil},
	} {
		e := ridged(map[dentition.ToothID][2]float64{45: {0, 0}, 46: {0.5, 0}, 47: {0, 1}})
		m := ruled(t, made(findings.Right, 2, func(int, *findings.Frame) {}), -1)
		m.x.Disclusion = late
		m.x.Guidance = &findings.Course{Guides: c.guides}
		f := findings.Finding{Kind: findings.KindLateDisclusion}
		want := append([]string{"the marginal ridges of 46 stand 0.5 mm more occlusal than those of its neighbours"}, c.want...)
		require.Equal(t, want, texts(m.lateCauses(e, NewShape(e.Casts, nil), &f)), name)
		m.x.Disclusion = []findings.Disclusion{{Tooth: 46, ClearsMM: deg(1)}}
		require.Equal(t, c.want, texts(m.lateCauses(e, NewShape(e.Casts, nil), &f)), name)
	}
}

// A tooth is told as tipped from 12° on (neighbours differ by up to 6° in the published inclinations of
// posterior crowns: Andrews 1972, AJO 62:296-309, figures from memory).
func TestRuleTippedFromTwelveDegrees(t *testing.T) {
	for by, want := range map[float64]int{12: 1, 11.9999: 0, 13: 1} {
		require.Len(t, tippedCause(17, 0, stance{lean: by, leans: true}, stance{}), want, by)
	}
}

// Tipped teeth are told with the arches, whether or not a finding is on them; twins of which the casts
// do not tell which one leans together; a tooth that leans on neither neighbour is upright.
func TestRuleTippedTeethAreToldWithTheArches(t *testing.T) {
	lean := func(tooth dentition.ToothID, deg float64) anatomy.Frame {
		f := upright(tooth)
		sin, cos := math.Sincos(deg * math.Pi / 180)
		f.Occlusal = r3.Vec{Y: sin, Z: cos * f.Occlusal.Z}
		return f
	}
	for _, c := range []struct {
		stand []anatomy.Frame
		want  []string
	}{
		{[]anatomy.Frame{upright(16), lean(17, 14), upright(36), lean(35, -14)}, []string{"17 is tipped by 14° against its neighbours",
			"16 is tipped by 14° against its neighbours",
			"35 is tipped by 14° against its neighbours", "36 is tipped by 14° against its neighbours"}},
		{[]anatomy.Frame{upright(15), upright(16), lean(17, 11)}, nil},
		{[]anatomy.Frame{lean(17, 14)}, nil},
		{nil, nil},
	} {
		a := &findings.Arches{Text: language.Literal("The arches.")}
		require.Same(t, a, NewShape(bare(c.stand...).Casts, a).Tipped())
		var got []string
		for _, x := range a.Tipped {
			got = append(got, x.Text.String())
			require.InDelta(t, 14, x.AngleDeg, 1e-9)
		}
		require.ElementsMatch(t, c.want, got)
		text := "The arches."
		if len(got) > 0 {
			text += " " + strings.Join(got, "; ") + "."
		}
		require.Equal(t, text, a.Text.String())
	}
	require.Nil(t, NewShape(bare().Casts, nil).Tipped())
}
