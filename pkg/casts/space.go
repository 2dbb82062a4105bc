package casts

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// spaceMM is the space between neighbouring crowns, in mm, from which it is told.
// Board examiners mark from half a millimetre and more from a whole one (Casko et al.
// 1998, from memory); labels leave up to 0.9 mm between crowns that touch.
const spaceMM = 1.0

// space is how far the labelled crowns of two teeth are apart, in mm, from the
// vertices of each to the surface of the other; ok is false beyond 10 mm and where one
// is not labelled.
func (c *Cast) space(a, b dentition.ToothID) (mm float64, ok bool) {
	p, q := slices.Index(c.ByPart, a), slices.Index(c.ByPart, b)
	if p < 1 || q < 1 {
		return 0, false
	}
	const most = 10.0
	mm = most
	for _, x := range [2]struct {
		of dentition.ToothID
		to int
	}{{a, q}, {b, p}} {
		for v, at := range c.Mesh().Vertices() {
			if c.Labels.Vertex(mesh.VertexID(v)) != x.of {
				continue
			}
			if h, near := c.Index.NearestInPart(x.to, at, mm); near {
				mm = math.Min(mm, h.Dist)
			}
		}
	}
	return mm, mm < most
}

// Spaces lists the spaces between a tooth and its neighbours of the same side. Third
// molars, which stand as they can, are none.
func (c *Cast) Spaces(t dentition.ToothID) []findings.Cause {
	var out []findings.Cause
	for _, n := range [2]dentition.ToothID{t - 1, t + 1} {
		if n.Quadrant() != t.Quadrant() || n.Type() == dentition.ThirdMolar || t.Type() == dentition.ThirdMolar {
			continue
		}
		if mm, ok := c.space(t, n); ok && mm >= spaceMM {
			out = append(out, findings.Cause{Cause: "space", Value: mm, Unit: "mm",
				Text: language.Say("cause.space", language.With{"tooth": findings.Part(t), "next": findings.Part(n), "mm": mm})})
		}
	}
	return out
}
