package contact

import "github.com/cusptrace/cusptrace/internal/bvh"

// nodeCache keeps what a search computes of the two children of the nodes that it meets.
// A search meets few of the nodes of a large tree, so they lie close together, in
// the order in which they were met. The zero value works.
type nodeCache[T any] struct {
	at     []nodePlace // of every node
	now    uint32      // the number of the search
	blocks []*[cacheBlock][2]T
	n      int // nodes met
}

// nodePlace is where a node is kept, if it bears the number of the search.
type nodePlace struct{ stamp, at uint32 }

// cacheBlock is how many nodes are kept together: blocks stay where they are, so that
// a search can point into them.
const cacheBlock = 128

// begin forgets all nodes of the last search.
func (m *nodeCache[T]) begin(nodes int) {
	if len(m.at) < nodes {
		m.at, m.now = make([]nodePlace, nodes), 0
	}
	if m.now++; m.now == 0 { // after 2³² searches old stamps could look new
		clear(m.at)
		m.now = 1
	}
	m.n = 0
}

// of is the room for what belongs to a node; fresh says that nothing of this
// search is in it yet.
func (m *nodeCache[T]) of(node bvh.Ref) (x *[2]T, fresh bool) {
	p := &m.at[node]
	if fresh = p.stamp != m.now; fresh {
		*p = nodePlace{m.now, uint32(m.n)}
		if m.n == len(m.blocks)*cacheBlock {
			m.blocks = append(m.blocks, new([cacheBlock][2]T))
		}
		m.n++
	}
	return &m.blocks[p.at/cacheBlock][p.at%cacheBlock], fresh
}
