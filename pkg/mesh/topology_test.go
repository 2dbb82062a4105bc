package mesh_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// counts is what a topology amounts to, in plain numbers.
type counts struct {
	edges, components, loops, open, border, nonManifold, inconsistent, flipped, duplicates int
}

func count(t *mesh.Topology) counts {
	c := counts{edges: len(t.Edges()), components: len(t.Components()), loops: len(t.Loops()), duplicates: len(t.Duplicates())}
	for _, l := range t.Loops() {
		c.border += l.Edges()
		if !l.Closed {
			c.open++
		}
	}
	for _, e := range t.Edges() {
		if e.Sides > 2 {
			c.nonManifold++
		} else if e.SameWay > 0 {
			c.inconsistent++
		}
	}
	for _, p := range t.Components() {
		c.flipped += p.Flipped
	}
	return c
}

func TestTopologyOfKnownShapes(t *testing.T) {
	tet, plate := testmesh.Tetrahedron(), testmesh.Grid(4)
	for name, c := range map[string]struct {
		m    *mesh.Mesh
		want counts
	}{
		"empty":                {testmesh.New(nil, nil), counts{}},
		"one triangle":         {first(testmesh.Grid(1), 1), counts{edges: 3, components: 1, loops: 1, border: 3}},
		"two triangles":        {testmesh.Grid(1), counts{edges: 5, components: 1, loops: 1, border: 4}},
		"tetrahedron":          {tet, counts{edges: 6, components: 1}},
		"plate":                {plate, counts{edges: 56, components: 1, loops: 1, border: 16}},
		"plate with a hole":    {without(plate, 10, 11), counts{edges: 55, components: 1, loops: 2, border: 20}},
		"plate with two holes": {without(testmesh.Grid(6), 14, 56), counts{edges: 120, components: 1, loops: 3, border: 30}},
		"ring":                 {testmesh.Strip(12, false), counts{edges: 48, components: 1, loops: 2, border: 24}},
		"soup":                 {testmesh.Unwelded(plate), counts{edges: 96, components: 32, loops: 32, border: 96}},
		"one turned over": {testmesh.Flip(plate, func(i mesh.TriID) bool { return i == 11 }),
			counts{edges: 56, components: 1, loops: 1, border: 16, inconsistent: 3, flipped: 1}},
		"all turned over": {testmesh.Flip(plate, func(mesh.TriID) bool { return true }),
			counts{edges: 56, components: 1, loops: 1, border: 16}},
		"half turned over": {testmesh.Flip(plate, func(i mesh.TriID) bool { return i < 16 }),
			counts{edges: 56, components: 1, loops: 1, border: 16, inconsistent: 4, flipped: 16}},
		// names a vertex twice: no surface
		"a fin":            {testmesh.With(tet, [3]mesh.VertexID{0, 1, 0}), counts{edges: 6, components: 1}},
		"a duplicate":      {testmesh.With(tet, [3]mesh.VertexID{3, 1, 2}), counts{edges: 6, components: 1, nonManifold: 3, duplicates: 1}},
		"turned duplicate": {testmesh.With(tet, [3]mesh.VertexID{3, 2, 1}), counts{edges: 6, components: 1, nonManifold: 3, duplicates: 1}},
		"tripled": {testmesh.With(tet, [3]mesh.VertexID{3, 2, 1}, [3]mesh.VertexID{1, 2, 3}),
			counts{edges: 6, components: 1, nonManifold: 3, duplicates: 2}},
		"pillow": {testmesh.New(tet.Vertices(), [][3]mesh.VertexID{{0, 1, 2}, {2, 1, 0}}),
			counts{edges: 3, components: 1, duplicates: 1}},
	} {
		t.Run(name, func(t *testing.T) { require.Equal(t, c.want, count(mesh.BuildTopology(c.m))) })
	}
}

func first(m *mesh.Mesh, n int) *mesh.Mesh {
	return testmesh.New(m.Vertices(), m.Triangles()[:n])
}

func without(m *mesh.Mesh, drop ...mesh.TriID) *mesh.Mesh {
	var tris [][3]mesh.VertexID
	for i, c := range m.All() {
		if !slices.Contains(drop, i) {
			tris = append(tris, c)
		}
	}
	return testmesh.New(m.Vertices(), tris)
}

