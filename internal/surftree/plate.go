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

// plateChunk is the number of nodes whose plates one worker fits at a time.
const plateChunk = 2048

// makePlates fits a plate to every box with few enough triangles below it.
func (x *Tree) makePlates(ctx context.Context, workers int) error {
	x.plates = make([][2]Plate, len(x.boxes.Nodes))
	fit := func(_, lo, hi int) error {
		for i := lo; i < hi; i++ {
			nd := &x.boxes.Nodes[i]
			for k, c := range nd.Child {
				x.plates[i][k] = noPlate
				if first, n := x.below(c); n <= plateMost {
					x.plates[i][k] = x.plate(first, n, &nd.Box[k].C)
				}
			}
		}
		return nil
	}
	return par.Chunks(ctx, len(x.boxes.Nodes), plateChunk, workers, fit)
}

// below is the leaf positions below a reference, which follow each other.
func (x *Tree) below(r bvh.Ref) (first, n int) {
	left, right := r, r
	for !left.IsLeaf() {
		left = x.boxes.Nodes[left].Child[0]
	}
	for !right.IsLeaf() {
		right = x.boxes.Nodes[right].Child[1]
	}
	first, _ = left.Leaf()
	last, count := right.Leaf()
	return first, last + count - first
}

// plate is the plate across the mean normal of the triangles at n leaf
// positions from first.
func (x *Tree) plate(first, n int, centre *[3]float32) Plate {
	var sum r3.Vec
	for _, t := range x.tris[first : first+n] {
		a := x.verts[t[0]]
		sum = r3.Add(sum, r3.Cross(r3.Sub(x.verts[t[1]], a), r3.Sub(x.verts[t[2]], a)))
	}
	l := r3.Norm(sum)
	if !(l > 0) {
		return noPlate
	}
	p := Plate{N: [3]float32{float32(sum.X / l), float32(sum.Y / l), float32(sum.Z / l)}}
	nx, ny, nz := float64(p.N[0]), float64(p.N[1]), float64(p.N[2])
	cx, cy, cz := float64(centre[0]), float64(centre[1]), float64(centre[2])
	lo, hi, rr := math.Inf(1), math.Inf(-1), 0.0
	for i := range x.tris[first : first+n] {
		for _, v := range x.tris[first+i] {
			q := x.verts[v]
			x, y, z := q.X-cx, q.Y-cy, q.Z-cz
			rr = max(rr, x*x+y*y+z*z)
			h := nx*x + ny*y + nz*z
			if h < lo {
				lo = h
			}
			if h > hi {
				hi = h
			}
		}
	}
	// Rounded outward, with room for moving the plate in double precision.
	p.Lo, p.Hi = float32(lo-x.pad)-1e-6*float32(math.Abs(lo)), float32(hi+x.pad)+1e-6*float32(math.Abs(hi))
	p.R = float32(math.Sqrt(rr)*(1+1e-6) + x.pad)
	return p
}
