package index_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/stretchr/testify/require"
	"github.com/unixpickle/model3d/model3d"
	"gonum.org/v1/gonum/spatial/r3"
)

type sided struct {
	x *index.Index
	s *index.Sides
}

func newSided(t *testing.T, m *mesh.Mesh) sided {
	return sided{newIndex(t, m, nil), index.NewSides(mesh.BuildTopology(m))}
}

func (w sided) inside(t *testing.T, p r3.Vec) (inside, trusted bool, h index.Hit) {
	t.Helper()
	h, ok := w.x.Nearest(p, math.Inf(1))
	require.True(t, ok)
	inside, trusted = w.s.Inside(h, p)
	return inside, trusted, h
}

// A coarse box has the sharpest edges and corners; points are near them, and
// exactly over faces, edges and corners.
func TestSidesOfABox(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 1))
	for _, n := range []int{1, 2, 3} {
		half := r3.Vec{X: 1, Y: 2, Z: 0.5}
		w := newSided(t, testmesh.Box(r3.Vec{}, half, n))
		for range 5000 {
			p := testmesh.Vec(rng, 3)
			if rng.IntN(2) == 0 {
				p = r3.Vec{X: half.X * float64(rng.IntN(5)-2) * 0.75, Y: half.Y * float64(rng.IntN(5)-2) * 0.75,
					Z: half.Z * float64(rng.IntN(5)-2) * 0.75}
			}
			want := math.Abs(p.X) < half.X && math.Abs(p.Y) < half.Y && math.Abs(p.Z) < half.Z
			got, trusted, h := w.inside(t, p)
			require.True(t, trusted)
			require.Equal(t, want, got, "%v, %v from %v", p, h.Dist, h.Point)
		}
	}
}

// Inside a sphere that is inscribed in one of radius 2 and holds one of the
// radius of its flattest face.
func TestSidesOfASphere(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 2))
	for _, n := range []int{1, 3, 16} {
		m := testmesh.Sphere(2, n)
		inner := 2.0
		for i := range m.NumTriangles() {
			a, _, _ := m.Corners(mesh.TriID(i))
			inner = min(inner, math.Abs(r3.Dot(a, r3.Unit(m.AreaVector(mesh.TriID(i))))))
		}
		w, turned := newSided(t, m), newSided(t, testmesh.Turned(m))
		for range 3000 {
			dir := testmesh.Unit(rng)
			if rng.IntN(3) == 0 { // straight over a corner
				dir = r3.Unit(m.Vertex(mesh.VertexID(rng.IntN(m.NumVertices()))))
			}
			r := 4 * rng.Float64()
			if r > inner-1e-9 && r < 2+1e-9 {
				continue
			}
			got, trusted, _ := w.inside(t, r3.Scale(r, dir))
			require.True(t, trusted)
			require.Equal(t, r < inner, got, "radius %v", r)
			got, _, _ = turned.inside(t, r3.Scale(r, dir))
			require.Equal(t, r > inner, got, "turned over, radius %v", r)
		}
	}
}

// A body with sharp concave and convex edges; model3d counts crossings of rays.
func TestSidesAgainstModel3D(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 3))
	for _, profile := range [][][2]float64{
		{{0, 2}, {0.2, 0.1}, {2, 0}, {0.3, -0.1}, {0, -0.2}},       // a spike on a disc
		{{0, 0.2}, {1, 1.5}, {1.3, 1.5}, {1.5, -0.5}, {0, -0.5}},   // a cup
		{{0, 1}, {1e-3, 1}, {1.5, -1}, {1.5 - 1e-3, -1}, {0, 0.9}}, // a thin hat
	} {
		m := testmesh.Lathe(7, profile...)
		w := newSided(t, m)
		solid := model3d.NewColliderSolid(model3d.MeshToCollider(toModel3D(m)))
		in, out := 0, 0
		for range 4000 {
			p := testmesh.Vec(rng, 2)
			if rng.IntN(2) == 0 {
				p = r3.Add(m.Vertex(mesh.VertexID(rng.IntN(m.NumVertices()))), testmesh.Vec(rng, 0.05))
			}
			got, trusted, h := w.inside(t, p)
			if h.Dist < 1e-9 {
				continue
			}
			require.True(t, trusted)
			want := solid.Contains(model3d.XYZ(p.X, p.Y, p.Z))
			require.Equal(t, want, got, "%v, %v from %v", p, h.Dist, h.Point)
			if want {
				in++
			} else {
				out++
			}
		}
		require.Greater(t, min(in, out), 20)
	}
}

