package settle

import (
	"cmp"
	"context"
	"math"
	"slices"

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
	dist   float64 // mm, when vertices were looked for
	depth  float64 // how far it lay behind the other surface then
	walk   index.Follower
}

// nearby is the vertices of one arch that may come near the other. They are asked for in
// the order of the index, in which neighbours lie close together, and told in the order
// of their numbers.
type nearby struct {
	list     []near
	byVertex []int32 // places in list
	felt     []felt  // by place in list, under the last pose
}

// felt is the gap of a vertex, if it counts.
type felt struct {
	ok bool
	d  float64
	at site
}

// feeler measures the signed gaps of the vertices of both arches to the other
// one, as the lower arch is moved about. It remembers which vertices were near and
// leaves out the others until they can have come near.
type feeler struct {
	up, lo  *contact.Arch
	workers int

	upBox, loBox     mesh.Box // of the arches as given
	ofLower, ofUpper nearby
	reach            float64         // mm, within which vertices were looked for
	pose             kinematics.Pose // and under which pose
	every            int             // so many vertices in the order of the index stand for one, see thin
}

// feelReach is the distance, in mm, within which vertices are remembered.
const feelReach = 2.0

// look finds the vertices that are near under a pose, and how near they are.
func (f *feeler) look(ctx context.Context, pose kinematics.Pose) error {
	f.pose, f.reach = pose, feelReach
	f.every = max(f.every, 1)
	var err error
	if f.ofLower, err = f.lookFrom(ctx, f.lo, f.up, pose); err != nil {
		return err
	}
	f.ofUpper, err = f.lookFrom(ctx, f.up, f.lo, pose.Inverse())
	return err
}

// lookChunk is the vertices that one worker looks at at a time.
const lookChunk = 2048

// lookFrom lists the vertices of one arch that lie within reach of the other; there takes
// them to where that one stands still.
func (f *feeler) lookFrom(ctx context.Context, of, to *contact.Arch, there kinematics.Pose) (nearby, error) {
	verts, order := of.Mesh().Vertices(), of.Index.Order()
	found := make([][]near, (len(order)+lookChunk-1)/lookChunk)
	err := par.Chunks(ctx, len(order), lookChunk, f.workers, func(_, lo, hi int) error {
		var walk index.Follower
		for i := lo; i < hi; i += f.every {
			v := order[i]
			q := there.Apply(verts[v])
			h, ok := walk.Nearest(to.Index, q, f.reach)
			if !ok {
				continue
			}
			n := near{vertex: v, dist: h.Dist, walk: walk}
			if inside, trusted := to.Sides.Inside(h, q); inside && trusted {
				n.depth = h.Dist
			}
			found[lo/lookChunk] = append(found[lo/lookChunk], n)
		}
		return nil
	})
	if err != nil {
		return nearby{}, err
	}
	return newNearby(slices.Concat(found...)), nil
}

func newNearby(list []near) nearby {
	out := nearby{list: list}
	out.byVertex = make([]int32, len(out.list))
	for i := range out.byVertex {
		out.byVertex[i] = int32(i)
	}
	slices.SortFunc(out.byVertex, func(i, k int32) int { return cmp.Compare(out.list[i].vertex, out.list[k].vertex) })
	out.felt = make([]felt, len(out.list))
	return out
}

// feltMost is the most vertices of an arch that are felt under every pose. An arch
// of 200,000 triangles has about 20,000 near the other one; in a finer one the vertices between
// lie so close that the surface hardly rises between those that are felt, and the descent
// on triangles sees them all.
const feltMost = 30_000

// thin leaves out vertices from now on where more than most of an arch are near. Kept is
// every so-manieth in the order of the index, in which neighbours lie close together.
func (f *feeler) thin(most int) {
	f.every = 1 + (max(len(f.ofLower.list), len(f.ofUpper.list))-1)/most
	if f.every <= 1 {
		return
	}
	for _, n := range []*nearby{&f.ofLower, &f.ofUpper} {
		kept := make([]near, 0, len(n.list)/f.every+1)
		for i := 0; i < len(n.list); i += f.every {
			kept = append(kept, n.list[i])
		}
		*n = newNearby(kept)
	}
}

