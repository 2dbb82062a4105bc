package casts

import (
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// toothFrames is where every labelled tooth stands.
func toothFrames(m *mesh.Mesh, l *dentition.Labels) (map[dentition.ToothID]anatomy.Frame, error) {
	frames, err := anatomy.Frames(m, l)
	if err != nil {
		return nil, err
	}
	out := make(map[dentition.ToothID]anatomy.Frame, len(frames))
	for _, f := range frames {
		out[f.Tooth] = f
	}
	return out, nil
}

// mountingPoints finds the incisal point and the right and left molar points of
// the average mounting on a labelled lower arch, in the scan frame.
func mountingPoints(lower *Scan) ([3]casefile.Point, error) {
	m, err := anatomy.MountingPoints(lower.Mesh, lower.Labels)
	point := func(v r3.Vec) casefile.Point { return casefile.Point{v.X, v.Y, v.Z} }
	return [3]casefile.Point{point(m.IncisalPoint), point(m.RightMolar), point(m.LeftMolar)}, err
}
