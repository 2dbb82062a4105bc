package contact

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// arch is the arch of a mesh, welded: welding keeps the numbers of triangles.
func arch(t testing.TB, m *mesh.Mesh) *Arch {
	t.Helper()
	m, _ = mesh.Weld(m, 0)
	a, err := NewArch(context.Background(), m, nil, Options{})
	require.NoError(t, err)
	return a
}

func closer(t testing.TB, up, lo *mesh.Mesh) *Closer {
	t.Helper()
	c, err := NewCloser(context.Background(), arch(t, up), arch(t, lo), Options{})
	require.NoError(t, err)
	return c
}

// place moves a mesh to where it is seen from the axis: out mm from it, at an
// angle ψ below the horizontal in front.
func place(m *mesh.Mesh, out, psi float64) *mesh.Mesh {
	s, c := math.Sincos(psi)
	return testmesh.Shifted(m, r3.Vec{Y: -out * c, Z: -out * s})
}

// turned is m rotated about x.
func turned(m *mesh.Mesh, a float64) *mesh.Mesh {
	return testmesh.Moved(m, kinematics.RotationX(s1.Angle(a)).Apply)
}

// scene is two meshes and the lower one's pose at opening 0.
type scene struct {
	up, lo *mesh.Mesh
	base   kinematics.Pose
}

// smallBase is a pose such as condyles make: some mm and degrees.
func smallBase(rng *rand.Rand) kinematics.Pose {
	return kinematics.Rotation(testmesh.Unit(rng), s1.Angle(0.15*rng.Float64())).Then(kinematics.Translation(testmesh.Vec(rng, 1)))
}

func kinds(rng *rand.Rand) []testmesh.Kind {
	return [][]testmesh.Kind{
		{testmesh.Plain},
		{testmesh.Needle},
		{testmesh.Cap},
		{testmesh.Needle, testmesh.Cap, testmesh.Plain},
		{testmesh.Segment, testmesh.Plain, testmesh.Dot, testmesh.Cap},
		{testmesh.Lattice},
		{testmesh.Slanted, testmesh.Flat},
	}[rng.IntN(7)]
}

// rough is a sheet n by n cells with random heights, curved a little.
func rough(rng *rand.Rand, n int, size, height float64) *mesh.Mesh {
	return testmesh.Sheet(n, n, func(u, v float64) r3.Vec {
		return r3.Vec{X: size * (u - 0.5), Y: size * (v - 0.5), Z: height * rng.Float64()}
	})
}

// facing is two sheets that face each other in front of the axis, apart by an
// angle.
func facing(rng *rand.Rand, n int, out, apart float64) (up, lo *mesh.Mesh) {
	size := out * (0.05 + 0.2*rng.Float64())
	height := size * math.Pow(10, -2*rng.Float64())
	tilt := 0.5 * rng.NormFloat64()
	up, lo = rough(rng, n, size, height), rough(rng, n, size, height)
	up, lo = turned(up, tilt), turned(lo, tilt)
	return place(up, out, 0), turned(place(lo, out, 0), apart)
}

