// Package inspect reports the health of a surface and whether it can be a dental
// arch, from its shape alone.
//
// Lengths are mm. A nil mesh or topology makes its functions panic.
package inspect

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Report is the health of a surface: what a person wants to know before
// measuring on it. Nothing in it keeps a scan from being measured. Long lists
// are cut to the largest [MaxListed]; the counts beside them are complete.
type Report struct {
	Triangles int `json:"triangles"`
	Vertices  int `json:"vertices"`
	// CoincidentVertices is how many vertices welding would take away; more
	// than a few mean that the mesh has not been welded.
	CoincidentVertices int `json:"coincident_vertices"`
	UnusedVertices     int `json:"unused_vertices"` // in no triangle

	Components        int               `json:"components"` // parts joined by edges
	LargestComponents []ComponentReport `json:"largest_components"`
	BoundaryLoops     int               `json:"boundary_loops"`
	LongestLoops      []LoopReport      `json:"longest_boundary_loops"`
	BoundaryLengthMM  float64           `json:"boundary_length_mm"`

	NonManifoldEdges    int `json:"non_manifold_edges"`   // where more than two triangles meet
	InconsistentEdges   int `json:"inconsistent_edges"`   // whose two triangles are oriented against each other
	FlippedTriangles    int `json:"flipped_triangles"`    // oriented against the majority around them
	DuplicateTriangles  int `json:"duplicate_triangles"`  // with the corners of an earlier one
	DegenerateTriangles int `json:"degenerate_triangles"` // lower than [DegenerateHeight] over the longest side

	MinMM   [3]float64  `json:"min_mm"` // the box around the triangles
	MaxMM   [3]float64  `json:"max_mm"`
	SizeMM  [3]float64  `json:"size_mm"`
	AreaMM2 float64     `json:"area_mm2"`
	Edges   EdgeLengths `json:"edges"`
	Arch    ArchReport  `json:"arch"`
}

// MaxListed bounds the lists of a [Report].
const MaxListed = 20

// DegenerateHeight in mm: a triangle whose least height is smaller has no
// direction that could be trusted. It is below what binary STL can resolve
// within an arch, 4 nm; our choice.
const DegenerateHeight = 1e-6

// ComponentReport is one part of a surface.
type ComponentReport struct {
	FirstTriangle    mesh.TriID `json:"first_triangle"`
	Triangles        int        `json:"triangles"`
	AreaMM2          float64    `json:"area_mm2"`
	FlippedTriangles int        `json:"flipped_triangles"`
	Orientable       bool       `json:"orientable"`
}

// LoopReport is one border of a surface.
type LoopReport struct {
	FirstVertex mesh.VertexID `json:"first_vertex"`
	Edges       int           `json:"edges"`
	LengthMM    float64       `json:"length_mm"`
	CentreMM    [3]float64    `json:"centre_mm"` // mean of the vertices
	Closed      bool          `json:"closed"`
}

// EdgeLengths describes the edges; the median is the lower of two middle ones.
type EdgeLengths struct {
	Count    int     `json:"count"`
	MinMM    float64 `json:"min_mm"`
	MedianMM float64 `json:"median_mm"`
	MaxMM    float64 `json:"max_mm"`
}

// Surface reports the health of a mesh, which should be welded; it takes any.
func Surface(m *mesh.Mesh) Report {
	t := mesh.BuildTopology(m)
	r := Report{
		Triangles:          m.NumTriangles(),
		Vertices:           m.NumVertices(),
		CoincidentVertices: mesh.Coincident(m),
		Components:         len(t.Components()),
		BoundaryLoops:      len(t.Loops()),
		DuplicateTriangles: len(t.Duplicates()),
	}
	used := make([]bool, m.NumVertices())
	areas := make([]float64, len(t.Components()))
	for i, c := range m.Triangles() {
		for _, v := range c {
			used[v] = true
		}
		area := r3.Norm(m.AreaVector(mesh.TriID(i)))
		r.AreaMM2 += area
		if p := t.Component(mesh.TriID(i)); p != mesh.NoComponent {
			areas[p] += area
		}
		if t.Flipped(mesh.TriID(i)) {
			r.FlippedTriangles++
		}
		if degenerate(m, mesh.TriID(i), area) {
			r.DegenerateTriangles++
		}
	}
	for _, u := range used {
		if !u {
			r.UnusedVertices++
		}
	}
	if box := surfaceBox(m); !box.Empty() {
		r.MinMM, r.MaxMM, r.SizeMM = triple(box.Min), triple(box.Max), triple(box.Size())
	}
	r.addEdges(t)
	r.addComponents(t, areas)
	r.addLoops(t)
	r.Arch = Arch(t)
	return r
}

