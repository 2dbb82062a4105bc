package mesh

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/geom"
	"gonum.org/v1/gonum/spatial/r3"
)

// Index answers distance queries on a mesh: a hierarchy of boxes over its
// triangles, about 80 bytes each. It is complete when [NewIndex] returns,
// never changes and is safe for any number of readers. It depends on the mesh
// alone, not on the number of cores. No query allocates, apart from growing a
// slice that the caller gave.
type Index struct {
	mesh  *Mesh
	tree  *bvh.Tree
	tris  [][3]int32 // by leaf position, into verts
	verts []r3.Vec   // in the order in which the leaves use them
	pad   float64    // by which boxes are grown, mm

	plates [][2]Plate
}

// NewIndex builds the index of m. parts, if not nil, holds a number from 0 for
// each triangle; the triangles of one number can then be asked for apart from
// the others (package contact does so with teeth). There may be at most 256.
func NewIndex(m *Mesh, parts []int32) (*Index, error) {
	n, count := m.NumTriangles(), int32(1)
	if parts != nil && len(parts) != n {
		return nil, fmt.Errorf("index: %d part numbers for %d triangles", len(parts), n)
	}
	for i, p := range parts {
		if p < 0 || p >= bvh.MaxParts {
			return nil, fmt.Errorf("index: triangle %d has the part number %d, which is not in 0…%d", i, p, bvh.MaxParts-1)
		}
		count = max(count, p+1)
	}
	pad := m.rounding()
	tree, err := bvh.Build(n, func(i int) bvh.Bounds { return m.bounds(TriID(i)) },
		bvh.Options{Leaf: 3, Pad: pad, Part: parts, Parts: int(count)})
	if err != nil {
		return nil, fmt.Errorf("index: %w", err)
	}
	x := &Index{mesh: m, tree: tree, pad: pad, tris: make([][3]int32, n), verts: make([]r3.Vec, 0, m.NumVertices())}
	local := make([]int32, m.NumVertices())
	for i := range local {
		local[i] = -1
	}
	for pos, id := range tree.Order {
		for k, v := range m.tris[id] {
			if local[v] < 0 {
				local[v] = int32(len(x.verts))
				x.verts = append(x.verts, m.verts[v])
			}
			x.tris[pos][k] = local[v]
		}
	}
	if err := x.makePlates(); err != nil {
		return nil, fmt.Errorf("index: %w", err)
	}
	return x, nil
}

func (m *Mesh) bounds(t TriID) bvh.Bounds {
	a, b, c := m.Corners(t)
	return bvh.Bounds{
		Lo: [3]float64{min(a.X, b.X, c.X), min(a.Y, b.Y, c.Y), min(a.Z, b.Z, c.Z)},
		Hi: [3]float64{max(a.X, b.X, c.X), max(a.Y, b.Y, c.Y), max(a.Z, b.Z, c.Z)},
	}
}

// rounding bounds what one subtraction or one rigid motion of coordinates of
// this size can lose: a few units in the last place of the largest.
func (m *Mesh) rounding() float64 {
	largest := 0.0
	for _, v := range m.verts {
		largest = max(largest, math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z))
	}
	return 16 * 0x1p-52 * largest
}

// Mesh is the mesh that is indexed.
func (x *Index) Mesh() *Mesh { return x.mesh }

// Tree is the hierarchy itself, for the other packages of this module.
func (x *Index) Tree() *bvh.Tree { return x.tree }

// LeafCorners is the corners of the triangle at a leaf position of the tree,
// for the other packages of this module.
func (x *Index) LeafCorners(pos int) (a, b, c r3.Vec) {
	t := &x.tris[pos]
	return x.verts[t[0]], x.verts[t[1]], x.verts[t[2]]
}

// LeafTriangle is the triangle at a leaf position of the tree, for the other
// packages of this module.
func (x *Index) LeafTriangle(pos int) TriID { return TriID(x.tree.Order[pos]) }