// scenes are ways to make random cases.
var scenes = []struct {
	name string
	n    int
	make func(rng *rand.Rand) scene
}{
	{"soups in front", 250, func(rng *rand.Rand) scene {
		n, out := 1+rng.IntN(25), 4+60*rng.Float64()
		spread := 2 * rng.Float64()
		return scene{
			place(testmesh.Soup(rng, n, spread, kinds(rng)...), out, -2.5/out*rng.Float64()),
			place(testmesh.Soup(rng, 1+rng.IntN(25), spread, kinds(rng)...), out, 5/out*rng.Float64()), smallBase(rng),
		}
	}},
	{"soups without a pose", 300, func(rng *rand.Rand) scene { // lattices stay on their lattice
		out := 4 + math.Round(20*rng.Float64())
		up, lo := testmesh.Soup(rng, 1+rng.IntN(20), 1, kinds(rng)...), testmesh.Soup(rng, 1+rng.IntN(20), 1, kinds(rng)...)
		return scene{place(up, out, 0), testmesh.Shifted(lo, r3.Vec{Y: -out, Z: -math.Round(4 * rng.Float64())}), kinematics.Pose{}}
	}},
	{"soups around the axis", 800, func(rng *rand.Rand) scene {
		n := 3 + rng.IntN(8)
		up, lo := testmesh.Soup(rng, n, 2, kinds(rng)...), testmesh.Soup(rng, n, 2, kinds(rng)...)
		at := testmesh.Vec(rng, 2)
		return scene{testmesh.Shifted(up, at), testmesh.Shifted(lo, r3.Add(at, testmesh.Vec(rng, 1))), smallBase(rng)}
	}},
	{"aimed at needles and caps", 1000, func(rng *rand.Rand) scene {
		kind := []testmesh.Kind{testmesh.Needle, testmesh.Cap, testmesh.Segment}[rng.IntN(3)]
		thin := place(testmesh.Soup(rng, 1+rng.IntN(2), 0, kind), 6+50*rng.Float64(), 0)
		a, b, c := thin.Corners(0)
		u, v := rng.Float64(), rng.Float64()
		if u+v > 1 || rng.IntN(3) == 0 {
			v = 0
		}
		at := r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(v, r3.Sub(c, a))))
		tip := []r3.Vec{at, r3.Add(at, testmesh.Vec(rng, 1)), r3.Add(at, testmesh.Vec(rng, 1))}
		if rng.IntN(2) == 0 { // the middle of an edge instead of a corner
			tip[0] = r3.Sub(at, r3.Scale(rng.Float64(), r3.Sub(tip[1], at)))
		}
		other, err := mesh.New(tip, [][3]mesh.VertexID{{0, 1, 2}})
		if err != nil {
			panic(err)
		}
		angle := 0.3*rng.Float64() - 0.1 // the opening at which they meet
		if rng.IntN(2) == 0 {
			return scene{turned(other, angle), thin, kinematics.Pose{}}
		}
		return scene{thin, turned(other, -angle), kinematics.Pose{}}
	}},
	{"behind the axis and beside it", 250, func(rng *rand.Rand) scene {
		psi := 2 * math.Pi * rng.Float64()
		out := 3 + 20*rng.Float64()
		return scene{
			place(testmesh.Soup(rng, 1+rng.IntN(15), 1, kinds(rng)...), out, psi),
			place(testmesh.Soup(rng, 1+rng.IntN(15), 1, kinds(rng)...), out, psi-0.1+3/out*rng.Float64()), smallBase(rng),
		}
	}},
	{"sheets", 250, func(rng *rand.Rand) scene {
		up, lo := facing(rng, 1+rng.IntN(6), 10+60*rng.Float64(), 0.3*rng.Float64()-0.1)
		return scene{up, lo, smallBase(rng)}
	}},
	{"sheets of hundreds of triangles", 25, func(rng *rand.Rand) scene {
		up, lo := facing(rng, 10+rng.IntN(5), 40+20*rng.Float64(), 0.2*rng.Float64())
		return scene{up, lo, smallBase(rng)}
	}},
	{"soups of hundreds of triangles", 4, func(rng *rand.Rand) scene {
		up, lo := testmesh.Soup(rng, 200, 5, kinds(rng)...), testmesh.Soup(rng, 200, 5, kinds(rng)...)
		return scene{place(up, 40, 0), place(lo, 40, 0.25), smallBase(rng)}
	}},
	{"boxes, faces across the axis", 300, func(rng *rand.Rand) scene {
		// Whole numbers, so that faces across the axis meet in one plane.
		whole := func(n int) float64 { return float64(1 + rng.IntN(n)) }
		out := 10 + whole(10)
		up := testmesh.Box(r3.Vec{X: whole(3), Y: -out, Z: 0}, r3.Vec{X: whole(2), Y: whole(3), Z: whole(2)}, 1+rng.IntN(2))
		lo := testmesh.Box(r3.Vec{X: whole(3), Y: -out - whole(2), Z: -2 - whole(5)}, r3.Vec{X: whole(2), Y: whole(2), Z: whole(2)}, 1)
		return scene{up, turned(lo, 0.1*rng.Float64()*float64(rng.IntN(2))), kinematics.Pose{}}
	}},
	{"faces nearly across the axis", 400, func(rng *rand.Rand) scene {
		tilt := math.Pow(10, -1-10*rng.Float64()) * (2*rng.Float64() - 1)
		wall := testmesh.Sheet(2, 2, func(u, v float64) r3.Vec { return r3.Vec{X: 60, Y: -32 + 4*u, Z: 4*v - 2} })
		wall = testmesh.Moved(wall, func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X + tilt*(p.Z+p.Y+30), Y: p.Y, Z: p.Z} })
		x := 60 + tilt*(4*rng.Float64()-2)
		// The tip glides along the wall and slowly comes nearer.
		at := r3.Vec{X: x, Y: -31 + 2*rng.Float64(), Z: -4 - rng.Float64()}
		tip, err := mesh.New([]r3.Vec{at, r3.Add(at, r3.Vec{X: 1, Y: rng.NormFloat64()}),
			r3.Add(at, r3.Vec{X: 1, Z: rng.NormFloat64()})}, [][3]mesh.VertexID{{0, 1, 2}})
		if err != nil {
			panic(err)
		}
		if rng.IntN(2) == 0 {
			return scene{turned(tip, -0.1), turned(wall, 0.1), kinematics.Pose{}}
		}
		return scene{wall, tip, kinematics.Pose{}}
	}},
	{"grazing", 800, func(rng *rand.Rand) scene {
		// A corner's circle about the axis touches a face, or passes it, or cuts it,
		// by a little.
		r, psi := 5+50*rng.Float64(), 0.4*rng.NormFloat64()
		off := []float64{0, 1, -1, 1, -1}[rng.IntN(5)] * math.Pow(10, -16+12*rng.Float64())
		s, c := math.Sincos(psi)
		at := func(u, v float64) r3.Vec { return r3.Vec{X: 4*u - 2, Y: -r*c + v*s, Z: -r*s - v*c} }
		face := testmesh.Sheet(1, 1, func(u, v float64) r3.Vec { return at(u, 2*v-0.9) })
		s, c = math.Sincos(psi + 0.1 + 0.1*rng.Float64())
		tip := r3.Vec{X: 1.5 * rng.Float64(), Y: -(r + off) * c, Z: -(r + off) * s}
		in := r3.Scale((r-0.5-rng.Float64())/r, tip)
		spike, err := mesh.New([]r3.Vec{tip, r3.Add(in, r3.Vec{X: 0.3}), r3.Add(in, r3.Vec{X: -0.2})}, [][3]mesh.VertexID{{0, 1, 2}})
		if err != nil {
			panic(err)
		}
		return scene{face, spike, kinematics.Pose{}}
	}},
	{"grazing edges", 500, func(rng *rand.Rand) scene {
		// A ring about the axis inside another ring that it nearly touches.
		r := 5 + 30*rng.Float64()
		off := math.Pow(10, -14+12*rng.Float64()) * (2*rng.Float64() - 0.5)
		a, b := 0.3*rng.NormFloat64(), 0.3*rng.NormFloat64()
		edge := func(r, psi, slope, back float64) *mesh.Mesh {
			s, c := math.Sincos(psi)
			at := func(x, d, along float64) r3.Vec {
				return r3.Vec{X: x, Y: -(r+d)*c + along*s, Z: -(r+d)*s - along*c}
			}
			m, err := mesh.New([]r3.Vec{at(-1, 0, -slope), at(1, 0, slope), at(0, back, 0)}, [][3]mesh.VertexID{{0, 1, 2}})
			if err != nil {
				panic(err)
			}
			return m
		}
		return scene{edge(r, 0, a, 3), edge(r+off, 0.1+0.1*rng.Float64(), b, -3), kinematics.Pose{}}
	}},
	{"near the limits", 250, func(rng *rand.Rand) scene {
		up, lo := facing(rng, 2, 30, 0)
		limit := OpeningMost
		if rng.IntN(2) == 0 {
			limit = OpeningLeast
		}
		// Turned so that a touch at 0 comes near the limit.
		return scene{up, turned(lo, -limit.Radians()+1e-2*rng.NormFloat64()), kinematics.Pose{}}
	}},
	{"one triangle each", 2000, func(rng *rand.Rand) scene {
		up, lo := testmesh.Soup(rng, 1, 0, kinds(rng)...), testmesh.Soup(rng, 1, 0, kinds(rng)...)
		return scene{place(up, 8, 0), place(lo, 8, 0.15), smallBase(rng)}
	}},
}

