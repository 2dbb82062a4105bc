package surface_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
)

func volumeOf(m *mesh.Mesh) (v float64) {
	for t := range m.All() {
		a, b, c := m.Corners(t)
		v += r3.Dot(a, r3.Cross(b, c)) / 6
	}
	return v
}

// A horseshoe whose rim no point sees whole, with a hole in it, becomes a closed body: every
// edge has two triangles that run against each other, and its volume is that of the area
// times the height.
func TestClosedIsABody(t *testing.T) {
	arch := testmesh.Sheet(60, 8, func(u, v float64) r3.Vec {
		sin, cos := math.Sincos(1.2 * math.Pi * (u - 0.5))
		r := 20 + 8*v
		return r3.Vec{X: r * sin, Y: -r * cos}
	})
	var up float64
	for tri := range arch.All() {
		up += arch.AreaVector(tri).Z
	}
	if up < 0 {
		arch = testmesh.Turned(arch)
	}
	whole := area(arch)
	tris := append([][3]mesh.VertexID(nil), arch.Triangles()...)
	holed, err := mesh.New(arch.Vertices(), append(tris[:300:300], tris[301:]...))
	require.NoError(t, err)
	require.Len(t, mesh.BuildTopology(holed).Loops(), 2)
	body, err := surface.Closed(holed, r3.Vec{Z: -1}, 5)
	require.NoError(t, err)
	top := mesh.BuildTopology(body)
	assert.Empty(t, top.Loops())
	for _, e := range top.Edges() {
		assert.EqualValues(t, 2, e.Sides)
		assert.Zero(t, e.SameWay)
	}
	assert.InDelta(t, 5*whole, volumeOf(body), 1e-6)
	assert.InDelta(t, 2*whole+5*perimeter(arch), area(body), 1e-6)
}

func perimeter(m *mesh.Mesh) (l float64) {
	for _, loop := range mesh.BuildTopology(m).Loops() {
		l += loop.Length
	}
	return l
}

// What is closed stays as it is.
func TestClosedStaysClosed(t *testing.T) {
	ball := testmesh.Sphere(3, 8)
	body, err := surface.Closed(ball, r3.Vec{Z: -1}, 5)
	require.NoError(t, err)
	assert.True(t, testmesh.Equal(ball, body))
}