// Borders follow the surface: two plates that touch in one vertex have two,
// and two holes that touch in a vertex have one, which passes there twice.
func TestBordersThatTouch(t *testing.T) {
	m := testmesh.New([]r3.Vec{{}, {X: 1}, {Y: 1}, {X: -1}, {Y: -1}}, [][3]mesh.VertexID{{0, 1, 2}, {0, 3, 4}})
	topo := mesh.BuildTopology(m)
	require.Equal(t, [][]mesh.VertexID{{0, 1, 2}, {0, 3, 4}}, loopVertices(topo))
	require.Equal(t, 2, count(topo).components)

	holes := without(testmesh.Grid(4), 10, 11, 20, 21) // squares (1, 1) and (2, 2)
	require.Equal(t, counts{edges: 54, components: 1, loops: 2, border: 24}, count(mesh.BuildTopology(holes)))
}

func loopVertices(t *mesh.Topology) [][]mesh.VertexID {
	var all [][]mesh.VertexID
	for _, l := range t.Loops() {
		all = append(all, l.Vertices)
	}
	return all
}

func TestLoopsRunWithTheSurfaceOnTheLeft(t *testing.T) {
	topo := mesh.BuildTopology(testmesh.Grid(2))
	require.Len(t, topo.Loops(), 1)
	loop := topo.Loops()[0]
	require.Equal(t, []mesh.VertexID{0, 1, 2, 5, 8, 7, 6, 3}, loop.Vertices)
	require.True(t, loop.Closed)
	require.Equal(t, 8.0, loop.Length)
	require.Equal(t, 8, loop.Edges())
}

// Three pages bound along one spine: their borders end at the spine's two ends.
func TestBordersEndWhereTheSurfaceBranches(t *testing.T) {
	m := testmesh.New([]r3.Vec{{}, {Z: 1}, {X: 1}, {X: -1, Y: 1}, {X: -1, Y: -1}},
		[][3]mesh.VertexID{{0, 1, 2}, {0, 1, 3}, {1, 0, 4}})
	topo := mesh.BuildTopology(m)
	require.Equal(t, counts{edges: 7, components: 1, loops: 3, open: 3, border: 6, nonManifold: 1}, count(topo))
	for _, l := range topo.Loops() {
		require.Len(t, l.Vertices, 3)
		require.ElementsMatch(t, []mesh.VertexID{0, 1}, []mesh.VertexID{l.Vertices[0], l.Vertices[2]})
		require.InDelta(t, r3.Norm(r3.Sub(m.Vertex(0), m.Vertex(l.Vertices[1])))+
			r3.Norm(r3.Sub(m.Vertex(1), m.Vertex(l.Vertices[1]))), l.Length, 1e-15)
	}
}

// The Möbius band is the classical surface with one side and one border.
func TestMoebiusBand(t *testing.T) {
	for _, n := range []int{5, 12} {
		topo := mesh.BuildTopology(testmesh.Strip(n, true))
		require.Len(t, topo.Components(), 1)
		require.False(t, topo.Components()[0].Orientable)
		require.Len(t, topo.Loops(), 1)
		require.Equal(t, 2*n, topo.Loops()[0].Edges())
		ring := mesh.BuildTopology(testmesh.Strip(n, false))
		require.True(t, ring.Components()[0].Orientable)
		require.Len(t, ring.Loops(), 2)
	}
}

// Whatever minority of a connected surface is turned over is found exactly.
func TestFlippedTrianglesAreFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for _, m := range []*mesh.Mesh{testmesh.Tetrahedron(), testmesh.Grid(7), testmesh.Trough(60), testmesh.Strip(9, false)} {
		for range 20 {
			flip := make([]bool, m.NumTriangles())
			for range rng.IntN((len(flip) + 1) / 2) {
				flip[rng.IntN(len(flip))] = true
			}
			topo := mesh.BuildTopology(testmesh.Flip(m, func(i mesh.TriID) bool { return flip[i] }))
			for i := range flip {
				require.Equal(t, flip[i], topo.Flipped(mesh.TriID(i)))
			}
		}
	}
}

