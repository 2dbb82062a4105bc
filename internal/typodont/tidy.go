package typodont

import (
	"slices"

	"github.com/cusptrace/cusptrace/internal/portable"
	"gonum.org/v1/gonum/spatial/r3"
)

// Where a surface has more detail than its triangles can follow (the wedge
// between two crowns, a carved groove's wall, material ground away), marching
// and moving vertices leave needles and triangles that lie folded over their
// neighbours. Tidying takes such spots, and only those, and turns an edge, merges
// two vertices or moves a vertex to the middle of its neighbours, whatever
// mends most, until the triangles are sound.

const (
	soundFold   = 0.0  // the least cosine between the normals of neighbours
	soundAspect = 15.0 // the largest ratio of a triangle's longest side to its height
	tidyRounds  = 60
)

// tidier is a surface with the triangles around each vertex.
type tidier struct {
	*surface
	dead   []bool    // triangles that are gone
	ring   [][]int32 // the live triangles around each vertex
	fixed  []bool    // vertices on a border, or where the surface is no disc
	before []int32   // scratch: the triangles that a change replaces
	after  [][3]int32
}

// tidy mends folded and needle-shaped triangles, everywhere or only from those on
// that have a vertex with a weight. Vertices keep their numbers; some are used no
// more. Borders stay as they are.
func (s *surface) tidy(only map[int32]float64) {
	w := newTidier(s)
	var queue []int32
	for i, t := range s.tris {
		if (only == nil || only[t[0]]+only[t[1]]+only[t[2]] > 0) && w.unsound(int32(i)) {
			queue = append(queue, int32(i))
		}
	}
	for range tidyRounds {
		var next []int32
		for _, t := range queue {
			if !w.dead[t] && w.unsound(t) {
				next = append(next, w.mend(t)...)
			}
		}
		slices.Sort(next)
		queue = slices.Compact(next)
		if len(queue) == 0 {
			break
		}
	}
	kept := s.tris[:0]
	for i, t := range s.tris {
		if !w.dead[i] {
			kept = append(kept, t)
		}
	}
	s.tris = kept
}

func newTidier(s *surface) *tidier {
	w := &tidier{surface: s, dead: make([]bool, len(s.tris)), ring: make([][]int32, len(s.verts)), fixed: make([]bool, len(s.verts))}
	start := make([]int, len(s.verts)+1)
	for _, t := range s.tris {
		for _, v := range t {
			start[v+1]++
		}
	}
	for v := range s.verts {
		start[v+1] += start[v]
	}
	all := make([]int32, start[len(s.verts)])
	for v := range s.verts { // a ring that grows moves to memory of its own
		w.ring[v] = all[start[v]:start[v]:start[v+1]]
	}
	for i, t := range s.tris {
		for _, v := range t {
			w.ring[v] = append(w.ring[v], int32(i))
		}
	}
	for _, t := range s.tris {
		for k := range 3 {
			u, v := t[k], t[(k+1)%3]
			if w.across(u, v) < 0 {
				w.fixed[u], w.fixed[v] = true, true
			}
		}
	}
	return w
}

// across is the live triangle with the side from v to u, −1 where there is none
// or more than one.
func (w *tidier) across(u, v int32) int32 {
	found := int32(-1)
	for _, i := range w.ring[v] {
		if follows(w.tris[i], v, u) {
			if found >= 0 {
				return -1
			}
			found = i
		}
	}
	return found
}

// follows says whether a triangle has the side from a to b.
func follows(t [3]int32, a, b int32) bool {
	return t[0] == a && t[1] == b || t[1] == a && t[2] == b || t[2] == a && t[0] == b
}

// shape is a triangle's unit normal (0 where it has no area) and what is wrong
// with its proportions.
func (w *tidier) shape(t [3]int32) (n r3.Vec, wrong float64) {
	a, b, c := w.verts[t[0]], w.verts[t[1]], w.verts[t[2]]
	ab, bc, ca := r3.Sub(b, a), r3.Sub(c, b), r3.Sub(a, c)
	n = r3.Cross(ab, bc)
	double := r3.Norm(n)
	long := max(r3.Norm2(ab), r3.Norm2(bc), r3.Norm2(ca))
	if double < 1e-9*long || double == 0 {
		return r3.Vec{}, 10
	}
	return r3.Scale(1/double, n), max(0, portable.Log(long/(double*soundAspect)))
}

// fold is what is wrong with two neighbours that have these normals.
func fold(m, n r3.Vec) float64 { return max(0, soundFold-r3.Dot(m, n)) }

// cost is what is wrong with triangles that stand in for others: their
// proportions, and the folds among them and with those around.
func (w *tidier) cost(tris [][3]int32, instead []int32) float64 {
	var buf [24]r3.Vec
	normals := buf[:0]
	sum := 0.0
	for _, t := range tris {
		n, wrong := w.shape(t)
		normals = append(normals, n)
		sum += wrong
	}
	for i, t := range tris {
	sides:
		for k := range 3 {
			u, v := t[k], t[(k+1)%3]
			for j, o := range tris {
				if follows(o, v, u) {
					if j > i {
						sum += fold(normals[i], normals[j])
					}
					continue sides
				}
			}
			for _, o := range w.ring[v] {
				if follows(w.tris[o], v, u) && !slices.Contains(instead, o) {
					n, _ := w.shape(w.tris[o])
					sum += fold(normals[i], n)
				}
			}
		}
	}
	return sum
}

