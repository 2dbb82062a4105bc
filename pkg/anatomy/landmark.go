package anatomy

import (
	"cmp"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Feature is a named spot or line on a crown.
type Feature uint8

// The features. Lingual stands for palatal in the upper jaw.
const (
	MesiobuccalCusp Feature = iota + 1
	DistobuccalCusp
	DistalCusp // the fifth cusp of a lower first molar, behind the distobuccal one
	MesiolingualCusp
	DistolingualCusp
	BuccalCusp
	LingualCusp
	CanineCusp
	MesialFossa
	CentralFossa
	DistalFossa
	MesialMarginalRidge
	DistalMarginalRidge
	CentralGroove
	MesioincisalEdge // the mesial end of the incisal edge
	IncisalEdge      // its middle, and the edge as a line
	DistoincisalEdge // the distal end
	LingualFossa     // the hollow of an anterior tooth between edge and cingulum
	Cingulum
	BuccalGroove      // between the mesiobuccal and the distobuccal cusp
	DistobuccalGroove // of a lower first molar, between the distobuccal and the distal cusp
	LingualGroove     // between the mesiolingual and the distolingual cusp
)

// featureNames is in the order of the features; 0 is none.
var featureNames = [...]string{
	"", "mesiobuccal cusp", "distobuccal cusp", "distal cusp", "mesiolingual cusp", "distolingual cusp",
	"buccal cusp", "lingual cusp", "cusp", "mesial fossa", "central fossa", "distal fossa",
	"mesial marginal ridge", "distal marginal ridge", "central groove",
	"mesioincisal edge", "incisal edge", "distoincisal edge", "lingual fossa", "cingulum",
	"buccal groove", "distobuccal groove", "lingual groove",
}

// String is the feature in words, such as "mesiobuccal cusp".
func (f Feature) String() string {
	if int(f) >= len(featureNames) || f == 0 {
		return "no feature"
	}
	return featureNames[f]
}

// Cusp reports whether it is a cusp.
func (f Feature) Cusp() bool { return f >= MesiobuccalCusp && f <= CanineCusp }

// Fossa reports whether it is a fossa.
func (f Feature) Fossa() bool {
	return f >= MesialFossa && f <= DistalFossa || f == LingualFossa
}

// MarginalRidge reports whether it is a marginal ridge.
func (f Feature) MarginalRidge() bool { return f == MesialMarginalRidge || f == DistalMarginalRidge }

// Groove reports whether it is a groove.
func (f Feature) Groove() bool { return f == CentralGroove || f >= BuccalGroove && f <= LingualGroove }

// Role says what a cusp or edge is for.
type Role uint8

// The roles; the zero Role is that of fossae and ridges, which have none.
const (
	NoRole Role = iota
	// Supporting cusps carry the bite in the opposing fossae.
	Supporting
	// Guiding cusps lead the movements on their inclines.
	Guiding
)

// String is the role in words.
func (r Role) String() string { return [...]string{"", "supporting", "guiding"}[min(r, Guiding)] }

// Role is what the feature of a tooth is for in normal occlusion. Supporting
// are the upper lingual and the lower buccal cusps and, in the front, the lower
// edges and canine tips; guiding are the others (handbooks).
func (f Feature) Role(t dentition.ToothID) Role {
	lower := t.Jaw() == dentition.Lower
	var supporting bool
	switch f {
	case MesiobuccalCusp, DistobuccalCusp, DistalCusp, BuccalCusp, CanineCusp, MesioincisalEdge, IncisalEdge, DistoincisalEdge:
		supporting = lower
	case MesiolingualCusp, DistolingualCusp, LingualCusp:
		supporting = !lower
	default:
		return NoRole
	}
	if supporting {
		return Supporting
	}
	return Guiding
}

// Landmark is a feature that was found.
type Landmark struct {
	Tooth   dentition.ToothID
	Feature Feature
	// Point is on the surface, in the scan frame, mm: the tip of a cusp, the
	// deepest spot of a fossa, the middle of a ridge, central groove or edge, and
	// where another groove crosses the row of cusps.
	Point r3.Vec
	// Vertex is the vertex of the tooth nearest to it.
	Vertex mesh.VertexID
	// Line is the whole of a ridge, groove or edge, from mesial to distal or
	// from buccal to lingual; nil for spots.
	Line []r3.Vec
	// Confidence is a score from 0 to 1, not a probability: it tells how distinctly
	// the surface shows the feature. Below about 0.5 the place follows more from the
	// handbook than from the scan.
	Confidence float64
}

// Landmarks finds the features of every labelled tooth that [Frames] gives a
// frame, in rising order of teeth and features. Errors are those of Frames.
//
// Points are sought in the tooth's frame, so they move with it: a tip rounded
// to a radius r shifts by r times the error of the long axis.
func Landmarks(m *mesh.Mesh, l *dentition.Labels) ([]Landmark, error) {
	nets, err := Reliefs(m, l)
	if err != nil {
		return nil, err
	}
	var out []Landmark
	for _, r := range nets {
		for _, s := range r.spots() {
			out = append(out, r.landmark(s))
		}
	}
	slices.SortStableFunc(out, func(a, b Landmark) int {
		return cmp.Or(cmp.Compare(a.Tooth, b.Tooth), cmp.Compare(a.Feature, b.Feature))
	})
	return out, nil
}

// spot is a feature in a relief's coordinates.
type spot struct {
	feature    Feature
	at         r3.Vec
	line       []r3.Vec
	confidence float64
}

func (r *Relief) spots() []spot {
	h := r.heights()
	if r.Frame.Tooth.Type().Anterior() {
		return append(r.tips(r.cusps()), r.front(h)...)
	}
	cusps := r.cusps()
	table := r.table(h, cusps)
	return slices.Concat(r.tips(cusps), table, r.grooves(&h, cusps, table))
}

func (r *Relief) tips(cusps []cusp) []spot {
	var out []spot
	for _, c := range cusps {
		out = append(out, spot{feature: c.feature, at: c.tip, confidence: c.confidence})
	}
	return out
}

// landmark puts a spot into the scan frame.
func (r *Relief) landmark(s spot) Landmark {
	l := Landmark{Tooth: r.Frame.Tooth, Feature: s.feature, Point: r.Frame.World(s.at.X, s.at.Y, s.at.Z),
		Confidence: min(1, max(0, s.confidence))}
	nearest := 0
	for v, p := range r.Points {
		if r3.Norm2(r3.Sub(p, s.at)) < r3.Norm2(r3.Sub(r.Points[nearest], s.at)) {
			nearest = v
		}
	}
	l.Vertex = r.IDs[nearest]
	for _, p := range s.line {
		l.Line = append(l.Line, r.Frame.World(p.X, p.Y, p.Z))
	}
	return l
}
