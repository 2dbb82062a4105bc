package typodont

import (
	"fmt"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/spatial/r3"
)

// shapes measures a scan's crowns: the sharpest fold (least cosine between the
// normals of neighbours) and the thinnest triangle (largest ratio of longest side
// to height), with their places.
func shapes(a Arch) (fold, aspect float64, folded, thin r3.Vec) {
	crown := func(tri mesh.TriID) bool {
		for _, v := range a.Mesh.Triangle(tri) {
			if a.Labels.Vertex(v) != 0 {
				return true
			}
		}
		return false
	}
	fold = 1
	for _, e := range mesh.BuildTopology(a.Mesh).Edges() {
		if e.Sides == 2 && (crown(e.Tri[0]) || crown(e.Tri[1])) {
			if d := r3.Cos(a.Mesh.AreaVector(e.Tri[0]), a.Mesh.AreaVector(e.Tri[1])); !(d >= fold) {
				fold, folded = d, a.Mesh.Vertex(e.V[0])
			}
		}
	}
	for tri := range a.Mesh.NumTriangles() {
		if !crown(mesh.TriID(tri)) {
			continue
		}
		p, q, r := a.Mesh.Corners(mesh.TriID(tri))
		long := max(r3.Norm2(r3.Sub(p, q)), r3.Norm2(r3.Sub(q, r)), r3.Norm2(r3.Sub(r, p)))
		if x := long / (2 * r3.Norm(a.Mesh.AreaVector(mesh.TriID(tri)))); !(x <= aspect) {
			aspect, thin = x, p
		}
	}
	return fold, aspect, folded, thin
}

// Crowns have no folded and no needle-shaped triangles, whatever is done to
// them (but for a patch that is turned inside out on purpose).
func TestTrianglesAreSound(t *testing.T) {
	cases := map[string][]Disturbance{
		"undisturbed": nil,
		"demo":        Demo().Disturbances,
		"surfaces": {
			{Kind: Raise, Tooth: 16, Cusp: "mesiopalatal"}, {Kind: Raise, Tooth: 35},
			{Kind: Interference, Tooth: 37, Movement: "right"}, {Kind: FlatCanine, Tooth: 13}, {Kind: Incisor, Tooth: 31},
			{Kind: Facet, Tooth: 46, Cusp: "distobuccal", Movement: "right"}, {Kind: Facet, Tooth: 34, Movement: "left"},
			{Kind: Facet, Tooth: 24, Movement: "protrusive"},
			{Kind: Noise}, {Kind: Hole, Tooth: 26}, {Kind: Island, Tooth: 44},
		},
		"places": {
			{Kind: Drift, Tooth: 15}, {Kind: Tip, Tooth: 37}, {Kind: Rotate, Tooth: 34}, {Kind: Missing, Tooth: 46}, {Kind: OpenAnterior},
		},
		"most": {
			{Kind: Raise, Tooth: 16, Cusp: "mesiopalatal", Um: 600}, {Kind: Raise, Tooth: 35, Um: 600},
			{Kind: Raise, Tooth: 27, Cusp: "mesiopalatal", Um: -600},
			{Kind: FlatCanine, Tooth: 23, MM: 2}, {Kind: Incisor, Tooth: 31, Um: -600}, {Kind: Incisor, Tooth: 42, Um: 600},
			{Kind: Facet, Tooth: 46, Cusp: "distobuccal", Movement: "left", Um: 300},
			{Kind: Drift, Tooth: 15, MM: -3}, {Kind: Tip, Tooth: 47, Degrees: 25}, {Kind: Rotate, Tooth: 34, Degrees: 45},
		},
	}
	for name, list := range cases {
		for _, n := range []int{20000, 50000} {
			t.Run(fmt.Sprint(name, " ", n), func(t *testing.T) {
				if n > 20000 && (testing.Short() || name != "most") { // the greatest changes are the hardest
					t.Skip("takes seconds")
				}
				c := generate(t, Params{Triangles: n, Disturbances: list})
				for jaw, a := range map[string]Arch{"upper": c.Upper, "lower": c.Lower} {
					fold, aspect, folded, thin := shapes(a)
					t.Logf("%s: sharpest fold %.3f at %.2f, largest aspect %.1f at %.2f", jaw, fold, folded, aspect, thin)
					assert.GreaterOrEqualf(t, fold, -0.25, "%s at %.2f", jaw, folded)
					assert.LessOrEqualf(t, aspect, 50.0, "%s at %.2f", jaw, thin)
					assert.False(t, math.IsNaN(fold+aspect))
				}
			})
		}
	}
}

// overlaps lists where corners, sides and middles of triangles of the lower posterior teeth reach above the upper
// arch's surface over them (at most 1 mm: beyond that they are beside it), and
// by how much, straight up, mm.
func overlaps(c *Case) (at []r3.Vec, depth []float64) {
	s := &surface{verts: c.Upper.Mesh.Vertices()}
	for _, t := range c.Upper.Mesh.All() {
		s.tris = append(s.tris, [3]int32{int32(t[0]), int32(t[1]), int32(t[2])})
	}
	r := newRoof(s, func(r3.Vec) bool { return true })
	look := func(p r3.Vec) {
		if d := r.over(p); d < 0 && d > -1 {
			at, depth = append(at, p), append(depth, -d)
		}
	}
	for i, t := range c.Lower.Mesh.All() {
		if c.Lower.Labels.Vertex(t[0])%10 < 4 {
			continue
		}
		p, q, s := c.Lower.Mesh.Corners(i)
		look(p)
		look(r3.Scale(0.5, r3.Add(p, q)))
		look(r3.Scale(1.0/3, r3.Add(p, r3.Add(q, s))))
	}
	return at, depth
}

// The demo's arches overlap at the raised cusp by no more than it was raised,
// with half of it and more seen straight down at some spot, and nowhere else;
// the undisturbed ones nowhere.
func TestOverlapIsTheRaisedCusp(t *testing.T) {
	at, depth := overlaps(undisturbed(t))
	assert.Empty(t, at)
	assert.Empty(t, depth)
	c := generate(t, Demo())
	raised := c.Truth.Expected[0]
	at, depth = overlaps(c)
	deepest := 0.0
	for i, p := range at {
		assert.Lessf(t, r3.Norm(r3.Sub(p, raised.Point.Vec())), 2.0, "overlap of %.3f mm at %.2f", depth[i], p)
		deepest = max(deepest, depth[i])
	}
	t.Logf("%d spots, deepest %.0f µm", len(at), deepest*1000)
	assert.Greater(t, deepest*1000, 0.5*raised.SizeUm)
	assert.LessOrEqual(t, deepest*1000, raised.SizeUm+1)
}
