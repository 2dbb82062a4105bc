package stops

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// teethWith are teeth with so many stops each, in the order given.
func teethWith(stops int, teeth ...findings.Part) (out []findings.ToothStops) {
	for _, t := range teeth {
		out = append(out, findings.ToothStops{Tooth: t, Stops: stops})
	}
	return out
}

// The stops in sum: how many teeth have one, and how many are stable.
func TestRuleStopsInSum(t *testing.T) {
	stop := func(stable ...bool) (out []findings.Stop) {
		for _, s := range stable {
			out = append(out, findings.Stop{Stable: s, Text: language.Literal("a stop"), Reason: language.Literal("why")})
		}
		return out
	}
	require.True(t, func() bool { s := describeStops(stop(true), nil); return s.Empty() }(), "no tooth is known")
	require.Equal(t, "No stop on labelled teeth.", describeStops(nil, teethWith(0, 16)).String())
	for name, c := range map[string]struct {
		stops []findings.Stop
		teeth []findings.ToothStops
		want  string
	}{
		"of three teeth two":       {stop(true, true), append(teethWith(1, 11, 41), teethWith(0, 12)...), "2 stops on 2 teeth, all stable"},
		"one":                      {stop(true), teethWith(1, 11, 41), "1 stop on 2 teeth, stable by"},
		"one that is not":          {stop(false), teethWith(1, 11, 41), "1 stop on 2 teeth, none stable"},
		"one of two":               {stop(true, false), teethWith(1, 11, 41), "2 stops on 2 teeth, 1 stable."},
		"alike ones are told once": {stop(false, false), teethWith(1, 11), "2 stops on 1 tooth, none stable. Not stable: a stop (why)."},
	} {
		require.Contains(t, describeStops(c.stops, c.teeth).String(), c.want, name)
	}
	require.NotContains(t, describeStops(stop(true), teethWith(1, 11, 41)).String(), "all stable")
}

// Which posterior teeth have no stop is said by the fewer, those without unless they are more than six and more
// than those with; six stops that are not stable are named, of more the rest are counted.
func TestRuleWhichTeethAreNamed(t *testing.T) {
	all := []findings.Part{14, 15, 16, 17, 24, 25, 26, 27, 34, 35, 36, 37, 44, 45}
	say := func(with, without int) string {
		return language.Join(language.Text(describePosteriorTeeth(append(teethWith(1, all[:with]...),
			teethWith(0, all[with:with+without]...)...)))).String()
	}
	require.Empty(t, say(3, 0))
	require.Equal(t, "Posterior teeth without a stop: 15, 16, 17, 24, 25, 26.", say(1, 6))
	require.Equal(t, "Posterior teeth without a stop: all but 14.", say(1, 7))
	require.Equal(t, "Posterior teeth without a stop: 14, 15, 16, 17, 24, 25, 26.", say(0, 7))
	require.Equal(t, "Posterior teeth without a stop: 27, 34, 35, 36, 37, 44, 45.", say(7, 7))
	require.Equal(t, "Posterior teeth without a stop: all but 14, 15, 16, 17, 24, 25.", say(6, 7))
	require.Empty(t, describePosteriorTeeth(teethWith(0, 11, 43)), "anterior teeth are not asked about")

	straight, share := []bool{true, false}, 0.5
	aside := teethWith(1, 16, 17, 18)
	aside[0].Axial, aside[1].Axial = &straight[0], &straight[1]
	aside[0].AxialShare, aside[1].AxialShare = &share, &share
	aside[1].Load = findings.Vec{1, 0, 1}
	require.Equal(t, "Posterior teeth pushed aside by their stops together: 17 to mesial (50 % along its axis).",
		language.Join(language.Text(describePosteriorTeeth(aside))).String())

	var loose []findings.Stop
	for i := range 8 {
		loose = append(loose, findings.Stop{Stable: i == 0, Text: language.Literal(string(rune('a' + i))), Reason: language.Literal("r")})
	}
	require.Empty(t, describeLoose(loose[:1]))
	six := "Not stable: b (r); c (r); d (r); e (r); f (r); g (r)"
	require.Equal(t, six+".", language.Join(language.Text(describeLoose(loose[:7]))).String())
	require.Equal(t, six+", and 1 more.", language.Join(language.Text(describeLoose(loose))).String())
}

// How stops hold across the arch is said of the teeth that are held both ways: of all, some or none; nothing where no posterior
// tooth has one.
func TestRuleHowStopsHold(t *testing.T) {
	say := func(teeth []findings.ToothStops, held ...bool) string {
		for i := range held {
			teeth[i].AcrossStable = &held[i]
		}
		return language.Join(language.Text(describeHold([]findings.Stop{{Along: findings.Equaliser}}, teeth))).String()
	}
	const across, ends = "Across the teeth, a B contact with an A or C contact ", "; along the arches, no closure stopper and 1 equaliser."
	require.Empty(t, say(teethWith(1, 11, 21)))
	require.Equal(t, across+"on every posterior tooth with stops"+ends, say(teethWith(1, 16, 17), true, true))
	require.Equal(t, across+"only on 17"+ends, say(teethWith(1, 16, 17), false, true))
	require.Equal(t, across+"on no posterior tooth"+ends, say(teethWith(1, 16, 17), false, false))
	cusps := teethWith(1, 16)
	cusps[0].Cusps = []findings.CuspStops{{Points: findings.Single}, {Points: findings.NoPoint}, {Points: findings.NoPoint}}
	require.Contains(t, say(cusps, true), "Supporting cusps of posterior teeth: 1 on one point, 2 without a stop.")
}