// Random triangles over few vertices have every defect there is. The topology
// is held against the definitions, by maps and searches over all pairs.
func TestTopologyAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 2))
	for range 400 {
		verts := make([]r3.Vec, 3+rng.IntN(12))
		for i := range verts {
			verts[i] = r3.Vec{X: rng.Float64(), Y: rng.Float64(), Z: rng.Float64()}
		}
		tris := make([][3]mesh.VertexID, rng.IntN(3*len(verts)))
		for i := range tris {
			for k := range tris[i] {
				tris[i][k] = mesh.VertexID(rng.IntN(len(verts)))
			}
		}
		m := testmesh.New(verts, tris)
		topo := mesh.BuildTopology(m)
		sides := checkEdges(t, m, topo)
		checkComponents(t, m, topo, sides)
		checkLoops(t, topo, sides)
	}
}

// edge is an edge by its corners, the lower one first.
type edge [2]mesh.VertexID

func edgeOf(a, b mesh.VertexID) edge { return edge{min(a, b), max(a, b)} }

// checkEdges compares the edges of a topology with those counted triangle by triangle,
// and returns the triangles at each.
func checkEdges(t *testing.T, m *mesh.Mesh, topo *mesh.Topology) map[edge][]mesh.TriID {
	sides := map[edge][]mesh.TriID{}
	directed := map[[2]mesh.VertexID]int{}
	corners := map[[3]mesh.VertexID]bool{}
	duplicates := []mesh.TriID(nil)
	for i, c := range m.All() {
		if c[0] == c[1] || c[1] == c[2] || c[2] == c[0] {
			require.Equal(t, [3]mesh.EdgeID{mesh.NoEdge, mesh.NoEdge, mesh.NoEdge}, topo.Sides(i))
			require.Equal(t, mesh.NoComponent, topo.Component(i))
			continue
		}
		for k := range c {
			a, b := c[k], c[(k+1)%3]
			sides[edgeOf(a, b)] = append(sides[edgeOf(a, b)], i)
			directed[[2]mesh.VertexID{a, b}]++
			e := topo.Edges()[topo.Sides(i)[k]]
			require.ElementsMatch(t, []mesh.VertexID{a, b}, e.V[:])
		}
		if key := [3]mesh.VertexID(slices.Sorted(slices.Values(c[:]))); corners[key] {
			duplicates = append(duplicates, i)
		} else {
			corners[key] = true
		}
	}
	require.Equal(t, duplicates, topo.Duplicates())
	require.Len(t, topo.Edges(), len(sides))
	for _, e := range topo.Edges() {
		tri := sides[edgeOf(e.V[0], e.V[1])]
		require.Equal(t, len(tri), int(e.Sides))
		require.Equal(t, tri[0], e.Tri[0])
		require.Equal(t, directed[e.V]-1, int(e.SameWay))
		if len(tri) > 1 {
			require.Equal(t, tri[1], e.Tri[1])
		} else {
			require.Equal(t, mesh.None, e.Tri[1])
		}
	}
	return sides
}

// checkComponents compares the components with the lowest number spread across edges
// until nothing changes.
func checkComponents(t *testing.T, m *mesh.Mesh, topo *mesh.Topology, sides map[edge][]mesh.TriID) {
	label := make([]mesh.TriID, m.NumTriangles())
	for i := range label {
		label[i] = mesh.TriID(i)
	}
	for changed := true; changed; {
		changed = false
		for _, tri := range sides {
			for _, x := range tri {
				for _, y := range tri {
					if label[x] < label[y] {
						label[y], changed = label[x], true
					}
				}
			}
		}
	}
	total := 0
	for i, first := range label {
		if c := topo.Component(mesh.TriID(i)); c != mesh.NoComponent {
			require.Equal(t, first, topo.Components()[c].First)
			total++
		}
	}
	for _, p := range topo.Components() {
		total -= p.Triangles
	}
	require.Zero(t, total)
}

// checkLoops holds that every border edge lies on exactly one loop, between its
// neighbours.
func checkLoops(t *testing.T, topo *mesh.Topology, sides map[edge][]mesh.TriID) {
	seen := map[edge]int{}
	for _, l := range topo.Loops() {
		for k := range l.Edges() {
			seen[edgeOf(l.Vertices[k], l.Vertices[(k+1)%len(l.Vertices)])]++
		}
	}
	for p, tri := range sides {
		want := 0
		if len(tri) == 1 {
			want = 1
		}
		require.Equal(t, want, seen[p])
	}
}
