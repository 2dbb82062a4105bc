package bvh

import "fmt"

// Check verifies that every element is in exactly one leaf, that parts hold
// together, that all boxes hold what is below them and that no leaf lies
// deeper than [MaxDepth].
func (t *Tree) Check(n int, bounds func(i int) Bounds) error {
	if len(t.Order) != n {
		return fmt.Errorf("bvh: %d elements in the order, not %d", len(t.Order), n)
	}
	if t.Top.Empty {
		if n != 0 {
			return fmt.Errorf("bvh: empty tree for %d elements", n)
		}
		return nil
	}
	seen := make([]bool, n)
	var walk func(r Ref, boxes []Box) error
	walk = func(r Ref, boxes []Box) error {
		if len(boxes) > MaxDepth {
			return fmt.Errorf("bvh: deeper than %d", MaxDepth)
		}
		if !r.IsLeaf() {
			if int(r) >= len(t.Nodes) {
				return fmt.Errorf("bvh: no node %d", r)
			}
			for k, c := range t.Nodes[r].Child {
				if err := walk(c, append(boxes, t.Nodes[r].Box[k])); err != nil {
					return err
				}
			}
			return nil
		}
		first, count := r.Leaf()
		if count < 1 || count > LeafMax || first+count > n {
			return fmt.Errorf("bvh: leaf of %d elements at %d", count, first)
		}
		for _, e := range t.Order[first : first+count] {
			if e < 0 || int(e) >= n || seen[e] {
				return fmt.Errorf("bvh: element %d out of range or in two leaves", e)
			}
			seen[e] = true
			b := bounds(int(e))
			for _, x := range boxes {
				for k := range 3 {
					if c, h := float64(x.C[k]), float64(x.H[k]); b.Lo[k] < c-h || b.Hi[k] > c+h {
						return fmt.Errorf("bvh: element %d sticks out of a box above it", e)
					}
				}
			}
		}
		return nil
	}
	if err := walk(t.Top.Ref, []Box{t.Top.Box}); err != nil {
		return err
	}
	for e, s := range seen {
		if !s {
			return fmt.Errorf("bvh: element %d is in no leaf", e)
		}
	}
	return nil
}
