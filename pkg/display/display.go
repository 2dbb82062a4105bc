package display

import (
	"context"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/simplify"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Display is what pictures of an examination need beside its findings: the
// surfaces, thinned, and how far they are from each other at some positions.
// Nothing is measured on the thinned surfaces.
type Display struct {
	Upper, Lower Surface
	// Maps are the clearances in rising order of travel within each movement,
	// the closing in intercuspation first.
	Maps []ClearanceMap
	// Full are the clearances in intercuspation of all vertices of the scans.
	Full FullMap
	// Outlines are the shapes of the contacts.
	Outlines Outlines
	// Rooms are the teeth that will be restored, with their room.
	Rooms []*RoomMap
}

// Surface is an arch thinned for display. Its vertices are a selection of the
// scan's, in intercuspation in the articulator frame (before any settling).
type Surface struct {
	Mesh *mesh.Mesh
	// Source is the vertex of the scan that each vertex is.
	Source []mesh.VertexID
	// Normals are those of the full surface, unit vectors, one a vertex.
	Normals []r3.Vec
	// Teeth is the tooth of each vertex; nil without labels.
	Teeth []dentition.ToothID
	// Scanned is the number of triangles of the full surface.
	Scanned int
}

// ClearanceMap is the distance of every vertex of the thinned surfaces from the
// opposing scan, in mm, as [contact.ClearanceMap] gives it: exact for the
// vertex, negative in an overlap, +Inf beyond [DisplayRange].
type ClearanceMap struct {
	// Movement is empty for the closing in intercuspation.
	Movement findings.Movement
	TravelMM float64
	Upper    []float64
	Lower    []float64
}

// FullMap is a clearance map of all vertices of both scans, in their order
// after welding, with the surfaces in the scan frame.
type FullMap struct {
	UpperMesh, LowerMesh *mesh.Mesh
	Upper, Lower         []float64
}

// DisplayRange is the distance, in mm, up to which clearance maps reach.
const DisplayRange = 2.0

// displayVertices is the number of vertices, for each arch, that a laptop turns
// at 60 frames a second.
const displayVertices = 32_000

// mapTravels are the travels, in mm, at which clearance is mapped; the last
// frame of a movement is mapped too.
var mapTravels = [...]float64{0.5, 1, 2, 3, 5}

// Options are what a caller may choose; the zero value is good.
type Options struct {
	// Workers is the number of goroutines, 0 for one a processor. The result does not
	// depend on it.
	Workers int
}

// New prepares pictures of the casts and of what was found on them.
func New(ctx context.Context, pair *casts.Casts, f *findings.Findings, o Options) (*Display, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	d := &Display{}
	var arches [2]*contact.Arch
	prepare := func(i int, s *Surface, c *casts.Cast) (err error) {
		if *s, err = newSurface(c); err != nil {
			return err
		}
		arches[i], err = contact.NewArch(ctx, s.Mesh, nil, contact.Options{})
		return err
	}
	if err := par.BothErr(func() error { return prepare(0, &d.Upper, pair.Upper) },
		func() error { return prepare(1, &d.Lower, pair.Scanned) }); err != nil {
		return nil, err
	}
	measure := func(of [2]*contact.Arch, pose findings.Pose) (upper, lower []float64, err error) {
		p := f.Settling.Pose.Then(pose.Pose)
		o := contact.Options{Workers: o.Workers}
		if upper, err = contact.AppendUpperMap(ctx, nil, of[0], pair.Scanned.Arch, p, DisplayRange, o); err != nil {
			return nil, nil, err
		}
		lower, err = contact.AppendLowerMap(ctx, nil, pair.Upper.Arch, of[1], p, DisplayRange, o)
		return upper, lower, err
	}
	add := func(movement findings.Movement, travel float64, pose findings.Pose) error {
		up, lo, err := measure(arches, pose)
		d.Maps = append(d.Maps, ClearanceMap{movement, travel, up, lo})
		return err
	}
	if err := add("", 0, f.Centric.Pose); err != nil {
		return nil, err
	}
	for _, x := range f.Excursions {
		for _, i := range mapFrames(x.Frames) {
			if err := add(x.Movement, x.Frames[i].TravelMM, x.Frames[i].Pose); err != nil {
				return nil, err
			}
		}
	}
	var err error
	if d.Full.Upper, d.Full.Lower, err = measure([2]*contact.Arch{pair.Upper.Arch, pair.Scanned.Arch}, f.Centric.Pose); err != nil {
		return nil, err
	}
	if d.Outlines, err = newOutlines(ctx, pair, f, o); err != nil {
		return nil, err
	}
	back := pair.Mount.Inverse()
	if d.Full.UpperMesh, err = pair.Upper.Whole.Transform(back.Apply); err != nil {
		return nil, err
	}
	if d.Full.LowerMesh, err = pair.Scanned.Whole.Transform(back.Apply); err != nil {
		return nil, err
	}
	for _, r := range f.Restore {
		m, err := NewRoomMap(ctx, pair, f, r.Tooth.Tooth(), o)
		if err != nil {
			return nil, err
		}
		if m != nil {
			d.Rooms = append(d.Rooms, m)
		}
	}
	return d, nil
}

// mapFrames picks the first frames at or after the travels to map, and the last.
func mapFrames(frames []findings.Frame) []int {
	var out []int
	next := 0
	for i := range frames {
		if i == len(frames)-1 || (next < len(mapTravels) && frames[i].TravelMM >= mapTravels[next]-1e-9) {
			out = append(out, i)
			for next < len(mapTravels) && frames[i].TravelMM >= mapTravels[next]-1e-9 {
				next++
			}
		}
	}
	return out
}

func newSurface(c *casts.Cast) (Surface, error) {
	full := c.Whole
	s := Surface{Scanned: full.NumTriangles()}
	var kind []uint8
	if c.WholeTeeth != nil {
		// A vertex on a border counts to the tooth with the highest code.
		kind = make([]uint8, full.NumVertices())
		for t, corners := range full.Triangles() {
			for _, v := range corners {
				kind[v] = max(kind[v], uint8(c.WholeTeeth[t]))
			}
		}
	}
	keep, tris := simplify.Cluster(full, kind, displayVertices)
	verts, normals := make([]r3.Vec, len(keep)), simplify.Normals(full)
	s.Source = keep
	s.Normals = make([]r3.Vec, len(keep))
	for i, v := range keep {
		verts[i], s.Normals[i] = full.Vertex(v), normals[v]
		if kind != nil {
			s.Teeth = append(s.Teeth, dentition.ToothID(kind[v]))
		}
	}
	var err error
	s.Mesh, err = mesh.New(verts, slices.Clip(tris))
	return s, err
}
