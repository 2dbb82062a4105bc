package casts

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh/inspect"
)

// How is the kind of mounting of a case: average, recorded or matrix.
func How(m *casefile.Mount) string {
	switch {
	case m.Recorded != nil:
		return "recorded"
	case m.Matrix != nil:
		return "matrix"
	}
	return "average"
}

// ScanInfo counts what a scan has and lacks, and says where its labels come from.
func ScanInfo(c *Cast) findings.ScanInfo {
	r := inspect.Surface(c.Whole)
	s := findings.ScanInfo{
		Triangles: r.Triangles, Vertices: r.Vertices, Components: r.Components, BoundaryLoops: r.BoundaryLoops,
		NonManifoldEdges: r.NonManifoldEdges, InconsistentEdges: r.InconsistentEdges,
		DuplicateTriangles: r.DuplicateTriangles, DegenerateTriangles: r.DegenerateTriangles, Teeth: []dentition.ToothID{},
	}
	s.Teeth = append(s.Teeth, c.ByPart[1:]...)
	describeLabels(&s, c)
	return s
}
