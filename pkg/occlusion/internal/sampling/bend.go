package sampling

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/drift"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// wayBins is the number of sectors in which the way along an arch without labels is sought.
const wayBins = 16

// way is the way along an arch from its right to its left end: through the middles of the
// teeth, or without labels through the middles of sectors about the middle of its back.
func way(c *casts.Cast) (*drift.Path, error) {
	var points []r3.Vec
	if len(c.Frames) > 1 {
		teeth := slices.Clone(c.ByPart[1:])
		along := func(t dentition.ToothID) int { // from the right end
			k := 10 - t.Position()
			if t.Side() == dentition.Left {
				k = 10 + t.Position()
			}
			return k
		}
		slices.SortFunc(teeth, func(a, b dentition.ToothID) int { return along(a) - along(b) })
		for _, t := range teeth {
			if f, ok := c.Frames[t]; ok {
				points = append(points, f.Centre)
			}
		}
		return drift.NewPath(points)
	}
	m := c.Mesh()
	box := m.Bounds()
	mid := r3.Vec{X: box.Center().X, Y: box.Max.Y}
	var sum [wayBins]r3.Vec
	var n [wayBins]float64
	for _, p := range m.Vertices() {
		// From the right end (−x) over the front (−y) to the left one.
		a := math.Atan2(mid.Y-p.Y, mid.X-p.X)
		k := min(max(int(a/math.Pi*wayBins), 0), wayBins-1)
		sum[k], n[k] = r3.Add(sum[k], p), n[k]+1
	}
	for k := range sum {
		if n[k] > 0 {
			points = append(points, r3.Scale(1/n[k], sum[k]))
		}
	}
	return drift.NewPath(points)
}

// bent is a cast as samples bend and move it.
type bent struct {
	cast   *casts.Cast
	places []drift.Place
	used   []bool // vertices of triangles
}

func newBent(c *casts.Cast, modes *drift.Modes) *bent {
	m := c.Mesh()
	b := &bent{cast: c, places: make([]drift.Place, m.NumVertices()), used: make([]bool, m.NumVertices())}
	for _, t := range m.All() {
		b.used[t[0]], b.used[t[1]], b.used[t[2]] = true, true, true
	}
	for v, p := range m.Vertices() {
		if b.used[v] {
			b.places[v] = modes.Place(p)
		}
	}
	return b
}

// bentCopy is the memory of a bent cast.
type bentCopy struct {
	verts []r3.Vec
	arch  *contact.Arch
}

// moved is the cast bent by a field and then moved as a whole. Its frames of teeth are moved
// with the whole alone: by what bending turns them nothing is judged. It stands in the memory
// of a copy, whose last cast is lost.
func (b *bent) moved(f drift.Field, pose kinematics.Pose, to *bentCopy) (*casts.Cast, error) {
	m := b.cast.Mesh()
	if to.verts == nil {
		to.verts = make([]r3.Vec, m.NumVertices())
	}
	verts := to.verts
	for v, p := range m.Vertices() {
		if b.used[v] {
			p = pose.Apply(r3.Add(p, f.At(&b.places[v])))
		}
		verts[v] = p
	}
	moved, err := mesh.Adopt(verts, m.Triangles())
	if err != nil {
		return nil, err
	}
	out := *b.cast
	if out.Arch, err = b.cast.Arch.Moved(moved, to.arch); err != nil {
		return nil, err
	}
	to.arch = out.Arch
	out.Frames = make(map[dentition.ToothID]anatomy.Frame, len(b.cast.Frames))
	for t, f := range b.cast.Frames {
		f.Centre, f.Occlusal, f.Buccal, f.Mesial = pose.Apply(f.Centre), pose.Rotate(f.Occlusal), pose.Rotate(f.Buccal), pose.Rotate(f.Mesial)
		out.Frames[t] = f
	}
	return &out, nil
}
