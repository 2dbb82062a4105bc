package contact

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/surftree"
	"gonum.org/v1/gonum/spatial/r3"
)

// In cylindrical coordinates about the hinge axis a point is (x, r, ψ) with
// y = −r·cos ψ, z = −r·sin ψ, so that the teeth lie near ψ = 0, far from the
// cut at ±π, and opening by θ adds θ to ψ. Boxes hold (x, r, k·ψ) with a length
// k that makes the sides comparable.

// aroundAxis stands for an interval of ψ that is not bounded: what surrounds
// the axis or comes closer to the cut than the widest opening reaches.
const aroundAxis = 1e4

// nearCut is the |ψ| beyond which an interval is taken as unbounded. Two angles
// within ±nearCut differ, after a turn of at most 20°, by less than a full turn.
const nearCut = math.Pi - 0.4

// boxPad grows cylindrical boxes, in mm, by more than their computation rounds
// and more than the margin of features.
const boxPad = 1e-9

// cylinderBounds is the box of a triangle in cylindrical coordinates.
func cylinderBounds(a, b, c r3.Vec, k float64) bvh.Bounds {
	ra, rb, rc := math.Sqrt(a.Y*a.Y+a.Z*a.Z), math.Sqrt(b.Y*b.Y+b.Z*b.Z), math.Sqrt(c.Y*c.Y+c.Z*c.Z)
	box := bvh.Bounds{
		Lo: [3]float64{min(a.X, b.X, c.X), 0, -aroundAxis},
		Hi: [3]float64{max(a.X, b.X, c.X), max(ra, rb, rc), aroundAxis},
	}
	if containsAxis(a, b, c) {
		return box
	}
	box.Lo[1] = math.Sqrt(min(axisToSegmentSq(a, b), axisToSegmentSq(b, c), axisToSegmentSq(c, a)))
	// Seen along the axis the triangle does not hold the origin, so it spans
	// less than π and the angles of its corners bound those of all its points.
	pa := math.Atan2(-a.Z, -a.Y)
	db, dc := angleFrom(a, b), angleFrom(a, c)
	lo, hi := pa+min(0, db, dc), pa+max(0, db, dc)
	if lo > -nearCut && hi < nearCut {
		box.Lo[2], box.Hi[2] = k*lo, k*hi
	}
	return box
}

// angleFrom is the angle about the axis from a to b, in (−π, π].
func angleFrom(a, b r3.Vec) float64 {
	return math.Atan2(a.Y*b.Z-a.Z*b.Y, a.Y*b.Y+a.Z*b.Z)
}

// containsAxis says whether the axis passes through the triangle seen along it,
// with its border, and within the rounding of the three products.
func containsAxis(a, b, c r3.Vec) bool {
	ab, bc, ca := a.Y*b.Z-a.Z*b.Y, b.Y*c.Z-b.Z*c.Y, c.Y*a.Z-c.Z*a.Y
	eps := 1e-15 * (math.Abs(ab) + math.Abs(bc) + math.Abs(ca))
	return (ab >= -eps && bc >= -eps && ca >= -eps) || (ab <= eps && bc <= eps && ca <= eps)
}

func axisToSegmentSq(a, b r3.Vec) float64 {
	dy, dz := b.Y-a.Y, b.Z-a.Z
	e, t := dy*dy+dz*dz, 0.0
	if e > 0 {
		t = min(1, max(0, -(a.Y*dy+a.Z*dz)/e))
	}
	y, z := a.Y+t*dy, a.Z+t*dz
	return y*y + z*z
}

// pollEvery is the number of nodes after which cancellation is looked for.
const pollEvery = 1024

// cylinders are the cylindrical boxes of an arch: of the children of the nodes of its tree, of
// all of it, and of its subtrees.
type cylinders struct {
	nodes [][2]bvh.Box
	top   bvh.Box
	parts []bvh.Box
}

// subtree is what a tree holds of one part.
type subtree struct {
	part int32 // NoPart for what belongs to none
	*bvh.Root
}

// subtrees lists those that are not empty.
func subtrees(x *surftree.Tree) (out []subtree) {
	if r := x.Rest(); !r.Empty {
		out = append(out, subtree{NoPart, r})
	}
	for k := range x.Parts() {
		if r := &x.Parts()[k]; !r.Empty {
			out = append(out, subtree{int32(k), r})
		}
	}
	return out
}

// makeCylinders fits cylindrical boxes, into old if that has room for them; it stops
// unfinished where the context is canceled.
func makeCylinders(ctx context.Context, x *surftree.Tree, parts []subtree, k float64, old [][2]bvh.Box) cylinders {
	t := x.Boxes()
	out := cylinders{nodes: old, parts: make([]bvh.Box, len(parts))}
	if len(old) != len(t.Nodes) {
		out.nodes = make([][2]bvh.Box, len(t.Nodes))
	}
	if t.Top.Empty {
		return out
	}
	of := map[bvh.Ref]int{}
	for i, p := range parts {
		of[p.Ref] = i
	}
	var fit func(r bvh.Ref) bvh.Bounds
	fit = func(r bvh.Ref) bvh.Bounds {
		b := bvh.EmptyBounds()
		switch {
		case r.IsLeaf():
			first, n := r.Leaf()
			for i := range n {
				p, q, s := x.LeafCorners(first + i)
				b = b.Join(cylinderBounds(p, q, s, k))
			}
		case r%pollEvery == 0 && ctx.Err() != nil:
			return b
		default:
			l, h := fit(t.Nodes[r].Child[0]), fit(t.Nodes[r].Child[1])
			out.nodes[r] = [2]bvh.Box{l.Box(boxPad), h.Box(boxPad)}
			b = l.Join(h)
		}
		if i, ok := of[r]; ok {
			out.parts[i] = b.Box(boxPad)
		}
		return b
	}
	out.top = fit(t.Top.Ref).Box(boxPad)
	return out
}

