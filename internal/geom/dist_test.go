package geom_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"gonum.org/v1/gonum/spatial/r3"
)

func face(t geom.Triangle) *geom.Face {
	f := geom.NewFace(t[0], t[1], t[2])
	return &f
}

// many is the number of cases, an eighth of it in a short run.
func many(n int) int {
	if testing.Short() {
		return n / 8
	}
	return n
}

// measured is the distance by Faces, after checking that its points say the
// same and lie on the triangles.
func measured(t *testing.T, a, b geom.Triangle) float64 {
	t.Helper()
	sq, pa, pb := geom.Faces(face(a), face(b), math.Inf(1))
	d, tol := math.Sqrt(sq), rounding(a, b)
	if got := r3.Norm(r3.Sub(pa, pb)); math.Abs(got-d) > tol {
		t.Fatalf("points %v apart, distance %v: %v %v", got, d, a, b)
	}
	for _, x := range []struct {
		p r3.Vec
		t geom.Triangle
	}{{pa, a}, {pb, b}} {
		if off := exactDist([]r3.Vec{x.p}, x.t[:]); off > tol {
			t.Fatalf("point %v is %g off its triangle (%g allowed): %v %v", x.p, off, tol, a, b)
		}
	}
	return d
}

// pair is two triangles of given shapes, near enough to cross often. Every
// third pair is shifted onto a common height and every fourth shares a corner,
// or a side.
func pair(rng *rand.Rand, ka, kb testmesh.Kind, i int) (a, b geom.Triangle) {
	a, b = testmesh.Triangle(rng, ka), testmesh.Triangle(rng, kb)
	if i%2 == 0 {
		shift := testmesh.Vec(rng, 1)
		if ka == testmesh.Lattice || ka == testmesh.Flat {
			shift = r3.Vec{X: math.Round(shift.X), Y: math.Round(shift.Y)}
		}
		for k := range b {
			b[k] = r3.Add(b[k], shift)
		}
	}
	switch i % 8 {
	case 3:
		b[rng.IntN(3)] = a[rng.IntN(3)]
	case 5:
		b[1], b[0] = a[0], a[1]
	case 7: // stacked, a hair apart
		n := r3.Cross(r3.Sub(a[1], a[0]), r3.Sub(a[2], a[0]))
		if l := r3.Norm(n); l > 0 {
			h := math.Pow(10, -1-9*rng.Float64())
			turn := rng.Float64()
			for k := range b {
				// a turned about its middle, lifted, each corner by a little more or less
				u := r3.Add(r3.Scale(1-turn, a[k]), r3.Scale(turn, a[(k+1)%3]))
				b[k] = r3.Add(u, r3.Scale(h*(1+0.5*rng.Float64())/l, n))
			}
		}
	}
	for k := range a {
		a[k], b[k] = onGrid(a[k]), onGrid(b[k])
	}
	return a, b
}

func TestFacesAgainstExactArithmetic(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 1))
	worst := 0.0
	var crossed, apart int
	for ka := range testmesh.NumKinds {
		for kb := range testmesh.NumKinds {
			for i := range many(48) {
				a, b := pair(rng, ka, kb, i)
				want, got := exactDist(a[:], b[:]), measured(t, a, b)
				if e := math.Abs(got - want); !(e <= rounding(a, b)) {
					t.Fatalf("%v, %v, case %d: distance %v, exactly %v (off by %g)\n%v\n%v", ka, kb, i, got, want, e, a, b)
				} else {
					worst = max(worst, e)
				}
				if want == 0 {
					crossed++
				} else {
					apart++
				}
			}
		}
	}
	t.Logf("worst error %g mm; %d pairs crossed or touched, %d lay apart", worst, crossed, apart)
	if crossed < many(300) || apart < many(1000) {
		t.Error("the pairs do not cover both crossing and lying apart")
	}
}

