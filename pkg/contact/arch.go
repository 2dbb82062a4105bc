package contact

import (
	"github.com/cusptrace/cusptrace/internal/surftree"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/golang/geo/s1"
)

// The range in which a closing is searched, from open.
const (
	OpeningMost  s1.Angle = kinematics.OpeningMax
	OpeningLeast s1.Angle = kinematics.OpeningMin
)

// Arch is a surface with what the queries of this package need to know of it.
// It is immutable and safe for any number of readers.
type Arch struct {
	Index    *index.Index
	Topology *mesh.Topology
	Sides    *index.Sides
	// Parts are the numbers of the parts whose clearance is asked for: the
	// teeth, or part 0, the whole arch, where nothing is labelled.
	Parts []int
}

// NewArch prepares a mesh, given at rest in the articulator frame. parts, if
// not nil, holds a number for each triangle (see [index.New]): 0 for what is
// no tooth, the tooth's number otherwise.
func NewArch(m *mesh.Mesh, parts []int32) (*Arch, error) {
	x, err := index.New(m, parts)
	if err != nil {
		return nil, err
	}
	t := mesh.BuildTopology(m)
	a := &Arch{Index: x, Topology: t, Sides: index.NewSides(t)}
	for k, r := range tree(x).Boxes().Parts {
		if !r.Empty && (k > 0 || parts == nil) {
			a.Parts = append(a.Parts, k)
		}
	}
	return a, nil
}

// tree is the hierarchy of an index, which only this module may walk.
func tree(x *index.Index) *surftree.Tree { return (*surftree.Tree)(x) }

// Mesh is the surface.
func (a *Arch) Mesh() *mesh.Mesh { return a.Index.Mesh() }
