package mesh_test

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestNewRefusesWhatIsNoMesh(t *testing.T) {
	ok := []r3.Vec{{}, {X: 1}, {Y: 1}}
	for _, c := range []struct {
		verts  []r3.Vec
		tris   [][3]mesh.VertexID
		reason error
		says   string
	}{
		{[]r3.Vec{{}, {Y: math.NaN()}}, nil, mesh.ErrNonFinite, "vertex 1: coordinate is not a finite number: found (0, NaN, 0)"},
		{[]r3.Vec{{Z: math.Inf(-1)}}, nil, mesh.ErrNonFinite, "vertex 0: "},
		{[]r3.Vec{{Z: 1.1e9}}, nil, mesh.ErrTooFar, "vertex 0: coordinate is out of range: found (0, 0, 1.1e+09) mm"},
		{ok, [][3]mesh.VertexID{{0, 1, 2}, {0, 1, 3}}, mesh.ErrIndexRange,
			"triangle 1: vertex number out of range: corner 3, but there are 3 vertices"},
		{ok, [][3]mesh.VertexID{{-1, 1, 2}}, mesh.ErrIndexRange, "triangle 0: "},
	} {
		m, err := mesh.New(c.verts, c.tris)
		require.Nil(t, m)
		require.ErrorIs(t, err, c.reason)
		require.ErrorContains(t, err, c.says)
	}
	_, err := testmesh.Tetrahedron().Transform(func(v r3.Vec) r3.Vec { return r3.Scale(math.NaN(), v) })
	require.ErrorIs(t, err, mesh.ErrNonFinite)
}

func TestMeshBelongsToItself(t *testing.T) {
	verts, tris := []r3.Vec{{}, {X: 1}, {Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}, {0, 1, 1}}
	m := testmesh.New(verts, tris)
	verts[0].X, tris[0][0] = 7, 2
	require.Equal(t, r3.Vec{}, m.Vertex(0))
	require.Equal(t, [3]mesh.VertexID{0, 1, 2}, m.Triangle(0))
	require.Equal(t, r3.Vec{Z: 0.5}, m.AreaVector(0))
	require.Zero(t, m.AreaVector(1))
	n := 0
	for i := range m.All() {
		n++
		if i == 0 {
			break
		}
	}
	require.Equal(t, 1, n)
}

func TestBox(t *testing.T) {
	require.True(t, mesh.EmptyBox().Empty())
	require.Zero(t, mesh.EmptyBox().Size())
	require.False(t, mesh.Box{}.Empty(), "the zero box is a point")
	require.True(t, testmesh.New(nil, nil).Bounds().Empty())
	b := testmesh.Tetrahedron().Bounds()
	require.Equal(t, mesh.Box{Max: r3.Vec{X: 1, Y: 2, Z: 0.5}}, b)
	require.Equal(t, r3.Vec{X: 0.5, Y: 1, Z: 0.25}, b.Center())
	require.Equal(t, r3.Vec{X: 1, Y: 2, Z: 0.5}, b.Size())
}
