// Package mincut finds minimum cuts of networks.
package mincut

import "math"

// Network is a flow network of nodes 0 to n−1 between a source and a sink.
// Capacities are whole numbers, so cuts do not depend on rounding. Use
// [NewNetwork], then [Network.Join], [Network.FromSource] and [Network.ToSink].
type Network struct {
	first  []int32 // of a node's arcs, −1 at the end of the chain
	next   []int32
	to     []int32
	left   []int32 // residual capacity; arc i and i^1 are each other's reverse
	source []int32 // residual capacity from the source
	sink   []int32 // and to the sink
}

// Endless is a capacity that no cut is worth.
const Endless = math.MaxInt32 / 4

// NewNetwork makes a network without capacities; edges is how many will be
// joined, for memory.
func NewNetwork(nodes, edges int) *Network {
	g := &Network{
		first: make([]int32, nodes), source: make([]int32, nodes), sink: make([]int32, nodes),
		next: make([]int32, 0, 2*edges), to: make([]int32, 0, 2*edges), left: make([]int32, 0, 2*edges),
	}
	for i := range g.first {
		g.first[i] = -1
	}
	return g
}

// FromSource adds capacity from the source to a node.
func (g *Network) FromSource(node, capacity int32) { g.source[node] = sum(g.source[node], capacity) }

// ToSink adds capacity from a node to the sink.
func (g *Network) ToSink(node, capacity int32) { g.sink[node] = sum(g.sink[node], capacity) }

// sum stays within [Endless].
func sum(a, b int32) int32 { return int32(min(int64(a)+int64(b), Endless)) }

// Join links two nodes with a capacity both ways.
func (g *Network) Join(a, b, capacity int32) {
	for _, e := range [2][2]int32{{a, b}, {b, a}} {
		g.next = append(g.next, g.first[e[0]])
		g.first[e[0]] = int32(len(g.to))
		g.to = append(g.to, e[1])
		g.left = append(g.left, capacity)
	}
}

// Cut says for every node whether it is on the source's side of a minimum cut:
// of the smallest such side where several cuts cost the same. It uses up the
// network. (Dinic 1970: shortest augmenting paths by levels.)
func (g *Network) Cut() []bool {
	n := len(g.first)
	level := make([]int32, n)
	at := make([]int32, n)
	queue := make([]int32, 0, n)
	// Flow straight from source to sink through one node.
	for v := range n {
		f := min(g.source[v], g.sink[v])
		g.source[v] -= f
		g.sink[v] -= f
	}
	path := make([]int32, 0, 256) // arcs
	for g.levels(level, &queue) {
		copy(at, g.first)
		for _, root := range queue {
			if level[root] != 1 {
				break
			}
			for g.source[root] > 0 {
				if !g.augment(root, level, at, &path) {
					break
				}
			}
		}
	}
	side := make([]bool, n)
	for _, v := range queue {
		side[v] = true
	}
	return side
}

// levels numbers the nodes by their distance from the source; false once the
// sink is out of reach. The queue then holds all that is in reach.
func (g *Network) levels(level []int32, queue *[]int32) bool {
	q := (*queue)[:0]
	for v := range level {
		level[v] = 0
		if g.source[v] > 0 {
			level[v] = 1
			q = append(q, int32(v))
		}
	}
	reached := false
	for i := 0; i < len(q); i++ {
		v := q[i]
		if g.sink[v] > 0 {
			reached = true
		}
		for e := g.first[v]; e >= 0; e = g.next[e] {
			if w := g.to[e]; g.left[e] > 0 && level[w] == 0 {
				level[w] = level[v] + 1
				q = append(q, w)
			}
		}
	}
	*queue = q
	return reached
}

// augment pushes flow along one path of rising levels.
func (g *Network) augment(root int32, level, at []int32, path *[]int32) bool {
	p := (*path)[:0]
	v := root
	for {
		if g.sink[v] > 0 {
			f := min(g.source[root], g.sink[v])
			for _, e := range p {
				f = min(f, g.left[e])
			}
			g.source[root] -= f
			g.sink[v] -= f
			for _, e := range p {
				g.left[e] -= f
				g.left[e^1] += f
			}
			*path = p
			return true
		}
		for at[v] >= 0 && (g.left[at[v]] == 0 || level[g.to[at[v]]] != level[v]+1) {
			at[v] = g.next[at[v]]
		}
		if e := at[v]; e >= 0 {
			p = append(p, e)
			v = g.to[e]
			continue
		}
		// A dead end: back by one arc.
		if len(p) == 0 {
			*path = p
			return false
		}
		e := p[len(p)-1]
		p = p[:len(p)-1]
		v = g.to[e^1]
		at[v] = g.next[at[v]]
	}
}
