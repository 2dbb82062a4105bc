package contact_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func newIndex(t testing.TB, m *mesh.Mesh) *index.Index {
	t.Helper()
	x, err := index.New(context.Background(), m, nil, index.Options{})
	require.NoError(t, err)
	return x
}

// brutePair is what one pair of triangles measures.
type brutePair struct {
	upper, lower mesh.TriID
	sq           float64
	pu, pl       r3.Vec
}

// bruteAll measures every pair of triangles, in order.
func bruteAll(up, lo *mesh.Mesh, pose kinematics.Pose) (out []brutePair) {
	low := testmesh.Moved(lo, pose.Apply)
	for i := range up.NumTriangles() {
		p := geom.NewFace(up.Corners(mesh.TriID(i)))
		for j := range low.NumTriangles() {
			q := geom.NewFace(low.Corners(mesh.TriID(j)))
			d, pu, pl := geom.Faces(&p, &q, math.Inf(1))
			out = append(out, brutePair{mesh.TriID(i), mesh.TriID(j), d, pu, pl})
		}
	}
	return out
}

// leastOf is the gap among all pairs for which keep holds.
func leastOf(all []brutePair, keep func(brutePair) bool) (contact.Gap, bool) {
	at := -1
	for i, p := range all {
		if keep(p) && (at < 0 || p.sq < all[at].sq) {
			at = i
		}
	}
	if at < 0 {
		return contact.Gap{Upper: mesh.None, Lower: mesh.None}, false
	}
	p := all[at]
	return contact.Gap{Dist: math.Sqrt(p.sq), Upper: p.upper, Lower: p.lower, UpperPoint: p.pu, LowerPoint: p.pl}, true
}

// bumpy is an n by n sheet, side mm wide, over a smooth random landscape.
func bumpy(rng *rand.Rand, side, height float64, n int) *mesh.Mesh {
	a, b, c := 1+2*rng.Float64(), 1+2*rng.Float64(), 6*rng.Float64()
	return testmesh.Sheet(n, n, func(u, v float64) r3.Vec {
		x, y := side*(u-0.5), side*(v-0.5)
		return r3.Vec{X: x, Y: y, Z: height * (math.Sin(a*x+c) + math.Cos(b*y-c)) / 2}
	})
}

// scene is two surfaces of a few hundred triangles and poses of the lower one,
// from far apart through touching to crossing.
type scene struct {
	name   string
	up, lo *mesh.Mesh
	poses  []kinematics.Pose
}

