package occlusion

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// scanWarnings says which defects of a scan can show in the findings: holes in teeth
// (anywhere but at the rim, where there are no labels), loose parts and triangles that
// lie inside out. The inspection of the scan tells where they are.
func scanWarnings(c *Cast) []string {
	var out []string
	t := c.Topology
	warn := func(n int, one, many string, more ...any) {
		what := fmt.Sprintf("%d %s", n, one)
		if n != 1 {
			what = fmt.Sprintf("%d %s", n, many)
		}
		if n > 0 {
			out = append(out, fmt.Sprintf("the %v scan has %s", c.Jaw, what+fmt.Sprint(more...)))
		}
	}
	n, longest := holes(c)
	warn(n, "hole", "holes", fmt.Sprintf(" in its teeth, up to %.1f mm round: nothing is measured there", longest))
	warn(len(t.Components())-1, "loose part", "loose parts", ": they count as surface, and hide teeth or meet them where they lie between")
	flipped := 0
	for i := range c.Mesh().NumTriangles() {
		if t.Flipped(mesh.TriID(i)) {
			flipped++
		}
	}
	warn(flipped, "triangle that lies inside out", "triangles that lie inside out", ": overlap and inclines there are not to be trusted")
	return out
}

// holes counts the borders in teeth, other than the outer one of each part of the
// surface, and gives the length of the longest, mm.
func holes(c *Cast) (n int, longest float64) {
	t := c.Topology
	part := make([]mesh.ComponentID, c.Mesh().NumVertices())
	for i, tri := range c.Mesh().Triangles() {
		for _, v := range tri {
			part[v] = t.Component(mesh.TriID(i))
		}
	}
	outer := map[mesh.ComponentID]float64{}
	for _, l := range t.Loops() {
		p := part[l.Vertices[0]]
		outer[p] = max(outer[p], l.Length)
	}
	for _, l := range t.Loops() {
		inTooth := c.Labels == nil
		for _, v := range l.Vertices {
			inTooth = inTooth || c.Labels.Vertex(v) != dentition.NoTooth
		}
		if inTooth && l.Length < outer[part[l.Vertices[0]]] {
			n, longest = n+1, max(longest, l.Length)
		}
	}
	return n, longest
}
