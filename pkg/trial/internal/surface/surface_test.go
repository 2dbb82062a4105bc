package surface_test

import (
	"bytes"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
)

func area(m *mesh.Mesh) (a float64) {
	for t := range m.All() {
		a += r3.Norm(m.AreaVector(t))
	}
	return a
}

func labelled(m *mesh.Mesh, of func(p r3.Vec) dentition.ToothID) surface.Surface {
	s := surface.Surface{Mesh: m}
	for _, p := range m.Vertices() {
		s.Labels = append(s.Labels, of(p))
	}
	return s
}

// A refined surface is the same surface: its area is the same, it hangs together as before
// and has no border more, old vertices keep their numbers, and near marked ones no edge is
// too long.
func TestRefinedSurfaceIsTheSame(t *testing.T) {
	ball := testmesh.Sphere(3, 8)
	s := labelled(ball, func(p r3.Vec) dentition.ToothID {
		if p.X > 0 {
			return 26
		}
		return 27
	})
	near := make([]bool, ball.NumVertices())
	for v, p := range ball.Vertices() {
		near[v] = p.Z > 2
	}
	fine, nearFine, parents, err := s.Refine(near, 0.2)
	require.NoError(t, err)
	assert.Greater(t, fine.Mesh.NumTriangles(), 2*ball.NumTriangles())
	assert.InDelta(t, area(ball), area(fine.Mesh), 1e-9)
	top, before := mesh.BuildTopology(fine.Mesh), mesh.BuildTopology(ball)
	assert.Len(t, top.Components(), len(before.Components()))
	assert.Len(t, top.Loops(), len(before.Loops()))
	for _, e := range top.Edges() {
		assert.EqualValues(t, 2, e.Sides)
	}
	for v, p := range ball.Vertices() {
		assert.Equal(t, p, fine.Mesh.Vertex(mesh.VertexID(v)))
	}
	for _, c := range fine.Mesh.All() {
		for k := range 3 {
			if near := nearFine[c[0]] || nearFine[c[1]] || nearFine[c[2]]; near {
				assert.LessOrEqual(t, r3.Norm(r3.Sub(fine.Mesh.Vertex(c[k]), fine.Mesh.Vertex(c[(k+1)%3]))), 0.2)
			}
		}
	}
	for v, p := range parents {
		assert.Contains(t, []dentition.ToothID{fine.Labels[p[0]], fine.Labels[p[1]]}, fine.Labels[v])
	}
	assert.Zero(t, mesh.Coincident(fine.Mesh))
}

// What is refined nowhere stays as it is; sizes 0, 1 and 2.
func TestNothingToRefine(t *testing.T) {
	for n := range 3 {
		m, err := mesh.New(testmesh.Tetrahedron().Vertices(), testmesh.Tetrahedron().Triangles()[:n])
		require.NoError(t, err)
		s := labelled(m, func(r3.Vec) dentition.ToothID { return 16 })
		fine, _, _, err := s.Refine(make([]bool, m.NumVertices()), 0.1)
		require.NoError(t, err)
		assert.True(t, testmesh.Equal(m, fine.Mesh))
	}
}

// A scan is what its STL file reads back as, with the labels on the same places.
func TestScanIsWhatItsFileReads(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 3))
	m, err := testmesh.Sphere(20, 10).Transform(func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: 1.0 / 3, Y: math.Pi, Z: 80}) })
	require.NoError(t, err)
	s := labelled(m, func(r3.Vec) dentition.ToothID { return dentition.ToothID(11 + rng.IntN(8)) })
	scan, from, err := s.Scan(dentition.Upper)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, meshfile.WriteSTL(&b, scan.Mesh))
	raw, err := meshfile.Read(&b, meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	read, _ := mesh.Weld(raw, 0)
	assert.True(t, testmesh.Equal(scan.Mesh, read))
	for v, old := range from {
		assert.Less(t, r3.Norm(r3.Sub(read.Vertex(mesh.VertexID(v)), m.Vertex(old))), 2e-5)
		assert.Equal(t, s.Labels[old], scan.Labels.Vertex(mesh.VertexID(v)))
	}
}

// On a ball the averaged directions are the normals; on a roof the vertices of its ridge and
// those beside it move together.
func TestDirections(t *testing.T) {
	all := func(mesh.VertexID) bool { return true }
	ball := testmesh.Sphere(5, 24)
	for v, d := range surface.Directions(ball, 0.6, all) {
		assert.InDelta(t, 1, r3.Dot(d, r3.Unit(ball.Vertex(mesh.VertexID(v)))), 1e-3)
	}
	roof := testmesh.Sheet(40, 40, func(u, v float64) r3.Vec {
		x, y := 4*(u-0.5), 4*(v-0.5)
		return r3.Vec{X: x, Y: y, Z: -2 * math.Abs(x)}
	})
	for v, d := range surface.Directions(roof, 0.6, all) {
		if p := roof.Vertex(mesh.VertexID(v)); math.Abs(p.X) < 0.11 && math.Abs(p.Y) < 1 {
			assert.Greater(t, d.Z, 0.9)
		}
	}
}