func scenes() (out []scene) {
	rng := rand.New(rand.NewPCG(51, 1))
	facing := func() (ps []kinematics.Pose) {
		for i := range 8 {
			turn := kinematics.Rotation(testmesh.Unit(rng), s1.Angle(0.2*rng.Float64()))
			ps = append(ps, turn.Then(kinematics.Translation(r3.Vec{X: rng.Float64(), Y: rng.Float64(), Z: 0.6 * float64(3-i)})))
		}
		return append(ps, kinematics.Pose{})
	}
	anyhow := func() (ps []kinematics.Pose) {
		for i := range 8 {
			ps = append(ps, testmesh.Pose(rng, float64(2*i)))
		}
		return append(ps, kinematics.Pose{})
	}
	ugly := []testmesh.Kind{testmesh.Plain, testmesh.Needle, testmesh.Cap, testmesh.Lattice, testmesh.Segment, testmesh.Dot}
	arch, _ := testmesh.Arch(4, 5, 1)
	below, _ := testmesh.Arch(5, -5, 1)
	rounds := 3
	if testing.Short() {
		rounds = 1
	}
	for range rounds {
		out = append(out,
			scene{"landscapes", bumpy(rng, 6, 1, 12), bumpy(rng, 6, 1, 11), facing()},
			scene{"soups", testmesh.Soup(rng, 200, 3, testmesh.Plain), testmesh.Soup(rng, 150, 3, testmesh.Plain), anyhow()},
			scene{"ugly soups", testmesh.Soup(rng, 150, 2, ugly...), testmesh.Soup(rng, 150, 2, ugly...), anyhow()})
	}
	down := kinematics.Translation(r3.Vec{Z: -1})
	return append(out,
		scene{"boxes", arch, below, []kinematics.Pose{{}, down, kinematics.Translation(r3.Vec{Z: 1}),
			kinematics.RotationX(0.05), testmesh.Pose(rng, 10)}},
		scene{"planes", testmesh.Plane(4, 8), testmesh.Plane(5, 7),
			[]kinematics.Pose{{}, down, kinematics.Translation(r3.Vec{X: 6}), kinematics.RotationX(1e-9), kinematics.RotationX(1)}},
		scene{"far away", testmesh.Shifted(testmesh.Sphere(2, 5), r3.Vec{X: 4e4, Y: 1e4}),
			testmesh.Shifted(testmesh.Sphere(1, 4), r3.Vec{X: 4e4, Y: 1e4}),
			[]kinematics.Pose{{}, kinematics.Translation(r3.Vec{X: 4}), kinematics.Translation(r3.Vec{X: 3}),
				kinematics.Rotation(r3.Vec{Z: 1}, 1e-4)}},
		scene{"one over one", testmesh.Soup(rng, 1, 0, testmesh.Plain), testmesh.Soup(rng, 1, 0, testmesh.Plain), anyhow()},
		scene{"two over one", testmesh.Soup(rng, 2, 0, testmesh.Plain), testmesh.Soup(rng, 1, 0, testmesh.Plain), anyhow()},
		scene{"two over three", testmesh.Soup(rng, 2, 0, testmesh.Plain), testmesh.Soup(rng, 3, 0, testmesh.Plain), anyhow()},
		scene{"a point over five", testmesh.Soup(rng, 1, 0, testmesh.Dot), testmesh.Soup(rng, 5, 1, testmesh.Plain), anyhow()},
	)
}

// One scratch serves all scenes and poses; what it remembers must not matter.
func TestLeastGapAgainstBruteForce(t *testing.T) {
	var used contact.GapScratch
	var crossed, apart int
	for _, s := range scenes() {
		up, lo := newIndex(t, s.up), newIndex(t, s.lo)
		for i, pose := range s.poses {
			name := fmt.Sprintf("%s, pose %d", s.name, i)
			want, ok := leastOf(bruteAll(s.up, s.lo, pose), func(brutePair) bool { return true })
			require.True(t, ok)
			if want.Dist == 0 {
				crossed++
			} else {
				apart++
			}
			for range 2 {
				got, ok := contact.LeastGap(up, lo, pose, math.Inf(1), &used)
				require.True(t, ok, name)
				require.Equal(t, want, got, name)
			}
			var fresh contact.GapScratch
			got, ok := contact.LeastGap(up, lo, pose, want.Dist, &fresh)
			require.True(t, ok, "%s: the limit is included", name)
			require.Equal(t, want, got, name)
			if want.Dist > 0 {
				for _, s := range []*contact.GapScratch{&fresh, &used, {}} {
					got, ok := contact.LeastGap(up, lo, pose, math.Nextafter(want.Dist, 0), s)
					require.False(t, ok, name)
					require.Equal(t, mesh.None, got.Upper)
				}
			}
			for _, limit := range []float64{math.NaN(), -1} {
				_, ok := contact.LeastGap(up, lo, pose, limit, &used)
				require.False(t, ok)
			}
		}
	}
	require.Greater(t, crossed, 20)
	require.Greater(t, apart, 30)
}