// deepest is the deepest overlap when vertices were looked for, mm.
func (n *nearby) deepest() float64 {
	most := 0.0
	for _, n := range n.list {
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
	// A vertex of the lower arch has moved against the upper one as the first says, one
	// of the upper arch against the lower one as the second.
	if way := max(displacement(f.loBox, pose.Then(f.pose.Inverse())),
		displacement(f.upBox, f.pose.Inverse().Then(pose))); way > f.reach-band {
		if err := f.look(ctx, pose); err != nil {
			return nil, err
		}
	}
	out := &Gaps{}
	if err := f.one(ctx, out, frame, &f.ofLower, f.lo, f.up, pose, band, false); err != nil {
		return nil, err
	}
	err := f.one(ctx, out, frame, &f.ofUpper, f.up, f.lo, pose, band, true)
	return out, err
}

// one measures the gaps of the vertices of one arch to the surface of the other.
func (f *feeler) one(ctx context.Context, out *Gaps, frame kinematics.TwistFrame, n *nearby, of, to *contact.Arch,
	pose kinematics.Pose, band float64, upper bool) error {
	there := pose
	if upper {
		there = pose.Inverse()
	}
	verts := of.Mesh().Vertices()
	err := par.Chunks(ctx, len(n.list), feelChunk, f.workers, func(_, lo, hi int) error {
		for i := lo; i < hi; i++ {
			v := n.list[i].vertex
			q := there.Apply(verts[v])
			h, ok := n.list[i].walk.Nearest(to.Index, q, band)
			if n.felt[i].ok = ok; !ok {
				continue
			}
			d, normal, ok := signedGap(to, h, q)
			at := site{Upper: h.Tri, Lower: mesh.None, Vertex: v, Point: q, Normal: normal}
			if upper {
				// In the lower arch's frame, where its surface stands still.
				at = site{Upper: mesh.None, Lower: h.Tri, Vertex: v, Point: pose.Apply(h.Point), Normal: r3.Scale(-1, pose.Rotate(normal))}
			}
			n.felt[i] = felt{ok, d, at}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, i := range n.byVertex {
		if g := &n.felt[i]; g.ok {
			out.add(frame, g.d, g.at)
		}
	}
	return nil
}

// signedGap is how far a point lies from a surface, where h is nearest to it, negative
// behind it, and the unit vector along which the gap grows: outside from the surface to
// the point, behind it the other way, close to it that of the triangle. ok is false
// where the side means nothing.
func signedGap(to *contact.Arch, h index.Hit, q r3.Vec) (d float64, n r3.Vec, ok bool) {
	inside, trusted := to.Sides.Inside(h, q)
	if !trusted {
		return 0, n, false
	}
	d, n = h.Dist, r3.Sub(q, h.Point)
	if inside {
		d, n = -d, r3.Scale(-1, n)
	}
	if h.Dist < 1e-6 {
		n = to.Mesh().AreaVector(h.Tri)
	}
	size := r3.Norm(n)
	if size == 0 {
		return 0, n, false
	}
	return d, r3.Scale(1/size, n), true
}

// ExactGaps lists every pair of triangles that come within band mm. Triangles are
// convex, so the plane between the nearest points of two of them keeps them apart
// for every shift that satisfies d + row·x ≥ 0, and for turns but for the square
// of the angle: the rows err on the side of no overlap. crossing says that some
// pair crosses; the rows of such pairs are left out.
func ExactGaps(frame kinematics.TwistFrame, up, lo *index.Index, pose kinematics.Pose, band float64,
	pairs *[]contact.Pair, s *contact.GapScratch) (g *Gaps, crossing bool) {
	*pairs = contact.AppendPairs((*pairs)[:0], up, lo, pose, band, s)
	n := len(*pairs)
	g = &Gaps{make([]kinematics.Twist, 0, n), make([]float64, 0, n), make([]site, 0, n)}
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
