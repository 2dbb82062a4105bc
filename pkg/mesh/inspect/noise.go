package inspect

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/normal"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Noise is the standard deviation of the noise of the corners of a surface along its normals, mm, 0 where
// none shows. It is found by how far corners lie off the quadrics through those around them: what of that is
// shape goes on from corner to corner, what is noise does not, and how alike neighbours are off tells how much of
// each there is. So it shows on coarse surface too, whose curvature from corner to corner is larger.
func Noise(t *mesh.Topology) float64 {
	mm, share := newCorners(t).offQuadrics()
	if share < noiseShare || mm <= noiseLeastMM {
		return 0
	}
	return mm
}

// Of corners off the quadrics around them: how alike neighbours are, as a correlation, where all of that is shape and
// where all is noise, and the share of noise from which it is told. Set on synthetic arches of 20,000 and 60,000
// triangles and on scans of six persons of 16,000, with noise of 0 to 0.2 mm added; measured on those of other persons
// (docs/hostile-input.md).
const (
	shapeAlike = 0.30
	noiseAlike = -0.10
	noiseShare = 0.25
)

// pairsMost is about how many pairs of neighbours tell the noise: a correlation is then known to 0.01.
const pairsMost = 10000

// quadricLeast is the fewest corners around one that hold a quadric; one more than it has numbers, and two.
const quadricLeast = 9

// corners is the corners of a surface with their normals and neighbours.
type corners struct {
	t      *mesh.Topology
	normal []r3.Vec // of any length; 0 where a corner has none, or lies on a border or a branch
	first  []int32  // of the neighbours of a corner in around
	around []mesh.VertexID
}

func newCorners(t *mesh.Topology) *corners {
	m := t.Mesh()
	n := m.NumVertices()
	c := &corners{t: t, normal: make([]r3.Vec, n), first: make([]int32, n+1), around: make([]mesh.VertexID, 2*len(t.Edges()))}
	for i, tri := range m.Triangles() {
		area := m.AreaVector(mesh.TriID(i))
		for _, v := range tri {
			c.normal[v] = r3.Add(c.normal[v], area)
		}
	}
	for _, e := range t.Edges() {
		c.first[e.V[0]+1]++
		c.first[e.V[1]+1]++
		if e.Sides != 2 {
			c.normal[e.V[0]], c.normal[e.V[1]] = r3.Vec{}, r3.Vec{}
		}
	}
	for v := range n {
		c.first[v+1] += c.first[v]
	}
	next := slices.Clone(c.first)
	for _, e := range t.Edges() {
		for k, v := range e.V {
			c.around[next[v]] = e.V[1-k]
			next[v]++
		}
	}
	return c
}

// neighbours are the corners that share an edge with one.
func (c *corners) neighbours(v mesh.VertexID) []mesh.VertexID {
	return c.around[c.first[v]:c.first[v+1]]
}

// offQuadrics is the noise by how corners lie off the quadrics around them, mm, and its share of that.
func (c *corners) offQuadrics() (mm, share float64) {
	edges := c.t.Edges()
	every := max(1, len(edges)/pairsMost)
	var off []float64
	var together, squares float64
	for i := 0; i < len(edges); i += every {
		a, ok1 := c.offQuadric(edges[i].V[0])
		b, ok2 := c.offQuadric(edges[i].V[1])
		if !ok1 || !ok2 {
			continue
		}
		together += a * b
		squares += (a*a + b*b) / 2
		off = append(off, math.Abs(a), math.Abs(b))
	}
	if !(squares > 0) {
		return 0, 0
	}
	slices.Sort(off)
	const median = 0.6744897501960817 // of the normal distribution, without its sign
	share = min(1, max(0, (shapeAlike-together/squares)/(shapeAlike-noiseAlike)))
	return off[len(off)/2] / median * math.Sqrt(share), share
}

// offQuadric is how far a corner lies off the quadric through those around it, in two rings, along its normal,
// in standard deviations of noise of 1 mm; ok is false where they hold no quadric.
func (c *corners) offQuadric(v mesh.VertexID) (off float64, ok bool) {
	l := r3.Norm(c.normal[v])
	if !(l > 0) {
		return 0, false
	}
	z := r3.Scale(1/l, c.normal[v])
	x := r3.Unit(geom.Perpendicular(z))
	y := r3.Cross(z, x)
	m, at := c.t.Mesh(), c.t.Mesh().Vertex(v)
	e := normal.New(6)
	var rings [64]mesh.VertexID
	near := append(rings[:0], c.neighbours(v)...)
	for _, w := range c.neighbours(v) {
		for _, u := range c.neighbours(w) {
			if u != v && !slices.Contains(near, u) {
				near = append(near, u)
			}
		}
	}
	if len(near) < quadricLeast {
		return 0, false
	}
	for _, w := range near {
		d := r3.Sub(m.Vertex(w), at)
		a, b := r3.Dot(d, x), r3.Dot(d, y)
		e.Add([]float64{1, a, b, a * a, a * b, b * b}, r3.Dot(d, z), 1)
	}
	inverse, ok := e.Inverse()
	fit, ok2 := e.Solve(1e12)
	if !ok || !ok2 {
		return 0, false
	}
	return -fit[0] / math.Sqrt(1+inverse[0][0]), true
}
