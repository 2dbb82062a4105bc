package mesh

// forest is a union-find forest over triangles that also keeps, for each,
// whether it is oriented against the root of its tree. A root is the lowest
// triangle of its tree.
type forest struct {
	parent  []TriID
	against []bool // oriented against the parent; false for a root
}

// find is the root of i and whether i is oriented against it; on the way it
// hangs what it passes higher (path halving).
func (f *forest) find(i TriID) (root TriID, against bool) {
	for f.parent[i] != i {
		p := f.parent[i]
		f.against[i] = f.against[i] != f.against[p]
		f.parent[i] = f.parent[p]
		against = against != f.against[i]
		i = f.parent[i]
	}
	return i, against
}

// join puts i and j into one tree, oriented against each other or alike. It is
// false where they are in one tree already, oriented otherwise.
func (f *forest) join(i, j TriID, opposed bool) bool {
	a, ai := f.find(i)
	b, bj := f.find(j)
	turn := (ai != bj) != opposed
	if a == b {
		return !turn
	}
	a, b = min(a, b), max(a, b)
	f.parent[b], f.against[b] = a, turn
	return true
}

// findComponents joins triangles first across edges of two triangles, which
// settles their orientation, then across all.
func (t *Topology) findComponents() {
	n := len(t.m.tris)
	f := &forest{parent: make([]TriID, n), against: make([]bool, n)}
	for i := range f.parent {
		f.parent[i] = TriID(i)
	}
	t.flipped = make([]bool, n)
	twisted := t.orient(f)
	for i := range t.sides {
		for _, e := range t.sides[i] {
			if e != NoEdge && t.edges[e].Sides > 2 {
				f.join(TriID(i), t.edges[e].Tri[0], false) // orientation means nothing from here on
			}
		}
	}
	t.component = make([]ComponentID, n)
	for i := range t.component {
		if t.sides[i][0] == NoEdge {
			t.component[i] = NoComponent
			continue
		}
		root, _ := f.find(TriID(i))
		if root == TriID(i) {
			t.component[i] = ComponentID(len(t.parts))
			t.parts = append(t.parts, Component{First: root, Orientable: true})
		}
		t.component[i] = t.component[root]
		p := &t.parts[t.component[i]]
		p.Triangles++
		if t.flipped[i] {
			p.Flipped++
		}
	}
	for _, tri := range twisted {
		t.parts[t.component[tri]].Orientable = false
	}
}

// orient finds the flipped triangles, and some triangle of each surface that
// has one side only.
func (t *Topology) orient(f *forest) (twisted []TriID) {
	for i := range t.edges {
		if e := &t.edges[i]; e.Sides == 2 && !f.join(e.Tri[0], e.Tri[1], e.SameWay == 1) {
			twisted = append(twisted, e.Tri[0])
		}
	}
	excess := make([]int32, len(t.flipped)) // by root: triangles against it less those like it
	for i := range t.flipped {
		root, against := f.find(TriID(i))
		t.flipped[i] = against
		if against {
			excess[root]++
		} else {
			excess[root]--
		}
	}
	for i := range t.flipped {
		if root, _ := f.find(TriID(i)); excess[root] > 0 {
			t.flipped[i] = !t.flipped[i]
		}
	}
	return twisted
}

// Duplicates lists the triangles whose three corners, in any order, are those
// of one before them; in order.
func (t *Topology) Duplicates() []TriID {
	var found []TriID
	seen := map[[3]VertexID]bool{}
	for i, c := range t.m.tris {
		if t.sides[i][0] == NoEdge || !t.mayRepeat(TriID(i)) {
			continue
		}
		if c = sorted(c); seen[c] {
			found = append(found, TriID(i))
		}
		seen[c] = true
	}
	return found
}

// mayRepeat is false for nearly all triangles: one with the same corners would
// lie on all three sides, so where all have two triangles they are the same two.
func (t *Topology) mayRepeat(tri TriID) bool {
	other := None
	for k, e := range t.sides[tri] {
		switch t.edges[e].Sides {
		case 1:
			return false
		case 2:
			n := t.Neighbour(tri, k)
			if other != None && n != other {
				return false
			}
			other = n
		}
	}
	return true
}

func sorted(c [3]VertexID) [3]VertexID {
	if c[0] > c[1] {
		c[0], c[1] = c[1], c[0]
	}
	if c[1] > c[2] {
		c[1], c[2] = c[2], c[1]
	}
	if c[0] > c[1] {
		c[0], c[1] = c[1], c[0]
	}
	return c
}