// Far from the origin coordinates are coarser, and so is what can be asked for.
func TestFacesFarFromTheOrigin(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 2))
	for i := range many(400) {
		a, b := pair(rng, testmesh.Kind(i%3), testmesh.Kind(i/3%3), i)
		far := r3.Scale(math.Pow(10, 1+5*rng.Float64()), testmesh.Unit(rng))
		for k := range a {
			a[k], b[k] = onGrid(r3.Add(a[k], far)), onGrid(r3.Add(b[k], far))
		}
		want, got := exactDist(a[:], b[:]), measured(t, a, b)
		if e := math.Abs(got - want); !(e <= rounding(a, b)) {
			t.Fatalf("case %d at %v: distance %v, exactly %v (off by %g)\n%v\n%v", i, far, got, want, e, a, b)
		}
	}
}

func TestFacesOfNamedPairs(t *testing.T) {
	v := func(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }
	base := geom.Triangle{v(0, 0, 0), v(4, 0, 0), v(0, 4, 0)}
	for _, c := range []struct {
		name string
		b    geom.Triangle
		want float64
	}{
		{"a corner over the face", geom.Triangle{v(1, 1, 2), v(1, 2, 5), v(2, 1, 5)}, 2},
		{"the face over a corner", geom.Triangle{v(-5, -5, -1), v(5, -5, -1), v(0, 9, -1)}, 1},
		{"two edges", geom.Triangle{v(2, -1, 1), v(2, -1, -1), v(2, -5, 0)}, 1},
		{"two corners", geom.Triangle{v(-3, -4, 0), v(-6, -4, 1), v(-6, -4, -1)}, 5},
		{"crossing", geom.Triangle{v(1, 1, -1), v(1, 1, 1), v(9, 9, 3)}, 0},
		{"crossing twice through the face", geom.Triangle{v(0.5, 0.5, 1), v(1, 1, 1), v(0.7, 0.7, -1)}, 0},
		{"a corner on the face", geom.Triangle{v(1, 1, 0), v(1, 1, 2), v(2, 1, 2)}, 0},
		{"an edge in the face", geom.Triangle{v(1, 1, 0), v(2, 1, 0), v(1, 1, 3)}, 0},
		{"an edge through an edge", geom.Triangle{v(2, 0, -1), v(2, 0, 1), v(2, -3, 0)}, 0},
		{"coplanar, contained", geom.Triangle{v(1, 1, 0), v(1.5, 1, 0), v(1, 1.5, 0)}, 0},
		{"coplanar, containing", geom.Triangle{v(-9, -9, 0), v(30, -9, 0), v(-9, 30, 0)}, 0},
		{"coplanar, overlapping without a corner inside", geom.Triangle{v(-1, 1, 0), v(5, 1, 0), v(2, 1.2, 0)}, 0},
		{"coplanar, touching at a corner", geom.Triangle{v(4, 0, 0), v(6, 1, 0), v(6, -1, 0)}, 0},
		{"coplanar, sharing an edge", geom.Triangle{v(4, 0, 0), v(0, 0, 0), v(0, -4, 0)}, 0},
		{"coplanar, apart", geom.Triangle{v(7, 0, 0), v(9, 1, 0), v(9, -1, 0)}, 3},
		{"the same", base, 0},
		{"parallel, stacked as a star", geom.Triangle{v(3, 3, 1e-7), v(-1, 3, 1e-7), v(3, -1, 1e-7)}, 1e-7},
		{"a segment through the face", geom.Triangle{v(1, 1, -1), v(1, 1, 1), v(1, 1, 0)}, 0},
		{"a segment beside it", geom.Triangle{v(-2, 1, -1), v(-2, 1, 1), v(-2, 1, 1)}, 2},
		{"a point on the face", geom.Triangle{v(1, 1, 0), v(1, 1, 0), v(1, 1, 0)}, 0},
		{"a point over it", geom.Triangle{v(1, 1, 3), v(1, 1, 3), v(1, 1, 3)}, 3},
		{"a point beside it", geom.Triangle{v(7, 0, 4), v(7, 0, 4), v(7, 0, 4)}, 5},
	} {
		for turn := range 9 {
			a, b := base, c.b
			for k := range a {
				a[k], b[k] = base[(k+turn)%3], c.b[(k+turn/3)%3]
			}
			if got := measured(t, a, b); math.Abs(got-c.want) > 1e-15 {
				t.Errorf("%s, turn %d: %v, not %v", c.name, turn, got, c.want)
			}
			if got := measured(t, b, a); math.Abs(got-c.want) > 1e-15 {
				t.Errorf("%s, swapped, turn %d: %v, not %v", c.name, turn, got, c.want)
			}
		}
	}
}

