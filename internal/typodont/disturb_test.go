package typodont

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// A raised cusp opens the closing by the angle that its lever gives.
func TestRaisedCuspOpens(t *testing.T) {
	for _, d := range []Disturbance{
		{Kind: Raise, Tooth: 26, Cusp: "mesiopalatal", Um: 150},
		{Kind: Raise, Tooth: 46, Cusp: "distobuccal", Um: 150},
		{Kind: Raise, Tooth: 35, Um: 150},
		{Kind: Raise, Tooth: 17, Um: 100},
	} {
		c := ready(t, disturbed(t, Params{Triangles: 100000, Disturbances: []Disturbance{d}}))
		require.Len(t, c.Truth.Expected, 1)
		e := c.Truth.Expected[0]
		open, upper, lower, _ := c.close(t, "protrusive", 0)
		assert.InEpsilonf(t, e.OpeningDeg, open, 0.01, "%+v", d)
		assert.Equal(t, e.Upper, upper)
		assert.Equal(t, e.Lower, lower)
	}
}

// An obstacle of the nonworking side carries the frame at which it is strongest;
// without it the closing would go on by its height there.
func TestInterference(t *testing.T) {
	d := Disturbance{Kind: Interference, Tooth: 37, Movement: "right", Um: 200, MM: 2}
	plain, c := ready(t, undisturbed(t)), ready(t, disturbed(t, Params{Triangles: 50000, Disturbances: []Disturbance{d}}))
	rest, _, _, _ := c.close(t, "right", 0)
	assert.Less(t, rest, 0.0, "nothing new in intercuspation")
	e := c.Truth.Expected[0]
	assert.InDelta(t, d.MM, e.TravelMM, 0.5+1e-9)
	without, _, _, _ := plain.close(t, "right", e.TravelMM)
	with, upper, lower, touch := c.close(t, "right", e.TravelMM)
	assert.Equal(t, e.Lower, lower)
	assert.Equal(t, e.Upper, upper)
	assert.InDelta(t, e.OpeningDeg, with, 1e-4)
	q := touch.Pose.Inverse().Apply(touch.Point)
	assert.InDelta(t, d.Um, (with-without)*math.Pi/180*math.Hypot(q.Y, q.Z)*1000, 2)
	assert.Less(t, r3.Norm(r3.Sub(e.Point.Vec(), touch.Point)), 0.05)

	// Where else it carries the truth says, and it does not on the working side.
	require.Len(t, c.Truth.Expected, 2)
	assert.Equal(t, "protrusive_interference", c.Truth.Expected[1].Kind)
	for _, e := range c.Truth.Expected {
		for travel := 0.1; travel < 4.05; travel += 0.1 {
			_, _, lower, _ := c.close(t, e.Movement, travel)
			if travel < e.FromMM-0.05 || travel > e.ToMM+0.05 {
				assert.NotEqualf(t, 37, lower, "%s at %.1f", e.Movement, travel)
			} else if travel < e.FromMM+0.05 || travel > e.ToMM-0.05 {
				assert.Equalf(t, 37, lower, "%s at %.1f", e.Movement, travel)
			}
			if _, _, lower, _ = c.close(t, "left", travel); travel < 4 {
				assert.NotEqual(t, 37, lower)
			}
		}
	}
}

// A worn canine still guides at first and then less deep than it did, from and to where the
// truth says; what else carries then is in the truth.
func TestFlatCanineGivesUpGuidance(t *testing.T) {
	plain := ready(t, undisturbed(t))
	for _, d := range []Disturbance{{Kind: FlatCanine, Tooth: 13}, {Kind: FlatCanine, Tooth: 23, MM: 2}} {
		c := ready(t, disturbed(t, Params{Triangles: 50000, Disturbances: []Disturbance{d}}))
		e := c.Truth.Expected[0]
		assert.Equal(t, "shallow_guidance", e.Kind)
		_, upper, _, _ := c.close(t, e.Movement, 0.2)
		assert.Equal(t, d.Tooth, upper)
		less := func(travel float64) float64 {
			was, _, _, _ := plain.close(t, e.Movement, travel)
			is, _, _, _ := c.close(t, e.Movement, travel)
			return was - is
		}
		assert.Less(t, less(e.FromMM-0.1), shallowDeg)
		assert.GreaterOrEqual(t, less(e.FromMM), shallowDeg)
		assert.GreaterOrEqual(t, less(e.ToMM), shallowDeg)
		assert.Greater(t, less(e.TravelMM), 0.3)
		_, upper, _, _ = c.close(t, e.Movement, e.TravelMM)
		assert.Equal(t, d.Tooth, upper, "where it guides worst it still does")
		carried := map[string]int{}
		for travel := 0.1; travel < 4.05; travel += 0.1 {
			_, upper, lower, _ := c.close(t, e.Movement, travel)
			switch {
			case upper%10 <= 3 || upper == 0:
			case upper/10 != d.Tooth/10:
				carried["nonworking_interference"]++
			case lower%10 > 3:
				carried["group_function"]++
			}
		}
		told := map[string]int{}
		for _, e := range c.Truth.Expected[1:] {
			told[e.Kind] = int(math.Round((e.ToMM-e.FromMM)/0.1)) + 1
		}
		assert.Equal(t, carried, told, "what the closings show and nothing else")
	}
}

