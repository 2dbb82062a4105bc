// Package bvh builds hierarchies of axis-parallel boxes.
//
// It knows nothing of triangles or of what the three axes mean: the same
// builder serves Cartesian boxes and the cylindrical ones of a hinge.
package bvh

import "math"

// Box is a closed box as centre and half sides, the form in which distances
// need no branches; in single precision, so that a node fits a cache line. It
// is rounded outward: queries compute in double precision and miss nothing.
type Box struct {
	C, H [3]float32
}

// Moved is a box in double precision, as it comes out of a motion.
type Moved struct {
	C, H [3]float64
}

// Largest is the coordinate, in any unit, up to which elements fit boxes.
const Largest = 1e30

// Bounds is a closed box as lower and upper corner.
type Bounds struct {
	Lo, Hi [3]float64
}

// EmptyBounds is the neutral element of [Bounds.Join].
func EmptyBounds() Bounds {
	inf := math.Inf(1)
	return Bounds{Lo: [3]float64{inf, inf, inf}, Hi: [3]float64{-inf, -inf, -inf}}
}

// Join is the smallest box around both.
func (b Bounds) Join(o Bounds) Bounds {
	for k := range 3 {
		if o.Lo[k] < b.Lo[k] {
			b.Lo[k] = o.Lo[k]
		}
		if o.Hi[k] > b.Hi[k] {
			b.Hi[k] = o.Hi[k]
		}
	}
	return b
}

// Box is b as centre and half sides, grown by pad and by what rounding may have
// cost, so that it holds every point of b, within [Largest].
func (b Bounds) Box(pad float64) (x Box) {
	for k := range 3 {
		x.C[k] = float32(0.5*b.Lo[k] + 0.5*b.Hi[k])
		c := float64(x.C[k])
		h := max(b.Hi[k]-c, c-b.Lo[k])
		h += 0x1p-52*(math.Abs(c)+h) + pad
		if x.H[k] = float32(h); float64(x.H[k]) < h {
			x.H[k] = math.Nextafter32(x.H[k], math.MaxFloat32)
		}
	}
	return x
}

// DistSq is the squared distance from p to the box, 0 inside.
func (b *Box) DistSq(p *[3]float64) float64 {
	// x + |x| is twice the positive part of x.
	x := math.Abs(p[0]-float64(b.C[0])) - float64(b.H[0])
	y := math.Abs(p[1]-float64(b.C[1])) - float64(b.H[1])
	z := math.Abs(p[2]-float64(b.C[2])) - float64(b.H[2])
	x += math.Abs(x)
	y += math.Abs(y)
	z += math.Abs(z)
	return 0.25 * (x*x + y*y + z*z)
}

// GapSq is the squared distance between two boxes, 0 where they overlap.
func (b *Box) GapSq(o *Moved) float64 {
	x := math.Abs(o.C[0]-float64(b.C[0])) - (float64(b.H[0]) + o.H[0])
	y := math.Abs(o.C[1]-float64(b.C[1])) - (float64(b.H[1]) + o.H[1])
	z := math.Abs(o.C[2]-float64(b.C[2])) - (float64(b.H[2]) + o.H[2])
	x += math.Abs(x)
	y += math.Abs(y)
	z += math.Abs(z)
	return 0.25 * (x*x + y*y + z*z)
}

// Move is the box around b after a rigid motion with the matrix m.
func (b *Box) Move(m *[16]float64) (x Moved) {
	cx, cy, cz := float64(b.C[0]), float64(b.C[1]), float64(b.C[2])
	hx, hy, hz := float64(b.H[0]), float64(b.H[1]), float64(b.H[2])
	for i := range 3 {
		r := m[4*i : 4*i+4 : 4*i+4]
		x.C[i] = r[0]*cx + r[1]*cy + r[2]*cz + r[3]
		x.H[i] = math.Abs(r[0])*hx + math.Abs(r[1])*hy + math.Abs(r[2])*hz
	}
	return x
}

// Ref points to a node or a leaf of a tree.
type Ref int32

// leafBits is the number of low bits of a leaf's reference that hold its count.
const leafBits = 3

// LeafMax is the most elements that a leaf holds.
const LeafMax = 4

func leaf(first, count int) Ref { return ^Ref(first<<leafBits | count) }

// IsLeaf says whether r is a leaf; its elements are then Order[first:first+count].
func (r Ref) IsLeaf() bool { return r < 0 }

// Leaf is where the leaf's elements begin in Order and how many there are.
func (r Ref) Leaf() (first, count int) {
	x := int(^r)
	return x >> leafBits, x & (1<<leafBits - 1)
}

// Node is an inner node: its two children and their boxes.
type Node struct {
	Box   [2]Box
	Child [2]Ref
}

// DistSq is the squared distances from p to the boxes of both children. One call for both
// is faster than two, since the processor works on them side by side.
func (n *Node) DistSq(p *[3]float64) (d0, d1 float64) {
	px, py, pz := p[0], p[1], p[2]
	a, b := &n.Box[0], &n.Box[1]
	x0 := math.Abs(px-float64(a.C[0])) - float64(a.H[0])
	x1 := math.Abs(px-float64(b.C[0])) - float64(b.H[0])
	y0 := math.Abs(py-float64(a.C[1])) - float64(a.H[1])
	y1 := math.Abs(py-float64(b.C[1])) - float64(b.H[1])
	z0 := math.Abs(pz-float64(a.C[2])) - float64(a.H[2])
	z1 := math.Abs(pz-float64(b.C[2])) - float64(b.H[2])
	x0 += math.Abs(x0)
	x1 += math.Abs(x1)
	y0 += math.Abs(y0)
	y1 += math.Abs(y1)
	z0 += math.Abs(z0)
	z1 += math.Abs(z1)
	return 0.25 * (x0*x0 + y0*y0 + z0*z0), 0.25 * (x1*x1 + y1*y1 + z1*z1)
}

// Root is an entrance to a tree: a reference and the box around all below it.
type Root struct {
	Ref Ref
	Box Box
	// First and N say which leaf positions lie below.
	First, N int32
	// Empty is set where nothing is below; Ref and Box then mean nothing.
	Empty bool
}

// Holds says whether a leaf position lies below.
func (r *Root) Holds(pos int32) bool { return pos >= r.First && pos-r.First < r.N }

// Tree is a hierarchy over numbered elements. It is a function of the input
// alone and never changes after it is built.
type Tree struct {
	Nodes []Node
	Order []int32 // leaf position → element
	Top   Root    // over everything
	Parts []Root  // over the elements of each part
}

// MaxDepth bounds the number of nodes from the top to any leaf, so that
// traversals can keep their stack in a fixed array. The builder halves the
// elements below depth 30 and there can be no more than 2³¹ of them, and
// the nodes over the parts are a halving tree over at most 2⁸.
const MaxDepth = 30 + 31 + 8

// MaxParts is the most parts that a tree may have.
const MaxParts = 1 << 8