func TestFacesSwappedTurnedAndMoved(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 3))
	for i := range 20000 {
		a, b := pair(rng, testmesh.Kind(i)%testmesh.NumKinds, testmesh.Kind(i/8)%testmesh.NumKinds, i/64)
		sq, _, _ := geom.Faces(face(a), face(b), math.Inf(1))
		d, tol := math.Sqrt(sq), 2*rounding(a, b)
		swapped, _, _ := geom.Faces(face(b), face(a), math.Inf(1))
		turned, _, _ := geom.Faces(face(geom.Triangle{a[1], a[2], a[0]}), face(geom.Triangle{b[0], b[2], b[1]}), math.Inf(1))
		pose := testmesh.Pose(rng, 5)
		am, bm := a, b
		for k := range a {
			am[k], bm[k] = pose.Apply(a[k]), pose.Apply(b[k])
		}
		moved, _, _ := geom.Faces(face(am), face(bm), math.Inf(1))
		for name, got := range map[string]float64{"swapped": swapped, "turned": turned, "moved": moved} {
			t2 := tol
			if name == "moved" {
				t2 = rounding(am, bm)
			}
			if e := math.Abs(math.Sqrt(got) - d); !(e <= t2) {
				t.Fatalf("case %d %s: %v, not %v (off by %g)\n%v\n%v", i, name, math.Sqrt(got), d, e, a, b)
			}
		}
	}
}

// What is at most the limit is told exactly as without a limit, the limit
// included; what is beyond may be +Inf but is never told to be within.
func TestFacesLimitIsInclusive(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 4))
	for i := range 20000 {
		a, b := pair(rng, testmesh.Kind(i)%testmesh.NumKinds, testmesh.Kind(i/8)%testmesh.NumKinds, i/64)
		free, fa, fb := geom.Faces(face(a), face(b), math.Inf(1))
		for _, limit := range []float64{free, free * (1 + 1e-12), free * 2, max(4, free)} {
			if sq, pa, pb := geom.Faces(face(a), face(b), limit); sq != free || pa != fa || pb != fb {
				t.Fatalf("case %d: limit %v gives %v, without limit %v\n%v\n%v", i, limit, sq, free, a, b)
			}
		}
		if limit := free * 0.999; free > 0 {
			if sq, _, _ := geom.Faces(face(a), face(b), limit); sq <= limit {
				t.Fatalf("case %d: %v within %v, but %v", i, sq, limit, free)
			}
		}
	}
}

func TestPointTriangleAgainstExactArithmetic(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 1))
	for k := range testmesh.NumKinds {
		for i := range many(400) {
			a := testmesh.Triangle(rng, k)
			p := testmesh.Vec(rng, 2)
			switch i % 4 {
			case 1: // on the triangle or near it
				u, v := rng.Float64(), rng.Float64()
				p = r3.Add(r3.Add(r3.Scale(1-u, a[0]), r3.Scale(u*(1-v), a[1])), r3.Scale(u*v, a[2]))
				p = r3.Add(p, testmesh.Vec(rng, math.Pow(10, -12*rng.Float64())))
			case 2: // on a corner
				p = a[rng.IntN(3)]
			}
			p = onGrid(p)
			for j := range a {
				a[j] = onGrid(a[j])
			}
			got := geom.PointTriangle(p, a[0], a[1], a[2])
			tol := rounding(a, geom.Triangle{p})
			want := exactDist([]r3.Vec{p}, a[:])
			if e := math.Abs(r3.Norm(r3.Sub(p, got)) - want); !(e <= tol) {
				t.Fatalf("%v, case %d: %v from %v, exactly %v (off by %g): %v", k, i, r3.Norm(r3.Sub(p, got)), p, want, e, a)
			}
			if off := exactDist([]r3.Vec{got}, a[:]); off > tol {
				t.Fatalf("%v, case %d: %v lies %g off %v", k, i, got, off, a)
			}
		}
	}
}

