package typodont

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// movedTooth is a case in which a tooth of a finished scan is moved by hand: its
// triangles are taken rigidly along its own axes, as the disturbance says.
func movedTooth(t testing.TB, c *Case, d Disturbance) *Case {
	t.Helper()
	var tooth ToothTruth
	for _, tt := range c.Truth.Teeth {
		if tt.Tooth == d.Tooth {
			tooth = tt
		}
	}
	require.Equal(t, d.Tooth, tooth.Tooth)
	org, mesial, buccal, occlusal := tooth.Origin.Vec(), tooth.Mesial.Vec(), tooth.Buccal.Vec(), tooth.Occlusal.Vec()
	turn := func(at, from, to r3.Vec) func(r3.Vec) r3.Vec { // from one direction towards the other
		turned := kinematics.Rotation(r3.Cross(from, to), s1.Angle(d.Degrees)*s1.Degree)
		return func(p r3.Vec) r3.Vec { return r3.Add(at, turned.Apply(r3.Sub(p, at))) }
	}
	var move func(r3.Vec) r3.Vec
	switch d.Kind {
	case Drift:
		move = func(p r3.Vec) r3.Vec { return addScaled(p, d.MM, mesial) }
	case Tip:
		move = turn(addScaled(org, -tooth.LengthMM, occlusal), occlusal, mesial)
	case Rotate:
		move = turn(org, mesial, buccal)
	}
	out := *c
	a := &out.Upper
	if d.Tooth > 30 {
		a = &out.Lower
	}
	verts := append([]r3.Vec(nil), a.Mesh.Vertices()...)
	own := make([]bool, len(verts))
	for v := range verts {
		if own[v] = int(a.Labels.Vertex(mesh.VertexID(v))) == d.Tooth; own[v] {
			verts[v] = move(verts[v])
		}
	}
	var tris [][3]mesh.VertexID // but those that tie it to its surroundings
	for _, tri := range a.Mesh.All() {
		if own[tri[0]] == own[tri[1]] && own[tri[1]] == own[tri[2]] {
			tris = append(tris, tri)
		}
	}
	var err error
	a.Mesh, err = mesh.New(verts, tris)
	require.NoError(t, err)
	return &out
}

// A drifted, tipped or turned tooth meets first in intercuspation and holds the jaw open by
// as much as the undisturbed scan's own tooth does when it is moved so far by
// hand; twice the size opens farther. The two meshes differ in where the
// lattice falls on the moved tooth: smooth lower cusps by the square of its spacing
// (0.56 mm), the edges of the carved upper surfaces by more.
func TestDisplacedToothOpens(t *testing.T) {
	if testing.Short() {
		t.Skip("takes 20 s")
	}
	const n = 50000
	plain := disturbed(t, Params{Triangles: n})
	for _, d := range []Disturbance{
		{Kind: Drift, Tooth: 46, MM: 1}, {Kind: Tip, Tooth: 37, Degrees: 10}, {Kind: Tip, Tooth: 26, Degrees: -6},
		{Kind: Rotate, Tooth: 26, Degrees: -15},
	} {
		c := ready(t, generate(t, Params{Triangles: n, Disturbances: []Disturbance{d}}))
		got, upper, lower, touch := c.close(t, "protrusive", 0)
		want, byUpper, byLower, _ := ready(t, movedTooth(t, plain, d)).close(t, "protrusive", 0)
		lever := math.Hypot(touch.Point.Y, touch.Point.Z)
		t.Logf("%+v: opens %.4f°, by hand %.4f°: %.1f µm apart at the spot", d, got, want, (got-want)*math.Pi/180*lever*1000)
		assert.Greaterf(t, want, 0.1, "%+v", d)
		off := 0.035
		if d.Tooth < 30 {
			off = 0.06
		}
		assert.InDeltaf(t, want*math.Pi/180*lever, got*math.Pi/180*lever, off, "%+v, mm", d)
		assert.Equal(t, [2]int{byUpper, byLower}, [2]int{upper, lower})
		assert.Contains(t, []int{upper, lower}, d.Tooth)
		smaller := d
		smaller.MM, smaller.Degrees = d.MM/2, d.Degrees/2
		half, _, _, _ := ready(t, movedTooth(t, plain, smaller)).close(t, "protrusive", 0)
		assert.Less(t, half, got)
		require.Len(t, c.Truth.Expected, 1)
		assert.Equal(t, d.Tooth, c.Truth.Expected[0].Tooth)
		for _, s := range c.Truth.Stops {
			assert.NotEqual(t, d.Tooth, s.Upper)
			assert.NotEqual(t, d.Tooth, s.Lower)
		}
	}
}

// The truth says where a displaced tooth stands: moved along or turned about its
// own axes by the size, its neck held where it is tipped.
func TestDisplacedToothTruth(t *testing.T) {
	of := func(c *Case, code int) ToothTruth {
		for _, tt := range c.Truth.Teeth {
			if tt.Tooth == code {
				return tt
			}
		}
		require.Failf(t, "no tooth", "%d", code)
		return ToothTruth{}
	}
	degrees := func(a, b Point) float64 { return math.Acos(min(1, r3.Dot(a.Vec(), b.Vec()))) * 180 / math.Pi }
	plain := disturbed(t, Params{Triangles: 20000})
	c := generate(t, Params{Triangles: 20000, Disturbances: []Disturbance{
		{Kind: Drift, Tooth: 46, MM: -0.8}, {Kind: Tip, Tooth: 25, Degrees: 7}, {Kind: Rotate, Tooth: 13, Degrees: 20},
	}})
	was, is := of(plain, 46), of(c, 46)
	assert.InDelta(t, 0, r3.Norm(r3.Sub(is.Origin.Vec(), addScaled(was.Origin.Vec(), -0.8, was.Mesial.Vec()))), 1e-9)
	was, is = of(plain, 25), of(c, 25)
	assert.InDelta(t, 7, degrees(was.Occlusal, is.Occlusal), 1e-6)
	assert.InDelta(t, 0, degrees(was.Buccal, is.Buccal), 1e-5)
	assert.Positive(t, r3.Dot(is.Occlusal.Vec(), was.Mesial.Vec()), "to mesial")
	neck := func(tt ToothTruth) r3.Vec { return addScaled(tt.Origin.Vec(), -tt.LengthMM, tt.Occlusal.Vec()) }
	assert.InDelta(t, 0, r3.Norm(r3.Sub(neck(is), neck(was))), 1e-9)
	was, is = of(plain, 13), of(c, 13)
	assert.InDelta(t, 20, degrees(was.Mesial, is.Mesial), 1e-6)
	assert.InDelta(t, 0, degrees(was.Occlusal, is.Occlusal), 1e-5)
	assert.Positive(t, r3.Dot(is.Mesial.Vec(), was.Buccal.Vec()), "the mesial side to buccal")
	for _, tt := range c.Truth.Teeth {
		moved := tt.Tooth == 46 || tt.Tooth == 25 || tt.Tooth == 13
		assert.Equal(t, moved, tt.Displaced)
		if !moved {
			assert.Equal(t, of(plain, tt.Tooth).Origin, tt.Origin)
		}
	}
}