// Every opening is compared with the brute force of bruteClosing, which decides
// in 300 bits: at least the opening at which features meet exactly, at most the
// one at which they come within ten of the package's margins.
func TestClosingIsTheBruteForceOne(t *testing.T) {
	for i, sc := range scenes {
		t.Run(sc.name, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(21, uint64(i)))
			var s CloserScratch
			counts := map[string]int{}
			for k := range sc.n {
				x := sc.make(rng)
				counts[checkAgainstBrute(t, x, &s, fmt.Sprintf("%s %d", sc.name, k))]++
			}
			t.Log(counts)
			require.GreaterOrEqual(t, counts["touch"], sc.n/10, "the cases touch too rarely to tell: %v", counts)
		})
	}
}

func checkAgainstBrute(t *testing.T, x scene, s *CloserScratch, name string) string {
	t.Helper()
	c := closer(t, x.up, x.lo)
	got, ok := met(c.Close(x.base, s))
	// Once more from where it ended, where far less is looked at.
	again, okAgain := met(c.Close(x.base, s))
	require.Equal(t, got, again, name)
	require.Equal(t, ok, okAgain, name)
	up, lo := newBrute(x.up, x.base.Inverse()), newBrute(x.lo, kinematics.Pose{})
	least, most := bruteClosing(up, lo, 0), bruteClosing(up, lo, 10*margin)
	if got.AtLimit {
		require.True(t, ok, name)
		if most < OpeningMost.Radians()-1e-9 {
			require.True(t, bruteCrossing(up, lo, OpeningMost.Radians()), "%s: said to cross at the limit", name)
		}
		return "limit"
	}
	if bruteCrossing(up, lo, OpeningMost.Radians()-1e-9) && bruteCrossing(up, lo, OpeningMost.Radians()) {
		require.Fail(t, "crosses at the limit, not found", "%s: %v %v", name, got, ok)
	}
	if !ok {
		require.Less(t, least, OpeningLeast.Radians()+1e-9, "%s: not found", name)
		return "none"
	}
	theta := got.Opening.Radians()
	require.GreaterOrEqual(t, theta, least-1e-9, "%s: an earlier touch exists", name)
	require.LessOrEqual(t, theta, most+1e-9, "%s: nothing touches yet (exactly at %g)", name, least)
	checkTouch(t, x, got, name)
	if most-least > 1e-9 {
		return "within the margin"
	}
	return "touch"
}

