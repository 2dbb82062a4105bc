package staircase_test

import (
	"math"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/staircase"
)

// plate is a level square of 2 mm around a point, its normal up or down.
func plate(at r3.Vec, up bool) *mesh.Mesh {
	m := testmesh.Sheet(1, 1, func(u, v float64) r3.Vec { return r3.Add(at, r3.Vec{X: 2*u - 1, Y: 2*v - 1}) })
	if !up {
		return testmesh.Turned(m)
	}
	return m
}

// plates are casts of one level plate a tooth, the upper ones in one plane, the lower ones so much
// below it (µm); what is no tooth lies highest.
func plates(t *testing.T, below map[dentition.ToothID]float64) *casts {
	t.Helper()
	var verts [2][]r3.Vec
	var tris [2][][3]mesh.VertexID
	var teeth [2][]dentition.ToothID
	add := func(jaw int, m *mesh.Mesh, tooth dentition.ToothID) {
		from := mesh.VertexID(len(verts[jaw]))
		verts[jaw] = append(verts[jaw], m.Vertices()...)
		for _, c := range m.Triangles() {
			tris[jaw] = append(tris[jaw], [3]mesh.VertexID{c[0] + from, c[1] + from, c[2] + from})
			teeth[jaw] = append(teeth[jaw], tooth)
		}
	}
	x := -20.0
	for tooth := range dentition.All {
		um, ok := below[tooth]
		if !ok {
			continue
		}
		x += 4
		at := r3.Vec{X: x, Y: -50, Z: -30}
		upper := dentition.ToothID(int(tooth) - 10)
		if int(tooth) > 40 {
			upper = dentition.ToothID(int(tooth) - 30)
		}
		add(0, plate(at, false), upper)
		add(1, plate(r3.Sub(at, r3.Vec{Z: um / 1000}), true), tooth)
	}
	at := r3.Vec{X: x + 4, Y: -50, Z: -30}
	add(0, plate(at, false), dentition.NoTooth)
	add(1, plate(r3.Add(at, r3.Vec{Z: 0.2}), true), dentition.NoTooth)
	upper, err := mesh.New(verts[0], tris[0])
	require.NoError(t, err)
	lower, err := mesh.New(verts[1], tris[1])
	require.NoError(t, err)
	return castsWith(t, upper, lower, teeth[0], teeth[1])
}

// Plates at known distances meet in their order, each as much later as it lies lower, along the arc; what is no
// tooth is passed by. Steps end after the most and where the first spot would travel more than the limit, just so.
func TestStepsOfPlates(t *testing.T) {
	c := plates(t, map[dentition.ToothID]float64{36: 0, 46: 100, 34: 300, 44: 700})
	steps := c.climb(true, staircase.Limits{Most: 28, Deep: 1})
	var lower []dentition.ToothID
	for _, s := range steps {
		lower = append(lower, s.Lower)
		assert.InDelta(t, 0.01, 1-s.Normal.Z, 0.01, "level plates")
	}
	require.Equal(t, []dentition.ToothID{36, 46, 34, 44}, lower)
	// The front edge of the upper plates, 51 mm in front of the axis and 30 mm below it, meets the plane of a lower plate that
	// lies h lower where 51·sin θ + 30·cos θ = 30 + h.
	for i, um := range []float64{0, 100, 300, 700} {
		turn := math.Atan2(51, 30) - math.Acos((30+um/1000)/math.Hypot(30, 51))
		assert.InDelta(t, -turn, steps[i].Touch.Opening.Radians(), 1e-9, "%v", steps[i].Lower)
	}
	for i := range steps[:3] {
		want := staircase.Way(kinematics.Pose{}, &steps[i].Touch, steps[i+1].Touch.Opening)
		assert.InDelta(t, want, steps[i].Height, 1e-12)
		assert.Positive(t, want)
	}
	assert.True(t, math.IsNaN(steps[3].Height), "the last")
	for most := range 5 {
		assert.Len(t, c.climb(true, staircase.Limits{Most: most, Deep: 1}), most)
	}
	way := staircase.Way(kinematics.Pose{}, &steps[0].Touch, steps[2].Touch.Opening)
	assert.Len(t, c.climb(true, staircase.Limits{Most: 28, Deep: way}), 3)
	short := c.climb(true, staircase.Limits{Most: 28, Deep: math.Nextafter(way, 0)})
	require.Len(t, short, 2)
	assert.False(t, math.IsNaN(short[1].Height), "what would come next is known")
	// Without labels what is no tooth meets first.
	bare := castsWith(t, c.upper.Mesh(), c.lower.Mesh(), make([]dentition.ToothID, len(c.up)), make([]dentition.ToothID, len(c.lo)))
	one := bare.climb(false, staircase.Limits{Most: 28, Deep: 1})
	require.Len(t, one, 1)
	assert.Positive(t, one[0].Touch.Opening)
	assert.Empty(t, bare.climb(true, staircase.Limits{Most: 28, Deep: 1}))
	// A tooth of one arch over none of the other is no pair.
	half := castsWith(t, c.upper.Mesh(), c.lower.Mesh(), c.up, make([]dentition.ToothID, len(c.lo)))
	assert.Empty(t, half.climb(true, staircase.Limits{Most: 28, Deep: 1}))
	half = castsWith(t, c.upper.Mesh(), c.lower.Mesh(), make([]dentition.ToothID, len(c.up)), c.lo)
	assert.Empty(t, half.climb(true, staircase.Limits{Most: 28, Deep: 1}))
}

// A spot travels the chord of its arc about the hinge, whichever way.
func TestWay(t *testing.T) {
	touch := contact.Closing{Point: r3.Vec{X: 7, Y: -30, Z: -40}, Opening: 0.02}
	for _, to := range []s1.Angle{0.02, 0, 0.05} {
		assert.InDelta(t, 2*50*math.Sin(math.Abs(0.02-to.Radians())/2), staircase.Way(kinematics.Pose{}, &touch, to), 1e-12)
	}
	base := kinematics.Translation(r3.Vec{Y: -30, Z: -40}) // the hinge lies at the spot
	assert.InDelta(t, 0, staircase.Way(base, &touch, 0.05), 1e-12)
}
