package bvh

import "slices"

// Refit is the tree with the same nodes over elements that have moved: every box is made
// anew from the exact bounds of the elements, which are asked for by leaf position. It holds
// what is below it as closely as [Build] would, but where elements moved past each other a
// tree built anew would be the better one. The memory of old, a tree that Refit made before
// and that nobody looks at any more, is used again; nil is none.
func (t *Tree) Refit(bounds func(pos int) Bounds, pad float64, old *Tree) *Tree {
	out := &Tree{Order: t.Order, Top: t.Top, Parts: slices.Clone(t.Parts)}
	if old != nil {
		out.Nodes = old.Nodes
	}
	if len(out.Nodes) != len(t.Nodes) {
		out.Nodes = make([]Node, len(t.Nodes))
	}
	held := make(map[Ref]Bounds, len(t.Parts))
	for k := range out.Parts {
		if p := &out.Parts[k]; !p.Empty {
			b := out.refit(t, p.Ref, bounds, pad, nil)
			held[p.Ref], p.Box = b, b.Box(pad)
		}
	}
	if !t.Top.Empty {
		out.Top.Box = out.refit(t, t.Top.Ref, bounds, pad, held).Box(pad)
	}
	return out
}

// refit fits what is below a reference. Subtrees whose bounds are held are done.
func (t *Tree) refit(from *Tree, r Ref, bounds func(int) Bounds, pad float64, held map[Ref]Bounds) Bounds {
	if held != nil {
		if b, ok := held[r]; ok {
			return b
		}
	}
	if r.IsLeaf() {
		b := EmptyBounds()
		first, n := r.Leaf()
		for i := range n {
			b = b.Join(bounds(first + i))
		}
		return b
	}
	c := from.Nodes[r].Child
	l, h := t.refit(from, c[0], bounds, pad, held), t.refit(from, c[1], bounds, pad, held)
	t.Nodes[r] = Node{Box: [2]Box{l.Box(pad), h.Box(pad)}, Child: c}
	return l.Join(h)
}
