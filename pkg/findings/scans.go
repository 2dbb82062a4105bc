package findings

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// LabelsFrom says where the labels of an arch come from.
type LabelsFrom string

// The origins of labels.
const (
	FromFile  LabelsFrom = "file"
	FromShape LabelsFrom = "shape" // found by [FindTeeth]
	FromNone  LabelsFrom = "none"
)

// FoundTooth is a tooth that was found from the shape of a scan.
type FoundTooth struct {
	// the tooth
	Tooth Part `json:"tooth"`
	// how sure it is that a tooth of this name stands there, 0 to 1; below 0.65 a person should
	// look
	Certainty float64 `json:"certainty"`
}

// ToothDoubt is something about the teeth found that a person should look at.
type ToothDoubt struct {
	// what it is about; `left_out`: what looks like a tooth belongs to none that was found,
	// `wide`: a tooth as wide as two, `last`: the last tooth may be soft tissue, `closed`: a tooth is
	// taken to be missing with its space closed, `unsure`: little certainty
	Kind DoubtKind `json:"kind"`
	// the teeth in doubt as they were found, or the neighbours of the place
	Teeth []Part `json:"teeth"`
	// where to look, in the frame of the scan
	At [3]float64 `json:"at_mm"`
	// what to give `cusptrace segment` with `--correct` if the doubt is right
	Correct string `json:"correct,omitempty"`
	// the same in words
	Text language.Sentence `json:"text"`
}

// DoubtKind says what a [ToothDoubt] is about.
type DoubtKind string

// The kinds of doubts.
const (
	DoubtLeftOut DoubtKind = "left_out"
	DoubtWide    DoubtKind = "wide"
	DoubtLast    DoubtKind = "last"
	DoubtClosed  DoubtKind = "closed"
	DoubtUnsure  DoubtKind = "unsure"
)

// unsureBelow is the certainty below which a person should look at a found tooth, as in
// package segment.
const unsureBelow = 0.65

// Unsure reports whether a person should look at the tooth.
func (t FoundTooth) Unsure() bool { return t.Certainty < unsureBelow }

// Scans describes the two surfaces.
type Scans struct {
	// the upper scan
	Upper ScanInfo `json:"upper"`
	// the lower scan
	Lower ScanInfo `json:"lower"`
}

// ScanInfo is the size and the defects of one scan.
type ScanInfo struct {
	// how many triangles it has
	Triangles int `json:"triangles"`
	// vertices after welding
	Vertices int `json:"vertices"`
	// parts that hang together
	Components int `json:"components"`
	// closed borders of the surface
	BoundaryLoops int `json:"boundary_loops"`
	// edges where more than two triangles meet
	NonManifoldEdges int `json:"non_manifold_edges"`
	// edges whose triangles are oriented against each other
	InconsistentEdges int `json:"inconsistent_edges"`
	// triangles that are there twice
	DuplicateTriangles int `json:"duplicate_triangles"`
	// triangles without area
	DegenerateTriangles int `json:"degenerate_triangles"`
	// labelled teeth; empty without labels
	Teeth []dentition.ToothID `json:"teeth"`
	// where the labels come from; `shape`: they were found from the shape of the scan
	Labels LabelsFrom `json:"labels"`
	// the teeth that were found from the shape; empty where they were not
	Found []FoundTooth `json:"found"`
	// what a person should look at of the teeth that were found from the shape
	Doubts []ToothDoubt `json:"doubts"`
}
