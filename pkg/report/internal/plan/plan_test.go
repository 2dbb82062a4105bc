package plan

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// The patient's right is on the left of the chart, and the incisors of both arches are
// farthest from the other arch.
func TestSeenAsOneLooksIntoTheMouth(t *testing.T) {
	rightFront := r3.Vec{X: -10, Y: -80, Z: -40}
	require.Equal(t, place{-10, -80}, seen(dentition.Upper, rightFront))
	require.Equal(t, place{-10, 80}, seen(dentition.Lower, rightFront))
}

// The outline of a filled ellipse is the ellipse.
func TestRimOfAnEllipse(t *testing.T) {
	var list []place
	for i := range 200 {
		for k := range 21 {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 200)
			s := float64(k) / 20
			list = append(list, place{3 + 5*s*cos, -7 + 4*s*sin})
		}
	}
	o, ok := rimOf(list)
	require.True(t, ok)
	require.Len(t, o.rim, sectors)
	require.InDelta(t, 3, o.centre.x, 1e-9)
	require.InDelta(t, -7, o.centre.y, 1e-9)
	for _, p := range o.rim {
		x, y := (p.x-3)/5, (p.y+7)/4
		require.InDelta(t, 1, math.Hypot(x, y), 0.03)
	}
	// One vertex far off does not move it.
	o2, ok := rimOf(append(list, place{3 + 5.4, -7}))
	require.True(t, ok)
	require.Less(t, o2.rim[0].far(o2.centre), 5.4)
	_, ok = rimOf([]place{{1, 1}})
	require.False(t, ok)
	_, ok = rimOf([]place{{1, 1}, {2, 2}})
	require.False(t, ok)
}

// A tooth is missing where one behind it is there; a deciduous tooth stands for its
// successor.
func TestMissing(t *testing.T) {
	require.Empty(t, Missing(nil))
	require.Empty(t, Missing([]dentition.ToothID{11, 12, 13}))
	require.Equal(t, []dentition.ToothID{11, 12, 14, 15}, Missing([]dentition.ToothID{13, 16}))
	require.Equal(t, []dentition.ToothID{36}, Missing([]dentition.ToothID{31, 32, 33, 34, 35, 37}))
	require.NotContains(t, Missing([]dentition.ToothID{55, 16}), dentition.ToothID(15))
}

func TestUses(t *testing.T) {
	require.Equal(t, Working, UseOf(findings.Right, 16))
	require.Equal(t, Nonworking, UseOf(findings.Right, 36))
	require.Equal(t, Working, UseOf(findings.Left, 36))
	require.Equal(t, Forward, UseOf(findings.Protrusive, 11))
}

// A contact that moves on draws one line; one that appears elsewhere another.
func TestTracks(t *testing.T) {
	at := func(x float64) findings.Contact {
		return findings.Contact{Upper: 16, Lower: 46, FoilUm: 8, CentreMM: findings.Vec{x, 0, 0}}
	}
	frame := func(c ...findings.Contact) findings.Frame { return findings.Frame{Contacts: c} }
	x := &findings.Excursion{Frames: []findings.Frame{frame(at(0), at(9)), frame(at(9.5), at(0.5)), frame(at(1)), frame(at(4))}}
	back := func(_ *findings.Frame, p r3.Vec) r3.Vec { return r3.Scale(2, p) }
	var ways [][]place
	for _, s := range tracks(x, 8, back) {
		ways = append(ways, s.upper)
		require.Equal(t, 2*s.upper[0].x, s.lower[0].x)
	}
	require.Equal(t, [][]place{{{0, 0}, {0.5, 0}, {1, 0}}, {{9, 0}, {9.5, 0}}, {{4, 0}}}, ways)
	require.Empty(t, tracks(x, 40, back))
}

// What a finding weighs follows its kind; one below the scan uncertainty or
// beyond edge-to-edge weighs less.
func TestWeights(t *testing.T) {
	require.Equal(t, Heavy, WeightOf(&findings.Finding{Kind: findings.KindPremature}))
	require.Equal(t, Light, WeightOf(&findings.Finding{Kind: findings.KindPremature, Doubtful: true}))
	require.Equal(t, Light, WeightOf(&findings.Finding{Kind: findings.KindPremature, PastEdge: true}))
	require.Equal(t, Light, WeightOf(&findings.Finding{Kind: findings.KindLateDisclusion}))
	require.Equal(t, Note, WeightOf(&findings.Finding{Kind: findings.KindGuidance}))
}

// Signs of findings at one spot stand apart, off the spot and inside the drawing.
func TestSignsStandApart(t *testing.T) {
	c := &chart{size: place{300, 300}, taken: []place{{150, 132}}}
	spot := place{150, 150}
	// On a crown of 6 by 6 mm, the spot in its middle.
	c.arches[0] = arch{teeth: []outlined{{rim: []place{{22, 22}, {28, 22}, {28, 28}, {22, 28}}}}}
	for range 12 {
		at := c.free(spot)
		require.Greater(t, max(math.Abs(at.x-spot.x), math.Abs(at.y-spot.y)), 18.0, "off the crown")
		require.Greater(t, min(at.x, at.y, 300-at.x, 300-at.y), 0.0)
	}
	for i, p := range c.taken {
		for _, q := range c.taken[:i] {
			require.GreaterOrEqual(t, p.far(q), signRoom)
		}
	}
}

// On an arch whose teeth stand on a parabola the way out of a tooth is across the parabola
// there, also at the ends and beside a gap.
func TestOutwardIsAcrossTheRow(t *testing.T) {
	a := arch{jaw: dentition.Upper}
	for _, code := range []dentition.ToothID{17, 16, 15, 13, 12, 11, 21, 22, 23, 24, 25, 26, 27} {
		x := 4.5 * (float64(code.Position()) - 0.5) // y = x²/25 - 40, incisors up
		if code.Quadrant() == 1 {
			x = -x
		}
		a.teeth = append(a.teeth, outlined{tooth: code, centre: place{x, x*x/25 - 40}})
	}
	for i := range a.teeth {
		u := &a.teeth[i]
		way, ok := a.outward(u)
		require.True(t, ok)
		x := u.centre.x
		long := math.Hypot(2*x/25, 1)
		cos := way.x*(2*x/25)/long + way.y*(-1)/long
		require.Greater(t, cos, math.Cos(12*math.Pi/180), u.tooth)
	}
	alone := arch{teeth: a.teeth[:1]}
	_, ok := alone.outward(&alone.teeth[0])
	require.False(t, ok)
}
