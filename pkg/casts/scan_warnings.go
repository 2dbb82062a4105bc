package casts

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
)

// noisyMM is the noise of a scan, mm, from which it is said: about the uncertainty at which
// scans are taken. Our choice.
const noisyMM = 0.03

// ScanWarnings says what of a scan can show in the findings: labels on the wrong side,
// noise, slits, holes in teeth (anywhere but at the rim, where there are no labels), loose parts
// and triangles that lie inside out. The inspection of the scan tells where those are.
func ScanWarnings(c *Cast) []language.Sentence {
	var out []language.Sentence
	warn := func(key string, with language.With) {
		with["jaw"] = jawWord(c)
		out = append(out, language.Say(key, with))
	}
	if exchanged(c) {
		warn("input.exchanged", language.With{})
	}
	t := mesh.BuildTopology(c.Whole)
	if mm := inspect.Noise(t); mm >= noisyMM {
		warn("input.noise", language.With{"um": 1000 * mm})
	}
	slits := inspect.TJunctions(t)
	if slits > 0 {
		warn("input.slits", language.With{"corners": slits})
	}
	switch n, longest := holes(c, t); {
	case slits > 0: // whose borders are no holes, and whose parts are not loose
	case n > 0 && c.Labels == nil:
		warn("input.holes", language.With{"holes": n, "mm": longest})
	case n > 0:
		warn("input.holes.teeth", language.With{"holes": n, "mm": longest})
	}
	switch n := len(t.Components()) - 1; {
	case slits > 0:
	case n > 0 && c.Whole != c.Mesh():
		warn("input.loose.out", language.With{"parts": n})
	case n > 0:
		warn("input.loose", language.With{"parts": n})
	}
	flipped := 0
	for i := range c.Whole.NumTriangles() {
		if t.Flipped(mesh.TriID(i)) {
			flipped++
		}
	}
	if flipped > 0 {
		warn("input.flipped", language.With{"triangles": flipped})
	}
	return out
}

// jawWord is the word upper or lower for a cast.
func jawWord(c *Cast) language.Sentence { return language.Say("jaw.word." + c.Jaw.String()) }

// UnlabelledWarnings says what counts as a tooth although it has no label.
func UnlabelledWarnings(c *Cast) []language.Sentence {
	var out []language.Sentence
	for _, u := range c.Unlabelled {
		with := language.With{"jaw": jawWord(c), "right": u.Right, "left": u.Left}
		key := "input.unlabelled.between"
		switch {
		case u.Right == dentition.NoTooth:
			key = "input.unlabelled.behind"
		case u.Left == dentition.NoTooth:
			key, with["left"] = "input.unlabelled.behind", u.Right
		}
		out = append(out, language.Say(key, with))
	}
	return out
}

// holes counts the borders in teeth, other than the outer one of each part of the
// surface, and gives the length of the longest, mm.
func holes(c *Cast, t *mesh.Topology) (n int, longest float64) {
	part := make([]mesh.ComponentID, c.Whole.NumVertices())
	for i, tri := range c.Whole.Triangles() {
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
