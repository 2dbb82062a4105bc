// Package cover solves least weighted coverings of pairs: what two sides must give
// together, at the least cost.
//
// Side A has amounts a and side B amounts b; every pair (i, j) needs a_i + b_j ≥ need, no
// amount is below 0 or above its limit, and Σ costA·a + Σ costB·b is least. The matrix of
// such a program is that of a bipartite graph, which is totally unimodular (Hoffman and
// Kruskal 1956): with whole needs and limits the least cost is reached by whole amounts.
package cover

import (
	"container/heap"
	"errors"
	"fmt"
	"math"
)

// ErrInfeasible says that a pair needs more than both its sides may give.
var ErrInfeasible = errors.New("no amounts within their limits cover all pairs")

// InfeasibleError names the pair that lacks most.
type InfeasibleError struct {
	Pair        int // its place in the list
	Need, Limit int32
}

func (e *InfeasibleError) Error() string {
	return fmt.Sprintf("%v: pair %d needs %d, its limits allow %d", ErrInfeasible, e.Pair, e.Need, e.Limit)
}

func (e *InfeasibleError) Unwrap() error { return ErrInfeasible }

// Pair is what one of A and one of B must give together.
type Pair struct{ A, B, Need int32 }

// Side is the members of one side: the cost of a unit of each, 1 or more, and the most
// that each may give, 0 or more.
type Side struct {
	Cost []int64
	Most []int32
}

// Solve returns the amounts of A and B of least cost. Of several it returns those that the
// order of members and pairs leads to, always the same. Where a pair cannot be covered the
// error is an [InfeasibleError].
//
// The dual is a transportation problem: flow from A to B over the pairs earns their needs,
// each member lets through its cost for nothing and more at its limit a unit. It is solved
// by cheapest paths, all of one length at a time (the primal-dual method of Ford and
// Fulkerson 1962), so the number of rounds is at most the largest need.
func Solve(a, b Side, pairs []Pair) (amountA, amountB []int32, err error) {
	worst := int32(0)
	var bad *InfeasibleError
	for i, p := range pairs {
		if lack := p.Need - a.Most[p.A] - b.Most[p.B]; lack > worst {
			worst, bad = lack, &InfeasibleError{Pair: i, Need: p.Need, Limit: a.Most[p.A] + b.Most[p.B]}
		}
	}
	if bad != nil {
		return nil, nil, bad
	}
	f := newFlow(a, b, pairs)
	for f.distances(); f.price[f.sink] < 0; f.distances() {
		f.block()
	}
	f.lower()
	amountA, amountB = make([]int32, len(a.Cost)), make([]int32, len(b.Cost))
	for i := range amountA {
		amountA[i] = int32(max(0, min(int64(a.Most[i]), f.price[1+i])))
	}
	for j := range amountB {
		amountB[j] = int32(max(0, min(int64(b.Most[j]), -f.price[1+len(a.Cost)+j])))
	}
	return amountA, amountB, nil
}

// endless is a capacity that no flow fills.
const endless = math.MaxInt64 / 4

// arc is an arc of the network; arc i and i^1 are each other's reverse.
type arc struct {
	to   int32
	left int64 // residual capacity
	cost int64
}

// flow is a network with a flow in it: node 0 is the source, then come the members of A,
// those of B, and the sink.
type flow struct {
	arcs  []arc
	out   [][]int32 // arcs of each node
	price []int64   // cheapest distance from the source in the residual network
	sink  int32

	level []int32
	at    []int32
	queue []int32
	heap  nodes
	dist  []int64
}

func newFlow(a, b Side, pairs []Pair) *flow {
	n := len(a.Cost) + len(b.Cost) + 2
	f := &flow{out: make([][]int32, n), price: make([]int64, n), sink: int32(n - 1), level: make([]int32, n), at: make([]int32,
		n), dist: make([]int64, n)}
	firstB := int32(1 + len(a.Cost))
	for i, c := range a.Cost {
		f.join(0, int32(1+i), c, 0)
		f.join(0, int32(1+i), endless, int64(a.Most[i]))
	}
	for _, p := range pairs {
		f.join(1+p.A, firstB+p.B, endless, -int64(p.Need))
	}
	for j, c := range b.Cost {
		f.join(firstB+int32(j), f.sink, c, 0)
		f.join(firstB+int32(j), f.sink, endless, int64(b.Most[j]))
	}
	// The network has no cycles yet: distances in the order of the nodes.
	for v := 1; v < n; v++ {
		f.price[v] = endless
	}
	for v := range n {
		for _, e := range f.out[v] {
			if x := &f.arcs[e]; x.left > 0 && f.price[v] < endless {
				f.price[x.to] = min(f.price[x.to], f.price[v]+x.cost)
			}
		}
	}
	return f
}

