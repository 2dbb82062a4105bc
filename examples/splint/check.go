package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/golang/geo/s1"
	"github.com/unixpickle/model3d/model3d"
	"gonum.org/v1/gonum/spatial/r3"
)

// solidity is what the solid-modelling library says of a surface.
type solidity struct {
	closed            bool // every edge has two triangles
	selfIntersections int
	singular          int // vertices where it touches itself
	volume            float64
}

func solidityOf(m *model3d.Mesh) solidity {
	return solidity{
		closed: !m.NeedsRepair(), selfIntersections: m.SelfIntersections(),
		singular: len(m.SingularVertices()), volume: m.Volume(),
	}
}

// fromSTL reads a surface as another program would get it.
func fromSTL(data []byte) (*mesh.Mesh, error) {
	soup, err := meshfile.Read(bytes.NewReader(data), meshfile.ReadOptions{Format: meshfile.STL, Unit: mesh.Millimetre})
	if err != nil {
		return nil, err
	}
	welded, _ := mesh.Weld(soup, 0)
	return welded, nil
}

// with is the upper arch with the splint on it, as one surface.
func with(ctx context.Context, upper, splint *mesh.Mesh) (*contact.Arch, error) {
	verts := append(append([]r3.Vec{}, upper.Vertices()...), splint.Vertices()...)
	tris := append([][3]mesh.VertexID{}, upper.Triangles()...)
	first := mesh.VertexID(upper.NumVertices())
	for _, t := range splint.Triangles() {
		tris = append(tris, [3]mesh.VertexID{t[0] + first, t[1] + first, t[2] + first})
	}
	both, err := mesh.New(verts, tris)
	if err != nil {
		return nil, err
	}
	return contact.NewArch(ctx, both, nil, contact.Options{})
}

// cuspGap is how far the tip of a supporting cusp stays from the splint in closing.
type cuspGap struct {
	tooth dentition.ToothID
	cusp  anatomy.Feature
	gap   float64 // mm, negative where the surfaces cross
}

// position is the lower arch on the splint somewhere in a movement.
type position struct {
	movement kinematics.Movement
	travel   float64
	opening  s1.Angle
	wanted   s1.Angle // what the splint was made to guide to
	guide    dentition.ToothID
	back     float64 // least clearance of the posterior teeth, mm
}

// result is how the lower arch closes and moves on the splint, by our own closing.
type result struct {
	closing contact.Closing
	cusps   []cuspGap
	moves   []position
}

// tipReach is how far from the tip of a cusp its contact may lie, mm.
const tipReach = 1.5

// examine closes the lower arch on the upper one with the splint, and moves it.
func examine(ctx context.Context, d *design, pair *casts.Casts, splint *mesh.Mesh, set kinematics.Settings,
	rest s1.Angle) (*result, error) {
	upper, err := with(ctx, pair.Upper.Mesh(), splint)
	if err != nil {
		return nil, err
	}
	lower := pair.Lower
	closer, err := contact.NewCloser(ctx, upper, lower.Arch, contact.Options{})
	if err != nil {
		return nil, err
	}
	r := &result{}
	if r.closing, err = closer.Close(kinematics.Pose{}, &contact.CloserScratch{}); err != nil {
		return nil, err
	}
	gaps, err := contact.AppendLowerMap(ctx, nil, upper, lower.Arch, r.closing.Pose, 2, contact.Options{})
	if err != nil {
		return nil, err
	}
	for _, l := range lower.Landmarks {
		if l.Feature.Cusp() && l.Feature.Role(l.Tooth) == anatomy.Supporting && !l.Tooth.Type().Anterior() {
			r.cusps = append(r.cusps, cuspGap{l.Tooth, l.Feature, leastAbout(lower.Mesh(), gaps, l.Vertex)})
		}
	}
	for _, m := range [...]kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive} {
		travels, err := kinematics.Samples(d.travel, 0.5)
		if err != nil {
			return nil, err
		}
		for f, err := range closer.Frames(ctx, set.Stations(m, travels), contact.FrameOptions{Clearances: true}) {
			if err != nil {
				return nil, err
			}
			if !f.Touches {
				return nil, fmt.Errorf("%v movement at %g mm: the arches do not meet", m, f.Station.Travel)
			}
			p := position{m, f.Station.Travel, f.Opening, d.opening(rest, f.Station), lower.Tooth(f.Touch.Lower), math.Inf(1)}
			for i, part := range lower.Parts {
				if tooth := lower.ByPart[part]; tooth != dentition.NoTooth && !tooth.Type().Anterior() {
					p.back = min(p.back, f.Lower[i].Dist)
				}
			}
			r.moves = append(r.moves, p)
		}
	}
	return r, nil
}

// leastAbout is the least of the gaps at the vertices about a tip.
func leastAbout(m *mesh.Mesh, gaps []float64, tip mesh.VertexID) float64 {
	least := math.Inf(1)
	for v, gap := range gaps {
		if r3.Norm(r3.Sub(m.Vertex(mesh.VertexID(v)), m.Vertex(tip))) < tipReach {
			least = min(least, gap)
		}
	}
	return least
}

func (r *result) write(w io.Writer) {
	fmt.Fprintf(w, "closed: opened by %.3f°, touch at %.1f\n", r.closing.Opening.Degrees(), r.closing.Point)
	for _, c := range r.cusps {
		fmt.Fprintf(w, "  %v %v: %.0f µm\n", c.tooth, c.cusp, 1000*c.gap)
	}
	for _, p := range r.moves {
		fmt.Fprintf(w, "%v %.1f mm: opened by %.3f°, made for %.3f°, guided by %v, posterior teeth clear by %.2f mm\n",
			p.movement, p.travel, p.opening.Degrees(), p.wanted.Degrees(), p.guide, p.back)
	}
}

// hasRim says whether a surface has an open border.
func hasRim(m *mesh.Mesh) bool { return len(mesh.BuildTopology(m).Loops()) > 0 }
