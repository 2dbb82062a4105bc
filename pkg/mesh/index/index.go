// Package index answers where a mesh is nearest to a point or met by a ray, and on
// which side of its surface a point lies.
//
// Lengths are mm. Functions without an error result panic where an index or a
// topology is nil.
package index

import (
	"context"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/surftree"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Index answers distance queries on a mesh: a hierarchy of boxes over its
// triangles, about 80 bytes each. It is complete when [New] returns,
// never changes and is safe for any number of readers. It depends on the mesh
// alone, not on the number of cores. No query allocates, apart from growing a
// slice that the caller gave. The zero Index must not be used.
type Index surftree.Tree

// tree is the index with the methods that only this module needs.
func (x *Index) tree() *surftree.Tree { return (*surftree.Tree)(x) }

// NoPart is the part number of a triangle that belongs to no part.
const NoPart int32 = surftree.NoPart

// Options say how an index is built. The zero value is what is usual.
type Options struct {
	// Workers is the number of goroutines, 0 for one a processor. It never
	// changes an index.
	Workers int
}

// New builds the index of m. parts, if not nil, holds a number from 0 to 254 or
// [NoPart] for each triangle; the triangles of one number can then be searched
// apart from the others (package contact does so with teeth). Without parts the
// whole mesh is part 0. A nil mesh, other numbers and another count of them are
// errors; a canceled context ends the work, within milliseconds, with its error.
func New(ctx context.Context, m *mesh.Mesh, parts []int32, o Options) (*Index, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	x, err := surftree.Build(ctx, m, parts, o.Workers)
	if err != nil {
		return nil, fmt.Errorf("index: %w", err)
	}
	return (*Index)(x), nil
}

// Moved is the index of a mesh that has the same triangles with their corners elsewhere, as
// when a scan is moved or bent a little: the hierarchy is fitted anew, not built. It answers
// as one that [New] builds. A mesh with other triangles is an error. The memory of old, an index
// that Moved made before and that nobody uses any more, is used again; nil is none.
func (x *Index) Moved(m *mesh.Mesh, old *Index) (*Index, error) {
	t, err := x.tree().Moved(m, old.tree())
	if err != nil {
		return nil, fmt.Errorf("index: %w", err)
	}
	return (*Index)(t), nil
}

// Mesh is the mesh that is indexed.
func (x *Index) Mesh() *mesh.Mesh { return x.tree().Mesh() }

// Order is the vertices of the mesh that have a triangle, ordered so that neighbours in
// it lie close together: many queries are fastest in such an order, see [Follower]. The
// slice belongs to the index and must not be modified.
func (x *Index) Order() []mesh.VertexID { return x.tree().Order() }

// Hit is the point of a mesh nearest to a query.
type Hit struct {
	Tri   mesh.TriID
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
	return x.nearest(&x.tree().Boxes().Top, p, limit)
}

// NearestInPart is Nearest over the triangles of one part alone.
func (x *Index) NearestInPart(part int, p r3.Vec, limit float64) (Hit, bool) {
	parts := x.tree().Parts()
	if part < 0 || part >= len(parts) {
		return Hit{Tri: mesh.None}, false
	}
	return x.nearest(&parts[part], p, limit)
}

// roundUp covers the rounding of a squared distance.
const roundUp = 1 + 1e-14

func (x *Index) nearest(root *bvh.Root, p r3.Vec, limit float64) (Hit, bool) {
	hit := Hit{Tri: mesh.None}
	if root.Empty || !(limit >= 0) {
		return hit, false
	}
	t := x.tree()
	nodes := t.Boxes().Nodes
	best := geom.LimitSq(limit)
	reach := best * roundUp // of boxes, whose distance rounds too
	q := [3]float64{p.X, p.Y, p.Z}
	var stack [bvh.MaxDepth + 1]entry
	top := 0
	cur := entry{root.Box.DistSq(&q), root.Ref}
	for {
		if cur.sq <= reach {
			if !cur.ref.IsLeaf() {
				nd := &nodes[cur.ref]
				d0, d1 := nd.DistSq(&q)
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
				q0, q1, q2 := t.LeafCorners(pos)
				c := geom.PointTriangle(p, q0, q1, q2)
				d := geom.DistSq(p, c)
				if d > best {
					continue
				}
				if id := t.LeafTriangle(pos); d < best || hit.Tri == mesh.None || id < hit.Tri {
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
	return hit, hit.Tri != mesh.None
}

// AppendWithin appends the triangles that have a point within limit mm of p
// (inclusive), in no particular but always the same order, each with its
// nearest point.
func (x *Index) AppendWithin(dst []Hit, p r3.Vec, limit float64) []Hit {
	tree := x.tree()
	root, nodes := &tree.Boxes().Top, tree.Boxes().Nodes
	if root.Empty || !(limit >= 0) {
		return dst
	}
	q, most := [3]float64{p.X, p.Y, p.Z}, geom.LimitSq(limit)
	reach := most * roundUp
	var stack [bvh.MaxDepth + 1]bvh.Ref
	top := 0
	if root.Box.DistSq(&q) <= reach {
		stack[0], top = root.Ref, 1
	}
	for top > 0 {
		top--
		ref := stack[top]
		if !ref.IsLeaf() {
			nd := &nodes[ref]
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
			a, b, c := tree.LeafCorners(pos)
			on := geom.PointTriangle(p, a, b, c)
			if d := geom.DistSq(p, on); d <= most {
				dst = append(dst, Hit{Tri: tree.LeafTriangle(pos), Point: on, Dist: math.Sqrt(d)})
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
	hit := Hit{Tri: mesh.None, Dist: min(limit, math.MaxFloat64/2)}
	tree := x.tree()
	root, nodes := &tree.Boxes().Top, tree.Boxes().Nodes
	if root.Empty || !(limit >= 0) {
		return hit, false
	}
	org := [3]float64{o.X, o.Y, o.Z}
	inv := [3]float64{1 / d.X, 1 / d.Y, 1 / d.Z}
	var stack [bvh.MaxDepth + 1]entry
	top := 0
	cur := entry{enter(&root.Box, &org, &inv), root.Ref}
	for {
		if cur.sq <= hit.Dist*grazing {
			if !cur.ref.IsLeaf() {
				nd := &nodes[cur.ref]
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
				a, b, c := tree.LeafCorners(pos)
				t, ok := geom.RayTriangle(o, d, a, b, c)
				id := tree.LeafTriangle(pos)
				if ok && (t < hit.Dist || (t == hit.Dist && (hit.Tri == mesh.None || id < hit.Tri))) {
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
	return hit, hit.Tri != mesh.None
}

// enter is the parameter at which the ray enters the box, at least 0; +Inf if
// it misses it. A zero component of the direction gives infinite reciprocals,
// and 0·Inf = NaN on the box's side, which the comparisons below take as inside.
func enter(b *bvh.Box, org, inv *[3]float64) float64 {
	lo, hi := 0.0, math.Inf(1)
	for k := range 3 {
		c, h := float64(b.C[k]), float64(b.H[k])
		t0, t1 := (c-h-org[k])*inv[k], (c+h-org[k])*inv[k]
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
	if err := x.tree().CheckInvariants(); err != nil {
		return fmt.Errorf("index: %w", err)
	}
	return nil
}