// Hit is the point of a mesh nearest to a query.
type Hit struct {
	Tri   TriID
	Point r3.Vec  // on the mesh, mm
	Dist  float64 // from the query, mm
}

// entry is a subtree that a traversal has put off, with a lower bound of its
// squared distance.
type entry struct {
	sq  float64
	ref bvh.Ref
}

// Nearest is the point of the mesh nearest to p, if one lies within limit mm
// (inclusive; +Inf for no limit). Of several triangles at the same distance the
// one with the lowest number is named.
func (x *Index) Nearest(p r3.Vec, limit float64) (Hit, bool) {
	return x.nearest(x.tree.Top, p, limit)
}

// NearestInPart is Nearest over the triangles of one part alone.
func (x *Index) NearestInPart(part int, p r3.Vec, limit float64) (Hit, bool) {
	if part < 0 || part >= len(x.tree.Parts) {
		return Hit{Tri: None}, false
	}
	return x.nearest(x.tree.Parts[part], p, limit)
}

// roundUp covers the rounding of a squared distance.
const roundUp = 1 + 1e-14

func (x *Index) nearest(root bvh.Root, p r3.Vec, limit float64) (Hit, bool) {
	hit := Hit{Tri: None}
	if root.Empty || !(limit >= 0) {
		return hit, false
	}
	best := geom.LimitSq(limit)
	reach := best * roundUp // of boxes, whose distance rounds too
	q := [3]float64{p.X, p.Y, p.Z}
	var stack [bvh.MaxDepth + 1]entry
	top := 0
	cur := entry{root.Box.DistSq(&q), root.Ref}
	for {
		if cur.sq <= reach {
			if !cur.ref.IsLeaf() {
				nd := &x.tree.Nodes[cur.ref]
				d0, d1 := nd.Box[0].DistSq(&q), nd.Box[1].DistSq(&q)
				near, far := entry{d0, nd.Child[0]}, entry{d1, nd.Child[1]}
				if d1 < d0 {
					near, far = far, near
				}
				if far.sq <= reach {
					stack[top] = far
					top++
				}
				cur = near
				continue
			}
			first, n := cur.ref.Leaf()
			for pos := first; pos < first+n; pos++ {
				t := &x.tris[pos]
				c := geom.PointTriangle(p, x.verts[t[0]], x.verts[t[1]], x.verts[t[2]])
				d := geom.DistSq(p, c)
				id := TriID(x.tree.Order[pos])
				if d < best || (d == best && (hit.Tri == None || id < hit.Tri)) {
					best, reach, hit.Tri, hit.Point = d, d*roundUp, id, c
				}
			}
		}
		if top == 0 {
			break
		}
		top--
		cur = stack[top]
	}
	hit.Dist = math.Sqrt(best)
	return hit, hit.Tri != None
}

// AppendWithin appends the triangles that have a point within limit mm of p
// (inclusive), in no particular but always the same order, each with its
// nearest point.
func (x *Index) AppendWithin(dst []Hit, p r3.Vec, limit float64) []Hit {
	if x.tree.Top.Empty || !(limit >= 0) {
		return dst
	}
	q, most := [3]float64{p.X, p.Y, p.Z}, geom.LimitSq(limit)
	reach := most * roundUp
	var stack [bvh.MaxDepth + 1]bvh.Ref
	top := 0
	if x.tree.Top.Box.DistSq(&q) <= reach {
		stack[0], top = x.tree.Top.Ref, 1
	}
	for top > 0 {
		top--
		ref := stack[top]
		if !ref.IsLeaf() {
			nd := &x.tree.Nodes[ref]
			for k := range 2 {
				if nd.Box[k].DistSq(&q) <= reach {
					stack[top] = nd.Child[k]
					top++
				}
			}
			continue
		}
		first, n := ref.Leaf()
		for pos := first; pos < first+n; pos++ {
			a, b, c := x.LeafCorners(pos)
			on := geom.PointTriangle(p, a, b, c)
			if d := geom.DistSq(p, on); d <= most {
				dst = append(dst, Hit{Tri: x.LeafTriangle(pos), Point: on, Dist: math.Sqrt(d)})
			}
		}
	}
	return dst
}