func (f *flow) join(from, to int32, capacity, cost int64) {
	f.out[from] = append(f.out[from], int32(len(f.arcs)))
	f.arcs = append(f.arcs, arc{to, capacity, cost})
	f.out[to] = append(f.out[to], int32(len(f.arcs)))
	f.arcs = append(f.arcs, arc{from, 0, -cost})
}

// distances makes the prices the cheapest distances from the source (Dijkstra on the
// costs less the old prices, which are not negative).
func (f *flow) distances() {
	for v := range f.dist {
		f.dist[v] = math.MaxInt64
	}
	f.dist[0] = 0
	f.heap = append(f.heap[:0], node{0, 0})
	for len(f.heap) > 0 {
		x := heap.Pop(&f.heap).(node)
		if x.dist > f.dist[x.id] {
			continue
		}
		for _, e := range f.out[x.id] {
			a := &f.arcs[e]
			if a.left <= 0 || f.price[a.to] >= endless {
				continue
			}
			if d := x.dist + a.cost + f.price[x.id] - f.price[a.to]; d < f.dist[a.to] {
				f.dist[a.to] = d
				heap.Push(&f.heap, node{d, a.to})
			}
		}
	}
	for v, d := range f.dist {
		if d != math.MaxInt64 {
			f.price[v] += d
		}
	}
}

// lower brings the price of the sink down to 0, since a flow may also return from there
// for nothing, and with it the prices that follow from it, by relaxation until nothing
// changes (Bellman and Ford).
func (f *flow) lower() {
	f.price[f.sink] = min(0, f.price[f.sink])
	f.queue = append(f.queue[:0], f.sink)
	for len(f.queue) > 0 {
		v := f.queue[0]
		f.queue = f.queue[1:]
		for _, e := range f.out[v] {
			if a := &f.arcs[e]; a.left > 0 && f.price[v]+a.cost < f.price[a.to] {
				f.price[a.to] = f.price[v] + a.cost
				f.queue = append(f.queue, a.to)
			}
		}
	}
}

// tight says whether a cheapest path runs over an arc.
func (f *flow) tight(from int32, a *arc) bool {
	return a.left > 0 && f.price[from]+a.cost == f.price[a.to]
}

// block sends as much as goes over cheapest paths alone (Dinic 1970).
func (f *flow) block() {
	for f.levels() {
		for v := range f.at {
			f.at[v] = 0
		}
		for f.push(0, endless) > 0 {
		}
	}
}

// levels counts the arcs from the source along cheapest paths.
func (f *flow) levels() bool {
	for v := range f.level {
		f.level[v] = -1
	}
	f.level[0] = 0
	f.queue = append(f.queue[:0], 0)
	for i := 0; i < len(f.queue); i++ {
		v := f.queue[i]
		for _, e := range f.out[v] {
			if a := &f.arcs[e]; f.level[a.to] < 0 && f.tight(v, a) {
				f.level[a.to] = f.level[v] + 1
				f.queue = append(f.queue, a.to)
			}
		}
	}
	return f.level[f.sink] >= 0
}

// push sends up to most from a node to the sink; it returns what went. The depth of the
// recursion is that of the levels.
func (f *flow) push(v int32, most int64) int64 {
	if v == f.sink {
		return most
	}
	for ; f.at[v] < int32(len(f.out[v])); f.at[v]++ {
		e := f.out[v][f.at[v]]
		a := &f.arcs[e]
		if f.level[a.to] != f.level[v]+1 || !f.tight(v, a) {
			continue
		}
		if went := f.push(a.to, min(most, a.left)); went > 0 {
			f.arcs[e].left -= went
			f.arcs[e^1].left += went
			return went
		}
	}
	return 0
}

// node is a node in the queue of [flow.distances].
type node struct {
	dist int64
	id   int32
}

type nodes []node

func (h nodes) Len() int { return len(h) }
func (h nodes) Less(i, j int) bool {
	return h[i].dist < h[j].dist || h[i].dist == h[j].dist && h[i].id < h[j].id
}
func (h nodes) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *nodes) Push(x any)   { *h = append(*h, x.(node)) }
func (h *nodes) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}