// checkTouch says whether the named point lies on the named triangles.
func checkTouch(t *testing.T, x scene, c Closing, name string) {
	t.Helper()
	for _, p := range x.lo.Vertices() {
		want := kinematics.RotationX(c.Opening).Then(x.base).Apply(p)
		require.InDelta(t, 0, r3.Norm(r3.Sub(want, c.Pose.Apply(p))), 1e-12, name)
		break
	}
	a, b, d := x.up.Corners(c.Upper)
	require.InDelta(t, 0, distTo(c.Point, a, b, d), 1e-9, "%s: point on the upper triangle", name)
	a, b, d = x.lo.Corners(c.Lower)
	require.InDelta(t, 0, distTo(c.Point, c.Pose.Apply(a), c.Pose.Apply(b), c.Pose.Apply(d)), 1e-9, "%s: point on the lower triangle", name)
}

func distTo(p, a, b, c r3.Vec) float64 {
	d := math.Inf(1)
	for _, q := range [4]r3.Vec{geom.PointTriangle(p, a, b, c), geom.PointSegment(p, a, b), geom.PointSegment(p, b, c),
		geom.PointSegment(p, c, a)} {
		d = min(d, r3.Norm(r3.Sub(p, q)))
	}
	return d
}

// met is a closing and whether anything touched; no other error is expected.
func met(c Closing, err error) (Closing, bool) {
	if err != nil && !errors.Is(err, ErrNoTouch) {
		panic(err)
	}
	return c, err == nil
}
