// Package mesh holds scanned surfaces: triangles over vertices, welding and
// connectivity.
//
// Lengths are millimetres throughout. A mesh may be open, non-manifold or
// badly oriented, as scans are; what is wrong with it is reported by package
// inspect, never repaired silently. Package meshfile reads and writes the files
// of scans, package index answers distance queries.
package mesh

import (
	"fmt"
	"iter"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// VertexID numbers a vertex of one mesh, from 0.
type VertexID int32

// TriID numbers a triangle of one mesh, from 0.
type TriID int32

// None stands for "no triangle"; zero is a real one.
const None TriID = -1

// Mesh is an indexed triangle surface. Corners run counter-clockwise seen from
// outside. It is immutable after construction and safe for any number of
// readers. The zero Mesh is empty.
type Mesh struct {
	verts []r3.Vec
	tris  [][3]VertexID
}

// New makes a mesh from vertices in mm and triangles as corner numbers. It
// copies both slices. A coordinate that is not finite is an error wrapping
// [ErrNonFinite], one beyond [MaxCoordinate] one wrapping [ErrTooFar], a corner
// outside the vertices one wrapping [ErrIndexRange]; each names its place.
// Nothing is dropped or merged: degenerate and duplicate triangles stay.
func New(verts []r3.Vec, tris [][3]VertexID) (*Mesh, error) {
	return Adopt(slices.Clone(verts), slices.Clone(tris))
}

// Adopt is [New] without the copies: the slices belong to the mesh from then
// on, and the caller must not write to them.
func Adopt(verts []r3.Vec, tris [][3]VertexID) (*Mesh, error) {
	for i, v := range verts {
		if !inRange(v) {
			return nil, &VertexError{Vertex: VertexID(i), Err: rangeFault(v)}
		}
	}
	for i, t := range tris {
		for _, c := range t {
			if c < 0 || int(c) >= len(verts) {
				return nil, &TriangleError{Tri: TriID(i), Err: fmt.Errorf("%w: corner %d, but there are %d vertices", ErrIndexRange, c, len(verts))}
			}
		}
	}
	return &Mesh{verts: verts, tris: tris}, nil
}

// MaxCoordinate bounds the coordinates of a mesh, in mm. A thousand kilometres
// is no scan, and below it areas, volumes and their sums stay finite.
const MaxCoordinate = 1e9

// inRange is false for NaN and infinities too.
func inRange(v r3.Vec) bool {
	const far = MaxCoordinate
	return v.X >= -far && v.X <= far && v.Y >= -far && v.Y <= far && v.Z >= -far && v.Z <= far
}

// NumVertices is the number of vertices.
func (m *Mesh) NumVertices() int { return len(m.verts) }

// NumTriangles is the number of triangles.
func (m *Mesh) NumTriangles() int { return len(m.tris) }

// Vertex is the position of v in mm.
func (m *Mesh) Vertex(v VertexID) r3.Vec { return m.verts[v] }

// Vertices lists all positions in mm; the slice belongs to the mesh and must
// not be modified.
func (m *Mesh) Vertices() []r3.Vec { return m.verts }

// Triangle is the corner numbers of t.
func (m *Mesh) Triangle(t TriID) [3]VertexID { return m.tris[t] }

// Triangles lists all corner numbers; the slice belongs to the mesh and must
// not be modified.
func (m *Mesh) Triangles() [][3]VertexID { return m.tris }

// All yields every triangle with its corner numbers, in order.
func (m *Mesh) All() iter.Seq2[TriID, [3]VertexID] {
	return func(yield func(TriID, [3]VertexID) bool) {
		for i, t := range m.tris {
			if !yield(TriID(i), t) {
				return
			}
		}
	}
}

// Corners is the corner positions of t in mm.
func (m *Mesh) Corners(t TriID) (a, b, c r3.Vec) {
	tr := m.tris[t]
	return m.verts[tr[0]], m.verts[tr[1]], m.verts[tr[2]]
}

// AreaVector is half the cross product of two sides of t: its length is the
// area in mm², its direction the outward normal. It is zero for a degenerate
// triangle.
func (m *Mesh) AreaVector(t TriID) r3.Vec {
	a, b, c := m.Corners(t)
	return r3.Scale(0.5, r3.Cross(r3.Sub(b, a), r3.Sub(c, a)))
}

// Bounds is the smallest box around all vertices; it is empty for a mesh
// without vertices.
func (m *Mesh) Bounds() Box {
	b := EmptyBox()
	for _, v := range m.verts {
		b = b.Include(v)
	}
	return b
}

// Transform is the mesh with f applied to every vertex. f must keep
// orientation, as rigid motions and positive scalings do.
func (m *Mesh) Transform(f func(r3.Vec) r3.Vec) (*Mesh, error) {
	verts := make([]r3.Vec, len(m.verts))
	for i, v := range m.verts {
		if verts[i] = f(v); !inRange(verts[i]) {
			return nil, &VertexError{Vertex: VertexID(i), Err: rangeFault(verts[i])}
		}
	}
	return &Mesh{verts: verts, tris: m.tris}, nil
}
