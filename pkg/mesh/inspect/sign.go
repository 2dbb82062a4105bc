package inspect

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Sign is something about a surface by which a person should look at it. None keeps a scan
// from being measured.
type Sign struct {
	Kind SignKind `json:"kind"`
	// Count is how many there are: triangles, edges, corners, pairs or parts.
	Count int `json:"count"`
	// Share is of the area, and SizeMM a length in mm, where that tells; 0 elsewhere.
	Share  float64 `json:"share,omitempty"`
	SizeMM float64 `json:"size_mm,omitempty"`
}

// SignKind says what a sign is of.
type SignKind string

// The signs that [Signs] looks for, in its order. The thresholds are our choice.
const (
	SignSoup         SignKind = "soup"              // half of the triangles hang together with none
	SignTJunctions   SignKind = "t_junctions"       // a corner on the border of another triangle, and not in it
	SignNonManifold  SignKind = "non_manifold"      // edges where more than two triangles meet
	SignSelfCrossing SignKind = "self_intersecting" // pairs of triangles that pass through each other
	SignTwoSided     SignKind = "two_sided"         // a fifth of the triangles is there twice
	SignNeedles      SignKind = "needles"           // 1 % of the triangles is over 50 times as long as high
	SignIslands      SignKind = "islands"           // parts of less than 5 % of the largest part
	SignBase         SignKind = "base"              // a tenth of the area in one plane
	SignNoise        SignKind = "noise"             // corners off their surroundings by turns
	SignCoarse       SignKind = "coarse"            // half of the area in triangles with a side over 0.7 mm
)

// Thresholds of the signs, all our choice.
const (
	twoSidedShare = 0.2
	needleShape   = 50
	needleShare   = 0.01
	islandShare   = 0.05
	baseShare     = 0.1
	noiseLeastMM  = 0.004
	coarseMM      = 0.7
)

// Signs looks for what is ugly in a welded surface. Its time and memory are about
// proportional to the number of triangles of a scan.
func Signs(t *mesh.Topology) []Sign {
	m := t.Mesh()
	out := []Sign{}
	add := func(s Sign, found bool) {
		if found {
			out = append(out, s)
		}
	}
	alone, islands, largest := 0, 0, 0
	for _, p := range t.Components() {
		largest = max(largest, p.Triangles)
	}
	for _, p := range t.Components() {
		if p.Triangles == 1 {
			alone++
		}
		if float64(p.Triangles) < islandShare*float64(largest) {
			islands++
		}
	}
	soup := 2*alone > m.NumTriangles()
	add(Sign{Kind: SignSoup, Count: alone}, soup)
	if !soup {
		n := TJunctions(t)
		add(Sign{Kind: SignTJunctions, Count: n}, n > 0)
	}
	branching := 0
	for _, e := range t.Edges() {
		if e.Sides > 2 {
			branching++
		}
	}
	twice := len(t.Duplicates())
	two := float64(twice) >= twoSidedShare*float64(m.NumTriangles())
	add(Sign{Kind: SignNonManifold, Count: branching}, branching > 0 && !two)
	if !soup { // whose triangles cross their neighbours by a hair
		n := selfCrossings(m, t)
		add(Sign{Kind: SignSelfCrossing, Count: n}, n > 0)
	}
	add(Sign{Kind: SignTwoSided, Count: twice}, two && twice > 0)
	shape := shapes(m)
	add(Sign{Kind: SignNeedles, Count: shape.needles}, float64(shape.needles) > needleShare*float64(m.NumTriangles()))
	add(Sign{Kind: SignIslands, Count: islands}, islands > 0)
	add(Sign{Kind: SignBase, Count: shape.planeTriangles, Share: shape.plane}, shape.plane > baseShare)
	if mm := Noise(t); !soup && mm > 0 {
		out = append(out, Sign{Kind: SignNoise, SizeMM: mm})
	}
	add(Sign{Kind: SignCoarse, Count: shape.coarseTriangles, Share: shape.coarse}, shape.coarse > 0.5)
	return out
}

// shape is what the triangles alone tell.
type shape struct {
	needles         int
	plane, coarse   float64 // shares of the area
	planeTriangles  int     // in the plane that holds most
	coarseTriangles int
}

func shapes(m *mesh.Mesh) (s shape) {
	// A plane is its normal, by fiftieths, and its distance from the origin, by 0.2 mm.
	type plane [4]int32
	type amount struct {
		area float64
		n    int
	}
	planes := map[plane]amount{}
	var whole, coarse float64
	for i := range m.NumTriangles() {
		a, b, c := m.Corners(mesh.TriID(i))
		vector := m.AreaVector(mesh.TriID(i))
		area := r3.Norm(vector)
		whole += area
		longest := math.Sqrt(max(r3.Norm2(r3.Sub(b, a)), r3.Norm2(r3.Sub(c, b)), r3.Norm2(r3.Sub(a, c))))
		if longest > coarseMM {
			coarse += area
			s.coarseTriangles++
		}
		if area > 0 && longest*longest > needleShape*2*area {
			s.needles++
		}
		if !(area > 1e-12) {
			continue
		}
		n := r3.Scale(1/area, vector)
		p := plane{int32(math.Round(50 * n.X)), int32(math.Round(50 * n.Y)), int32(math.Round(50 * n.Z)),
			int32(math.Round(5 * max(min(r3.Dot(n, a), 1e6), -1e6)))}
		was := planes[p]
		planes[p] = amount{was.area + area, was.n + 1}
	}
	if !(whole > 0) {
		return s
	}
	s.coarse = coarse / whole
	for _, x := range planes { // the greatest, of equal ones the fewest triangles: the same in any order
		if share := x.area / whole; share > s.plane || share == s.plane && x.n < s.planeTriangles {
			s.plane, s.planeTriangles = share, x.n
		}
	}
	return s
}

// TJunctions counts border corners that lie within a border edge that does not end there: the
// surface is slit there, and not open.
func TJunctions(t *mesh.Topology) (count int) {
	m := t.Mesh()
	var corners []mesh.VertexID
	for _, e := range t.Edges() {
		if e.Sides == 1 {
			corners = append(corners, e.V[0], e.V[1])
		}
	}
	slices.Sort(corners)
	corners = slices.Compact(corners)
	slices.SortStableFunc(corners, func(a, b mesh.VertexID) int {
		switch d := m.Vertex(a).X - m.Vertex(b).X; {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	seen := map[mesh.VertexID]bool{}
	for i, e := range t.Edges() {
		if e.Sides != 1 {
			continue
		}
		p, q := m.Vertex(e.V[0]), m.Vertex(e.V[1])
		near := 1e-3 * t.EdgeLength(mesh.EdgeID(i))
		from, to := min(p.X, q.X)-near, max(p.X, q.X)+near
		k, _ := slices.BinarySearchFunc(corners, from, func(v mesh.VertexID, x float64) int {
			if m.Vertex(v).X < x {
				return -1
			}
			return 1
		})
		for ; k < len(corners) && m.Vertex(corners[k]).X <= to; k++ {
			v := corners[k]
			at := m.Vertex(v)
			if v == e.V[0] || v == e.V[1] || seen[v] || min(p.Y, q.Y)-near > at.Y || at.Y > max(p.Y, q.Y)+near {
				continue
			}
			foot := geom.PointSegment(at, p, q)
			if r3.Norm(r3.Sub(foot, at)) <= near && r3.Norm(r3.Sub(at, p)) > 2*near && r3.Norm(r3.Sub(at, q)) > 2*near {
				seen[v] = true
				count++
			}
		}
	}
	return count
}
