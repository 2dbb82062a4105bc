package articulate

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Enter writes into a case what putting its arches together tells: the points of the average mounting,
// where they are known, and how far the casts may settle ([DoubtUm]). The case is mounted by mean values then.
func Enter(c *casefile.Case, a *findings.Articulated) {
	average := casefile.Default().Mount.Average
	if c.Mount.Average != nil {
		*average = *c.Mount.Average
	}
	if p := a.Mounting; p != nil {
		point := func(v r3.Vec) *casefile.Point { return &casefile.Point{v.X, v.Y, v.Z} }
		average.IncisalPoint, average.RightMolar, average.LeftMolar = point(p.Incisal), point(p.Right), point(p.Left)
	}
	c.Mount = casefile.Mount{Average: average}
	c.Settle.DoubtUm = DoubtUm(a)
}

// Moved is the lower scan where it was put, in the frame of the upper scan and in the unit u of the
// files. To be written as PLY, which keeps the order of vertices, on which labels rely.
func Moved(lower *mesh.Mesh, a *findings.Articulated, u mesh.Unit) (*mesh.Mesh, error) {
	return lower.Transform(func(p r3.Vec) r3.Vec { return r3.Scale(1/u.MM(), a.UpperFromLower.Apply(p)) })
}
