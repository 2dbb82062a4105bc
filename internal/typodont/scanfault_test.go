package typodont

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// Noise has the stated size; holes, islands and flipped patches are what the
// topology sees.
func TestScanFaults(t *testing.T) {
	plain := disturbed(t, Params{Triangles: 30000})
	noisy := disturbed(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Noise, Um: 20}}, Seed: 7})
	require.Equal(t, plain.Lower.Mesh.NumVertices(), noisy.Lower.Mesh.NumVertices())
	sum := 0.0
	for v, p := range plain.Lower.Mesh.Vertices() {
		sum += r3.Norm2(r3.Sub(noisy.Lower.Mesh.Vertex(mesh.VertexID(v)), p))
	}
	assert.InEpsilon(t, 0.020, math.Sqrt(sum/float64(plain.Lower.Mesh.NumVertices())), 0.08)
	other := disturbed(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Noise, Um: 20}}, Seed: 8})
	assert.NotEqual(t, noisy.Lower.Mesh.Vertex(100), other.Lower.Mesh.Vertex(100))

	loops := func(c *Case) int { return len(mesh.BuildTopology(c.Upper.Mesh).Loops()) }
	hole := disturbed(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Hole, Tooth: 16}}})
	assert.Equal(t, loops(plain)+1, loops(hole))
	island := disturbed(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Island, Tooth: 16}}})
	assert.Len(t, mesh.BuildTopology(island.Upper.Mesh).Components(), 2)
	flipped := disturbed(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Flipped, Tooth: 16}}})
	n := 0
	top := mesh.BuildTopology(flipped.Upper.Mesh)
	for tri := range flipped.Upper.Mesh.NumTriangles() {
		if top.Flipped(mesh.TriID(tri)) {
			n++
		}
	}
	assert.Positive(t, n)
}

// Grinding leaves vertices without triangles, which still name a cusp's tip: noise
// has no direction there and leaves them where they are.
func TestNoiseSparesVerticesWithoutTriangles(t *testing.T) {
	at := r3.Vec{X: 1, Y: 2, Z: 3}
	s := &scan{surface: &surface{verts: []r3.Vec{{}, {X: 1}, {Y: 1}, at}, tris: [][3]int32{{0, 1, 2}}}}
	s.noise(0.02, 1, 7)
	require.Equal(t, at, s.verts[3])
	require.NotZero(t, s.verts[0].Z)
}
