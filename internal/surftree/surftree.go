// Package surftree holds the hierarchy over a mesh that distance queries and
// closings walk: boxes, a plate for each, and the corners in the order of the
// leaves.
package surftree

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Tree is the hierarchy of a mesh. It never changes after [Build] and is a
// function of the mesh and its parts alone. Package index hands it out under a
// name of its own, index.Index, without these methods; the packages of this
// module convert it back.
type Tree struct {
	mesh  *mesh.Mesh
	boxes *bvh.Tree
	tris  [][3]int32      // by leaf position, into verts
	verts []r3.Vec        // in the order in which the leaves use them
	order []mesh.VertexID // their numbers
	pad   float64         // by which boxes are grown, mm

	plates [][2]Plate
	parts  []bvh.Root // by part number
	rest   bvh.Root   // what belongs to none
}

// NoPart is the part number of a triangle that belongs to none.
const NoPart = -1

// MostParts is the number of parts that a tree can tell apart; one subtree is
// kept for what belongs to none.
const MostParts = bvh.MaxParts - 1

// ErrNoMesh says that there is nothing to index.
var ErrNoMesh = errors.New("the mesh is nil")

// Build makes the tree of m on up to workers goroutines (0: one a processor).
// parts, if not nil, holds a number from 0 to [MostParts]-1, or [NoPart], for
// each triangle; each part becomes a subtree of its own. Without parts the whole
// mesh is part 0. A canceled context ends the work with its error.
func Build(ctx context.Context, m *mesh.Mesh, parts []int32, workers int) (*Tree, error) {
	if m == nil {
		return nil, ErrNoMesh
	}
	slots, count, err := slotsOf(parts, m.NumTriangles())
	if err != nil {
		return nil, err
	}
	n, pad := m.NumTriangles(), rounding(m)
	if err := checkLargest(pad); err != nil {
		return nil, err
	}
	boxes, err := bvh.Build(ctx, n, func(i int) bvh.Bounds { return bounds(m, mesh.TriID(i)) },
		bvh.Options{Leaf: 3, Pad: pad, Part: slots, Parts: count, Workers: workers})
	if err != nil {
		return nil, err
	}
	x := &Tree{mesh: m, boxes: boxes, pad: pad, tris: make([][3]int32, n), verts: make([]r3.Vec, 0, m.NumVertices()),
		order: make([]mesh.VertexID, 0, m.NumVertices())}
	x.enter(parts != nil)
	local := make([]int32, m.NumVertices())
	for i := range local {
		local[i] = -1
	}
	for pos, id := range boxes.Order {
		for k, v := range m.Triangle(mesh.TriID(id)) {
			if local[v] < 0 {
				local[v] = int32(len(x.verts))
				x.verts, x.order = append(x.verts, m.Vertex(v)), append(x.order, v)
			}
			x.tris[pos][k] = local[v]
		}
	}
	if err := x.makePlates(ctx, workers); err != nil {
		return nil, err
	}
	return x, nil
}

// enter sets the entrances to the subtrees; of parts the first holds what belongs to none.
func (x *Tree) enter(parted bool) {
	x.parts, x.rest = x.boxes.Parts, bvh.Root{Empty: true}
	if parted {
		x.rest, x.parts = x.boxes.Parts[0], x.boxes.Parts[1:]
	}
}

// checkLargest refuses meshes, by what their coordinates round, that boxes cannot hold.
func checkLargest(pad float64) error {
	if !(pad <= bvh.Largest*roundings) {
		return fmt.Errorf("coordinates beyond %g cannot be indexed", bvh.Largest)
	}
	return nil
}

// ErrOther says that a mesh has not the triangles of the one that is indexed.
var ErrOther = errors.New("the mesh has other triangles")