func TestSidesAtABorderAreNotTrusted(t *testing.T) {
	w := newSided(t, testmesh.Plane(2, 4))
	for _, c := range []struct {
		p               r3.Vec
		inside, trusted bool
	}{
		{r3.Vec{X: 0.1, Y: 0.2, Z: 1}, false, true},
		{r3.Vec{X: 0.1, Y: 0.2, Z: -1}, true, true},
		{r3.Vec{X: 0.5, Y: 0.5, Z: -1}, true, true}, // a corner inside
		{r3.Vec{X: 0.5, Y: 0.2, Z: -1}, true, true}, // an edge inside
		{r3.Vec{X: 1, Y: 0.2, Z: -1}, true, false},
		{r3.Vec{X: 1.5, Y: 0.2, Z: -1}, true, false},
		{r3.Vec{X: 1.5, Y: 0.2, Z: 1}, false, false},
		{r3.Vec{X: 1, Y: 1, Z: 1}, false, false},
		{r3.Vec{X: 3, Y: 3}, false, false},
		{r3.Vec{X: 1, Y: 0.5, Z: 1}, false, false}, // a corner at the border
	} {
		inside, trusted, _ := w.inside(t, c.p)
		require.Equal(t, c.trusted, trusted, "%v", c.p)
		if trusted {
			require.Equal(t, c.inside, inside, "%v", c.p)
		}
	}
}

// A triangle collapsed to a segment on an edge, as programs leave them where
// they close a gap, must not change sides. Its number is the lowest, so it is
// the one named there.
func TestSidesAtACollapsedTriangle(t *testing.T) {
	box := testmesh.Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1}, 1)
	rng := rand.New(rand.NewPCG(41, 4))
	tris := slitAt(box, r3.Vec{X: 1, Y: 1})
	verts := append(append([]r3.Vec(nil), box.Vertices()...), r3.Vec{X: 1, Y: 1})
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	for _, e := range mesh.BuildTopology(m).Edges() {
		require.EqualValues(t, 2, e.Sides)
	}
	for i := range 5 {
		pose := kinematics.Pose{}
		if i > 0 { // rounding gives it a little area again
			pose = testmesh.Pose(rng, 30)
		}
		checkCollapsed(t, rng, m, pose)
	}
}

func checkCollapsed(t *testing.T, rng *rand.Rand, m *mesh.Mesh, pose kinematics.Pose) {
	w := newSided(t, testmesh.Moved(m, pose.Apply))
	named := 0
	for range 3000 {
		p := r3.Add(r3.Vec{X: 1, Y: 1, Z: 2*rng.Float64() - 1}, testmesh.Vec(rng, 0.3))
		want := max(math.Abs(p.X), math.Abs(p.Y), math.Abs(p.Z)) < 1
		got, trusted, h := w.inside(t, pose.Apply(p))
		if h.Tri == 0 {
			named++
		}
		require.True(t, trusted)
		require.Equal(t, want, got, "%v, %v from %v on %d", p, h.Dist, h.Point, h.Tri)
	}
	require.Greater(t, named, 100)
}

// slitAt splits one of the two triangles at the edge through mid, which becomes a
// new last vertex, and closes the slit by a triangle without area, put first.
func slitAt(m *mesh.Mesh, mid r3.Vec) [][3]mesh.VertexID {
	last := mesh.VertexID(m.NumVertices())
	out := [][3]mesh.VertexID{{}}
	for _, c := range m.Triangles() {
		split := false
		for k := range 3 {
			a, b := c[k], c[(k+1)%3]
			if out[0] == ([3]mesh.VertexID{}) && r3.Scale(0.5, r3.Add(m.Vertex(a), m.Vertex(b))) == mid {
				out[0] = [3]mesh.VertexID{a, b, last}
				out = append(out, [3]mesh.VertexID{a, last, c[(k+2)%3]}, [3]mesh.VertexID{last, b, c[(k+2)%3]})
				split = true
				break
			}
		}
		if !split {
			out = append(out, c)
		}
	}
	return out
}
