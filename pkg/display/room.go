package display

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// RoomMap is the room over a tooth in all positions of an examination.
type RoomMap struct {
	Tooth dentition.ToothID
	// Mesh is the tooth's surface, in the scan frame.
	Mesh *mesh.Mesh
	// Source is the vertex of the scan that each vertex is.
	Source []mesh.VertexID
	// LeastMM is for every vertex the least distance from the opposing arch over
	// the closing in intercuspation and all frames, in mm, negative in an overlap and +Inf
	// beyond [DisplayRange].
	LeastMM []float64
}

// NewRoomMap measures the room over a labelled tooth; nil where the tooth is not
// on its cast.
func NewRoomMap(ctx context.Context, pair *casts.Casts, f *findings.Findings, tooth dentition.ToothID, o Options) (*RoomMap, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	own, other := casts.Of(pair, tooth), pair.Upper
	if own == other {
		other = pair.Lower
	}
	if _, ok := own.Frames[tooth]; !ok {
		return nil, nil
	}
	full := own.Mesh()
	number := map[mesh.VertexID]mesh.VertexID{}
	var source []mesh.VertexID
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for i, t := range full.Triangles() {
		if own.Teeth[i] != tooth {
			continue
		}
		for k, v := range t {
			n, ok := number[v]
			if !ok {
				n = mesh.VertexID(len(verts))
				number[v], verts, source = n, append(verts, full.Vertex(v)), append(source, v)
			}
			t[k] = n
		}
		tris = append(tris, t)
	}
	m, err := mesh.New(verts, tris)
	if err != nil {
		return nil, err
	}
	arch, err := contact.NewArch(ctx, m, nil, contact.Options{})
	if err != nil {
		return nil, err
	}
	r := &RoomMap{Tooth: tooth, Source: source, LeastMM: make([]float64, len(verts))}
	for i := range r.LeastMM {
		r.LeastMM[i] = math.Inf(1)
	}
	poses := []kinematics.Pose{f.Centric.Pose.Pose}
	for _, x := range f.Excursions {
		for i := range x.Frames {
			poses = append(poses, x.Frames[i].Pose.Pose)
		}
	}
	var gaps []float64
	for _, p := range poses {
		if tooth.Jaw() == dentition.Upper {
			gaps, err = contact.AppendUpperMap(ctx, gaps[:0], arch, other.Arch, p, DisplayRange, contact.Options{Workers: o.Workers})
		} else {
			gaps, err = contact.AppendLowerMap(ctx, gaps[:0], other.Arch, arch, p, DisplayRange, contact.Options{Workers: o.Workers})
		}
		if err != nil {
			return nil, err
		}
		for i, g := range gaps {
			r.LeastMM[i] = min(r.LeastMM[i], g)
		}
	}
	back := pair.Mount
	if tooth.Jaw() == dentition.Lower {
		back = back.Then(pair.Settling.Pose.Pose)
	}
	r.Mesh, err = m.Transform(back.Inverse().Apply)
	return r, err
}