func (w *tidier) unsound(i int32) bool {
	t := w.tris[i]
	n, wrong := w.shape(t)
	if wrong > 0 {
		return true
	}
	for k := range 3 {
		if o := w.across(t[k], t[(k+1)%3]); o >= 0 {
			if m, _ := w.shape(w.tris[o]); fold(n, m) > 0 {
				return true
			}
		}
	}
	return false
}

// change replaces triangles by others, or moves a vertex.
type change struct {
	before []int32
	after  [][3]int32
	vertex int32 // −1 none
	to     r3.Vec
	gain   float64
}

// mend makes the best change around a triangle and returns the triangles to
// look at again. Where no single change helps, the triangle's vertices give way
// together.
func (w *tidier) mend(i int32) []int32 {
	best := change{gain: 1e-9}
	try := func(vertex int32, to r3.Vec) {
		old := make([][3]int32, len(w.before))
		for k, t := range w.before {
			old[k] = w.tris[t]
		}
		was := w.cost(old, w.before)
		var from r3.Vec
		if vertex >= 0 {
			from, w.verts[vertex] = w.verts[vertex], to
		}
		gain := was - w.cost(w.after, w.before)
		if vertex >= 0 {
			w.verts[vertex] = from
		}
		if gain > best.gain {
			best = change{slices.Clone(w.before), slices.Clone(w.after), vertex, to, gain}
		}
	}
	// The triangle's own vertices and those opposite its sides.
	t := w.tris[i]
	near := []int32{t[0], t[1], t[2]}
	for k := range 3 {
		if o := w.across(t[k], t[(k+1)%3]); o >= 0 {
			near = append(near, third(w.tris[o], t[k], t[(k+1)%3]))
		}
	}
	for k := range 3 {
		u, v := t[k], t[(k+1)%3]
		if w.turned(u, v) {
			try(-1, r3.Vec{})
		}
	}
	for _, a := range near {
		if w.fixed[a] {
			continue
		}
		around := w.around(a)
		w.before = append(w.before[:0], w.ring[a]...)
		w.after = w.after[:0]
		for _, r := range w.before {
			w.after = append(w.after, w.tris[r])
		}
		try(a, w.middle(around))
		for _, b := range around {
			if w.merged(a, b, around) {
				try(-1, r3.Vec{})
			}
		}
	}
	if best.before != nil {
		return w.apply(best)
	}
	var out []int32
	for _, v := range t {
		if !w.fixed[v] {
			w.verts[v] = along(w.verts[v], w.middle(w.around(v)), 0.5)
			out = append(out, w.ring[v]...)
		}
	}
	return out
}

// middle is the mean of vertices.
func (w *tidier) middle(of []int32) r3.Vec {
	var sum r3.Vec
	for _, v := range of {
		sum = r3.Add(sum, w.verts[v])
	}
	return r3.Scale(1/float64(len(of)), sum)
}

func third(t [3]int32, a, b int32) int32 {
	for _, v := range t {
		if v != a && v != b {
			return v
		}
	}
	return -1
}

// around lists a vertex's neighbours.
func (w *tidier) around(v int32) []int32 {
	out := make([]int32, 0, 12)
	for _, t := range w.ring[v] {
		for _, u := range w.tris[t] {
			if u != v && !slices.Contains(out, u) {
				out = append(out, u)
			}
		}
	}
	return out
}

// turned prepares the change of turning the edge between u and v; false where it
// cannot be turned.
func (w *tidier) turned(u, v int32) bool {
	i, j := w.across(v, u), w.across(u, v)
	if i < 0 || j < 0 {
		return false
	}
	x, y := third(w.tris[i], u, v), third(w.tris[j], u, v)
	if x == y || slices.Contains(w.around(x), y) {
		return false
	}
	w.before = append(w.before[:0], i, j)
	w.after = append(w.after[:0], [3]int32{x, y, v}, [3]int32{y, x, u})
	return true
}

// merged prepares the change of merging vertex a into its neighbour b; false where
// the surface would be no disc any more.
func (w *tidier) merged(a, b int32, around []int32) bool {
	shared := 0
	for _, v := range w.around(b) {
		if slices.Contains(around, v) {
			shared++
		}
	}
	if shared != 2 || len(around) < 4 {
		return false
	}
	w.before = append(w.before[:0], w.ring[a]...)
	w.after = w.after[:0]
	for _, i := range w.before {
		t := w.tris[i]
		if slices.Contains(t[:], b) {
			continue
		}
		t[slices.Index(t[:], a)] = b
		w.after = append(w.after, t)
	}
	return true
}

// apply makes a change; it returns the triangles in it and around it.
func (w *tidier) apply(c change) []int32 {
	if c.vertex >= 0 {
		w.verts[c.vertex] = c.to
	} else {
		for _, i := range c.before {
			for _, v := range w.tris[i] {
				at := slices.Index(w.ring[v], i)
				w.ring[v] = slices.Delete(w.ring[v], at, at+1)
			}
		}
		for k, i := range c.before {
			if k >= len(c.after) {
				w.dead[i] = true
				continue
			}
			w.tris[i] = c.after[k]
			for _, v := range w.tris[i] {
				w.ring[v] = append(w.ring[v], i)
			}
		}
	}
	var out []int32
	for _, i := range c.before {
		if w.dead[i] {
			continue
		}
		for _, v := range w.tris[i] {
			out = append(out, w.ring[v]...)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}
