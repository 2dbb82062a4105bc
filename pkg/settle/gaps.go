package settle

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// Gaps are places where two arches come near each other, with the signed gap of
// each and how it changes with a twist of the lower arch: d + row·x.
type Gaps struct {
	Rows []kinematics.Twist
	D    []float64 // mm, negative where the surfaces overlap
	At   []site
}

// site is where a gap was measured.
type site struct {
	Upper, Lower mesh.TriID    // None where the gap belongs to a vertex
	Vertex       mesh.VertexID // that vertex
	Point        r3.Vec        // articulator frame, mm
	Normal       r3.Vec        // unit, the way in which the lower arch opens the gap
}

func (g *Gaps) add(f kinematics.TwistFrame, d float64, at site) {
	g.Rows, g.D, g.At = append(g.Rows, f.Along(at.Point, at.Normal)), append(g.D, d), append(g.At, at)
}

// least is the least gap, +Inf where nothing comes near.
func (g *Gaps) least() float64 {
	least := math.Inf(1)
	for _, d := range g.D {
		least = min(least, d)
	}
	return least
}

// depth is the deepest overlap, 0 for none.
func (g *Gaps) depth() float64 { return max(0, -g.least()) }

// near is a vertex that may come near the opposing arch.
type near struct {
	vertex mesh.VertexID
	// far is a lower bound of its distance plus the way gone when it was measured.
	far float64
	// depth is how far it lay behind the other surface then.
	depth float64
}

// feeler measures the signed gaps of the vertices of both arches to the other
// one, as the lower arch is moved about. It remembers how far away each vertex
// was and leaves out those that cannot have come near since.
type feeler struct {
	up, lo  *contact.Arch
	workers int

	// onLower and onUpper say which vertices have a triangle; casts trimmed to their
	// teeth keep the others too.
	onLower, onUpper []bool

	box              mesh.Box // around both arches
	ofLower, ofUpper []near
	reach            float64 // mm, within which vertices were looked for
	pose             kinematics.Pose
	way              float64 // bound of the displacement since then, mm
}

// used says which vertices of a mesh have a triangle.
func used(m *mesh.Mesh) []bool {
	out := make([]bool, m.NumVertices())
	for _, c := range m.All() {
		out[c[0]], out[c[1]], out[c[2]] = true, true, true
	}
	return out
}

// feelReach is the distance, in mm, within which vertices are remembered.
const feelReach = 2.0

// look finds the vertices that are near under a pose, and how near they are.
func (f *feeler) look(ctx context.Context, pose kinematics.Pose) error {
	f.pose, f.way, f.reach = pose, 0, feelReach
	var err error
	if f.ofLower, err = f.nearby(ctx, contact.AppendLowerMap, f.onLower, pose); err != nil {
		return err
	}
	f.ofUpper, err = f.nearby(ctx, contact.AppendUpperMap, f.onUpper, pose)
	return err
}

// clearanceMap measures one of the two arches.
type clearanceMap func(context.Context, []float64, *contact.Arch, *contact.Arch, kinematics.Pose, float64,
	contact.Options) ([]float64, error)

func (f *feeler) nearby(ctx context.Context, of clearanceMap, on []bool, pose kinematics.Pose) ([]near, error) {
	d, err := of(ctx, nil, f.up, f.lo, pose, f.reach, contact.Options{Workers: f.workers})
	if err != nil {
		return nil, err
	}
	var out []near
	for v, x := range d {
		if on[v] && !math.IsInf(x, 1) {
			out = append(out, near{mesh.VertexID(v), math.Abs(x), max(0, -x)})
		}
	}
	return out, nil
}

// deepest is the deepest overlap when vertices were looked for, mm.
func (f *feeler) deepest(list []near) float64 {
	most := 0.0
	for _, n := range list {
		most = max(most, n.depth)
	}
	return most
}

// displacement bounds how far a rigid motion moves any point of a box: it is
// convex, so largest at a corner.
func displacement(b mesh.Box, p kinematics.Pose) float64 {
	most := 0.0
	for k := range 8 {
		q := b.Min
		if k&1 != 0 {
			q.X = b.Max.X
		}
		if k&2 != 0 {
			q.Y = b.Max.Y
		}
		if k&4 != 0 {
			q.Z = b.Max.Z
		}
		most = max(most, r3.Norm(r3.Sub(p.Apply(q), q)))
	}
	return most
}