// The other central incisor leads alone where the truth says; a long one holds the casts
// open as well.
func TestShortIncisorLeavesGuidanceToTheOther(t *testing.T) {
	for _, um := range []float64{-150, 150} {
		c := ready(t, disturbed(t, Params{Triangles: 50000, Disturbances: []Disturbance{{Kind: Incisor, Tooth: 31, Um: um}}}))
		e := c.Truth.Expected[0]
		for travel := 0.3; travel < 1.55; travel += 0.1 {
			_, upper, lower, _ := c.close(t, "protrusive", travel)
			assert.Equal(t, e.Lower, lower)
			assert.Equal(t, e.Upper, upper)
		}
		open, _, _, _ := c.close(t, "protrusive", 0)
		if um < 0 {
			assert.Equal(t, 41, e.Lower)
			assert.Len(t, c.Truth.Expected, 1)
			assert.Less(t, open, 0.0)
			continue
		}
		assert.Equal(t, 31, e.Lower)
		require.Len(t, c.Truth.Expected, 2)
		assert.Equal(t, "premature_contact", c.Truth.Expected[1].Kind)
		assert.InDelta(t, open, c.Truth.Expected[1].OpeningDeg, 1e-4) // files round to float32
	}
}

// What cannot be built is refused before anything is written: the case names what the
// closings show.
func TestFalseTruthIsRefused(t *testing.T) {
	for says, d := range map[string]Disturbance{
		"would not make protrusion uneven": {Kind: Incisor, Tooth: 32, Um: 150},
		"would not make":                   {Kind: Incisor, Tooth: 42, Um: -150},
		"no place on 46":                   {Kind: Interference, Tooth: 46, Movement: "left"},
	} {
		_, err := Generate(t.Context(), Params{Triangles: 20000, Disturbances: []Disturbance{d}})
		require.ErrorIs(t, err, ErrParams, "%+v", d)
		assert.ErrorContains(t, err, says)
	}
}

// An interference is never built so that it holds the casts open in intercuspation: over
// teeth, travels, sizes and settings it is clear there, or refused.
func TestInterferenceIsClearInIntercuspation(t *testing.T) {
	if testing.Short() {
		t.Skip("takes half a minute")
	}
	built := 0
	for _, p := range []Params{
		{Disturbances: []Disturbance{{Kind: Interference, Tooth: 46, Movement: "left", MM: 1, Um: 100}}},
		{Disturbances: []Disturbance{{Kind: Interference, Tooth: 46, Movement: "left", MM: 0.6, Um: 60}}},
		{CondylarInclination: 25 * s1.Degree, Disturbances: []Disturbance{{Kind: Interference, Tooth: 46, Movement: "left", MM: 1.5, Um: 150}}},
		{CanineGuidance: 38 * s1.Degree, Disturbances: []Disturbance{{Kind: Interference, Tooth: 36, Movement: "right", MM: 1.5, Um: 150}}},
		{Disturbances: []Disturbance{{Kind: Interference, Tooth: 37, Movement: "right", MM: 1.5, Um: 100}}},
		{SideShiftAngle: 20 * s1.Degree, Disturbances: []Disturbance{{Kind: Interference, Tooth: 47, Movement: "left", MM: 1.5, Um: 300}}},
	} {
		p.Triangles = 20000
		c, err := Generate(t.Context(), p)
		if err != nil {
			require.ErrorIs(t, err, ErrParams)
			t.Log(err)
			continue
		}
		built++
		open, _, lower, _ := ready(t, c).close(t, "protrusive", 0)
		assert.Less(t, open*math.Pi/180*70, 0.003)
		assert.NotEqual(t, p.Disturbances[0].Tooth, lower)
	}
	t.Log(built, "built") // one that is: TestInterference
}

