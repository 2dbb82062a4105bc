package bvh

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
)

// prim is an element while the tree is shaped. Single precision will do for
// that; the boxes that queries use come from the exact bounds.
type prim struct {
	lo, hi [3]float32
	id     int32
}

func (p *prim) center(axis int) float32 { return p.lo[axis] + p.hi[axis] }

const (
	bins      = 16
	parallel  = 1 << 15 // elements from which the two halves are built at once
	polled    = 1 << 12 // elements from which a subtree looks for cancellation
	halveFrom = 30      // depth from which elements are halved by count, see MaxDepth
)

// Options shape a tree.
type Options struct {
	// Leaf is the most elements of a leaf, 1 to [LeafMax].
	Leaf int
	// Pad grows every box; it must cover the rounding of the caller's coordinates.
	Pad float64
	// Part tells to which part (0 … Parts−1, at most [MaxParts]) an element
	// belongs; each part becomes a subtree with a root of its own. Nil is one part.
	Part  []int32
	Parts int
	// Workers is the number of goroutines, 0 for one a processor; it never
	// changes the tree.
	Workers int
}

// Build makes a tree over n elements with the given exact bounds, which are asked
// for on several goroutines.
//
// Splits follow the surface area heuristic over 16 bins (Wald 2007, "On fast
// construction of SAH-based bounding volume hierarchies"), ties by position.
// The result does not depend on the number of cores. A canceled context ends
// the work with its error, within a few thousand elements.
func Build(ctx context.Context, n int, bounds func(i int) Bounds, o Options) (*Tree, error) {
	part, parts := o.Part, o.Parts
	if part == nil {
		parts = 1
	}
	if parts > MaxParts {
		return nil, fmt.Errorf("bvh: %d parts, but at most %d are possible", parts, MaxParts)
	}
	if n > 1<<(31-leafBits)-1 {
		return nil, fmt.Errorf("bvh: %d elements, but at most %d are possible", n, 1<<(31-leafBits)-1)
	}
	prims, start := sortByPart(n, bounds, part, parts)
	workers := o.Workers
	if workers <= 0 {
		workers = math.MaxInt // as many as there are subtrees; the scheduler bounds them
	}
	g := grower{ctx: ctx, bounds: bounds, leaf: o.Leaf, pad: o.Pad}
	t := &Tree{Order: make([]int32, n), Parts: make([]Root, parts)}
	t.Nodes = make([]Node, 0, n/2)
	held := make([]Bounds, parts)
	for k := range parts {
		p := prims[start[k]:start[k+1]]
		t.Parts[k].First, t.Parts[k].N = int32(start[k]), int32(len(p))
		if len(p) == 0 {
			t.Parts[k].Empty = true
			continue
		}
		nodes, ref, box := g.grow(p, start[k], 0, workers)
		t.Parts[k].Ref, held[k] = graft(&t.Nodes, nodes, ref), box
		t.Parts[k].Box = box.Box(o.Pad)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for i := range prims {
		t.Order[i] = prims[i].id
	}
	t.joinParts(held, o.Pad)
	t.Nodes = slices.Clone(t.Nodes) // to size
	return t, nil
}

func sortByPart(n int, bounds func(i int) Bounds, part []int32, parts int) ([]prim, []int) {
	start := make([]int, parts+1)
	for _, k := range part {
		start[k+1]++
	}
	if part == nil {
		start[1] = n
	}
	for k := range parts {
		start[k+1] += start[k]
	}
	at := append([]int(nil), start...)
	prims := make([]prim, n)
	for i := range n {
		b := bounds(i)
		k := int32(0)
		if part != nil {
			k = part[i]
		}
		p := &prims[at[k]]
		at[k]++
		p.id = int32(i)
		for a := range 3 {
			p.lo[a], p.hi[a] = float32(b.Lo[a]), float32(b.Hi[a])
		}
	}
	return prims, start
}

// grower builds subtrees.
type grower struct {
	ctx    context.Context
	bounds func(i int) Bounds
	leaf   int
	pad    float64
}

// grow makes the subtree over prims, which it reorders; first is their place
// in the whole order. The nodes it returns are numbered from 0; the bounds are
// the exact ones of all elements.
func (g *grower) grow(prims []prim, first, depth, workers int) ([]Node, Ref, Bounds) {
	if len(prims) < parallel || workers < 2 {
		nodes := make([]Node, 0, len(prims)/2)
		ref, b := g.growInto(&nodes, prims, first, depth)
		return nodes, ref, b
	}
	mid := split(prims, depth)
	var left, right []Node
	var l, r Ref
	var lb, rb Bounds
	par.Both(func() { left, l, lb = g.grow(prims[:mid], first, depth+1, workers/2) },
		func() { right, r, rb = g.grow(prims[mid:], first+mid, depth+1, workers-workers/2) })
	nodes := make([]Node, 1, 1+len(left)+len(right))
	l = graft(&nodes, left, l)
	r = graft(&nodes, right, r)
	nodes[0] = Node{Box: [2]Box{lb.Box(g.pad), rb.Box(g.pad)}, Child: [2]Ref{l, r}}
	return nodes, 0, lb.Join(rb)
}

// graft appends a subtree to nodes and returns its renumbered root.
func graft(nodes *[]Node, sub []Node, root Ref) Ref {
	shift := Ref(len(*nodes))
	at := len(*nodes)
	*nodes = append(*nodes, sub...)
	for i := at; i < len(*nodes); i++ {
		for j, c := range (*nodes)[i].Child {
			if !c.IsLeaf() {
				(*nodes)[i].Child[j] = c + shift
			}
		}
	}
	if root.IsLeaf() {
		return root
	}
	return root + shift
}

func (g *grower) growInto(nodes *[]Node, prims []prim, first, depth int) (Ref, Bounds) {
	if len(prims) <= g.leaf {
		b := EmptyBounds()
		for i := range prims {
			b = b.Join(g.bounds(int(prims[i].id)))
		}
		return leaf(first, len(prims)), b
	}
	if len(prims) >= polled && g.ctx.Err() != nil {
		return leaf(first, 0), EmptyBounds() // the tree is thrown away
	}
	mid := split(prims, depth)
	at := Ref(len(*nodes))
	*nodes = append(*nodes, Node{})
	l, lb := g.growInto(nodes, prims[:mid], first, depth+1)
	r, rb := g.growInto(nodes, prims[mid:], first+mid, depth+1)
	(*nodes)[at] = Node{Box: [2]Box{lb.Box(g.pad), rb.Box(g.pad)}, Child: [2]Ref{l, r}}
	return at, lb.Join(rb)
}

type bin struct {
	lo, hi [3]float32
	n      int
}

func (b *bin) add(lo, hi *[3]float32) {
	for k := range 3 {
		if lo[k] < b.lo[k] {
			b.lo[k] = lo[k]
		}
		if hi[k] > b.hi[k] {
			b.hi[k] = hi[k]
		}
	}
}

func (b *bin) area() float32 {
	x, y, z := b.hi[0]-b.lo[0], b.hi[1]-b.lo[1], b.hi[2]-b.lo[2]
	return x*y + y*z + z*x
}

func emptyBin() bin {
	const m = math.MaxFloat32
	return bin{lo: [3]float32{m, m, m}, hi: [3]float32{-m, -m, -m}}
}

// split reorders prims and returns where the right half begins; both halves
// are non-empty.
func split(prims []prim, depth int) int {
	n := len(prims)
	lo, hi := [3]float32{math.MaxFloat32, math.MaxFloat32, math.MaxFloat32}, [3]float32{-math.MaxFloat32, -math.MaxFloat32, -math.MaxFloat32}
	for i := range prims {
		p := &prims[i]
		for k := range 3 {
			c := p.lo[k] + p.hi[k]
			if c < lo[k] {
				lo[k] = c
			}
			if c > hi[k] {
				hi[k] = c
			}
		}
	}
	axis := 0
	for k := 1; k < 3; k++ {
		if hi[k]-lo[k] > hi[axis]-lo[axis] {
			axis = k
		}
	}
	extent := hi[axis] - lo[axis]
	scale := float32(bins) * (1 - 1e-5) / extent
	if depth >= halveFrom || !(extent > 0 && extent < math.MaxFloat32 && scale < math.MaxFloat32) {
		return n / 2
	}
	var all [bins]bin
	for i := range all {
		all[i] = emptyBin()
	}
	base := lo[axis]
	for i := range prims {
		p := &prims[i]
		b := &all[int((p.center(axis)-base)*scale)]
		b.n++
		b.add(&p.lo, &p.hi)
	}
	cut := bestCut(&all)
	if cut == 0 {
		return n / 2
	}
	i, j := 0, n-1
	for i <= j {
		if int((prims[i].center(axis)-base)*scale) < cut {
			i++
		} else {
			prims[i], prims[j] = prims[j], prims[i]
			j--
		}
	}
	return i
}

// bestCut is the bin before which to cut, at least area × count on both sides;
// 0 if only one bin is filled.
func bestCut(all *[bins]bin) int {
	var cost [bins]float32
	acc, n := emptyBin(), 0
	for i := bins - 1; i > 0; i-- {
		if all[i].n > 0 {
			acc.add(&all[i].lo, &all[i].hi)
			n += all[i].n
			cost[i] = acc.area() * float32(n)
		}
		if n == 0 {
			cost[i] = math.MaxFloat32
		} else if all[i].n == 0 {
			cost[i] = cost[i+1]
		}
	}
	acc, n = emptyBin(), 0
	cut, best := 0, float32(math.MaxFloat32)
	for i := 1; i < bins; i++ {
		if all[i-1].n > 0 {
			acc.add(&all[i-1].lo, &all[i-1].hi)
			n += all[i-1].n
		}
		if n == 0 || cost[i] == math.MaxFloat32 {
			continue
		}
		if c := cost[i] + acc.area()*float32(n); c < best {
			cut, best = i, c
		}
	}
	return cut
}

// joinParts puts a halving tree over the roots of the parts, whose exact bounds
// are held.
func (t *Tree) joinParts(held []Bounds, pad float64) {
	var full []int
	for k, p := range t.Parts {
		if !p.Empty {
			full = append(full, k)
		}
	}
	if len(full) == 0 {
		t.Top = Root{Empty: true}
		return
	}
	var join func(k []int) (Ref, Bounds)
	join = func(k []int) (Ref, Bounds) {
		if len(k) == 1 {
			return t.Parts[k[0]].Ref, held[k[0]]
		}
		at := Ref(len(t.Nodes))
		t.Nodes = append(t.Nodes, Node{})
		l, lb := join(k[:len(k)/2])
		r, rb := join(k[len(k)/2:])
		t.Nodes[at] = Node{Box: [2]Box{lb.Box(pad), rb.Box(pad)}, Child: [2]Ref{l, r}}
		return at, lb.Join(rb)
	}
	ref, b := join(full)
	t.Top = Root{Ref: ref, Box: b.Box(pad), N: int32(len(t.Order))}
}
