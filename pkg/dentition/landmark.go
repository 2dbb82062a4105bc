package dentition

import (
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Feature is a named spot on a crown.
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
)

// featureNames is in the order of the features; 0 is none.
var featureNames = [...]string{
	"", "mesiobuccal cusp", "distobuccal cusp", "distal cusp", "mesiolingual cusp", "distolingual cusp",
	"buccal cusp", "lingual cusp", "cusp",
}

// String is the feature in words, such as "mesiobuccal cusp".
func (f Feature) String() string {
	if int(f) >= len(featureNames) || f == 0 {
		return "no feature"
	}
	return featureNames[f]
}

// Landmark is a feature that was found.
type Landmark struct {
	Tooth   ToothID
	Feature Feature
	// Point is on the surface, in the scan frame, mm.
	Point r3.Vec
	// Vertex is the vertex of the scan nearest to it.
	Vertex mesh.VertexID
	// Confidence is from 0 to 1; below about 0.5 the place follows more from
	// the handbook than from the scan.
	Confidence float64
}
