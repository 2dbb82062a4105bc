package casts

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// ScanWarnings says what of a scan can show in the findings: labels on the wrong side,
// holes in teeth (anywhere but at the rim, where there are no labels), loose parts and
// triangles that lie inside out. The inspection of the scan tells where those are.
func ScanWarnings(c *Cast) []string {
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
	if exchanged(c) {
		out = append(out, fmt.Sprintf("the teeth of the %v scan that are labelled right stand on the left, or the other "+
			"way round: look whether labels or points of the mounting are exchanged", c.Jaw))
	}
	n, longest := holes(c)
	where := " in its teeth"
	if c.Labels == nil {
		where = ""
	}
	warn(n, "hole", "holes", fmt.Sprintf("%s, up to %.1f mm round: nothing is measured there", where, longest))
	warn(len(t.Components())-1, "loose part", "loose parts",
		": what is loose counts as surface, and hides teeth or meets them where it lies between")
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

// exchanged reports whether most of the labelled surface stands on the side other than
// its labels say: x is to the left.
func exchanged(c *Cast) bool {
	if c.Labels == nil {
		return false
	}
	wrong, all := 0, 0
	for v, p := range c.Mesh().Vertices() {
		if t := c.Labels.Vertex(mesh.VertexID(v)); t != dentition.NoTooth {
			all++
			if (t.Side() == dentition.Right) != (p.X < 0) {
				wrong++
			}
		}
	}
	return 2*wrong > all
}
