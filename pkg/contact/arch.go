package contact

import (
	"context"
	"errors"
	"fmt"

	"github.com/cusptrace/cusptrace/internal/par"
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

// Reasons for which arches are refused.
var (
	ErrUnwelded = errors.New("mesh is not welded")
	ErrNoArch   = errors.New("arch is nil or not made by NewArch")
)

// NoPart is the part number of a triangle that belongs to no part, as the gums
// do where the parts are teeth.
const NoPart = index.NoPart

// Options say how this package computes. The zero value is what is usual.
type Options struct {
	// Workers is the number of goroutines, 0 for one a processor. It never
	// changes a result.
	Workers int
}

// Arch is a surface with what the queries of this package need to know of it.
// It is made by [NewArch], immutable and safe for any number of readers.
type Arch struct {
	Index    *index.Index
	Topology *mesh.Topology
	Sides    *index.Sides
	// Parts are the numbers of the parts that have clearances, those that
	// occur, in ascending order.
	Parts []int
}

// NewArch prepares a mesh, given closed in the articulator frame. parts, if not
// nil, holds for each triangle the number of the part (tooth) that it belongs
// to, from 0 to 254, or [NoPart]; every number that occurs is a part with a
// clearance of its own. Without parts the whole arch is part 0.
//
// Patches of contact hang together across the edges of the mesh, so it must be
// welded: where vertices lie at the place of another the error wraps
// [ErrUnwelded]. A nil mesh and parts that do not fit are errors too. A canceled
// context ends the work, within milliseconds, with its error.
func NewArch(ctx context.Context, m *mesh.Mesh, parts []int32, o Options) (*Arch, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if m == nil {
		return nil, fmt.Errorf("arch: %w", surftree.ErrNoMesh)
	}
	if n := mesh.Coincident(m); n > 0 {
		return nil, fmt.Errorf("arch: %w: %d of its %d vertices lie at the place of another; join them with mesh.Weld(m, 0)",
			ErrUnwelded, n, m.NumVertices())
	}
	a := &Arch{}
	var err error
	build := func() { a.Index, err = index.New(ctx, m, parts, index.Options{Workers: o.Workers}) }
	connect := func() {
		a.Topology = mesh.BuildTopology(m)
		a.Sides = index.NewSides(a.Topology)
	}
	o.both(build, connect)
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, fmt.Errorf("arch: %w", err)
	}
	for k, r := range tree(a.Index).Parts() {
		if !r.Empty {
			a.Parts = append(a.Parts, k)
		}
	}
	return a, nil
}

// Moved is the arch with its vertices elsewhere: the same triangles and parts, moved as a
// whole or bent a little. Its index is fitted anew, not built, which takes a small part of the
// time of [NewArch] and changes no answer. A mesh with other triangles is an error. The memory
// of old, an arch that Moved made before and that nobody uses any more, is used again; nil is none.
func (a *Arch) Moved(m *mesh.Mesh, old *Arch) (*Arch, error) {
	if err := a.check("this"); err != nil {
		return nil, err
	}
	var before *index.Index
	if old != nil {
		before = old.Index
	}
	x, err := a.Index.Moved(m, before)
	if err != nil {
		return nil, fmt.Errorf("arch: %w", err)
	}
	t := a.Topology.On(m)
	return &Arch{Index: x, Topology: t, Sides: a.Sides.On(t), Parts: a.Parts}, nil
}

// both does two things at once, or one after the other for one worker.
func (o Options) both(f, g func()) {
	if par.Workers(o.Workers) == 1 {
		f()
		g()
		return
	}
	par.Both(f, g)
}

// tree is the hierarchy of an index, which only this module may walk.
func tree(x *index.Index) *surftree.Tree { return (*surftree.Tree)(x) }

// check says with an error wrapping [ErrNoArch] that an arch cannot be used.
func (a *Arch) check(jaw string) error {
	if a == nil || a.Index == nil || a.Topology == nil || a.Sides == nil {
		return fmt.Errorf("%s arch: %w", jaw, ErrNoArch)
	}
	return nil
}

func checkBoth(upper, lower *Arch) error {
	if err := upper.check("upper"); err != nil {
		return err
	}
	return lower.check("lower")
}

// Mesh is the surface.
func (a *Arch) Mesh() *mesh.Mesh { return a.Index.Mesh() }