// Up to six teeth or cusps of a class are named, also where it holds all of them.
func TestRuleHowManyAreNamed(t *testing.T) {
	limits := &casefile.Default().Thresholds
	of := map[findings.Part]findings.HoldClass{}
	for i := findings.Part(1); i <= 6; i++ {
		of[10+i] = findings.ClassHolds
	}
	names := "11, 12, 13, 14, 15, 16"
	require.Contains(t, DescribeFoil(foiled(of), limits).String(), "Thin foil: holds at "+names+". ")
	require.Contains(t, DescribeFoil(foiled(of), limits).String(), "holds at buccal cusp of 11, buccal cusp of 12")
	of[17] = findings.ClassHolds
	require.Contains(t, DescribeFoil(foiled(of), limits).String(), "Thin foil: holds at all 7 teeth. ")
}

// What is not known of the place of a stop is left out.
func TestRuleWhatIsWrittenOfASite(t *testing.T) {
	none := bearing{}
	s := none.write()
	require.Equal(t, []string{"", "", "", "", ""}, []string{s.Feature, s.Beside, s.Incline, s.Toward, s.Role})
	all := bearing{Site: anatomy.Site{Tooth: 16, Feature: anatomy.MesiolingualCusp, Slope: anatomy.InnerSlope, Toward: anatomy.CentralFossa},
		beside: anatomy.CentralGroove}
	s = all.write()
	require.Equal(t, []string{"mesiolingual cusp", "central groove", "inner incline", "central fossa", "supporting"},
		[]string{s.Feature, s.Beside, s.Incline, s.Toward, s.Role})
}

// Upper mesiolingual and lower distobuccal cusps of molars usually rest in fossae (textbooks).
func TestRuleCuspsThatRestInFossae(t *testing.T) {
	for _, c := range []struct {
		tooth   dentition.ToothID
		feature anatomy.Feature
		want    bool
	}{
		{16, anatomy.MesiolingualCusp, true}, {46, anatomy.DistobuccalCusp, true}, {16, anatomy.DistolingualCusp, false},
		{46, anatomy.MesiobuccalCusp, false}, {15, anatomy.MesiolingualCusp, false}, {45, anatomy.DistobuccalCusp, false},
	} {
		require.Equal(t, c.want, fossaOnly(anatomy.Site{Tooth: c.tooth, Feature: c.feature}), "%v", c)
	}
}

// What a tooth is held by: axially from axial_share on (0.8 here: loads of 3 across and 4 along), across where a B contact
// has an A or a C against it; of landmarks only supporting cusps of the tooth itself count.
func TestRuleHowAToothIsHeld(t *testing.T) {
	limits := casefile.DefaultThresholds()
	limits.AxialShare = 0.8
	cast := &casts.Cast{Landmarks: []anatomy.Landmark{{Tooth: 16, Feature: anatomy.MesiolingualCusp},
		{Tooth: 16, Feature: anatomy.MesiobuccalCusp}, {Tooth: 17, Feature: anatomy.MesiolingualCusp},
		{Tooth: 16, Feature: anatomy.CentralFossa}}}
	held := func(tooth dentition.ToothID, across float64, kinds ...findings.Across) findings.ToothStops {
		var all []spot
		for _, k := range kinds {
			all = append(all, spot{up: bearing{Site: anatomy.Site{Tooth: 16, Feature: anatomy.MesiolingualCusp}, load: r3.Vec{X: across, Z: 0.8}},
				lo: bearing{Site: anatomy.Site{Tooth: 46, Feature: anatomy.CentralFossa}, load: r3.Vec{Z: 1}}, across: k})
		}
		return toothStops(tooth, cast, all, grouped(all), nil, &limits)
	}
	on := held(16, 0.6, findings.ContactB)
	require.True(t, *on.Axial)
	require.Len(t, on.Cusps, 1)
	require.False(t, *held(16, 0.6001, findings.ContactB).Axial)
	none := held(16, 0)
	require.Nil(t, none.AcrossStable)
	require.Nil(t, none.Axial)
	for across, want := range map[findings.Across]bool{findings.ContactA: true, findings.ContactC: true, findings.ContactB: false} {
		require.Equal(t, want, *held(16, 0, findings.ContactB, across).AcrossStable)
	}
	require.False(t, *held(16, 0, findings.ContactA, findings.ContactC).AcrossStable)
	require.Nil(t, held(13, 0).AcrossStable)
	// A load that leans by no more than a rounding error stands on no side of a cusp.
	require.Equal(t, findings.Tripod, points([]r3.Vec{{X: 1}, {X: -1, Y: 1}, {Y: -math.Nextafter(1e-9, 1)}}))
	require.Equal(t, findings.OneSided, points([]r3.Vec{{X: 1}, {X: -1, Y: 1}, {Y: -1e-9}}))
}

// Without labels on both arches nothing is said of stops.
func TestRuleStopsNeedLabelsOnBothArches(t *testing.T) {
	for i := range 3 {
		upper, lower := ball(t, wall{30, 90}, wall{30, -90})
		if i != 1 {
			upper.Teeth = nil
		}
		if i != 0 {
			lower.Teeth = nil
		}
		got := heldBy(t, upper, lower, casefile.Default())
		require.Empty(t, got.Stops)
		require.Empty(t, got.Support)
		require.True(t, got.StopsText.Empty())
	}
}