func TestLeastGapOfNothing(t *testing.T) {
	full, empty := newIndex(t, testmesh.Sphere(1, 2)), newIndex(t, &mesh.Mesh{})
	var s contact.GapScratch
	for _, x := range [][2]*index.Index{{full, empty}, {empty, full}, {empty, empty}} {
		_, ok := contact.LeastGap(x[0], x[1], kinematics.Pose{}, math.Inf(1), &s)
		require.False(t, ok)
		require.Empty(t, contact.AppendPairs(nil, x[0], x[1], kinematics.Pose{}, 1, &s))
	}
}

// Seeds from another pose, another scene and other sizes of mesh change no answer.
func TestScratchNeverInfluencesResults(t *testing.T) {
	var shared [2]contact.GapScratch
	type job struct {
		up, lo *index.Index
		pose   kinematics.Pose
	}
	var jobs []job
	for _, s := range scenes() {
		up, lo := newIndex(t, s.up), newIndex(t, s.lo)
		for _, p := range s.poses {
			jobs = append(jobs, job{up, lo, p})
		}
	}
	rng := rand.New(rand.NewPCG(52, 1))
	for i := range 600 {
		j := jobs[rng.IntN(len(jobs))]
		var fresh contact.GapScratch
		want, wok := contact.LeastGap(j.up, j.lo, j.pose, 3, &fresh)
		s := &shared[rng.IntN(2)]
		got, ok := contact.LeastGap(j.up, j.lo, j.pose, 3, s)
		require.Equal(t, wok, ok, "call %d", i)
		require.Equal(t, want, got, "call %d", i)
		if i%3 == 0 {
			a := contact.AppendPairs(nil, j.up, j.lo, j.pose, 0.1, s)
			b := contact.AppendPairs(nil, j.up, j.lo, j.pose, 0.1, &contact.GapScratch{})
			require.Equal(t, b, a, "call %d", i)
		}
	}
}

func TestSwappingJawsAndMovingBoth(t *testing.T) {
	rng := rand.New(rand.NewPCG(53, 1))
	for _, s := range scenes() {
		up, lo := newIndex(t, s.up), newIndex(t, s.lo)
		tol := 1e-11 * (1 + r3.Norm(s.up.Bounds().Center()))
		for i, pose := range s.poses {
			var scratch contact.GapScratch
			want, _ := contact.LeastGap(up, lo, pose, math.Inf(1), &scratch)
			swapped, ok := contact.LeastGap(lo, up, pose.Inverse(), math.Inf(1), &scratch)
			require.True(t, ok)
			require.InDelta(t, want.Dist, swapped.Dist, tol, "%s, pose %d", s.name, i)

			both := testmesh.Pose(rng, 20)
			upMoved := newIndex(t, testmesh.Moved(s.up, both.Apply))
			moved, _ := contact.LeastGap(upMoved, lo, pose.Then(both), math.Inf(1), &scratch)
			require.InDelta(t, want.Dist, moved.Dist, tol, "%s, pose %d", s.name, i)
			if want.Upper == moved.Upper && want.Lower == moved.Lower && want.Dist > 1e-3 && s.name == "soups" {
				require.Less(t, r3.Norm(r3.Sub(both.Apply(want.UpperPoint), moved.UpperPoint)), 1e-6)
			}
		}
	}
}

// Closed forms: a sphere over a plane, in a cone, between the sides of a groove.
// Poles are corners of the meshed sphere, and the cone is meshed so that the
// gap is that of its flats.
func TestLeastGapOfBodies(t *testing.T) {
	sphere := newIndex(t, testmesh.Sphere(1.5, 16))
	plane := newIndex(t, testmesh.Plane(8, 5))
	var s contact.GapScratch
	for _, h := range []float64{3, 1.6, 1.5, 1, 0} {
		got, _ := contact.LeastGap(sphere, plane, kinematics.Translation(r3.Vec{Z: -h}), math.Inf(1), &s)
		require.InDelta(t, max(0, h-1.5), got.Dist, 1e-14)
	}
	const half = 0.7
	groove := newIndex(t, testmesh.Groove(half, 10, 10, 4))
	for _, h := range []float64{5, 3, 2.5} {
		got, _ := contact.LeastGap(sphere, groove, kinematics.Translation(r3.Vec{Z: -h}), math.Inf(1), &s)
		// The sides lie h·sin half from the middle; the meshed sphere is up to r(1−cos) smaller.
		require.InDelta(t, h*math.Sin(half)-1.5, got.Dist, 1.5*(1-math.Cos(math.Pi/4/16)))
		require.GreaterOrEqual(t, got.Dist, h*math.Sin(half)-1.5-1e-12)
	}
}

func TestGapQueriesAllocateNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(54, 1))
	up, lo := newIndex(t, bumpy(rng, 6, 1, 25)), newIndex(t, bumpy(rng, 6, 1, 25))
	var s contact.GapScratch
	poses := make([]kinematics.Pose, 16)
	for i := range poses {
		poses[i] = kinematics.Translation(r3.Vec{X: 0.1 * float64(i), Z: -1.2})
	}
	var dst []contact.Pair
	run := func() {
		for _, p := range poses {
			contact.LeastGap(up, lo, p, math.Inf(1), &s)
			dst = contact.AppendPairs(dst[:0], up, lo, p, 0.5, &s)
		}
	}
	run()
	require.NotEmpty(t, dst)
	require.Zero(t, testing.AllocsPerRun(5, run))
}

// realArches is the arches of a real adult, moved so that a hinge axis lies
// where jaws have it; the test is skipped where they are missing.
func realArches(t testing.TB) (up, lo *mesh.Mesh) {
	var out [2]*mesh.Mesh
	for i, jaw := range []string{"upper", "lower"} {
		path := filepath.Join("..", "..", "..", "shared", "data", "adult-cbct", jaw+".stl")
		if _, err := os.Stat(path); err != nil {
			t.Skipf("real scans not at hand: %v", err)
		}
		raw, err := meshfile.ReadFile(path, meshfile.ReadOptions{Unit: mesh.Millimetre})
		require.NoError(t, err)
		m, _ := mesh.Weld(raw, 0)
		out[i] = testmesh.Shifted(m, r3.Vec{X: -54.5, Y: -85, Z: -93})
	}
	return out[0], out[1]
}

// sweep is a lateral movement of n poses that opens from 0.5° to 3.5°.
func sweep(n int) []kinematics.Pose {
	out := make([]kinematics.Pose, n)
	for i := range out {
		t := float64(i) / float64(n-1)
		r := r3.Vec{X: 55}
		out[i] = kinematics.RotationX(s1.Angle(0.5+3*t) * s1.Degree).Then(kinematics.Translation(r)).
			Then(kinematics.Rotation(r3.Vec{Z: 1}, s1.Angle(-6*t)*s1.Degree)).Then(kinematics.Translation(r3.Scale(-1, r)))
	}
	return out
}

var sink float64

func BenchmarkLeastGapSweep(b *testing.B) {
	um, lm := realArches(b)
	up, lo := newIndex(b, um), newIndex(b, lm)
	poses := sweep(61)
	for _, seeded := range []bool{true, false} {
		name := map[bool]string{true: "arch180k/seeded", false: "arch180k/fresh"}[seeded]
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			var s contact.GapScratch
			for b.Loop() {
				for _, p := range poses {
					if !seeded {
						s = contact.GapScratch{}
					}
					g, ok := contact.LeastGap(up, lo, p, math.Inf(1), &s)
					if !ok {
						b.Fatal("no gap")
					}
					sink += g.Dist
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(poses))/1e6, "ms/pose")
		})
	}
}

func sortPairs(p []contact.Pair) []contact.Pair {
	slices.SortFunc(p, func(a, b contact.Pair) int {
		if a.Upper != b.Upper {
			return int(a.Upper - b.Upper)
		}
		return int(a.Lower - b.Lower)
	})
	return p
}