// flank bounds a part of the upper arch in the mandible's frame: by a cylindrical
// box at opening 0, and at the opening from which the search looks by a plate
// across n, whose heights count from c.
type flank struct {
	box    bvh.Moved
	c, n   [3]float64
	lo, hi float64
	r      float64 // no point is farther from c
}

// move makes f the bounds of what a box and a plate hold.
func (f *flank) move(b *bvh.Box, p *surftree.Plate, se *search) {
	f.r = float64(p.R) // first: the plate comes from memory while the box is turned
	f.box = cylinderBox(b, &se.m, se.c.k)
	if f.r > plateMost {
		return
	}
	f.lo, f.hi = float64(p.Lo), float64(p.Hi)
	x, y, z := float64(p.N[0]), float64(p.N[1]), float64(p.N[2])
	cx, cy, cz := float64(b.C[0]), float64(b.C[1]), float64(b.C[2])
	for i := range 3 {
		r := se.turned[4*i : 4*i+4 : 4*i+4]
		f.c[i] = r[0]*cx + r[1]*cy + r[2]*cz + r[3]
		f.n[i] = r[0]*x + r[1]*y + r[2]*z
	}
}

// cylinderBox is a cylindrical box around a straight one after a rigid motion.
func cylinderBox(b *bvh.Box, m *[16]float64, k float64) bvh.Moved {
	bx, by, bz := float64(b.C[0]), float64(b.C[1]), float64(b.C[2])
	cx := m[0]*bx + m[1]*by + m[2]*bz + m[3]
	cy := m[4]*bx + m[5]*by + m[6]*bz + m[7]
	cz := m[8]*bx + m[9]*by + m[10]*bz + m[11]
	hx, hy, hz := float64(b.H[0]), float64(b.H[1]), float64(b.H[2])
	wide := math.Abs(m[0])*hx + math.Abs(m[1])*hy + math.Abs(m[2])*hz + boxPad
	rc := math.Sqrt(cy*cy + cz*cz)
	// Half sides along the radius and across it at the centre.
	uy, uz := 1.0, 0.0
	if rc > 0 {
		uy, uz = cy/rc, cz/rc
	}
	hr := math.Abs(m[4]*uy+m[8]*uz)*hx + math.Abs(m[5]*uy+m[9]*uz)*hy + math.Abs(m[6]*uy+m[10]*uz)*hz + boxPad
	ht := math.Abs(m[8]*uy-m[4]*uz)*hx + math.Abs(m[9]*uy-m[5]*uz)*hy + math.Abs(m[10]*uy-m[6]*uz)*hz + boxPad
	in, out := rc-hr, math.Sqrt((rc+hr)*(rc+hr)+ht*ht)
	psi, half := 0.0, aroundAxis
	if in > 0 {
		// atan x ≤ x
		if a := math.Atan2(-cz, -cy); math.Abs(a)+ht/in < nearCut {
			psi, half = k*a, k*ht/in
		}
	} else {
		in = 0
	}
	return bvh.Moved{C: [3]float64{cx, (in + out) / 2, psi}, H: [3]float64{wide, (out - in) / 2, half}}
}

// staysOff says whether what the flank holds and what a plate of the lower arch
// holds, around c, stay apart while the lower arch opens by up to the given
// angle from where the flank's plate counts.
//
// A plate's points p, from its centre, reach along the normal n of the other one
// n·p = (n·m)(m·p) + (n−(n·m)m)·p as in plateGap. A point q turning about x by
// d moves along n by v·sin d − (n_y q_y + n_z q_z)(1−cos d) with its speed
// v = n_z q_y − n_y q_z. The lower plate's normal turns too; seen from it, it is
// the flank that turns, the other way.
func (f *flank) staysOff(c [3]float64, p *surftree.Plate, angle float64) bool {
	n, m := f.n, [3]float64{float64(p.N[0]), float64(p.N[1]), float64(p.N[2])}
	lo, hi, r := float64(p.Lo), float64(p.Hi), float64(p.R)
	dx, dy, dz := c[0]-f.c[0], c[1]-f.c[1], c[2]-f.c[2]
	cos := n[0]*m[0] + n[1]*m[1] + n[2]*m[2]
	if cos < 0 { // turn the lower normal round, so that both ranges keep their order
		cos, m, lo, hi = -cos, [3]float64{-m[0], -m[1], -m[2]}, -hi, -lo
	}
	sin := sine(cos)
	bend := angle * angle / 2
	// Speeds differ within a plate by its radius; the normals are of length 1
	// within 1e-6.
	reach, swing := r*sin, r*(1+1e-5)
	h := n[0]*dx + n[1]*dy + n[2]*dz
	v := n[2]*c[1] - n[1]*c[2]
	b := (math.Abs(n[1]*c[1]+n[2]*c[2])+swing)*bend + boxPad
	if f.lo-(h+cos*hi+reach) > max(0, v+swing)*angle+b || // below the flank
		(h+cos*lo-reach)-f.hi > max(0, swing-v)*angle+b {
		return true
	}
	reach, swing = f.r*sin, f.r*(1+1e-5)
	h = m[0]*dx + m[1]*dy + m[2]*dz
	v = m[2]*f.c[1] - m[1]*f.c[2]
	b = (math.Abs(m[1]*f.c[1]+m[2]*f.c[2])+swing)*bend + boxPad
	return cos*f.lo-reach-h-hi > max(0, v+swing)*angle+b || // above the lower plate
		lo-(cos*f.hi+reach-h) > max(0, swing-v)*angle+b
}
