package surftree

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/par"
	"gonum.org/v1/gonum/spatial/r3"
)

// Plate bounds what is below a box of a tree between two parallel planes and
// within a ball: for every point p of it, N·(p−C) lies in Lo…Hi and |p−C| is at
// most R, where C is the centre of the box.
// Surfaces that face each other across a narrow gap are inclined to the axes;
// plates tell them apart where boxes overlap.
type Plate struct {
	N      [3]float32 // of length 1 within 1e-6
	Lo, Hi float32    // mm; infinite where there is no useful plate
	R      float32    // mm
}

// plateMost is the number of triangles from which on a patch of a tooth is no
// longer flat enough for a plate to help.
const plateMost = 256

// noPlate bounds nothing.
var noPlate = Plate{N: [3]float32{0, 0, 1}, Lo: float32(math.Inf(-1)), Hi: float32(math.Inf(1)), R: float32(math.Inf(1))}

// Plates lists the plates of the children of each node of [Tree.Boxes].
func (x *Tree) Plates() [][2]Plate { return x.plates }

// RootPlate is the plate of the whole tree or of a whole part: these are too
// large to have one, so it bounds nothing.
func RootPlate() *Plate { return &noPlate }

// small is a largest subtree with few enough triangles below it for plates.
type small struct {
	ref      bvh.Ref
	first, n int // leaf positions
	// own is where its own plate goes; nil for a root.
	own    *Plate
	centre *[3]float32
	known  int32 // so many of the vertices are used before it
}

// plateChunk is the number of small subtrees whose plates one worker fits at a time.
const plateChunk = 64

// makePlates fits a plate to every box with few enough triangles below it.
func (x *Tree) makePlates(ctx context.Context, workers int) error {
	if len(x.plates) != len(x.boxes.Nodes) {
		x.plates = make([][2]Plate, len(x.boxes.Nodes))
	}
	for i := range x.plates {
		x.plates[i] = [2]Plate{noPlate, noPlate}
	}
	var list []small
	for k := range x.boxes.Parts {
		if r := &x.boxes.Parts[k]; !r.Empty {
			list = x.smalls(list, small{ref: r.Ref, first: int(r.First), n: int(r.N)})
		}
	}
	known, pos := int32(0), 0
	for i := range list { // in the order of their leaf positions
		for ; pos < list[i].first; pos++ {
			known = max(known, x.used(pos))
		}
		list[i].known = known
	}
	return par.Chunks(ctx, len(list), plateChunk, workers, func(_, lo, hi int) error {
		var f plateFitter
		for i := range list[lo:hi] {
			f.fit(x, &list[lo+i])
		}
		return nil
	})
}

// used is one more than the highest vertex of the triangle at a leaf position; vertices are
// numbered as the leaves first use them.
func (x *Tree) used(pos int) int32 {
	t := &x.tris[pos]
	return max(t[0], t[1], t[2]) + 1
}

// smalls appends the largest small subtrees of one subtree.
func (x *Tree) smalls(list []small, s small) []small {
	if s.n <= plateMost {
		return append(list, s)
	}
	nd := &x.boxes.Nodes[s.ref]
	left := small{ref: nd.Child[0], first: s.first, n: x.leaves(nd.Child[0]), own: &x.plates[s.ref][0], centre: &nd.Box[0].C}
	list = x.smalls(list, left)
	return x.smalls(list, small{ref: nd.Child[1], first: s.first + left.n, n: s.n - left.n, own: &x.plates[s.ref][1],
		centre: &nd.Box[1].C})
}

// leaves is the number of leaf positions below a reference, which follow each other.
func (x *Tree) leaves(r bvh.Ref) int {
	left, right := r, r
	for !left.IsLeaf() {
		left = x.boxes.Nodes[left].Child[0]
	}
	for !right.IsLeaf() {
		right = x.boxes.Nodes[right].Child[1]
	}
	first, _ := left.Leaf()
	last, n := right.Leaf()
	return last + n - first
}

// plateFitter fits the plates of one small subtree after another.
type plateFitter struct {
	x     *Tree
	first int // leaf position of the subtree
	// For the triangles before each of the subtree's: the sum of their area vectors, and how
	// many vertices are used.
	area  [plateMost + 1]r3.Vec
	known [plateMost + 1]int32
}

func (f *plateFitter) fit(x *Tree, s *small) {
	f.x, f.first = x, s.first
	f.known[0] = s.known
	for i, t := range x.tris[s.first : s.first+s.n] {
		a := x.verts[t[0]]
		f.area[i+1] = r3.Add(f.area[i], r3.Cross(r3.Sub(x.verts[t[1]], a), r3.Sub(x.verts[t[2]], a)))
		f.known[i+1] = max(f.known[i], x.used(s.first+i))
	}
	f.below(s.ref, s.first)
	if s.own != nil {
		*s.own = f.plate(s.first, s.n, s.centre)
	}
}

// below fits the plates of the nodes below a reference, whose leaf positions begin with first,
// and returns their number.
func (f *plateFitter) below(r bvh.Ref, first int) int {
	if r.IsLeaf() {
		_, n := r.Leaf()
		return n
	}
	nd := &f.x.boxes.Nodes[r]
	left := f.below(nd.Child[0], first)
	right := f.below(nd.Child[1], first+left)
	f.x.plates[r] = [2]Plate{f.plate(first, left, &nd.Box[0].C), f.plate(first+left, right, &nd.Box[1].C)}
	return left + right
}

// plate is the plate across the mean normal of the triangles at n leaf
// positions from first.
func (f *plateFitter) plate(first, n int, centre *[3]float32) Plate {
	x, from, to := f.x, first-f.first, first-f.first+n
	sum := r3.Sub(f.area[to], f.area[from])
	l := math.Sqrt(r3.Norm2(sum))
	if !(l > 0) {
		return noPlate
	}
	p := Plate{N: [3]float32{float32(sum.X / l), float32(sum.Y / l), float32(sum.Z / l)}}
	nx, ny, nz := float64(p.N[0]), float64(p.N[1]), float64(p.N[2])
	cx, cy, cz := float64(centre[0]), float64(centre[1]), float64(centre[2])
	lo, hi, rr := math.Inf(1), math.Inf(-1), 0.0
	hold := func(q *r3.Vec) {
		x, y, z := q.X-cx, q.Y-cy, q.Z-cz
		rr = max(rr, x*x+y*y+z*z)
		h := nx*x + ny*y + nz*z
		lo, hi = min(lo, h), max(hi, h)
	}
	// The vertices that are first used here, each once, and the others where they come up.
	known := f.known[from]
	for v := known; v < f.known[to]; v++ {
		hold(&x.verts[v])
	}
	for i := range x.tris[first : first+n] {
		for _, v := range x.tris[first+i] {
			if v < known {
				hold(&x.verts[v])
			}
		}
	}
	// Rounded outward, with room for moving the plate in double precision.
	p.Lo, p.Hi = float32(lo-x.pad)-1e-6*float32(math.Abs(lo)), float32(hi+x.pad)+1e-6*float32(math.Abs(hi))
	p.R = float32(math.Sqrt(rr)*(1+1e-6) + x.pad)
	return p
}
