package contact

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/bvh"
	"github.com/cusptrace/cusptrace/internal/surftree"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// cylindrical is (x, r, k·ψ) of a point, with y = −r·cos ψ and z = −r·sin ψ.
func cylindrical(p r3.Vec, k float64) [3]float64 {
	return [3]float64{p.X, math.Hypot(p.Y, p.Z), k * math.Atan2(-p.Z, -p.Y)}
}

func inBox(b bvh.Moved, p [3]float64) bool {
	for i := range 3 {
		if math.Abs(p[i]-b.C[i]) > b.H[i] {
			return false
		}
	}
	return true
}

// somewhere is a random point of a triangle, often on its border.
func somewhere(rng *rand.Rand, t [3]r3.Vec) r3.Vec {
	u, v := rng.Float64(), rng.Float64()
	switch rng.IntN(4) {
	case 0:
		u, v = math.Round(u), 0
	case 1:
		v = 0
	}
	if u+v > 1 {
		u, v = 1-u, 1-v
	}
	return r3.Add(t[0], r3.Add(r3.Scale(u, r3.Sub(t[1], t[0])), r3.Scale(v, r3.Sub(t[2], t[0]))))
}

// Triangles everywhere about the axis, also around it and across the cut behind
// it; what is bounded in ψ holds every point with its own ψ.
func TestCylinderBoundsHoldTheirTriangle(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 1))
	bounded := 0
	for range 20000 {
		shape := testmesh.Triangle(rng, testmesh.Kind(rng.IntN(int(testmesh.NumKinds))))
		at := seen(0, 4*rng.Float64(), 2*math.Pi*rng.Float64())
		for i := range shape {
			shape[i] = r3.Add(shape[i], at)
		}
		k := 1 + 50*rng.Float64()
		tight := cylinderBounds(shape[0], shape[1], shape[2], k).Box(boxPad)
		box := bvh.Moved{C: double(&tight.C), H: double(&tight.H)}
		if box.H[2] < aroundAxis/2 {
			bounded++
		}
		for range 20 {
			p := somewhere(rng, shape)
			require.True(t, inBox(box, cylindrical(p, k)), "%v of %v not in %v", p, shape, box)
		}
	}
	require.Greater(t, bounded, 5000)
}

// Behind the axis the cut would split a box: it is unbounded there. In front the
// box is close.
func TestCylinderBoundsAreOpenOnlyWhereTheyMust(t *testing.T) {
	front := cylinderBounds(r3.Vec{Y: -50}, r3.Vec{X: 1, Y: -50, Z: 1}, r3.Vec{X: 1, Y: -51}, 50)
	require.InDelta(t, -1, front.Lo[2], 1e-3)
	require.InDelta(t, 0, front.Hi[2], 1e-12)
	require.InDelta(t, 50, front.Lo[1], 1e-12)
	behind := cylinderBounds(r3.Vec{Y: 50, Z: -1}, r3.Vec{X: 1, Y: 50, Z: 1}, r3.Vec{X: 1, Y: 51}, 50)
	require.Equal(t, aroundAxis, behind.Hi[2])
	require.InDelta(t, 50, behind.Lo[1], 1e-12)
	around := cylinderBounds(r3.Vec{Y: 1, Z: -1}, r3.Vec{X: 1, Y: 1, Z: 1}, r3.Vec{X: 1, Y: -1}, 50)
	require.Equal(t, [2]float64{-aroundAxis, aroundAxis}, [2]float64{around.Lo[2], around.Hi[2]})
	require.Zero(t, around.Lo[1])
}

// The cylindrical box around a moved straight box holds each of its points.
func TestCylinderBoxHoldsTheMovedBox(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 2))
	bounded := 0
	for range 5000 {
		b := bvh.Box{}
		out := 60 * rng.Float64()
		for i, c := range []float64{20 * rng.NormFloat64(), -out, out * rng.NormFloat64()} {
			b.C[i], b.H[i] = float32(c), float32(math.Pow(10, -3+4*rng.Float64()))
		}
		p := testmesh.Pose(rng, 2)
		if rng.IntN(2) == 0 {
			p = smallBase(rng)
		}
		m := p.Matrix()
		k := 1 + 50*rng.Float64()
		box := cylinderBox(&b, &m, k)
		if box.H[2] < aroundAxis {
			bounded++
		}
		for range 40 {
			c, h := double(&b.C), double(&b.H)
			q := r3.Vec{X: c[0] + h[0]*side1(rng), Y: c[1] + h[1]*side1(rng), Z: c[2] + h[2]*side1(rng)}
			require.True(t, inBox(box, cylindrical(p.Apply(q), k)), "%v not in %v", q, box)
		}
	}
	require.Greater(t, bounded, 2000)
}

