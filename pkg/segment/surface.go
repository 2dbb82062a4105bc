package segment

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
	"gonum.org/v1/gonum/spatial/r3"
)

// surface is what segmentation needs of a scan beyond its triangles.
type surface struct {
	mesh  *mesh.Mesh
	edges []mesh.Edge // those of exactly two triangles, turned the same way
	area  []float64   // of a vertex: a third of its triangles', mm²
	// bend is the mean curvature at a vertex, averaged over about [bendRadius],
	// 1/mm: positive where the surface is convex.
	bend []float64
	// relief is how much the surface bends one way and the other around a vertex: the
	// mean size of bend over about [reliefRadius], 1/mm. Crowns have much of it, gingiva
	// and the palate little.
	relief []float64
	// part says whether a vertex hangs together with the arch; scans have
	// islands that do not.
	part []bool
	// piece is the number of the part that a vertex hangs together with.
	piece []int32
	// rim is the length of a vertex's share of the border of the scan, mm; that of
	// holes does not count.
	rim []float64
	// open says whether a vertex lies on any border, also of a hole.
	open []bool
	// facing is the direction in which the teeth point, as far as the open base
	// tells; zero where it does not.
	facing r3.Vec
}

// rimLength is the length from which a border is that of the scan, mm: holes are
// smaller.
const rimLength = 30.0

// island is the surface below which a loose part is left out, mm²: less than half that of
// the smallest crown, since in scans without gingiva crowns may be loose parts.
const island = 30.0

// bendRadius is the scale of curvatures, mm: wider than scan noise, narrower
// than the valleys between teeth.
const bendRadius = 0.45

// reliefRadius is the scale of [surface.relief], mm: about half a crown.
const reliefRadius = 2.0

func newSurface(m *mesh.Mesh) *surface {
	s := &surface{mesh: m, area: make([]float64, m.NumVertices()), bend: make([]float64, m.NumVertices()),
		part: make([]bool, m.NumVertices()), piece: make([]int32, m.NumVertices()), rim: make([]float64,
			m.NumVertices()), open: make([]bool, m.NumVertices())}
	topology := mesh.BuildTopology(m)
	arch := inspect.Arch(topology)
	s.facing = r3.Vec{X: arch.OcclusalDirection[0], Y: arch.OcclusalDirection[1], Z: arch.OcclusalDirection[2]}
	outward := 1.0
	if arch.Normals == inspect.FacingInward {
		outward = -1
	}
	areas := make([]float64, len(topology.Components()))
	normals := make([]r3.Vec, m.NumTriangles())
	for t, c := range m.All() {
		v := m.AreaVector(t)
		a := r3.Norm(v)
		if a > 0 {
			normals[t] = r3.Scale(1/a, v)
		}
		for _, k := range c {
			s.area[k] += a / 3
		}
		if k := topology.Component(t); k != mesh.NoComponent {
			areas[k] += a
		}
	}
	for t, c := range m.All() {
		if k := topology.Component(t); k != mesh.NoComponent && areas[k] > island {
			for _, v := range c {
				s.part[v], s.piece[v] = true, int32(k)
			}
		}
	}
	s.findRims(topology)
	length := 0.0
	for _, e := range topology.Edges() {
		if e.Sides != 2 || e.SameWay != 0 {
			continue
		}
		s.edges = append(s.edges, e)
		a, b := normals[e.Tri[0]], normals[e.Tri[1]]
		d := r3.Sub(m.Vertex(e.V[1]), m.Vertex(e.V[0]))
		l := r3.Norm(d)
		length += l
		if l == 0 {
			continue
		}
		// The dihedral angle, positive where the edge is convex; half the
		// integral of the mean curvature over the edge's surroundings.
		angle := math.Atan2(r3.Dot(r3.Cross(a, b), d)/l, r3.Dot(a, b))
		for _, v := range e.V {
			s.bend[v] += outward * angle * l / 4
		}
	}
	for v, a := range s.area {
		if a > 0 {
			s.bend[v] /= a
		}
	}
	if len(s.edges) > 0 {
		// One round of averaging over neighbours widens the scale by the edge
		// length, rounds add up by squares.
		step := length / float64(len(s.edges))
		rounds := int(math.Round(bendRadius * bendRadius / (step * step) * 2))
		for range max(1, min(rounds, 40)) {
			s.smooth(s.bend)
		}
		s.relief = make([]float64, len(s.bend))
		for v, b := range s.bend {
			s.relief[v] = math.Abs(b)
		}
		rounds = int(math.Round(reliefRadius * reliefRadius / (step * step) * 2))
		for range max(1, min(rounds, 200)) {
			s.smooth(s.relief)
		}
	}
	return s
}

// findRims marks the vertices on borders of the scan, and how much of a long border each holds.
func (s *surface) findRims(topology *mesh.Topology) {
	m := s.mesh
	for _, l := range topology.Loops() {
		for _, v := range l.Vertices {
			s.open[v] = true
		}
		if l.Length >= rimLength {
			for i, v := range l.Vertices {
				w := l.Vertices[(i+1)%len(l.Vertices)]
				half := r3.Norm(r3.Sub(m.Vertex(w), m.Vertex(v))) / 2
				s.rim[v] += half
				s.rim[w] += half
			}
		}
	}
}

// crownRelief is the relief from which surface is likely that of a crown, 1/mm: crowns
// have 0.13 to 0.3, gingiva 0.06 to 0.2. Our choice.
const crownRelief = 0.165

// rough says whether a vertex has the relief of crowns.
func (s *surface) rough(v int) bool { return s.part[v] && s.relief[v] > crownRelief }

// smooth replaces values at vertices by area-weighted means with their
// neighbours.
func (s *surface) smooth(x []float64) {
	sum, weight := make([]float64, len(x)), make([]float64, len(x))
	for v := range x {
		sum[v], weight[v] = x[v]*s.area[v], s.area[v]
	}
	for _, e := range s.edges {
		a, b := e.V[0], e.V[1]
		sum[a], weight[a] = sum[a]+x[b]*s.area[b], weight[a]+s.area[b]
		sum[b], weight[b] = sum[b]+x[a]*s.area[a], weight[b]+s.area[a]
	}
	for v := range x {
		if weight[v] > 0 {
			x[v] = sum[v] / weight[v]
		}
	}
}
