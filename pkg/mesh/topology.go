package mesh

// EdgeID numbers an edge of one [Topology], from 0.
type EdgeID int32

// ComponentID numbers a connected part of one [Topology], from 0.
type ComponentID int32

// Edge is where two vertices are joined by a side of at least one triangle.
type Edge struct {
	V   [2]VertexID // in the direction of the first triangle
	Tri [2]TriID    // the first and second triangle with this side; None where there is no second
	// Sides is the number of triangle sides that lie here: 1 on a border, 2
	// inside, more where the surface branches (a non-manifold edge).
	Sides int32
	// SameWay is the number of these sides, after the first, that run in the
	// direction of the first. In a consistently oriented surface two
	// neighbours run in opposite directions, so it is 0.
	SameWay int32
}

// Topology is the connectivity of a mesh: how its triangles hang together,
// without regard to where the vertices lie. It is immutable, deterministic and
// tolerates any mesh. Edges are numbered in the order of the triangle sides,
// components in that of their first triangle.
//
// A triangle that names a vertex twice has no surface and no neighbours; it
// takes no part, its edges and component are None. Zero area alone does not
// exclude a triangle.
type Topology struct {
	m         *Mesh
	edges     []Edge
	sides     [][3]EdgeID   // edges of a triangle; side k runs from corner k to corner k+1
	component []ComponentID // of a triangle
	parts     []Component
	flipped   []bool
	loops     []Loop
}

// NoEdge and NoComponent stand for "none"; zero is a real one.
const (
	NoEdge      EdgeID      = -1
	NoComponent ComponentID = -1
)

// Component is a part of a mesh whose triangles are joined by edges. Parts that
// only share a vertex are two components.
type Component struct {
	First     TriID // the triangle with the lowest number
	Triangles int
	Flipped   int // triangles for which [Topology.Flipped] holds
	// Orientable is false for a surface with one side only, as a Möbius band;
	// Flipped then depends on the order of triangles.
	Orientable bool
}

// BuildTopology finds the connectivity of m. It expects a welded mesh: of a
// soup each triangle is a component of its own. Time and memory are
// proportional to the number of triangles.
func BuildTopology(m *Mesh) *Topology {
	t := &Topology{m: m}
	t.findEdges()
	t.findComponents()
	t.findLoops()
	return t
}

// Mesh is the mesh whose connectivity this is.
func (t *Topology) Mesh() *Mesh { return t.m }

// On is the same connectivity over a mesh with the same triangles and other places of the
// vertices. It panics for a mesh of another size.
func (t *Topology) On(m *Mesh) *Topology {
	if m.NumTriangles() != t.m.NumTriangles() || m.NumVertices() != t.m.NumVertices() {
		panic("mesh: connectivity of another mesh")
	}
	out := *t
	out.m = m
	return &out
}

// Edges lists all edges; the slice belongs to the topology and must not be
// modified.
func (t *Topology) Edges() []Edge { return t.edges }

// Sides is the edges of a triangle; side k runs from corner k to corner k+1.
func (t *Topology) Sides(tri TriID) [3]EdgeID { return t.sides[tri] }

// Component is the part that a triangle belongs to; NoComponent for one that
// names a vertex twice.
func (t *Topology) Component(tri TriID) ComponentID { return t.component[tri] }

// Components lists the parts in the order of their first triangles; the slice
// belongs to the topology and must not be modified.
func (t *Topology) Components() []Component { return t.parts }

// Flipped says whether a triangle is oriented against the majority of those
// that it hangs together with across edges of two triangles (in a tie, against
// the first of them). Across an edge where more meet, nothing says which
// orientation would be right.
func (t *Topology) Flipped(tri TriID) bool { return t.flipped[tri] }

// Loops lists the borders in the order of their first edges; the slice belongs
// to the topology and must not be modified.
func (t *Topology) Loops() []Loop { return t.loops }

// Neighbour is the triangle on the other side of an edge, None at a border.
// Where more than two meet, it is the first or second of them.
func (t *Topology) Neighbour(tri TriID, side int) TriID {
	e := t.sides[tri][side]
	if e == NoEdge {
		return None
	}
	if a := t.edges[e].Tri; a[0] == tri {
		return a[1]
	}
	return t.edges[e].Tri[0]
}

func repeatsVertex(c [3]VertexID) bool { return c[0] == c[1] || c[1] == c[2] || c[2] == c[0] }

// findEdges numbers the sides through an open-addressing table. A surface has
// about one and a half edges a triangle, a soup three.
func (t *Topology) findEdges() {
	n := len(t.m.tris)
	t.edges = make([]Edge, 0, n*3/2+n/16+3)
	t.sides = make([][3]EdgeID, n)
	table := make([]EdgeID, tableSize(3*n/2)) // edge + 1; 0 = free
	for i, c := range t.m.tris {
		if repeatsVertex(c) {
			t.sides[i] = [3]EdgeID{NoEdge, NoEdge, NoEdge}
			continue
		}
		for k := range 3 {
			t.sides[i][k] = t.side(table, TriID(i), c[k], c[(k+1)%3])
		}
		if 4*len(t.edges) > 3*len(table) {
			table = make([]EdgeID, 2*len(table))
			mask := uint64(len(table) - 1)
			for e := range t.edges {
				j := hashEdge(t.edges[e].V[0], t.edges[e].V[1]) & mask
				for table[j] != 0 {
					j = (j + 1) & mask
				}
				table[j] = EdgeID(e) + 1
			}
		}
	}
}

func hashEdge(a, b VertexID) uint64 { return mix(uint64(min(a, b))<<32 | uint64(max(a, b))) }

// side enters the side from a to b of a triangle.
func (t *Topology) side(table []EdgeID, tri TriID, a, b VertexID) EdgeID {
	mask := uint64(len(table) - 1)
	for i := hashEdge(a, b) & mask; ; i = (i + 1) & mask {
		id := table[i] - 1
		if id < 0 {
			id = EdgeID(len(t.edges))
			table[i] = id + 1
			t.edges = append(t.edges, Edge{V: [2]VertexID{a, b}, Tri: [2]TriID{tri, None}, Sides: 1})
			return id
		}
		e := &t.edges[id]
		same := e.V == [2]VertexID{a, b}
		if !same && e.V != [2]VertexID{b, a} {
			continue
		}
		if e.Sides == 1 {
			e.Tri[1] = tri
		}
		e.Sides++
		if same {
			e.SameWay++
		}
		return id
	}
}
