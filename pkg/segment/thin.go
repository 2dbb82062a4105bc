package segment

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// plain is the number of triangles up to which a scan is taken as it is: as fine as thinned
	// ones are.
	plain = 60000
	// patch is how far the vertices that are taken together lie from the first of them, mm: less than half
	// the width of the valleys between teeth, about 0.8 mm, so that these remain. Our choice.
	patch = 0.3
)

// none stands for no vertex.
const none mesh.VertexID = -1

// thinned is a scan with about one vertex where a finer one has a patch of them.
type thinned struct {
	scan *mesh.Mesh
	mesh *mesh.Mesh
	// of gives for each vertex of the scan that of the thinned mesh; nil where both are the same.
	of []mesh.VertexID
}

// thin takes the vertices of a fine scan together that lie within [patch] of each other along the
// surface. Each patch grows from the first vertex that none holds, and a vertex between two goes to
// the nearer one, so that the result moves with the scan and never joins neighbouring teeth
// across a gap. A triangle is left where three patches meet.
func thin(m *mesh.Mesh) (*thinned, error) {
	if m.NumTriangles() <= plain {
		return &thinned{scan: m, mesh: m}, nil
	}
	t := &thinned{scan: m, of: make([]mesh.VertexID, m.NumVertices())}
	around := cornersOf(m)
	away := make([]float64, m.NumVertices()) // squared distance from the first of the patch
	for v := range away {
		t.of[v], away[v] = none, patch*patch
	}
	var middle []r3.Vec
	var count []float64
	var queue []mesh.VertexID
	for v, seed := range m.Vertices() {
		if t.of[v] != none {
			continue
		}
		id := mesh.VertexID(len(middle))
		middle, count = append(middle, r3.Vec{}), append(count, 0)
		t.of[v], away[v] = id, 0
		queue = append(queue[:0], mesh.VertexID(v))
		for len(queue) > 0 {
			u := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for _, tri := range around.of(u) {
				for _, w := range m.Triangle(tri) {
					if d := r3.Norm2(r3.Sub(m.Vertex(w), seed)); d < away[w] {
						t.of[w], away[w] = id, d
						queue = append(queue, w)
					}
				}
			}
		}
	}
	for v, p := range m.Vertices() {
		k := t.of[v]
		middle[k], count[k] = r3.Add(middle[k], p), count[k]+1
	}
	for k := range middle {
		middle[k] = r3.Scale(1/count[k], middle[k])
	}
	var tris [][3]mesh.VertexID
	seen := map[[3]mesh.VertexID]bool{}
	for _, c := range m.All() {
		d := [3]mesh.VertexID{t.of[c[0]], t.of[c[1]], t.of[c[2]]}
		if d[0] == d[1] || d[1] == d[2] || d[2] == d[0] {
			continue
		}
		key := d
		slices.Sort(key[:])
		if !seen[key] {
			seen[key] = true
			tris = append(tris, d)
		}
	}
	var err error
	t.mesh, err = mesh.Adopt(middle, tris)
	return t, err
}

// corners lists the triangles around every vertex.
type corners struct {
	start []int32
	tris  []mesh.TriID
}

func cornersOf(m *mesh.Mesh) corners {
	f := corners{start: make([]int32, m.NumVertices()+1), tris: make([]mesh.TriID, 3*m.NumTriangles())}
	for _, c := range m.All() {
		for _, v := range c {
			f.start[v+1]++
		}
	}
	for v := range m.NumVertices() {
		f.start[v+1] += f.start[v]
	}
	at := slices.Clone(f.start)
	for t, c := range m.All() {
		for _, v := range c {
			f.tris[at[v]] = t
			at[v]++
		}
	}
	return f
}

func (f *corners) of(v mesh.VertexID) []mesh.TriID { return f.tris[f.start[v]:f.start[v+1]] }

// spread carries the teeth of the thinned mesh's vertices back to those of the scan. Near a
// border a vertex belongs to the tooth that most speaks for among the patches around it, the nearer
// the more, so that borders run smoothly between patches.
func (t *thinned) spread(codes []dentition.ToothID) []dentition.ToothID {
	if t.of == nil {
		return codes
	}
	around := cornersOf(t.mesh)
	out := make([]dentition.ToothID, len(t.of))
	var near []mesh.VertexID
	last := none // the patch for which near and mixed hold
	mixed := false
	for v, p := range t.scan.Vertices() {
		k := t.of[v]
		if k != last {
			last, mixed, near = k, false, append(near[:0], k)
			for _, tri := range around.of(k) {
				for _, w := range t.mesh.Triangle(tri) {
					if !slices.Contains(near, w) {
						near = append(near, w)
						mixed = mixed || codes[w] != codes[k]
					}
				}
			}
		}
		if out[v] = codes[k]; mixed {
			out[v] = t.nearest(codes, p, near)
		}
	}
	return out
}

// nearest is the tooth for which the patches near p speak most.
func (t *thinned) nearest(codes []dentition.ToothID, p r3.Vec, near []mesh.VertexID) dentition.ToothID {
	best, most := dentition.NoTooth, math.Inf(-1)
	for i, a := range near {
		if slices.ContainsFunc(near[:i], func(b mesh.VertexID) bool { return codes[b] == codes[a] }) {
			continue
		}
		sum := 0.0
		for _, b := range near[i:] {
			if codes[b] == codes[a] {
				sum += portable.Exp(-r3.Norm2(r3.Sub(p, t.mesh.Vertex(b))) / (patch * patch))
			}
		}
		if sum > most {
			best, most = codes[a], sum
		}
	}
	return best
}
