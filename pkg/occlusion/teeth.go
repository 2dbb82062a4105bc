package occlusion

import (
	"errors"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

func mountingPoints(lower *Scan) ([3]casefile.Point, error) {
	return [3]casefile.Point{}, errors.New("not yet")
}

func toothAxes(m *mesh.Mesh, l *dentition.Labels) (map[dentition.ToothID]r3.Vec, error) {
	teeth, err := l.Triangles(m)
	if err != nil {
		return nil, err
	}
	axes := map[dentition.ToothID]r3.Vec{}
	for i, t := range teeth {
		if t != dentition.NoTooth {
			axes[t] = r3.Add(axes[t], m.AreaVector(mesh.TriID(i)))
		}
	}
	for t, a := range axes {
		axes[t] = r3.Scale(1/r3.Norm(a), a)
	}
	return axes, nil
}
