package inspect_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/simplify"
	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
)

// uglies is one surface of every class that scans come in, each made of the same clean
// arch by code, with the word that the report must say of it.
func uglies(t testing.TB, clean *mesh.Mesh) map[string]*mesh.Mesh {
	t.Helper()
	keep := func(m *mesh.Mesh, err error) *mesh.Mesh { require.NoError(t, err); return m }
	first := func(m *mesh.Mesh, _ []mesh.VertexID, err error) *mesh.Mesh { return keep(m, err) }
	with := func(m *mesh.Mesh, more ...*mesh.Mesh) *mesh.Mesh { return keep(faultkit.Joined(m, more...)) }
	low, high := clean.Bounds().Min, clean.Bounds().Max
	middle := r3.Scale(0.5, r3.Add(low, high))
	out := map[string]*mesh.Mesh{
		"soup":        first(faultkit.Unwelded(clean, 0.001, 1)),
		"T-junctions": first(faultkit.TJunctions(clean, 20, 1)),
		"two-sided":   keep(faultkit.TwoSided(clean)),
		"noise":       keep(faultkit.Noisy(clean, 20, 1)),
		"islands":     with(clean, testmesh.Shifted(testmesh.Sphere(0.4, 6), middle), testmesh.Shifted(testmesh.Grid(3), r3.Vec{Z: high.Z + 3})),
		// A sheet of fins on the edges, and the arch shifted through itself.
		"non-manifold":      fins(clean, 50),
		"self-intersecting": with(clean, testmesh.Shifted(clean, r3.Vec{X: 0.31, Y: 0.17})),
		"needles":           slivers(clean),
		"base": with(clean, testmesh.Shifted(testmesh.Box(r3.Vec{}, r3.Scale(0.5, r3.Sub(high, low)), 100),
			r3.Vec{X: middle.X, Y: middle.Y, Z: low.Z - 20})),
		"coarse": coarse(t, clean),
	}
	return out
}

// fins sets triangles upright on edges of the first n triangles.
func fins(m *mesh.Mesh, n int) *mesh.Mesh {
	verts := append([]r3.Vec(nil), m.Vertices()...)
	tris := append([][3]mesh.VertexID(nil), m.Triangles()...)
	for _, c := range m.Triangles()[1000 : 1000+n] {
		tris = append(tris, [3]mesh.VertexID{c[0], c[1], mesh.VertexID(len(verts))})
		verts = append(verts, r3.Add(m.Vertex(c[0]), r3.Vec{Z: 0.3}))
	}
	return testmesh.New(verts, tris)
}

// slivers cuts every tenth triangle into a needle along its first side and the rest, on
// both sides of that edge alike, so that nothing else is wrong.
func slivers(m *mesh.Mesh) *mesh.Mesh {
	verts := append([]r3.Vec(nil), m.Vertices()...)
	var tris [][3]mesh.VertexID
	for i, c := range m.Triangles() {
		if i%10 != 0 {
			tris = append(tris, c)
			continue
		}
		a, b, p := m.Corners(mesh.TriID(i))
		v := mesh.VertexID(len(verts)) // just inside the first side
		verts = append(verts, r3.Add(r3.Scale(0.995, r3.Scale(0.5, r3.Add(a, b))), r3.Scale(0.005, p)))
		tris = append(tris, [3]mesh.VertexID{c[0], c[1], v}, [3]mesh.VertexID{c[1], c[2], v}, [3]mesh.VertexID{c[2], c[0], v})
	}
	return testmesh.New(verts, tris)
}

// coarse is the surface decimated to a hundredth of its vertices.
func coarse(t testing.TB, m *mesh.Mesh) *mesh.Mesh {
	t.Helper()
	keep, tris := simplify.Cluster(m, nil, m.NumVertices()/100)
	require.Less(t, len(keep), m.NumVertices()/50)
	var verts []r3.Vec
	for _, v := range keep {
		verts = append(verts, m.Vertex(v))
	}
	return testmesh.New(verts, tris)
}

