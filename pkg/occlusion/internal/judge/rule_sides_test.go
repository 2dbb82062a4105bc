package judge

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// aside is a lateral movement whose incisal point, closed at the origin, goes to the side by a
// quarter of a millimetre a frame and down by the depths (mm), carried by the pairs, the last of
// which goes on; a pair of no teeth is nobody.
func aside(t *testing.T, name findings.Movement, deep []float64, who ...findings.Pair) *Movement {
	t.Helper()
	x := made(name, len(deep), func(i int, f *findings.Frame) {
		f.IncisalPoint = &findings.Vec{step4 * float64(i), 0, -deep[i]}
		if p := who[min(i, len(who)-1)]; p != (findings.Pair{}) {
			carry(f, p)
		}
	})
	x.Guidance = &findings.Course{}
	return ruled(t, x, len(deep)-1)
}

var (
	rightCanines, leftCanines = pair(13, 43), pair(23, 33)
	deepest                   = []float64{0, 1, 1, 1, 1}
)

// A guidance is shallow from half a millimetre less down than that of the other side at the same
// way aside (3 mm aside about 6° of inclination), from where it lacks more than 0.1 mm on; our choice.
func TestRuleShallowGuidance(t *testing.T) {
	const short = "13/43: guidance in right lateral movement takes the jaw "
	const less = " less far down than 23/33 in left lateral movement at "
	for name, c := range map[string]struct {
		deep []float64
		who  []findings.Pair
		want string
	}{
		"alike":                          {[]float64{0, 1, 1, 1, 1}, nil, ""},
		"half a millimetre":              {[]float64{0, 1, 1, 0.5, 1}, nil, ""}, // and then as deep
		"half a millimetre to the end":   {[]float64{0, 1, 1, 0.75, 0.5}, nil, short + "0.5 mm" + less + "1.0 mm, from 0.8 mm on."},
		"hardly less":                    {[]float64{0, 1, 1, 0.75, 0.5001}, nil, ""},
		"deeper":                         {[]float64{0, 2, 2, 2, 2}, nil, ""},
		"most in the middle":             {[]float64{0, 1, 0.75, 0.25, 0.5}, nil, short + "0.8 mm" + less + "0.8 mm, from 0.5 mm on."},
		"of equals the first":            {[]float64{0, 1, 0.25, 0.25, 0.5}, nil, short + "0.8 mm" + less + "0.5 mm, from 0.5 mm on."},
		"from the first frame aside":     {[]float64{0, 0.25, 0.25, 0.25, 0.25}, nil, short + "0.8 mm" + less + "0.2 mm, from 0.2 mm on."},
		"the first frame too":            {[]float64{-1, 0.25, 0.25, 0.25, 0.25}, nil, short + "1.0 mm" + less + "0.0 mm, from 0.0 mm on."},
		"it goes farther than the other": {[]float64{0, 1, 1, 0.75, 0.5, -9}, nil, short + "0.5 mm" + less + "1.0 mm, from 0.8 mm on."},
		"no pair carries": {[]float64{0, 1, 1, 0.75, 0.5},
			[]findings.Pair{{}}, ""},
		"the upper tooth is not labelled": {[]float64{0, 1, 1, 0.75, 0.5},
			[]findings.Pair{{Lower: 43}}, ""},
		"the lower tooth is not labelled": {[]float64{0, 1, 1, 0.75, 0.5},
			[]findings.Pair{{Upper: 13}}, ""},
		"one carries that should not": {[]float64{0, 1, 1, 0.75, 0.5},
			[]findings.Pair{pair(26, 36)}, ""},
		"named is who carries longest": {[]float64{0, 0.75, 0.5, 0.5, 0.25},
			[]findings.Pair{rightCanines, pair(12, 42), rightCanines, rightCanines, pair(14, 44)},
			short + "0.5 mm" + less + "0.5 mm, from 0.2 mm on."},
		"of equals the first that does": {[]float64{0, 0.25, 0.25, 0.25, 0.25},
			[]findings.Pair{{}, rightCanines, rightCanines, pair(12, 42), pair(12, 42)},
			short + "0.8 mm" + less + "0.2 mm, from 0.2 mm on."},
	} {
		if c.who == nil {
			c.who = []findings.Pair{rightCanines}
		}
		f, ok := shallow(bare(), aside(t, findings.Right, c.deep, c.who...), aside(t, findings.Left, deepest, leftCanines))
		require.Equal(t, c.want != "", ok, name)
		require.Equal(t, c.want, f.Text.String(), name)
		if ok {
			require.InDelta(t, step4*float64(min(len(c.deep), len(deepest))-1), f.ToMM, 0, name)
			require.InDelta(t, f.AtMM, f.PointMM[0], 0, name)
		}
	}
	// What holds the jaw down on lingual cusps of the working side interferes, and does not lead.
	for x, want := range map[float64]string{0.001: "16/46", -0.001: "13/43"} {
		e := bare(upright(16), upright(46))
		m := aside(t, findings.Right, []float64{0, 0.5, 0.5, 0.5, 0.5}, rightCanines, pair(16, 46), pair(16, 46), pair(16, 46), rightCanines)
		for i := range m.x.Frames {
			m.x.Frames[i].Carrier.PointMM = findings.Vec{x}
		}
		f, ok := shallow(e, m, aside(t, findings.Left, deepest, leftCanines))
		require.True(t, ok)
		require.Equal(t, want, f.Upper.String()+"/"+f.Lower.String())
	}
	// It begins just above 0.1 mm.
	for lack, want := range map[float64]float64{0.1: 0.5, 0.1001: 0.25, 0.105: 0.25} {
		f, ok := shallow(bare(), aside(t, findings.Right, []float64{0, -lack, 0, 0, 0}, rightCanines),
			aside(t, findings.Left, []float64{0, 0, 1, 1, 1}, leftCanines))
		require.True(t, ok)
		require.InDelta(t, want, f.FromMM, 0, "%g", lack)
	}
	// The other side is told by its movement where none of its teeth leads there, and is followed up to
	// where it stands edge to edge.
	other := aside(t, findings.Left, deepest, pair(17, 47))
	own := func() *Movement { return aside(t, findings.Right, []float64{0, 1, 1, 0.75, 0.5}, rightCanines) }
	f, ok := shallow(bare(), own(), other)
	require.True(t, ok)
	require.Equal(t, short+"0.5 mm less far down than left lateral movement at 1.0 mm, from 0.8 mm on.", f.Text.String())
	other.End = 3
	_, ok = shallow(bare(), own(), other)
	require.False(t, ok)
	other.End = 4
	// Nothing is compared where the incisal point is not known or teeth do not guide.
	for _, spoil := range []func(m, n *Movement){
		func(m, _ *Movement) { m.x.Guidance = nil }, func(_, n *Movement) { n.x.Guidance = nil },
		func(m, _ *Movement) { m.x.Frames[4].IncisalPoint = nil },
	} {
		m, n := own(), aside(t, findings.Left, deepest, leftCanines)
		spoil(m, n)
		_, ok := shallow(bare(), m, n)
		require.False(t, ok)
	}
	e := bare()
	e.Casts.Incisal = nil
	_, ok = shallow(e, own(), other)
	require.False(t, ok)
}

