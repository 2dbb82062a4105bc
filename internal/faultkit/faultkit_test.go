package faultkit_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"github.com/golang/geo/s1"
)

func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		require.NoError(t, err)
		return v
	}
}

// plate is a level square of edge 20 around a point, facing up or down.
func plate(at r3.Vec, up bool) *mesh.Mesh {
	m := testmesh.Sheet(80, 80, func(u, v float64) r3.Vec {
		return r3.Add(at, r3.Vec{X: 20 * (u - 0.5), Y: 20 * (v - 0.5)})
	})
	if !up {
		return testmesh.Turned(m)
	}
	return m
}

// A bump has its height at its middle and nothing beyond its radius, is as smooth as
// the step that makes it, and holds a hinge that closed two plates open by exactly
// the height along the arc of closing.
func TestBumpHasItsHeight(t *testing.T) {
	centre := r3.Vec{X: 20, Y: -60, Z: -30}
	lower, upper := plate(centre, true), plate(r3.Add(centre, r3.Vec{Z: 0.001}), false)
	along := faultkit.Closing(centre)
	assert.InDelta(t, 0, r3.Dot(along, r3.Vec{Y: centre.Y, Z: centre.Z}), 1e-12, "across the lever")
	assert.InDelta(t, 1, r3.Norm(along), 1e-12)
	assert.Positive(t, along.Z, "upwards in front of the axis")
	for _, um := range []float64{90, 250} {
		high := must[*mesh.Mesh](t)(faultkit.Bump(lower, centre, along, um, 2, nil))
		most := 0.0
		for v, p := range high.Vertices() {
			moved := r3.Sub(p, lower.Vertex(mesh.VertexID(v)))
			most = max(most, r3.Norm(moved))
			if r3.Norm(r3.Sub(lower.Vertex(mesh.VertexID(v)), centre)) >= 2 {
				assert.Zero(t, r3.Norm(moved))
			}
		}
		assert.InDelta(t, um/1000, most, 1e-12)
		shut := closed(t, upper, lower)
		open := closed(t, upper, high)
		arc := (open.Opening - shut.Opening).Radians() * math.Hypot(open.Point.Y, open.Point.Z)
		// The plates are level, the arc is inclined, and they were 1 µm apart.
		assert.Greater(t, arc, 0.0)
		lift := kinematics.RotationX(-open.Opening).Apply(centre).Z - centre.Z
		assert.InDelta(t, um/1000*along.Z-0.001, lift, 0.004, "%g µm", um)
	}
	none := must[*mesh.Mesh](t)(faultkit.Bump(lower, centre, along, 90, 2, func(mesh.VertexID) bool { return false }))
	assert.Equal(t, lower.Vertices(), none.Vertices())
}

// Where a bump may rise by less than its height it does, vertex by vertex.
func TestBumpWithin(t *testing.T) {
	centre := r3.Vec{X: 20, Y: -60, Z: -30}
	lower := plate(centre, true)
	along := r3.Vec{Z: 2}
	most := func(_ mesh.VertexID, p r3.Vec) float64 { return 100 + 1000*(p.X-centre.X) }
	free := must[*mesh.Mesh](t)(faultkit.Bump(lower, centre, along, 250, 2, nil))
	held := must[*mesh.Mesh](t)(faultkit.BumpWithin(lower, centre, along, 250, 2, most))
	bound := 0
	for v, p := range lower.Vertices() {
		want := min(free.Vertex(mesh.VertexID(v)).Z, p.Z+most(0, p)/1000)
		if r3.Norm(r3.Sub(p, centre)) >= 2 {
			want = p.Z
		} else if want < free.Vertex(mesh.VertexID(v)).Z {
			bound++
		}
		assert.InDelta(t, want, held.Vertex(mesh.VertexID(v)).Z, 1e-12)
	}
	assert.Positive(t, bound)
}

func closed(t testing.TB, upper, lower *mesh.Mesh) contact.Closing {
	t.Helper()
	up := must[*contact.Arch](t)(contact.NewArch(context.Background(), upper, nil, contact.Options{}))
	lo := must[*contact.Arch](t)(contact.NewArch(context.Background(), lower, nil, contact.Options{}))
	c := must[*contact.Closer](t)(contact.NewCloser(t.Context(), up, lo, contact.Options{}))
	var s contact.CloserScratch
	touch, err := c.Close(kinematics.Pose{}, &s)
	require.NoError(t, err)
	return touch
}