// side1 is a number within ±1, often an end.
func side1(rng *rand.Rand) float64 {
	if rng.IntN(2) == 0 {
		return float64(2*rng.IntN(2) - 1)
	}
	return 2*rng.Float64() - 1
}

// Where plates are said to stay apart, the normal of one of them keeps their
// corners apart at every opening in between. The lower patch is moved along the
// upper one's normal to where this is said only just.
func TestPlatesStayApartWhereSaid(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 3))
	apart, nearest := 0, math.Inf(1)
	for range 6000 {
		patch := func() (*bvh.Box, *surftree.Plate, []r3.Vec) {
			flat := math.Pow(10, -3*rng.Float64())
			m := testmesh.Sheet(2, 2, func(u, v float64) r3.Vec { return r3.Vec{X: u - 0.5, Y: v - 0.5, Z: flat * (rng.Float64() - 0.5)} })
			m = testmesh.Moved(m, kinematics.Rotation(testmesh.Unit(rng), s1.Angle(3*rng.Float64())).Apply)
			m = testmesh.Shifted(m, r3.Add(seen(0, 2+20*math.Pow(rng.Float64(), 4), 2*math.Pi*rng.Float64()), testmesh.Vec(rng, 0.5)))
			x, err := surftree.Build(context.Background(), m, nil, 0)
			require.NoError(t, err)
			top := x.Boxes().Top.Ref
			return &x.Boxes().Nodes[top].Box[0], &x.Plates()[top][0], below(x, x.Boxes().Nodes[top].Child[0])
		}
		ub, upl, us := patch()
		lb, lpl, ls := patch()
		base := testmesh.Pose(rng, 1)
		ref, angle := 0.2*rng.Float64(), 0.4*rng.Float64()
		se := search{c: &Closer{k: 3}, inv: base.Inverse()}
		se.m = se.inv.Matrix()
		lc := double(&lb.C)
		turned := se.inv.Then(kinematics.RotationX(s1.Angle(-ref)))
		se.turned = turned.Matrix()
		var f flank
		f.move(ub, upl, &se)
		n := r3.Vec{X: f.n[0], Y: f.n[1], Z: f.n[2]}
		shift := func(d float64) r3.Vec {
			return r3.Add(r3.Vec{X: f.c[0] - lc[0], Y: f.c[1] - lc[1], Z: f.c[2] - lc[2]}, r3.Scale(d, n))
		}
		said := func(d float64) bool {
			v := shift(d)
			return f.staysOff([3]float64{lc[0] + v.X, lc[1] + v.Y, lc[2] + v.Z}, lpl, angle)
		}
		near, far := 0.0, 30.0
		if rng.IntN(2) == 0 {
			far = -30
		}
		if !said(far) {
			continue
		}
		for range 40 {
			if mid := (near + far) / 2; said(mid) {
				far = mid
			} else {
				near = mid
			}
		}
		apart++
		m := r3.Vec{X: float64(lpl.N[0]), Y: float64(lpl.N[1]), Z: float64(lpl.N[2])}
		least := math.Inf(1)
		for step := range 17 {
			at := kinematics.RotationX(s1.Angle(angle * float64(step) / 16))
			along := func(axis r3.Vec) float64 {
				uLo, uHi, lLo, lHi := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
				for _, p := range us {
					h := r3.Dot(axis, turned.Apply(p))
					uLo, uHi = min(uLo, h), max(uHi, h)
				}
				for _, p := range ls {
					h := r3.Dot(axis, at.Apply(r3.Add(p, shift(far))))
					lLo, lHi = min(lLo, h), max(lHi, h)
				}
				return max(uLo-lHi, lLo-uHi)
			}
			least = min(least, max(along(n), along(at.Rotate(m))))
		}
		require.Positive(t, least, "said to stay apart")
		nearest = min(nearest, least)
	}
	require.Greater(t, apart, 4000)
	require.Less(t, nearest, 1e-3, "never a near thing")
}

// below is the corners of the triangles below a reference.
func below(x *surftree.Tree, r bvh.Ref) (out []r3.Vec) {
	if !r.IsLeaf() {
		nd := &x.Boxes().Nodes[r]
		return append(below(x, nd.Child[0]), below(x, nd.Child[1])...)
	}
	first, n := r.Leaf()
	for i := range n {
		a, b, c := x.LeafCorners(first + i)
		out = append(out, a, b, c)
	}
	return out
}
