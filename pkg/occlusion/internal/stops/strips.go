package stops

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// A narrow strip of foil tries one cusp: the surface of the tooth within half the
// strip's width of the tip, seen along the long axis, and no deeper below it than
// the table of a crown. Strips of 8 mm are usual for whole teeth (Harper & Setchell
// 2002, Int J Prosthodont 15:347-352); that one of 3 mm is cut for a cusp is common
// practice, no source.
const (
	stripHalf = 1.5 // mm
	stripDeep = 3.0 // mm
)

// strips are the patches of an arch that narrow strips of foil try.
type strips struct {
	arch  *contact.Arch // nil where there are none
	cusps []cuspOf      // of each part, from part 1 on
}

// newStrips cuts the patches around the supporting cusps of the posterior teeth out of
// a cast. Where two of a tooth lie close together, each triangle goes to the
// nearer tip.
func newStrips(ctx context.Context, c *casts.Cast) (strips, error) {
	var s strips
	tips := map[dentition.ToothID][]int{} // parts by tooth
	var at []r3.Vec
	for _, l := range c.Landmarks {
		if l.Feature.Cusp() && l.Feature.Role(l.Tooth) == anatomy.Supporting && !l.Tooth.Type().Anterior() {
			s.cusps, at = append(s.cusps, cuspOf{l.Tooth, l.Feature}), append(at, l.Point)
			tips[l.Tooth] = append(tips[l.Tooth], len(at)-1)
		}
	}
	m := c.Mesh()
	number := map[mesh.VertexID]mesh.VertexID{}
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	var parts []int32
	for t, tooth := range c.Teeth {
		if len(tips[tooth]) == 0 {
			continue
		}
		f := c.Frames[tooth]
		p, q, r := m.Corners(mesh.TriID(t))
		middle := r3.Scale(1./3, r3.Add(p, r3.Add(q, r)))
		part, near := int32(0), stripHalf
		for _, i := range tips[tooth] {
			d := r3.Sub(middle, at[i])
			deep := -r3.Dot(d, f.Occlusal)
			if off := math.Hypot(r3.Dot(d, f.Mesial), r3.Dot(d, f.Buccal)); off < near && deep < stripDeep {
				part, near = int32(i+1), off
			}
		}
		if part == 0 {
			continue
		}
		var tri [3]mesh.VertexID
		for k, v := range m.Triangle(mesh.TriID(t)) {
			id, ok := number[v]
			if !ok {
				id = mesh.VertexID(len(verts))
				number[v], verts = id, append(verts, m.Vertex(v))
			}
			tri[k] = id
		}
		tris, parts = append(tris, tri), append(parts, part)
	}
	if len(tris) == 0 {
		return s, nil
	}
	patches, err := mesh.New(verts, tris)
	if err != nil {
		return s, err
	}
	s.arch, err = contact.NewArch(ctx, patches, parts, contact.Options{})
	return s, err
}

// cuspGaps is the least gap (µm) of the strip of every supporting cusp of the back
// teeth to the opposing arch under a pose of the lower cast.
func cuspGaps(ctx context.Context, upper, lower *casts.Cast, pose kinematics.Pose) (map[cuspOf]float64, error) {
	out := map[cuspOf]float64{}
	var s contact.ClearanceScratch
	add := func(of strips, gaps []contact.Gap) {
		for i, k := range of.arch.Parts {
			out[of.cusps[k-1]] = 1000 * gaps[i].Dist
		}
	}
	up, err := newStrips(ctx, upper)
	if err != nil {
		return nil, err
	}
	lo, err := newStrips(ctx, lower)
	if err != nil {
		return nil, err
	}
	if up.arch != nil {
		gaps, err := contact.AppendUpperClearances(nil, up.arch, lower.Arch, pose, &s)
		if err != nil {
			return nil, err
		}
		add(up, gaps)
	}
	if lo.arch != nil {
		gaps, err := contact.AppendLowerClearances(nil, upper.Arch, lo.arch, pose, &s)
		if err != nil {
			return nil, err
		}
		add(lo, gaps)
	}
	return out, nil
}