func TestMotion(t *testing.T) {
	about := r3.Vec{X: 1, Y: -50, Z: -30}
	small := s1.Angle(0.01)
	left, front := r3.Add(about, r3.Vec{X: 10}), r3.Add(about, r3.Vec{Y: -10})
	for _, c := range []struct {
		name        string
		m           faultkit.Motion
		left, front r3.Vec
	}{
		{"roll", faultkit.Motion{Roll: small}, r3.Vec{Z: 1}, r3.Vec{}},
		{"pitch", faultkit.Motion{Pitch: small}, r3.Vec{}, r3.Vec{Z: 1}},
		{"yaw", faultkit.Motion{Yaw: small}, r3.Vec{Y: 1}, r3.Vec{X: 1}},
	} {
		c.m.About = about
		p := c.m.Pose()
		assert.InDelta(t, 0, r3.Norm(r3.Sub(p.Apply(about), about)), 1e-12, c.name)
		for at, way := range map[r3.Vec]r3.Vec{left: c.left, front: c.front} {
			moved := r3.Scale(1/(10*0.01), r3.Sub(p.Apply(at), at))
			assert.InDelta(t, 0, r3.Norm(r3.Sub(moved, way)), 0.011, "%s: %v", c.name, moved)
		}
		c.m.Shift = r3.Vec{X: 0.2, Y: 0.3, Z: -0.1}
		assert.InDelta(t, 0, r3.Norm(r3.Sub(c.m.Pose().Apply(about), r3.Add(about, c.m.Shift))), 1e-12)
	}
	m := plate(about, true)
	moved := must[*mesh.Mesh](t)(faultkit.Moved(m, faultkit.Motion{Shift: r3.Vec{Y: -0.2}}))
	assert.InDelta(t, -0.2, moved.Vertex(7).Y-m.Vertex(7).Y, 1e-12)
	part := must[*mesh.Mesh](t)(faultkit.MovedPart(m, kinematics.Translation(r3.Vec{Z: 1}), func(v mesh.VertexID) bool { return v == 3 }))
	assert.InDelta(t, 1, part.Vertex(3).Z-m.Vertex(3).Z, 1e-12)
	assert.Equal(t, m.Vertex(4), part.Vertex(4))
}

// A ball ground at a plane through it has a flat of the circle's area, up to the
// size of the triangles at its rim.
func TestGroundIsFlat(t *testing.T) {
	ball := testmesh.Sphere(5, 120)
	ground := must[*mesh.Mesh](t)(faultkit.Ground(ball, r3.Vec{Z: 4.8}, r3.Vec{Z: 1}, 3, 1))
	area := 0.0
	for tri := range ground.All() {
		a, b, c := ground.Corners(tri)
		if a.Z > 4.8-1e-9 && b.Z > 4.8-1e-9 && c.Z > 4.8-1e-9 {
			area += r3.Norm(ground.AreaVector(tri))
		}
	}
	assert.LessOrEqual(t, ground.Bounds().Max.Z, 4.8+1e-12)
	assert.InEpsilon(t, math.Pi*(25-4.8*4.8), area, 0.1)
	same := must[*mesh.Mesh](t)(faultkit.Ground(ball, r3.Vec{Z: 4.8}, r3.Vec{Z: 1}, 3, 0.1))
	assert.Greater(t, same.Bounds().Max.Z, 4.9, "what stands out farther than deep stays")
}

func TestNoiseHasItsSize(t *testing.T) {
	m := plate(r3.Vec{}, true)
	noisy := must[*mesh.Mesh](t)(faultkit.Noisy(m, 100, 3))
	sum := 0.0
	for _, p := range noisy.Vertices() {
		sum += p.Z * p.Z
	}
	assert.InEpsilon(t, 0.1, math.Sqrt(sum/float64(m.NumVertices())), 0.03)
	again := must[*mesh.Mesh](t)(faultkit.Noisy(m, 100, 3))
	assert.Equal(t, noisy.Vertices(), again.Vertices())
	other := must[*mesh.Mesh](t)(faultkit.Noisy(m, 100, 4))
	assert.NotEqual(t, noisy.Vertices(), other.Vertices())
	bent := must[*mesh.Mesh](t)(faultkit.Warped(m, 50))
	assert.InDelta(t, 0.05, bent.Bounds().Max.Z, 1e-9)
	assert.Zero(t, bent.Bounds().Min.Z)
}

