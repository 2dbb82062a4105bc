package restore

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// guided is a movement that pairs guide, each over its own millimetre from 1 mm on.
func guided(m findings.Movement, pairs ...findings.Pair) *findings.Excursion {
	x := &findings.Excursion{Movement: m, Guidance: &findings.Course{}}
	for i, p := range pairs {
		x.Guidance.Guides = append(x.Guidance.Guides, findings.Guide{Upper: p.Upper, Lower: p.Lower})
		x.Guidance.Stretches = append(x.Guidance.Stretches, findings.Stretch{Upper: p.Upper, Lower: p.Lower,
			FromMM: float64(i + 1), ToMM: float64(i + 2)})
	}
	return x
}

// Who guides for a tooth: itself, or else the nearest tooth of its arch that carries; in protrusion
// places are counted over the midline. What is unwanted or carries only before the movement has
// begun does not count, nor does the other side of a lateral movement.
func TestGuideFor(t *testing.T) {
	pair := func(u, l findings.Part) findings.Pair { return findings.Pair{Upper: u, Lower: l} }
	const right, none = dentition.Right, dentition.Side(0)
	for name, c := range map[string]struct {
		tooth   dentition.ToothID
		working dentition.Side
		x       *findings.Excursion
		from    findings.Part // 0 for none
		with    findings.Part
		itself  bool
	}{
		"itself":                           {13, right, guided("right", pair(14, 44), pair(13, 43)), 13, 43, true},
		"the nearest":                      {13, right, guided("right", pair(15, 45), pair(14, 44)), 14, 44, false},
		"of as near ones the first":        {14, right, guided("right", pair(15, 45), pair(13, 43)), 15, 45, false},
		"a lower tooth":                    {43, right, guided("right", pair(15, 45), pair(14, 44)), 44, 14, false},
		"11 and 21 are neighbours":         {11, none, guided("protrusive", pair(12, 42), pair(21, 31)), 12, 42, false},
		"21 is nearer than 13":             {11, none, guided("protrusive", pair(13, 43), pair(21, 31)), 21, 31, false},
		"22 is as far from 11 as 13":       {11, none, guided("protrusive", pair(13, 43), pair(22, 32)), 13, 43, false},
		"12 is nearer than 22":             {11, none, guided("protrusive", pair(22, 32), pair(12, 42)), 12, 42, false},
		"not the nonworking side":          {13, right, guided("right", pair(23, 33)), 0, 0, false},
		"no tooth of the nonworking side":  {23, right, guided("right", pair(13, 43)), 0, 0, false},
		"no posterior tooth in protrusion": {16, none, guided("protrusive", pair(11, 41)), 0, 0, false},
		"unlabelled":                       {13, right, guided("right", pair(0, 43)), 0, 0, false},
		"no guidance":                      {13, right, &findings.Excursion{Movement: "right"}, 0, 0, false},
	} {
		g, ok := guideFor(c.tooth, c.working, c.x, 0.5)
		require.Equal(t, c.from != 0, ok, name)
		require.Equal(t, c.from, g.From, name)
		require.Equal(t, c.with, g.With, name)
		require.Equal(t, c.itself, g.Guides, name)
	}
	x := guided("right", pair(14, 44), pair(13, 43))
	x.Findings = []findings.Finding{{Kind: findings.KindWorkingInterference, Upper: 14, Lower: 44}}
	g, ok := guideFor(14, right, x, 0.5)
	require.True(t, ok)
	require.Equal(t, findings.Part(13), g.From, "what interferes is not built again")
	x.Findings[0].Lower = 45
	g, _ = guideFor(14, right, x, 0.5)
	require.Equal(t, findings.Part(14), g.From, "another pair interferes")
	x.Findings[0].Upper, x.Findings[0].Lower = 15, 44
	g, _ = guideFor(14, right, x, 0.5)
	require.Equal(t, findings.Part(14), g.From)
	for begun, want := range map[float64]findings.Part{2: 14, 2.1: 13} {
		x := guided("right", pair(14, 44), pair(13, 43))
		g, ok := guideFor(14, right, x, begun)
		require.True(t, ok)
		require.Equal(t, want, g.From, "the stretch of 14/44 ends at 2 mm, the movement begins at %g", begun)
	}
	x = guided("right", pair(14, 44))
	x.Guidance.Stretches[0].Lower = 45
	_, ok = guideFor(14, right, x, 0.5)
	require.False(t, ok, "the stretch is of another pair")
}