func TestPointSegmentAndSegmentsAgainstExactArithmetic(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 2))
	for i := range many(3000) {
		s := []r3.Vec{testmesh.Vec(rng, 1), testmesh.Vec(rng, 1)}
		q := []r3.Vec{testmesh.Vec(rng, 1), testmesh.Vec(rng, 1)}
		switch i % 8 {
		case 1: // nearly parallel, down to exactly
			q[1] = r3.Add(q[0], r3.Add(r3.Sub(s[1], s[0]), testmesh.Vec(rng, math.Pow(10, -14*rng.Float64()))))
		case 2: // nearly on one line
			d := r3.Sub(s[1], s[0])
			q[0] = r3.Add(s[0], r3.Scale(3*rng.Float64()-1, d))
			q[1] = r3.Add(q[0], r3.Add(r3.Scale(2*rng.Float64()-1, d), testmesh.Vec(rng, math.Pow(10, -14*rng.Float64()))))
		case 3: // points
			s[1] = s[0]
		case 4:
			q[1] = q[0]
		case 5:
			s[1], q[1] = s[0], q[0]
		case 6: // a common end
			q[rng.IntN(2)] = s[rng.IntN(2)]
		case 7: // very short
			q[1] = r3.Add(q[0], testmesh.Vec(rng, 1e-9))
		}
		for k := range s {
			s[k], q[k] = onGrid(s[k]), onGrid(q[k])
		}
		a, b := geom.SegmentSegment(s[0], s[1], q[0], q[1])
		tol := rounding(geom.Triangle{s[0], s[1]}, geom.Triangle{q[0], q[1]})
		want := exactDist(s, q)
		if e := math.Abs(math.Sqrt(geom.DistSq(a, b)) - want); !(e <= tol) {
			t.Fatalf("case %d: %v, exactly %v (off by %g): %v %v", i, math.Sqrt(geom.DistSq(a, b)), want, e, s, q)
		}
		for j, x := range []struct {
			p r3.Vec
			s []r3.Vec
		}{{a, s}, {b, q}} {
			if off := exactDist([]r3.Vec{x.p}, x.s); off > tol {
				t.Fatalf("case %d: point %d lies %g off its segment", i, j, off)
			}
		}
		foot := geom.PointSegment(s[0], q[0], q[1])
		if e := math.Abs(math.Sqrt(geom.DistSq(s[0], foot)) - exactDist(s[:1], q)); !(e <= tol) {
			t.Fatalf("case %d: point and segment off by %g", i, e)
		}
	}
}

// Rays are aimed at points of known barycentric coordinates, inside, outside,
// and on the border in cases that need no rounding.
func TestRayTriangleMeetsWhatItIsAimedAt(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 1))
	for i := range 5000 {
		a := testmesh.Triangle(rng, testmesh.Plain)
		n := r3.Cross(r3.Sub(a[1], a[0]), r3.Sub(a[2], a[0]))
		if r3.Norm(n) < 0.01 {
			continue
		}
		u, v := 3*rng.Float64()-1, 3*rng.Float64()-1
		hits := u > 0 && v > 0 && u+v < 1
		if min(math.Abs(u), math.Abs(v), math.Abs(1-u-v)) < 1e-9 {
			continue
		}
		at := r3.Add(a[0], r3.Add(r3.Scale(u, r3.Sub(a[1], a[0])), r3.Scale(v, r3.Sub(a[2], a[0]))))
		d := testmesh.Vec(rng, 2)
		if math.Abs(r3.Dot(d, n)) < 1e-2*r3.Norm(n) {
			continue
		}
		want := 4*rng.Float64() - 1
		o := r3.Sub(at, r3.Scale(want, d))
		got, ok := geom.RayTriangle(o, d, a[0], a[1], a[2])
		if ok != (hits && want >= 0) {
			t.Fatalf("case %d: u %v, v %v, t %v, but met: %v", i, u, v, want, ok)
		}
		if ok && math.Abs(got-want) > 1e-11 {
			t.Fatalf("case %d: met at %v, not %v", i, got, want)
		}
		if _, back := geom.RayTriangle(o, d, a[0], a[2], a[1]); back != ok {
			t.Fatalf("case %d: met from one side only", i)
		}
	}
}

