package trial

import (
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/surface"
	"gonum.org/v1/gonum/spatial/r3"
)

// thickness is how thick a material must be, mm: on guiding cusps, on supporting cusps and on
// anterior teeth.
type thickness struct{ guiding, supporting, anterior float64 }

// needs are teaching values independent of makers, from memory; of a range the lower end for guiding
// and the upper one for supporting cusps, which of 0.5 to 1.0 for anterior teeth is our choice.
var needs = map[casefile.Material]thickness{
	casefile.Metal:             {1, 1.5, 0.5},
	casefile.MonolithicCeramic: {0.7, 1, 0.7},
	casefile.LayeredCeramic:    {1.5, 2, 1},
	casefile.Composite:         {1, 1.5, 1},
}

// at is the thickness that a place needs.
func (n thickness) at(s anatomy.Site) float64 {
	switch {
	case s.Tooth.Type().Anterior():
		return n.anterior
	case s.Role() == anatomy.Supporting:
		return n.supporting
	}
	return n.guiding
}

// thin says where wax is thinnest for what its material needs, of the places away from its edge
// that opposing teeth reach: there it is loaded, and there is no room for more. Empty where it is
// thick enough.
func (l *layer) thin(material casefile.Material) findings.Sentence {
	need, ok := needs[material]
	if !ok {
		return findings.Sentence{}
	}
	chart := anatomy.NewChart(l.cast.Frames[l.tooth], l.cast.Landmarks)
	normals := surface.Normals(l.part.Mesh)
	margin := surface.Near(l.part.Mesh, l.bare(), marginMM)
	worst, lack := -1, 0.0
	for v := range l.thick {
		if margin[v] || !l.reached(v) {
			continue
		}
		mm := l.thick[v] * r3.Dot(normals[v], l.along)
		if d := need.at(chart.At(l.part.Mesh.Vertex(mesh.VertexID(v)))) - mm; d > lack {
			worst, lack = v, d
		}
	}
	if worst < 0 {
		return findings.Sentence{}
	}
	site := chart.At(l.part.Mesh.Vertex(mesh.VertexID(worst)))
	with := language.With{"material": language.Say("material." + string(material)), "need": need.at(site),
		"mm": need.at(site) - lack, "by": l.limited(worst)}
	if words := site.Words(); words != "" {
		with["site"] = words
	}
	return language.Say("trial.warn.thin", with)
}

// marginMM is how far from its edge wax may run out, mm; our choice.
const marginMM = 0.5

// bare marks the vertices of the tooth without wax.
func (l *layer) bare() []bool {
	out := make([]bool, len(l.thick))
	for v, mm := range l.thick {
		out[v] = mm < waxLeast
	}
	return out
}