// The depth of a movement at a way aside lies on a line between frames; frames in which the jaw goes
// no farther aside do not count.
func TestRuleDepthAtAWayAside(t *testing.T) {
	m := aside(t, findings.Right, []float64{0, 1, 2, 8, 4}, rightCanines)
	m.x.Frames[3].IncisalPoint[0] = 0.5 // as far as before
	d := m.descend(*bare().Casts.Incisal, 5)
	require.Equal(t, []int{0, 1, 2, 4}, d.frame)
	for way, want := range map[float64]float64{0: 0, 0.125: 0.5, 0.25: 1, 0.5: 2, 0.75: 3, 1: 4} {
		got, ok := d.at(way)
		require.True(t, ok, way)
		require.InDelta(t, want, got, 0, way)
	}
	_, ok := d.at(1.0001)
	require.False(t, ok)
	got, ok := descent{aside: []float64{0.25, 0.5}, deep: []float64{1, 2}}.at(0)
	require.True(t, ok)
	require.InDelta(t, 1, got, 0)
}

// Lateral movements are compared with the first to the other side; protrusion with none.
func TestRuleWhichMovementsAreCompared(t *testing.T) {
	shallowOne := []float64{0, 1, 1, 0.75, 0.5}
	for name, c := range map[string]struct {
		names []findings.Movement
		deep  [][]float64
		want  []bool
	}{
		"right and left": {[]findings.Movement{"right", "left"}, [][]float64{shallowOne, deepest},
			[]bool{true, false}},
		"left and right": {[]findings.Movement{"left", "right"}, [][]float64{deepest, shallowOne},
			[]bool{false, true}},
		"right alone": {[]findings.Movement{"right"}, [][]float64{shallowOne},
			[]bool{false}},
		"twice right": {[]findings.Movement{"right", "right"}, [][]float64{shallowOne, deepest},
			[]bool{false, false}},
		"right and protrusive": {[]findings.Movement{"right", "protrusive"}, [][]float64{shallowOne, deepest},
			[]bool{false, false}},
		"protrusive and right": {[]findings.Movement{"protrusive", "right"}, [][]float64{shallowOne, deepest},
			[]bool{false, false}},
		"right and twice left": {[]findings.Movement{"right", "left", "left"}, [][]float64{shallowOne, shallowOne, deepest},
			[]bool{false, false, false}},
		"the first is protrusive": {[]findings.Movement{"protrusive", "right", "left"}, [][]float64{deepest, shallowOne, deepest},
			[]bool{false, true, false}},
	} {
		var xs []*findings.Excursion
		for i, name := range c.names {
			who := map[findings.Movement]findings.Pair{"right": rightCanines, "left": leftCanines, "protrusive": pair(11, 41)}[name]
			xs = append(xs, aside(t, name, c.deep[i], who).x)
		}
		got, err := CompareSides(bare(), xs)
		require.NoError(t, err)
		for i := range got {
			require.Equal(t, c.want[i], got[i] != nil, "%s: movement %d", name, i)
		}
	}
}

