package main

import (
	"bytes"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// An interference is found by kind, both teeth and movement; the nearest to the top of the list
// counts.
func TestInterferencesAreFoundByKindTeethAndMovement(t *testing.T) {
	f := fault{kind: nonworking, movement: kinematics.Right, upper: 26, lower: 36, travel: 1.2, size: 100}
	right := found{kind: findings.KindNonworkingInterference, movement: "right", upper: 26, lower: 36, travel: 1.3, size: 110, rank: 3}
	change := func(by func(g *found)) found {
		g := right
		by(&g)
		return g
	}
	for name, c := range map[string]struct {
		list []found
		rank int // 0 for not found
	}{
		"as built":               {[]found{right}, 3},
		"twice":                  {[]found{right, change(func(g *found) { g.rank = 2 })}, 2},
		"another kind":           {[]found{change(func(g *found) { g.kind = findings.KindNonworkingContact })}, 0},
		"another movement":       {[]found{change(func(g *found) { g.movement = "left" })}, 0},
		"another lower tooth":    {[]found{change(func(g *found) { g.lower = 37 })}, 0},
		"another upper tooth":    {[]found{change(func(g *found) { g.upper = 27 })}, 0},
		"nothing":                {nil, 0},
		"the right one with one": {[]found{change(func(g *found) { g.lower = 37 }), right}, 3},
	} {
		v := judge(&f, &findings.Findings{}, c.list)
		require.Equal(t, c.rank > 0, v.hit, name)
		require.Equal(t, c.rank, v.rank, name)
		if v.hit {
			require.InDelta(t, 0.1, v.travelOff, 1e-9, name)
			require.InDelta(t, 1.1, v.sizeShare, 1e-9, name)
		}
	}
}

// A facet is found on its tooth where the movement that it was ground for is named.
func TestFacetsAreFoundWithTheirMovement(t *testing.T) {
	f := fault{kind: facet, movement: kinematics.Left, lower: 36, size: 2}
	doc := func(tooth findings.Part, by ...findings.Movement) *findings.Findings {
		return &findings.Findings{Facets: []findings.WearFacet{{Tooth: tooth, AreaMM2: 1.8, GroundBy: by}}}
	}
	require.True(t, judge(&f, doc(36, "protrusive", "left"), nil).hit)
	require.InDelta(t, 0.9, judge(&f, doc(36, "left"), nil).sizeShare, 1e-9)
	for name, d := range map[string]*findings.Findings{"another tooth": doc(37, "left"), "another movement": doc(36, "right"),
		"none": doc(36)} {
		v := judge(&f, d, nil)
		require.False(t, v.hit, name)
		require.True(t, math.IsNaN(v.sizeShare), name)
	}
}

// What names no built tooth counts, but not beyond edge to edge nor what a finding on a built
// tooth explains.
func TestStrayFindings(t *testing.T) {
	faults := []fault{{kind: wornCanine, upper: 13, lower: 43}}
	pair := findings.Pair{Upper: 27, Lower: 37}
	list := []found{
		{movement: "right", upper: 13, lower: 43, explains: []findings.Pair{pair}}, {movement: "right", upper: 27, lower: 37},
		{movement: "left", upper: 27, lower: 37}, {movement: "left", upper: 17, lower: 47, beyond: true},
		{movement: "right", teeth: []findings.Part{43}},
	}
	near, caused, beyond, names := strays(list, faults)
	require.Equal(t, []int{1, 1, 1, 1}, []int{near, caused, beyond, len(names)})
	near, _, _, _ = strays(list, []fault{{kind: roll}})
	require.Zero(t, near, "a rolled cast makes them")
}

// The table counts what is within a tenth, and says where it is of a part of the cases only.
func TestTable(t *testing.T) {
	hit := verdict{fault: fault{kind: protrusive}, hit: true, rank: 2, travelOff: 0.1, sizeShare: 1.1}
	off := verdict{fault: fault{kind: protrusive}, hit: true, rank: 3, travelOff: 0.2, sizeShare: 1.11}
	missed := verdict{fault: fault{kind: protrusive}, travelOff: math.NaN(), sizeShare: math.NaN()}
	var out bytes.Buffer
	require.NoError(t, table(&out, options{cases: 2}, []outcome{{}}, []outcome{{verdicts: []verdict{hit, off, missed}, near: 1}}))
	require.Contains(t, out.String(), "1 of 2 cases\n")
	require.Regexp(t, `(?m)^protrusive interference +2/3 +1/2 +1/2 +1/2$`, out.String())
	require.Contains(t, out.String(), "up to edge to edge: 1.00 a case with faults, 0.00 a faultless dentition")
}

// Of two flat pieces the larger one counts.
func TestFlatAreaIsThatOfOnePiece(t *testing.T) {
	m := testmesh.Sheet(10, 10, func(u, v float64) r3.Vec { return r3.Vec{X: 10 * u, Y: 10 * v} })
	within := func(from, to float64) func(mesh.TriID) bool {
		return func(tri mesh.TriID) bool {
			a, b, c := m.Corners(tri)
			return min(a.X, b.X, c.X) > from-1e-9 && max(a.X, b.X, c.X) < to+1e-9
		}
	}
	left, right := within(0, 3), within(5, 9)
	require.InDelta(t, 30, flatArea(m, left), 1e-9)
	require.InDelta(t, 40, flatArea(m, func(tri mesh.TriID) bool { return left(tri) || right(tri) }), 1e-9)
	require.Zero(t, flatArea(m, func(mesh.TriID) bool { return false }))
}