// Of every class of ugly surface the report says its word, and of a clean one none.
func TestUglySurfacesAreNamed(t *testing.T) {
	clean := testcase.New(20).Upper
	words := func(m *mesh.Mesh) string {
		welded, _ := mesh.Weld(m, 0)
		var text bytes.Buffer
		require.NoError(t, inspect.WriteSigns(&text, inspect.Signs(mesh.BuildTopology(welded))))
		return text.String()
	}
	require.Empty(t, words(clean))
	for word, m := range uglies(t, clean) {
		text := words(m)
		require.Contains(t, text, word+": ", word)
		for line := range strings.Lines(text) {
			// What else is said is true too; the page of one word is short.
			require.Less(t, len(line), 150, line)
		}
		t.Logf("%s:\n%s", word, text)
	}
	require.Empty(t, inspect.Signs(mesh.BuildTopology(testmesh.Tetrahedron()))[:0], "sizes 0, 1 and 2")
	for n := range 3 {
		m := testmesh.New([]r3.Vec{{}, {X: 1}, {Y: 1}, {X: 1, Y: 1}}, [][3]mesh.VertexID{{0, 1, 2}, {1, 3, 2}}[:n])
		require.NotPanics(t, func() { inspect.Signs(mesh.BuildTopology(m)) })
	}
}

// What cannot be measured is refused by name; what is ugly is not.
func TestUnmeasurableSurfacesAreRefused(t *testing.T) {
	clean := testcase.New(20).Upper
	ugly := uglies(t, clean)
	vault, err := testmesh.Grid(30).Transform(func(p r3.Vec) r3.Vec { // as a cast: open below
		x, y := 2*p.X/30-1, 2*p.Y/30-1
		return r3.Vec{X: 32 * x, Y: 26 * y, Z: 14 * (1 - max(x*x, y*y))}
	})
	require.NoError(t, err)
	for name, c := range map[string]struct {
		m    *mesh.Mesh
		word string
	}{
		"clean":       {clean, ""},
		"inside out":  {testmesh.Turned(vault), "inside out"},
		"vault":       {vault, ""},
		"two-sided":   {ugly["two-sided"], "two-sided"},
		"soup":        {ugly["soup"], "hang together with no other"},
		"flat":        {flattened(clean), "no surface"},
		"T-junctions": {ugly["T-junctions"], ""},
		"noise":       {ugly["noise"], ""},
		"base":        {ugly["base"], ""},
	} {
		err := inspect.CheckArch(c.m, mesh.Millimetre)
		if c.word == "" {
			require.NoError(t, err, name)
			continue
		}
		require.ErrorIs(t, err, inspect.ErrShape, name)
		require.ErrorContains(t, err, c.word, name)
	}
	small, err := clean.Transform(func(p r3.Vec) r3.Vec { return r3.Scale(0.001, p) })
	require.NoError(t, err)
	require.ErrorIs(t, inspect.CheckArch(small, mesh.Millimetre), inspect.ErrSize)
}

// flattened is a surface all of whose triangles are points.
func flattened(m *mesh.Mesh) *mesh.Mesh {
	var tris [][3]mesh.VertexID
	for _, c := range m.Triangles() {
		tris = append(tris, [3]mesh.VertexID{c[0], c[0], c[0]})
	}
	return testmesh.New(append([]r3.Vec(nil), m.Vertices()...), tris)
}

// Crossings are counted as pairs, and touching is none.
func TestSelfCrossings(t *testing.T) {
	count := func(shift r3.Vec) int {
		b := testmesh.New([]r3.Vec{{X: 0.7, Y: 0.2, Z: -0.5}, {X: 0.75, Y: 0.2, Z: 0.5}, {X: 0.7, Y: 0.15, Z: 0.5}},
			[][3]mesh.VertexID{{0, 1, 2}})
		m, err := faultkit.Joined(testmesh.Grid(4), testmesh.Shifted(b, shift))
		require.NoError(t, err)
		for _, s := range inspect.Signs(mesh.BuildTopology(m)) {
			if s.Kind == inspect.SignSelfCrossing {
				return s.Count
			}
		}
		return 0
	}
	require.Equal(t, 1, count(r3.Vec{}))
	require.Equal(t, 0, count(r3.Vec{Z: 0.5}), "a corner on the surface")
	require.Equal(t, 0, count(r3.Vec{Z: 0.6}))
	require.Equal(t, 0, count(r3.Vec{X: 5}))
}