func TestRayTriangleAtItsBorderAndDegenerate(t *testing.T) {
	a, b, c := r3.Vec{}, r3.Vec{X: 2}, r3.Vec{Y: 2}
	down := r3.Vec{Z: -1}
	for _, x := range []struct {
		o, d    r3.Vec
		a, b, c r3.Vec
		t       float64
		ok      bool
	}{
		{r3.Vec{X: 1, Z: 3}, down, a, b, c, 3, true},                      // on a side
		{r3.Vec{X: 1, Y: 1, Z: 3}, down, a, b, c, 3, true},                // on the slanted side
		{r3.Vec{Z: 3}, down, a, b, c, 3, true},                            // on a corner
		{r3.Vec{X: 2, Z: 3}, down, a, b, c, 3, true},                      // on a corner
		{r3.Vec{X: 0.5, Y: 0.5}, down, a, b, c, 0, true},                  // from the face
		{r3.Vec{X: 0.5, Y: 0.5, Z: -1}, down, a, b, c, 0, false},          // behind
		{r3.Vec{X: 0.5, Y: 0.5, Z: 3}, r3.Vec{Z: -6}, a, b, c, 0.5, true}, // units of d's length
		{r3.Vec{X: -1}, r3.Vec{X: 1}, a, b, c, 0, false},                  // along the plane
		{r3.Vec{X: 1, Z: 1}, down, a, b, b, 0, false},                     // a segment
		{r3.Vec{Z: 1}, down, a, a, a, 0, false},                           // a point
		{r3.Vec{X: 0.5, Y: 0.5, Z: 1}, r3.Vec{}, a, b, c, 0, false},       // no direction
	} {
		got, ok := geom.RayTriangle(x.o, x.d, x.a, x.b, x.c)
		if ok != x.ok || (ok && got != x.t) {
			t.Errorf("ray from %v along %v: %v %v, not %v %v", x.o, x.d, got, ok, x.t, x.ok)
		}
	}
}

func TestLimitSqIsTheLargestWithin(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 2))
	limits := []float64{0, 1, 1e-200, 1e150, math.Sqrt(math.MaxFloat64)}
	for range 10000 {
		limits = append(limits, math.Sqrt(math.Pow(10, 20*rng.Float64()-10)))
	}
	for _, l := range limits {
		sq := geom.LimitSq(l)
		if math.Sqrt(sq) > l || !(math.Sqrt(math.Nextafter(sq, math.Inf(1))) > l) {
			t.Fatalf("%v for %v", sq, l)
		}
	}
	for _, l := range []float64{1e200, math.Inf(1)} {
		if sq := geom.LimitSq(l); !math.IsInf(sq, 1) {
			t.Fatalf("%v for %v", sq, l)
		}
	}
}

func BenchmarkFaces(b *testing.B) {
	rng := rand.New(rand.NewPCG(14, 1))
	for _, gap := range []float64{0.05, 1} {
		var fs [256]geom.Face
		for i := range fs {
			t := testmesh.Triangle(rng, testmesh.Plain)
			z := float64(i%2) * (2 + gap)
			fs[i] = *face(geom.Triangle{r3.Add(t[0], r3.Vec{Z: z}), r3.Add(t[1], r3.Vec{Z: z}), r3.Add(t[2], r3.Vec{Z: z})})
		}
		b.Run(fmt.Sprintf("apart%gmm", gap), func(b *testing.B) {
			b.ReportAllocs()
			sum, i := 0.0, 0
			for b.Loop() {
				d, _, _ := geom.Faces(&fs[2*i&255], &fs[(2*i+2*(i>>7)+1)&255], math.Inf(1))
				sum += d
				i++
			}
			if !(sum > 0) {
				b.Fatal("nothing measured")
			}
		})
	}
}