// feelChunk is the vertices that one worker takes at a time.
const feelChunk = 512

// feel measures the gaps of up to band mm under a pose.
func (f *feeler) Feel(ctx context.Context, frame kinematics.TwistFrame, pose kinematics.Pose, band float64) (*Gaps, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	f.way += displacement(f.box, f.pose.Inverse().Then(pose))
	f.pose = pose
	if f.way > f.reach-band {
		if err := f.look(ctx, pose); err != nil {
			return nil, err
		}
	}
	out := &Gaps{}
	if err := f.one(ctx, out, frame, f.ofLower, f.lo, f.up, pose, band, false); err != nil {
		return nil, err
	}
	err := f.one(ctx, out, frame, f.ofUpper, f.up, f.lo, pose, band, true)
	return out, err
}

// one measures the gaps of the vertices of one arch to the surface of the other.
func (f *feeler) one(ctx context.Context, out *Gaps, frame kinematics.TwistFrame, list []near, of, to *contact.Arch,
	pose kinematics.Pose, band float64, upper bool) error {
	there := pose
	if upper {
		there = pose.Inverse()
	}
	chunks := make([]Gaps, (len(list)+feelChunk-1)/feelChunk)
	verts := of.Mesh().Vertices()
	err := par.Chunks(ctx, len(list), feelChunk, f.workers, func(_, lo, hi int) error {
		g := &chunks[lo/feelChunk]
		for i := lo; i < hi; i++ {
			if list[i].far-f.way > band {
				continue
			}
			q := there.Apply(verts[list[i].vertex])
			h, ok := to.Index.Nearest(q, band)
			if !ok {
				list[i].far = band + f.way
				continue
			}
			list[i].far = h.Dist + f.way
			inside, trusted := to.Sides.Inside(h, q)
			if !trusted {
				continue
			}
			// Outside, the gap grows along q − h; inside, along h − q. Close to
			// the surface the direction is that of the triangle.
			d, n := h.Dist, r3.Sub(q, h.Point)
			if inside {
				d, n = -d, r3.Scale(-1, n)
			}
			if h.Dist < 1e-6 {
				n = to.Mesh().AreaVector(h.Tri)
			}
			size := r3.Norm(n)
			if size == 0 {
				continue
			}
			n = r3.Scale(1/size, n)
			at := site{Upper: h.Tri, Lower: mesh.None, Vertex: list[i].vertex, Point: q, Normal: n}
			if upper {
				// In the lower arch's frame, where its surface stands still.
				at = site{Upper: mesh.None, Lower: h.Tri, Vertex: list[i].vertex, Point: pose.Apply(h.Point), Normal: r3.Scale(-1, pose.Rotate(n))}
			}
			g.add(frame, d, at)
		}
		return nil
	})
	for i := range chunks {
		out.Rows, out.D, out.At = append(out.Rows, chunks[i].Rows...), append(out.D, chunks[i].D...), append(out.At, chunks[i].At...)
	}
	return err
}

// ExactGaps lists every pair of triangles that come within band mm. Triangles are
// convex, so the plane between the nearest points of two of them keeps them apart
// for every shift that satisfies d + row·x ≥ 0, and for turns but for the square
// of the angle: the rows err on the side of no overlap. crossing says that some
// pair crosses; the rows of such pairs are left out.
func ExactGaps(frame kinematics.TwistFrame, up, lo *index.Index, pose kinematics.Pose, band float64,
	pairs *[]contact.Pair, s *contact.GapScratch) (g *Gaps, crossing bool) {
	*pairs = contact.AppendPairs((*pairs)[:0], up, lo, pose, band, s)
	g = &Gaps{}
	for _, p := range *pairs {
		if p.Dist < gapFloor {
			crossing = true
			continue
		}
		n := r3.Scale(1/p.Dist, r3.Sub(p.LowerPoint, p.UpperPoint))
		g.add(frame, p.Dist, site{Upper: p.Upper, Lower: p.Lower, Point: p.LowerPoint, Normal: n})
	}
	return g, crossing
}

// The casts come to lie gapRest apart, 0.1 µm, so that the direction between the
// nearest points of every contact is known to nine digits; below gapFloor, a
// hundredth of it, they count as crossing.
const (
	gapRest  = 1e-4
	gapFloor = 1e-6
)