// grazing covers the rounding of where a ray enters boxes and meets triangles.
const grazing = 1 + 1e-12

// Ray is the first point at which the ray from o in direction d meets the mesh,
// from either side. Hit.Dist is in units of d's length, at most limit
// (inclusive). Of several triangles met at one place the one with the lowest
// number is named. A triangle that the ray runs along is not met.
func (x *Index) Ray(o, d r3.Vec, limit float64) (Hit, bool) {
	// Finite, so that boxes that are missed lie beyond it.
	hit := Hit{Tri: None, Dist: min(limit, math.MaxFloat64/2)}
	if x.tree.Top.Empty || !(limit >= 0) {
		return hit, false
	}
	org := [3]float64{o.X, o.Y, o.Z}
	inv := [3]float64{1 / d.X, 1 / d.Y, 1 / d.Z}
	var stack [bvh.MaxDepth + 1]entry
	top := 0
	cur := entry{enter(&x.tree.Top.Box, &org, &inv), x.tree.Top.Ref}
	for {
		if cur.sq <= hit.Dist*grazing {
			if !cur.ref.IsLeaf() {
				nd := &x.tree.Nodes[cur.ref]
				near := entry{enter(&nd.Box[0], &org, &inv), nd.Child[0]}
				far := entry{enter(&nd.Box[1], &org, &inv), nd.Child[1]}
				if far.sq < near.sq {
					near, far = far, near
				}
				stack[top] = far
				top++
				cur = near
				continue
			}
			first, n := cur.ref.Leaf()
			for pos := first; pos < first+n; pos++ {
				a, b, c := x.LeafCorners(pos)
				t, ok := geom.RayTriangle(o, d, a, b, c)
				id := x.LeafTriangle(pos)
				if ok && (t < hit.Dist || (t == hit.Dist && (hit.Tri == None || id < hit.Tri))) {
					hit.Dist, hit.Tri = t, id
				}
			}
		}
		if top == 0 {
			break
		}
		top--
		cur = stack[top]
	}
	hit.Point = r3.Add(o, r3.Scale(hit.Dist, d))
	return hit, hit.Tri != None
}

// enter is the parameter at which the ray enters the box, at least 0; +Inf if
// it misses it. A zero component of the direction gives infinite reciprocals,
// and 0·Inf = NaN on the box's side, which the comparisons below take as inside.
func enter(b *bvh.Box, org, inv *[3]float64) float64 {
	lo, hi := 0.0, math.Inf(1)
	for k := range 3 {
		t0 := (b.C[k] - b.H[k] - org[k]) * inv[k]
		t1 := (b.C[k] + b.H[k] - org[k]) * inv[k]
		if t0 > t1 {
			t0, t1 = t1, t0
		}
		if t0 > lo {
			lo = t0
		}
		if t1 < hi {
			hi = t1
		}
	}
	// The reciprocals round; give the exit a little room.
	if lo > hi*(1+4e-15) {
		return math.Inf(1)
	}
	return lo
}

// CheckInvariants verifies the hierarchy, for tests and bug reports: every
// triangle lies in exactly one leaf and within the boxes of all nodes above it.
func (x *Index) CheckInvariants() error {
	if err := x.tree.Check(x.mesh.NumTriangles(), func(i int) bvh.Bounds { return x.mesh.bounds(TriID(i)) }); err != nil {
		return fmt.Errorf("index: %w", err)
	}
	for pos, id := range x.tree.Order {
		a, b, c := x.LeafCorners(pos)
		if p, q, r := x.mesh.Corners(TriID(id)); a != p || b != q || c != r {
			return fmt.Errorf("index: leaf position %d does not hold triangle %d", pos, id)
		}
	}
	return nil
}