// What a shallow guidance explains: pairs that meet in the same movement on posterior teeth, from
// half a millimetre before it falls short (our choice), up to the edge-to-edge position.
func TestRuleWhatAShallowGuidanceExplains(t *testing.T) {
	for name, c := range map[string]struct {
		f    findings.Finding
		want bool
	}{
		"a nonworking contact":         {findings.Finding{Kind: findings.KindNonworkingContact, FromMM: 2}, true},
		"a nonworking interference":    {findings.Finding{Kind: findings.KindNonworkingInterference, FromMM: 2}, true},
		"a working contact":            {findings.Finding{Kind: findings.KindWorkingContact, FromMM: 2}, true},
		"a working interference":       {findings.Finding{Kind: findings.KindWorkingInterference, FromMM: 2}, true},
		"a kink":                       {findings.Finding{Kind: findings.KindKink, FromMM: 2}, false},
		"half a millimetre before":     {findings.Finding{Kind: findings.KindNonworkingContact, FromMM: 0.5}, true},
		"more before":                  {findings.Finding{Kind: findings.KindNonworkingContact, FromMM: 0.4999}, false},
		"0.55 before":                  {findings.Finding{Kind: findings.KindNonworkingContact, FromMM: 0.46}, false},
		"beyond edge to edge":          {findings.Finding{Kind: findings.KindNonworkingContact, FromMM: 2, PastEdge: true}, false},
		"late disclusion, by its last": {findings.Finding{Kind: findings.KindLateDisclusion, AtMM: 2}, true},
		"late disclusion before":       {findings.Finding{Kind: findings.KindLateDisclusion, FromMM: 2, AtMM: 0.25}, false},
	} {
		for _, teeth := range []findings.Pair{pair(26, 36), pair(0, 36), pair(26, 0)} {
			c.f.Upper, c.f.Lower = teeth.Upper, teeth.Lower
			f := findings.Finding{FromMM: 1}
			explain(&findings.Excursion{Findings: []findings.Finding{c.f}}, &f)
			require.Equal(t, c.want && teeth == pair(26, 36), len(f.Explains) == 1, "%s %v", name, teeth)
		}
	}
}

// A shallow guidance stands in the list of its movement with what explains it and what it explains.
func TestRuleSidesAreToldInTheirMovement(t *testing.T) {
	right := aside(t, findings.Right, []float64{0, 1, 1, 0.75, 0.5}, rightCanines).x
	left := aside(t, findings.Left, deepest, leftCanines).x
	right.Findings = []findings.Finding{{Kind: findings.KindNonworkingInterference, Upper: 26, Lower: 36, FromMM: 2},
		{Kind: findings.KindGuidance}}
	xs := []findings.Excursion{*right, *left}
	e := bare(upright(13), upright(43))
	require.NoError(t, Sides(e, NewShape(e.Casts, nil), xs))
	require.Empty(t, xs[1].Findings)
	var kinds []findings.Kind
	for i := range xs[0].Findings {
		kinds = append(kinds, xs[0].Findings[i].Kind)
	}
	require.Equal(t, []findings.Kind{findings.KindShallow, findings.KindNonworkingInterference, findings.KindGuidance}, kinds)
	f := &xs[0].Findings[0]
	require.Equal(t, []findings.Pair{pair(26, 36)}, f.Explains)
	require.Equal(t, []findings.Cause{}, f.Causes)
	require.Equal(t, dentition.ToothID(13), f.Upper.Tooth())
}
