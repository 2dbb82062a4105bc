package segment

import (
	"container/heap"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Border is a line that a person has drawn along the border of a tooth.
type Border struct {
	// Tooth is a permanent tooth of the jaw.
	Tooth dentition.ToothID
	// Points are those of the line in their order, on the scan or within 3 mm of it, in its frame, mm;
	// between them the line keeps to the straight one as well as the scan's edges allow. Where the last is the first
	// it goes all around the tooth: what lies inside is the tooth, and nothing else is. Another line takes
	// the place of the border between its ends: what it encloses with the border as found joins
	// the tooth, what it cuts off leaves it.
	Points []r3.Vec
}

// borderWord begins a border in the form in which the command takes it.
const borderWord = "border"

// String is the border in the form in which the command takes it.
func (b Border) String() string {
	var s strings.Builder
	fmt.Fprintf(&s, "%v=%s", b.Tooth, borderWord)
	for _, p := range b.Points {
		fmt.Fprintf(&s, "/%.2f,%.2f,%.2f", p.X, p.Y, p.Z)
	}
	return s.String()
}

// around reports whether the line goes all around the tooth.
func (b *Border) around() bool { return b.Points[0] == b.Points[len(b.Points)-1] }

func (b *Border) check(jaw dentition.Jaw) error {
	if b.Tooth == dentition.NoTooth {
		return fmt.Errorf("%w: it names no tooth", ErrCorrection)
	}
	for _, p := range b.Points {
		if err := (Correction{Tooth: b.Tooth, Point: p}).check(jaw); err != nil {
			return err
		}
	}
	if n := len(b.Points); n < 2 || n < 4 && b.around() {
		return fmt.Errorf("%w: a border needs two points at least, one all around a tooth three and the first again", ErrCorrection)
	}
	return nil
}

// borderReach is how far the ends of a line may lie from the border that it continues, mm: half a crown.
const borderReach = 5.0

// sketch is a scan on which borders are drawn.
type sketch struct {
	mesh  *mesh.Mesh
	near  corners
	codes []dentition.ToothID
	area  []float64 // of every vertex, mm²
	line  []bool    // whether a vertex is on the line that is drawn
	away  []float64 // of a search for the shortest way, mm
	from  []mesh.VertexID
}

// drawBorders changes the teeth of a scan's vertices as borders say that a person has drawn, one after the other.
func drawBorders(m *mesh.Mesh, codes []dentition.ToothID, borders []Border) error {
	if len(borders) == 0 {
		return nil
	}
	n := m.NumVertices()
	k := &sketch{mesh: m, near: cornersOf(m), codes: codes, area: make([]float64, n), line: make([]bool, n), away: make([]float64, n),
		from: make([]mesh.VertexID, n)}
	for t, c := range m.All() {
		a := r3.Norm(m.AreaVector(t)) / 3
		for _, v := range c {
			k.area[v] += a
		}
	}
	for i := range borders {
		if err := k.border(&borders[i]); err != nil {
			return fmt.Errorf("borders[%d]: %w", i, err)
		}
	}
	return nil
}

// border draws one.
func (k *sketch) border(b *Border) error {
	clear(k.line)
	var order []mesh.VertexID // of the line
	for i, p := range b.Points {
		v, d := k.nearest(p)
		if d > nearScan {
			return fmt.Errorf("%w: the point %.1f, %.1f, %.1f is %.3g mm from the scan", ErrCorrection, p.X, p.Y, p.Z, d)
		}
		if i == 0 {
			order = append(order, v)
			continue
		}
		from, to := k.mesh.Vertex(order[len(order)-1]), k.mesh.Vertex(v)
		way := k.way(order[len(order)-1], math.Inf(1), func(u mesh.VertexID) bool { return u == v },
			func(p r3.Vec) float64 { return 1 + astray*offLine(p, from, to) })
		if way == nil {
			return fmt.Errorf("%w: its points lie on pieces of the scan that do not hang together", ErrCorrection)
		}
		order = append(order, way[1:]...)
	}
	k.put(order)
	if b.around() {
		return k.fill(b.Tooth)
	}
	if !slices.Contains(k.codes, b.Tooth) {
		return fmt.Errorf("%w: no %v was found; draw its border all around, ending where it begins", ErrCorrection, b.Tooth)
	}
	for _, v := range k.loose(order, b.Tooth) {
		way := k.way(v, borderReach, func(u mesh.VertexID) bool { return k.codes[u] == b.Tooth && k.rim(u) },
			func(r3.Vec) float64 { return 1 })
		if way == nil {
			return fmt.Errorf("%w: an end of the line is more than %g mm from the border of %v", ErrCorrection, borderReach, b.Tooth)
		}
		k.put(way)
	}
	k.mend(b.Tooth)
	return nil
}

// put puts vertices on the line.
func (k *sketch) put(way []mesh.VertexID) {
	for _, v := range way {
		k.line[v] = true
	}
}

// loose lists the ends of a line that it does not itself bring to the border of a tooth: it crosses that where it goes
// from the tooth to what is none, and a crossing serves the end that is nearer along the line.
func (k *sketch) loose(order []mesh.VertexID, tooth dentition.ToothID) []mesh.VertexID {
	var at []int
	for i := 1; i < len(order); i++ {
		if (k.codes[order[i]] == tooth) != (k.codes[order[i-1]] == tooth) {
			at = append(at, i)
		}
	}
	first, last := order[0], order[len(order)-1]
	switch {
	case len(at) == 0:
		return []mesh.VertexID{first, last}
	case len(at) > 1:
		return nil
	case at[0] < len(order)-at[0]:
		return []mesh.VertexID{last}
	}
	return []mesh.VertexID{first}
}

// nearest is the vertex nearest to a point.
func (k *sketch) nearest(p r3.Vec) (mesh.VertexID, float64) {
	best, least := mesh.VertexID(0), math.Inf(1)
	for v, q := range k.mesh.Vertices() {
		if d := r3.Norm2(r3.Sub(p, q)); d < least {
			best, least = mesh.VertexID(v), d
		}
	}
	return best, math.Sqrt(least)
}

// rim reports whether a vertex of a tooth lies on its border, or on that of the scan.
func (k *sketch) rim(v mesh.VertexID) bool {
	around := map[mesh.VertexID]int{} // triangles at the edge to each neighbour
	for _, tri := range k.near.of(v) {
		for _, w := range k.mesh.Triangle(tri) {
			if around[w]++; k.codes[w] != k.codes[v] {
				return true
			}
		}
	}
	for w, n := range around {
		if w != v && n == 1 {
			return true
		}
	}
	return false
}

// astray is by how much a way is longer for every mm that it lies off the straight line, 1/mm: among ways over edges that are
// about as long, that nearest to the line is taken.
const astray = 4.0

// offLine is the distance of a point from the straight line between two others, mm.
func offLine(p, a, b r3.Vec) float64 {
	d := r3.Sub(b, a)
	t := 0.0
	if n := r3.Norm2(d); n > 0 {
		t = max(0, min(1, r3.Dot(r3.Sub(p, a), d)/n))
	}
	return r3.Norm(r3.Sub(p, r3.Add(a, r3.Scale(t, d))))
}

// way is the way of least cost from a vertex to the nearest of the goals, with both; nil where none is within reach. The cost is
// its length, mm, times that of its places.
func (k *sketch) way(start mesh.VertexID, reach float64, goal func(mesh.VertexID) bool, cost func(r3.Vec) float64) []mesh.VertexID {
	for v := range k.away {
		k.away[v] = math.Inf(1)
	}
	k.away[start], k.from[start] = 0, none
	queue := &ways{{start, 0}}
	for queue.Len() > 0 {
		s := heap.Pop(queue).(step)
		if s.away > k.away[s.at] {
			continue
		}
		if goal(s.at) {
			var out []mesh.VertexID
			for v := s.at; v != none; v = k.from[v] {
				out = append(out, v)
			}
			slices.Reverse(out)
			return out
		}
		for _, tri := range k.near.of(s.at) {
			for _, w := range k.mesh.Triangle(tri) {
				q := k.mesh.Vertex(w)
				if d := s.away + cost(q)*r3.Norm(r3.Sub(k.mesh.Vertex(s.at), q)); d < k.away[w] && d <= reach {
					k.away[w], k.from[w] = d, s.at
					heap.Push(queue, step{w, d})
				}
			}
		}
	}
	return nil
}

// region is vertices that hang together, beside the line.
type region struct {
	verts []mesh.VertexID
	area  float64
}

// regions lists those beside the line that one and the same holds, by their first vertex.
func (k *sketch) regions(same func(a, b mesh.VertexID) bool) []region {
	var out []region
	seen := make([]bool, len(k.line))
	for v, on := range k.line {
		if !on {
			continue
		}
		for _, tri := range k.near.of(mesh.VertexID(v)) {
			for _, w := range k.mesh.Triangle(tri) {
				if k.line[w] || seen[w] {
					continue
				}
				r := region{verts: []mesh.VertexID{w}}
				seen[w] = true
				for i := 0; i < len(r.verts); i++ {
					u := r.verts[i]
					r.area += k.area[u]
					for _, tri := range k.near.of(u) {
						for _, x := range k.mesh.Triangle(tri) {
							if !k.line[x] && !seen[x] && same(u, x) {
								seen[x] = true
								r.verts = append(r.verts, x)
							}
						}
					}
				}
				out = append(out, r)
			}
		}
	}
	return out
}

// fill makes what the line goes around the tooth, and nothing else: all but the largest region beside it.
func (k *sketch) fill(tooth dentition.ToothID) error {
	parts := k.regions(func(_, _ mesh.VertexID) bool { return true })
	out := largest(parts, func(region) bool { return true })
	if len(parts) < 2 {
		return fmt.Errorf("%w: the line around %v encloses nothing", ErrCorrection, tooth)
	}
	for v, t := range k.codes {
		if t == tooth {
			k.codes[v] = dentition.NoTooth
		}
	}
	for i, r := range parts {
		if i != out {
			for _, v := range r.verts {
				k.codes[v] = tooth
			}
		}
	}
	for v, on := range k.line {
		if on {
			k.codes[v] = tooth
		}
	}
	return nil
}

// mend gives the tooth what the line encloses with its border, and what it cuts off of it to that which lies
// along it. The largest regions on both sides are the tooth and the rest of the arch.
func (k *sketch) mend(tooth dentition.ToothID) {
	own := func(v mesh.VertexID) bool { return k.codes[v] == tooth }
	parts := k.regions(func(a, b mesh.VertexID) bool { return own(a) == own(b) })
	is := func(r region) bool { return own(r.verts[0]) }
	kept, rest := largest(parts, is), largest(parts, func(r region) bool { return !is(r) })
	to := make([]dentition.ToothID, len(parts))
	for i, r := range parts {
		if to[i] = tooth; is(r) && i != kept {
			to[i] = k.beside(r, tooth)
		}
	}
	for i, r := range parts {
		if i == rest {
			continue
		}
		for _, v := range r.verts {
			k.codes[v] = to[i]
		}
	}
	k.trace(tooth)
}

// beside is what lies along most of a region of a tooth, by edges.
func (k *sketch) beside(r region, tooth dentition.ToothID) dentition.ToothID {
	var count [256]int
	for _, v := range r.verts {
		for _, tri := range k.near.of(v) {
			for _, w := range k.mesh.Triangle(tri) {
				if !k.line[w] && k.codes[w] != tooth {
					count[k.codes[w]]++
				}
			}
		}
	}
	best := dentition.NoTooth
	for t, n := range count {
		if n > count[best] {
			best = dentition.ToothID(t)
		}
	}
	return best
}

// trace gives the line itself to the tooth, but for ends that stand out beyond it.
func (k *sketch) trace(tooth dentition.ToothID) {
	var own []mesh.VertexID
	for v, on := range k.line {
		if on && k.touches(mesh.VertexID(v), tooth) {
			own = append(own, mesh.VertexID(v))
		}
	}
	for v, on := range k.line {
		if on && k.codes[v] == tooth {
			k.codes[v] = dentition.NoTooth
		}
	}
	for _, v := range own {
		k.codes[v] = tooth
	}
}

// touches reports whether a tooth lies beside a vertex, off the line.
func (k *sketch) touches(v mesh.VertexID, tooth dentition.ToothID) bool {
	for _, tri := range k.near.of(v) {
		for _, w := range k.mesh.Triangle(tri) {
			if !k.line[w] && k.codes[w] == tooth {
				return true
			}
		}
	}
	return false
}

// largest is the number of the largest of the regions in question, -1 for none.
func largest(parts []region, asked func(region) bool) int {
	best := -1
	for i, r := range parts {
		if asked(r) && (best < 0 || r.area > parts[best].area) {
			best = i
		}
	}
	return best
}

// step is a vertex on a way and how long that is, mm.
type step struct {
	at   mesh.VertexID
	away float64
}

// ways are steps, the shortest first.
type ways []step

func (w ways) Len() int { return len(w) }
func (w ways) Less(i, j int) bool {
	return w[i].away < w[j].away || w[i].away == w[j].away && w[i].at < w[j].at
}
func (w ways) Swap(i, j int) { w[i], w[j] = w[j], w[i] }
func (w *ways) Push(x any)   { *w = append(*w, x.(step)) }
func (w *ways) Pop() any {
	last := (*w)[len(*w)-1]
	*w = (*w)[:len(*w)-1]
	return last
}