func TestDefects(t *testing.T) {
	m := plate(r3.Vec{}, true)
	report := func(m *mesh.Mesh) *mesh.Topology { return mesh.BuildTopology(m) }
	require.Len(t, report(m).Loops(), 1)

	inside := must[*mesh.Mesh](t)(faultkit.InsideOut(m))
	assert.Equal(t, r3.Scale(-1, m.AreaVector(5)), inside.AreaVector(5))

	two := must[*mesh.Mesh](t)(faultkit.TwoSided(m))
	assert.Equal(t, 2*m.NumTriangles(), two.NumTriangles())
	assert.Greater(t, inspect.Surface(two).NonManifoldEdges, 0)

	tee, from, err := faultkit.TJunctions(m, 10, 1)
	require.NoError(t, err)
	assert.Len(t, from, tee.NumVertices())
	added := tee.NumVertices() - m.NumVertices()
	assert.InDelta(t, m.NumTriangles()/10, added, 200)
	assert.Greater(t, len(report(tee).Loops()), added/2, "open seams where no hole is")
	assert.Equal(t, m.Bounds(), tee.Bounds())

	loose, from, err := faultkit.Unwelded(m, 1e-4, 2)
	require.NoError(t, err)
	assert.Len(t, from, 3*m.NumTriangles())
	welded, _ := mesh.Weld(loose, 0)
	assert.Greater(t, welded.NumVertices(), 3*m.NumTriangles()*9/10, "no two corners alike")
	welded, _ = mesh.Weld(loose, 1e-3)
	assert.Equal(t, m.NumVertices(), welded.NumVertices())

	none := must[*mesh.Mesh](t)(faultkit.NoArea(m))
	assert.Zero(t, r3.Norm(none.AreaVector(9)))
	flat := must[*mesh.Mesh](t)(faultkit.Flattened(testmesh.Sphere(5, 12)))
	assert.Zero(t, flat.Bounds().Size().Z)
}

// A mound stands on its own, with its top where it should be, and joins a scan
// without sharing a vertex or renumbering one.
func TestMound(t *testing.T) {
	for _, up := range []r3.Vec{{Z: 1}, {Z: -1}, {X: 1}, {X: 0.3, Y: -0.4, Z: 0.6}} {
		top := r3.Vec{X: 20, Y: -30, Z: -25}
		m := must[*mesh.Mesh](t)(faultkit.Mound(top, up, 4, 3, 8))
		assert.Equal(t, top, m.Vertex(0))
		var sum r3.Vec
		for tri := range m.All() {
			sum = r3.Add(sum, m.AreaVector(tri))
		}
		assert.InDelta(t, 1, r3.Dot(r3.Unit(sum), r3.Unit(up)), 1e-9, "outwards along up")
		p := plate(r3.Vec{}, true)
		both := must[*mesh.Mesh](t)(faultkit.Joined(p, m))
		assert.Len(t, mesh.BuildTopology(both).Components(), 2)
		assert.Equal(t, p.Vertices(), both.Vertices()[:p.NumVertices()])
	}
}

// A crown that is tipped turns as a whole about its neck, its surroundings follow smoothly, and what is
// neither stays.
func TestTippedTurnsACrown(t *testing.T) {
	m := plate(r3.Vec{}, true) // a quarter of a millimetre from corner to corner
	own := func(v mesh.VertexID) bool { p := m.Vertex(v); return math.Hypot(p.X, p.Y) < 3 }
	soft := func(v mesh.VertexID) bool { return m.Vertex(v).X < 5 }
	by := 14 * s1.Degree
	tipped := must[*mesh.Mesh](t)(faultkit.Tipped(m, r3.Vec{Z: -2}, r3.Vec{Y: 1}, by, own, soft, 1.5))
	turned := kinematics.Rotation(r3.Vec{Y: 1}, by)
	last := 0.0
	for v, p := range m.Vertices() {
		q := tipped.Vertex(mesh.VertexID(v))
		switch r := math.Hypot(p.X, p.Y); {
		case own(mesh.VertexID(v)):
			assert.InDelta(t, 0, r3.Norm(r3.Sub(q, r3.Add(r3.Vec{Z: -2}, turned.Apply(r3.Add(p, r3.Vec{Z: 2}))))), 1e-12)
		case r > 4.6:
			assert.Equal(t, p, q)
		case p.Y == 0 && p.X > 0:
			assert.Less(t, r3.Norm(r3.Sub(q, p)), 1.2)
			last = max(last, r3.Norm(r3.Sub(q, p)))
		}
	}
	assert.Positive(t, last, "the surroundings follow")
	hard := must[*mesh.Mesh](t)(faultkit.Tipped(m, r3.Vec{}, r3.Vec{Y: 1}, by, own, func(mesh.VertexID) bool { return false }, 1.5))
	for v, p := range m.Vertices() {
		if !own(mesh.VertexID(v)) {
			assert.Equal(t, p, hard.Vertex(mesh.VertexID(v)))
		}
	}
}
