package findings

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
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
	Tooth Part `json:"tooth"`
	// Certainty is that of [segment.FoundTooth].
	Certainty float64 `json:"certainty" jsonschema_description:"how sure it is that a tooth of this name stands there, 0 to 1; below 0.5 somebody should look"`
}

// unsureBelow is the certainty below which a person should look at a found tooth: a
// coin's toss.
const unsureBelow = 0.5

// Unsure reports whether a person should look at the tooth.
func (t FoundTooth) Unsure() bool { return t.Certainty < unsureBelow }

// Scans describes the two surfaces.
type Scans struct {
	Upper ScanInfo `json:"upper"`
	Lower ScanInfo `json:"lower"`
}

// ScanInfo is the size and the defects of one scan.
type ScanInfo struct {
	Triangles           int                 `json:"triangles"`
	Vertices            int                 `json:"vertices"`
	Components          int                 `json:"components"`
	BoundaryLoops       int                 `json:"boundary_loops"`
	NonManifoldEdges    int                 `json:"non_manifold_edges"`
	InconsistentEdges   int                 `json:"inconsistent_edges"`
	DuplicateTriangles  int                 `json:"duplicate_triangles"`
	DegenerateTriangles int                 `json:"degenerate_triangles"`
	Teeth               []dentition.ToothID `json:"teeth" jsonschema_description:"labelled teeth; empty without labels"`
	Labels              LabelsFrom          `json:"labels" jsonschema:"enum=file,enum=shape,enum=none" jsonschema_description:"where the labels come from: a file, found from the shape, or none"`
	Found               []FoundTooth        `json:"found" jsonschema_description:"the teeth that were found from the shape, with how sure each is"`
}