// surfaceBox is the smallest box around the triangles; vertices in no triangle
// do not count.
func surfaceBox(m *mesh.Mesh) mesh.Box {
	b := mesh.EmptyBox()
	for _, t := range m.Triangles() {
		for _, v := range t {
			b = b.Include(m.Vertex(v))
		}
	}
	return b
}

func triple(v r3.Vec) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }

// degenerate compares the height over the longest side, 2·area/side.
func degenerate(m *mesh.Mesh, tri mesh.TriID, area float64) bool {
	a, b, c := m.Corners(tri)
	longest := math.Sqrt(max(r3.Norm2(r3.Sub(b, a)), r3.Norm2(r3.Sub(c, b)), r3.Norm2(r3.Sub(a, c))))
	return 2*area <= DegenerateHeight*longest
}

func (r *Report) addEdges(t *mesh.Topology) {
	lengths := make([]float64, len(t.Edges()))
	for i := range t.Edges() {
		lengths[i] = t.EdgeLength(mesh.EdgeID(i))
		switch e := &t.Edges()[i]; {
		case e.Sides > 2:
			r.NonManifoldEdges++
		case e.SameWay > 0:
			r.InconsistentEdges++
		}
	}
	r.Edges.Count = len(lengths)
	if len(lengths) == 0 {
		return
	}
	slices.Sort(lengths)
	r.Edges.MinMM, r.Edges.MedianMM, r.Edges.MaxMM = lengths[0], lengths[(len(lengths)-1)/2], lengths[len(lengths)-1]
}

func (r *Report) addComponents(t *mesh.Topology, areas []float64) {
	r.LargestComponents = []ComponentReport{}
	order := make([]mesh.ComponentID, len(t.Components()))
	for i := range order {
		order[i] = mesh.ComponentID(i)
	}
	slices.SortStableFunc(order, func(a, b mesh.ComponentID) int { return t.Components()[b].Triangles - t.Components()[a].Triangles })
	for _, i := range order[:min(len(order), MaxListed)] {
		p := t.Components()[i]
		r.LargestComponents = append(r.LargestComponents, ComponentReport{
			FirstTriangle: p.First, Triangles: p.Triangles, AreaMM2: areas[i], FlippedTriangles: p.Flipped, Orientable: p.Orientable,
		})
	}
}

func (r *Report) addLoops(t *mesh.Topology) {
	r.LongestLoops = []LoopReport{}
	order := make([]int, len(t.Loops()))
	for i, l := range t.Loops() {
		order[i] = i
		r.BoundaryLengthMM += l.Length
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch la, lb := t.Loops()[a].Length, t.Loops()[b].Length; {
		case la > lb:
			return -1
		case la < lb:
			return 1
		}
		return 0
	})
	for _, i := range order[:min(len(order), MaxListed)] {
		l := t.Loops()[i]
		r.LongestLoops = append(r.LongestLoops, LoopReport{
			FirstVertex: l.Vertices[0], Edges: l.Edges(), LengthMM: l.Length, CentreMM: triple(centre(t, l)), Closed: l.Closed,
		})
	}
}

// centre is the mean of a border's vertices.
func centre(t *mesh.Topology, l mesh.Loop) r3.Vec {
	var sum r3.Vec
	for _, v := range l.Vertices {
		sum = r3.Add(sum, t.Mesh().Vertex(v))
	}
	return r3.Scale(1/float64(len(l.Vertices)), sum)
}
