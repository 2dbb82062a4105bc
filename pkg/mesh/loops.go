package mesh

import "gonum.org/v1/gonum/spatial/r3"

// Loop is a border of a surface: a chain of edges that have one triangle each.
// Where borders touch in a vertex they follow the surface around it: two plates
// that touch have a border each, two holes that touch have one together.
type Loop struct {
	// Vertices along the border, the surface on the left seen from outside.
	Vertices []VertexID
	// Closed is false for a chain that ends where the surface branches, at a
	// non-manifold edge.
	Closed bool
	// Length in mm, including the edge that closes it.
	Length float64
}

// Edges is the number of edges.
func (l Loop) Edges() int {
	if l.Closed {
		return len(l.Vertices)
	}
	return len(l.Vertices) - 1
}

// edgeEnd is one of the two ends of a border edge, 2·edge + end, where end 0
// is V[0]; or noEnd.
type edgeEnd int32

const noEnd edgeEnd = -1

func (d edgeEnd) edge() EdgeID      { return EdgeID(d >> 1) }
func (d edgeEnd) opposite() edgeEnd { return d ^ 1 }

func (t *Topology) vertexAt(d edgeEnd) VertexID { return t.edges[d.edge()].V[d&1] }

// beside is the end of the next border edge around the vertex at d: turning
// about that vertex through the triangles, from one border to the other. It
// is noEnd where a non-manifold edge is in the way.
func (t *Topology) beside(d edgeEnd) edgeEnd {
	v, e := t.vertexAt(d), d.edge()
	tri := t.edges[e].Tri[0]
	// Each step crosses an edge of two triangles into a triangle not met
	// before, so the turn ends.
	for {
		e = t.otherSideAt(tri, e, v)
		switch edge := &t.edges[e]; edge.Sides {
		case 1:
			if edge.V[0] == v {
				return edgeEnd(2 * e)
			}
			return edgeEnd(2*e + 1)
		case 2:
			tri = edge.Tri[0] + edge.Tri[1] - tri
		default:
			return noEnd
		}
	}
}

// otherSideAt is the side of tri that meets side e in vertex v.
func (t *Topology) otherSideAt(tri TriID, e EdgeID, v VertexID) EdgeID {
	for k, c := range t.m.tris[tri] {
		if c == v {
			if s := t.sides[tri][k]; s != e { // the side that leaves v
				return s
			}
			return t.sides[tri][(k+2)%3] // the side that reaches v
		}
	}
	return NoEdge // not reached: v is a corner of tri
}

func (t *Topology) findLoops() {
	border := 0
	for i := range t.edges {
		if t.edges[i].Sides == 1 {
			border++
		}
	}
	seen := make([]bool, len(t.edges))
	pool := make([]VertexID, 0, 2*border) // a chain has at most one vertex more than edges
	for i := range t.edges {
		if t.edges[i].Sides != 1 || seen[i] {
			continue
		}
		// Go backwards to where an open chain begins, or once around.
		start := edgeEnd(2 * i)
		for {
			d := t.beside(start)
			if d == noEnd || d.edge() == EdgeID(i) {
				break
			}
			start = d.opposite()
		}
		loop := Loop{Closed: t.beside(start) != noEnd}
		if loop.Closed {
			start = edgeEnd(2 * i)
		}
		from := len(pool)
		for d := start; d != noEnd && !seen[d.edge()]; d = t.beside(d.opposite()) {
			seen[d.edge()] = true
			pool = append(pool, t.vertexAt(d))
			if !loop.Closed && t.beside(d.opposite()) == noEnd {
				pool = append(pool, t.vertexAt(d.opposite()))
			}
			loop.Length += t.EdgeLength(d.edge())
		}
		loop.Vertices = pool[from:len(pool):len(pool)]
		t.loops = append(t.loops, loop)
	}
}

// EdgeLength is the length of an edge in mm.
func (t *Topology) EdgeLength(e EdgeID) float64 {
	v := t.edges[e].V
	return r3.Norm(r3.Sub(t.m.verts[v[0]], t.m.verts[v[1]]))
}