// A healed ridge is smooth: hardly a bend between neighbouring triangles, about as
// high as the cervical line, without a hole, and seen from above in one layer.
func TestHealedRidge(t *testing.T) {
	c := generate(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Missing, Tooth: 46}, {Kind: Missing, Tooth: 13}}})
	plain := undisturbed(t)
	for _, code := range []int{46, 13} {
		a := c.Upper
		if code > 30 {
			a = c.Lower
		}
		top := mesh.BuildTopology(a.Mesh)
		assert.Len(t, top.Components(), 1)
		assert.Len(t, top.Loops(), 1)
		var was ToothTruth
		for _, tt := range plain.Truth.Teeth {
			if tt.Tooth == code {
				was = tt
			}
		}
		require.Equal(t, code, was.Tooth)
		local := func(p r3.Vec) r3.Vec {
			d := r3.Sub(p, was.Origin.Vec())
			return r3.Vec{X: r3.Dot(d, was.Mesial.Vec()), Y: r3.Dot(d, was.Buccal.Vec()), Z: r3.Dot(d, was.Occlusal.Vec())}
		}
		up, down := 0.0, 0.0 // area in the plan over the middle of the gap
		highest, sharpest := math.Inf(-1), 1.0
		normal := map[[2]mesh.VertexID]r3.Vec{}
		for tri := range a.Mesh.NumTriangles() {
			p, q, s := a.Mesh.Corners(mesh.TriID(tri))
			m := local(r3.Scale(1.0/3, r3.Add(p, r3.Add(q, s))))
			if math.Abs(m.X) > 0.25*was.WidthMM || math.Abs(m.Y) > 0.6*was.DepthMM || m.Z < -was.LengthMM-3 {
				continue
			}
			highest = max(highest, m.Z)
			w := a.Mesh.AreaVector(mesh.TriID(tri))
			if z := r3.Dot(w, was.Occlusal.Vec()); z > 0 {
				up += z
			} else {
				down -= z
			}
			ids := a.Mesh.Triangle(mesh.TriID(tri))
			for k := range 3 {
				i, j := ids[k], ids[(k+1)%3]
				if n, ok := normal[[2]mesh.VertexID{j, i}]; ok {
					sharpest = min(sharpest, r3.Dot(n, r3.Unit(w)))
				}
				normal[[2]mesh.VertexID{i, j}] = r3.Unit(w)
			}
		}
		assert.Lessf(t, highest, 1-was.LengthMM, "%d: about the cervical line", code)
		assert.Greaterf(t, highest, -was.LengthMM-2, "%d", code)
		assert.Greater(t, up, 0.25*was.WidthMM*was.DepthMM)
		assert.Less(t, down, 0.02*up)
		assert.Greaterf(t, sharpest, math.Cos(25*math.Pi/180), "%d", code)
	}
}

func TestMissingToothAndOpenBite(t *testing.T) {
	c := generate(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Missing, Tooth: 46}, {Kind: OpenAnterior}}})
	assert.NotContains(t, c.Lower.Labels.Teeth(), dentition.ToothID(46))
	assert.Len(t, mesh.BuildTopology(c.Lower.Mesh).Components(), 1)
	r := ready(t, c)
	up, err := contact.AppendUpperClearances(nil, r.upper, r.lower, kinematics.Pose{}, &contact.ClearanceScratch{})
	require.NoError(t, err)
	for i, part := range r.upper.Parts {
		if part%10 <= 2 {
			assert.Greaterf(t, up[i].Dist, 1.0, "%d", part)
		}
	}
	for _, s := range c.Truth.Stops {
		assert.NotEqual(t, 46, s.Lower)
	}
}

// A facet is flat, of the stated area, and lies along the movement.
func TestFacet(t *testing.T) {
	c := disturbed(t, Params{Triangles: 100000, Disturbances: []Disturbance{{Kind: Facet, Tooth: 46, Cusp: "distobuccal", Movement: "right"}}})
	require.Len(t, c.Truth.Facets, 2)
	for _, f := range c.Truth.Facets {
		assert.InDelta(t, 0, r3.Dot(f.Normal.Vec(), f.Way.Vec()), 1e-12)
		assert.Greater(t, f.AreaMM2, 0.2)
		a := c.Upper
		if f.Tooth > 30 {
			a = c.Lower
		}
		area := 0.0
		for tri := range a.Mesh.NumTriangles() {
			p, q, s := a.Mesh.Corners(mesh.TriID(tri))
			on := true
			for _, v := range []r3.Vec{p, q, s} {
				on = on && math.Abs(r3.Dot(r3.Sub(v, f.Point.Vec()), f.Normal.Vec())) < 2e-5 && r3.Norm(r3.Sub(v, f.Point.Vec())) < 2.6
			}
			if on {
				area += r3.Norm(a.Mesh.AreaVector(mesh.TriID(tri)))
			}
		}
		assert.InEpsilon(t, f.AreaMM2, area, 0.02)
	}
}