// Moved is the tree of a mesh that has the same triangles with their corners elsewhere: boxes
// and plates are fitted anew to the same hierarchy. That takes a small part of the time of
// [Build] and answers the same; queries stay as fast as long as the mesh was moved as a
// whole or bent a little. Another number of triangles is an error wrapping [ErrOther]. The
// memory of old, a tree that Moved made before and that nobody looks at any more, is used
// again; nil is none.
func (x *Tree) Moved(m *mesh.Mesh, old *Tree) (*Tree, error) {
	if m == nil || m.NumTriangles() != x.mesh.NumTriangles() || m.NumVertices() != x.mesh.NumVertices() {
		return nil, ErrOther
	}
	if old == nil {
		old = &Tree{}
	}
	out := &Tree{mesh: m, tris: x.tris, verts: old.verts, order: x.order, pad: rounding(m), plates: old.plates}
	if len(out.verts) != len(x.verts) {
		out.verts = make([]r3.Vec, len(x.verts))
	}
	if err := checkLargest(out.pad); err != nil {
		return nil, err
	}
	for i, v := range x.order {
		out.verts[i] = m.Vertex(v)
	}
	out.boxes = x.boxes.Refit(func(pos int) bvh.Bounds {
		a, b, c := out.LeafCorners(pos)
		return bvh.Bounds{
			Lo: [3]float64{min(a.X, b.X, c.X), min(a.Y, b.Y, c.Y), min(a.Z, b.Z, c.Z)},
			Hi: [3]float64{max(a.X, b.X, c.X), max(a.Y, b.Y, c.Y), max(a.Z, b.Z, c.Z)},
		}
	}, out.pad, old.boxes)
	out.enter(len(x.parts) < len(x.boxes.Parts))
	return out, out.makePlates(context.Background(), 1)
}

// slotsOf numbers the subtrees of parts from 1, with 0 for none.
func slotsOf(parts []int32, triangles int) (slots []int32, count int, err error) {
	if parts == nil {
		return nil, 1, nil
	}
	if len(parts) != triangles {
		return nil, 0, fmt.Errorf("%d part numbers for %d triangles", len(parts), triangles)
	}
	count = 1
	slots = make([]int32, len(parts))
	for i, p := range parts {
		if p < NoPart || p >= MostParts {
			return nil, 0, fmt.Errorf("triangle %d has the part number %d, which is neither in 0…%d nor %d for none", i, p, MostParts-1, NoPart)
		}
		slots[i] = p + 1
		count = max(count, int(p)+2)
	}
	return slots, count, nil
}

func bounds(m *mesh.Mesh, t mesh.TriID) bvh.Bounds {
	a, b, c := m.Corners(t)
	return bvh.Bounds{
		Lo: [3]float64{min(a.X, b.X, c.X), min(a.Y, b.Y, c.Y), min(a.Z, b.Z, c.Z)},
		Hi: [3]float64{max(a.X, b.X, c.X), max(a.Y, b.Y, c.Y), max(a.Z, b.Z, c.Z)},
	}
}

// roundings is those few units, of a number of size 1.
const roundings = 16 * 0x1p-52

// rounding bounds what one subtraction or one rigid motion of coordinates of
// this size can lose: a few units in the last place of the largest.
func rounding(m *mesh.Mesh) float64 {
	largest := 0.0
	for _, v := range m.Vertices() {
		largest = max(largest, math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z))
	}
	return roundings * largest
}

// Mesh is the mesh that is indexed.
func (x *Tree) Mesh() *mesh.Mesh { return x.mesh }

// Boxes is the hierarchy of boxes itself.
func (x *Tree) Boxes() *bvh.Tree { return x.boxes }

// Parts is the roots of the parts, by their numbers; those of numbers that do
// not occur are empty.
func (x *Tree) Parts() []bvh.Root { return x.parts }

// Rest is the root of what belongs to no part.
func (x *Tree) Rest() *bvh.Root { return &x.rest }

// LeafCorners is the corners of the triangle at a leaf position.
func (x *Tree) LeafCorners(pos int) (a, b, c r3.Vec) {
	t := &x.tris[pos]
	return x.verts[t[0]], x.verts[t[1]], x.verts[t[2]]
}

// Order is the vertices that have a triangle in the order in which the leaves use
// them: neighbours in it lie close together.
func (x *Tree) Order() []mesh.VertexID { return x.order }

// LeafTriangle is the triangle at a leaf position.
func (x *Tree) LeafTriangle(pos int) mesh.TriID { return mesh.TriID(x.boxes.Order[pos]) }

// CheckInvariants verifies the tree: every triangle lies in exactly one leaf,
// with its own corners, and within the boxes of all nodes above it.
func (x *Tree) CheckInvariants() error {
	if err := x.boxes.Check(x.mesh.NumTriangles(), func(i int) bvh.Bounds { return bounds(x.mesh, mesh.TriID(i)) }); err != nil {
		return err
	}
	for pos, id := range x.boxes.Order {
		a, b, c := x.LeafCorners(pos)
		if p, q, r := x.mesh.Corners(mesh.TriID(id)); a != p || b != q || c != r {
			return fmt.Errorf("leaf position %d does not hold triangle %d", pos, id)
		}
	}
	return nil
}