// What is kept, avoided and measured for a tooth.
func TestRestore(t *testing.T) {
	moved := findings.Pose{Pose: kinematics.Translation(r3.Vec{X: -1})}
	at := findings.Vec{0, 0, 0}
	near, far := findings.Vec{0.99, 0, 0}, findings.Vec{1.01, 0, 0}
	finding := func(kind findings.Kind, u, l findings.Part, p *findings.Vec) findings.Finding {
		return findings.Finding{Kind: kind, Upper: u, Lower: l, AtMM: 1, PointMM: p, UpperAt: "up", LowerAt: "low"}
	}
	f := &findings.Findings{
		Centric: findings.Centric{
			Stops: []findings.Stop{{Upper: 16, Lower: 46, PointMM: at, Stable: true}, {Upper: 16, Lower: 47, PointMM: at},
				{Upper: 15, Lower: 45, PointMM: at}},
			Teeth: []findings.CentricTooth{{Tooth: 16, GapUm: 30}, {Tooth: 17, GapUm: 40}},
		},
		Excursions: []findings.Excursion{{Movement: "right", Frames: []findings.Frame{
			{TravelMM: 0.4, ClearanceMM: map[string]float64{"16": 0.1}}, {TravelMM: 0.5, ClearanceMM: map[string]float64{"16": 0.3}},
			{TravelMM: 1, Pose: moved, ClearanceMM: map[string]float64{"16": 0.2}}, {TravelMM: 2, ClearanceMM: map[string]float64{"16": 0.2}},
		}, Findings: []findings.Finding{
			finding(findings.KindNonworkingContact, 16, 46, &near), finding(findings.KindNonworkingContact, 16, 47, &far),
			finding(findings.KindNonworkingContact, 15, 45, &near), finding(findings.KindGuidance, 16, 46, &near),
			{Kind: findings.KindNonworkingContact, Upper: 16, Lower: 46, Doubtful: true},
			finding(findings.KindNonworkingContact, 16, 46, nil),
		}}},
		Facets: []findings.WearFacet{{Tooth: 16, Number: 1, GroundBy: []findings.Movement{"right"}}, {Tooth: 16, Number: 2},
			{Tooth: 17, Number: 3, GroundBy: []findings.Movement{"left"}}},
	}
	c := casefile.Default()
	c.Thresholds.BegunMM = 0.5
	movements, err := judge.Movements(f.Excursions, c)
	require.NoError(t, err)
	of := func(tooth findings.Part) *findings.Restoration {
		r := &findings.Restoration{Tooth: tooth}
		restore(&frames.Setup{Case: c}, r, f, movements)
		return r
	}
	r := of(16)
	require.Len(t, r.Keep, 1)
	require.Equal(t, findings.Part(46), r.Keep[0].With)
	require.Len(t, r.Avoid, 4, "an unstable stop and three unwanted contacts")
	require.Equal(t, findings.Part(47), r.Avoid[0].With)
	var beside []bool
	for _, a := range r.Avoid {
		beside = append(beside, a.NearStop)
	}
	require.Equal(t, []bool{false, true, false, false}, beside)
	require.Equal(t, []string{"up", "low"}, []string{r.Avoid[1].On, r.Avoid[1].Against})
	require.Equal(t, []int{1}, r.Facets)
	require.Equal(t, []findings.RestoreRoom{{Movement: findings.Closed, LeastMM: 0.03}, {Movement: "right", LeastMM: 0.2, AtMM: 1}}, r.Room)

	r = of(46) // its points move with the lower arch, by 1 mm
	require.Equal(t, findings.Part(16), r.Keep[0].With)
	require.Equal(t, []string{"low", "up"}, []string{r.Avoid[0].On, r.Avoid[0].Against})
	require.False(t, r.Avoid[0].NearStop)
	require.Empty(t, r.Room, "no gap of it was measured")
	require.Empty(t, of(25).Avoid)
}
