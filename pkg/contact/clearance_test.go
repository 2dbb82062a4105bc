package contact_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// newArch is the arch of a mesh, welded: welding keeps the numbers of triangles.
func newArch(t testing.TB, m *mesh.Mesh, parts []int32) *contact.Arch {
	t.Helper()
	m, _ = mesh.Weld(m, 0)
	a, err := contact.NewArch(context.Background(), m, parts, contact.Options{})
	require.NoError(t, err)
	return a
}

func randomParts(rng *rand.Rand, m *mesh.Mesh, n int) []int32 {
	parts := make([]int32, m.NumTriangles())
	for i := range parts {
		parts[i] = int32(rng.IntN(n)) * 3 // numbers between them are free
		if i > 0 && rng.IntN(8) == 0 {
			parts[i] = contact.NoPart
		}
	}
	return parts
}

func TestClearancesAgainstBruteForce(t *testing.T) {
	rng := rand.New(rand.NewPCG(55, 1))
	var used contact.ClearanceScratch
	var ups, los []contact.Gap
	for _, s := range scenes() {
		upPart, loPart := randomParts(rng, s.up, 4), randomParts(rng, s.lo, 7)
		up, lo := newArch(t, s.up, upPart), newArch(t, s.lo, loPart)
		for i, pose := range s.poses {
			all := bruteAll(s.up, s.lo, pose)
			ups, los = clearances(up, lo, pose, ups, los, &used)
			require.Len(t, ups, len(up.Parts))
			require.Len(t, los, len(lo.Parts))
			for k, part := range up.Parts {
				want, ok := leastOf(all, func(p brutePair) bool { return int(upPart[p.upper]) == part })
				require.True(t, ok)
				require.Equal(t, want, ups[k], "%s, pose %d, upper part %d", s.name, i, part)
			}
			for k, part := range lo.Parts {
				want, ok := leastOf(all, func(p brutePair) bool { return int(loPart[p.lower]) == part })
				require.True(t, ok)
				require.Equal(t, want, los[k], "%s, pose %d, lower part %d", s.name, i, part)
			}
			var gap contact.GapScratch
			for up0 := range 11 { // parts that are not there among them
				for lo0 := range 20 {
					want, ok := leastOf(all, func(p brutePair) bool { return int(upPart[p.upper]) == up0 && int(loPart[p.lower]) == lo0 })
					got, there := contact.PartGap(up, lo, up0, lo0, pose, &gap)
					require.Equal(t, ok, there)
					if ok {
						require.Equal(t, want, got, "%s, pose %d, parts %d and %d", s.name, i, up0, lo0)
					}
				}
			}
			var fresh contact.ClearanceScratch
			a, b := clearances(up, lo, pose, nil, nil, &fresh)
			require.Equal(t, a, ups)
			require.Equal(t, b, los)
			// Asked for one side alone, with what the search for both left behind.
			a, err := contact.AppendUpperClearances(nil, up, lo, pose, &used)
			require.NoError(t, err)
			require.Equal(t, a, ups)
			b, err = contact.AppendLowerClearances(nil, up, lo, pose, &used)
			require.NoError(t, err)
			require.Equal(t, b, los)
		}
	}
}

func TestPartsOfAnArch(t *testing.T) {
	m := testmesh.Plane(1, 2)
	require.Equal(t, []int{0}, newArch(t, m, nil).Parts, "without labels the arch is one part")
	require.Equal(t, []int{2, 5}, newArch(t, m, []int32{5, -1, 2, -1, 2, 5, 5, -1}).Parts, "NoPart has no clearance")
	require.Equal(t, []int{0, 2, 5}, newArch(t, m, []int32{5, 0, 2, 0, 2, 5, 5, 0}).Parts, "0 is a part as any other")
	require.Equal(t, []int{0}, newArch(t, m, make([]int32, 8)).Parts, "all-zero numbers are one part")
	require.Empty(t, newArch(t, &mesh.Mesh{}, nil).Parts)
	_, err := contact.NewArch(t.Context(), m, []int32{1}, contact.Options{})
	require.Error(t, err)
}

func TestClearanceFromAnEmptyArch(t *testing.T) {
	full, empty := newArch(t, testmesh.Sphere(1, 3), nil), newArch(t, &mesh.Mesh{}, nil)
	ups, los := clearances(full, empty, kinematics.Pose{}, nil, nil, &contact.ClearanceScratch{})
	require.Len(t, ups, 1)
	require.True(t, math.IsInf(ups[0].Dist, 1))
	require.Equal(t, mesh.None, ups[0].Upper)
	require.Empty(t, los)
}

// The scratch serves two pairs of arches in turn, with different numbers of parts.
func TestClearanceScratchNeverInfluencesResults(t *testing.T) {
	rng := rand.New(rand.NewPCG(55, 2))
	type pair struct{ up, lo *contact.Arch }
	var pairs []pair
	for i := range 3 {
		um, lm := bumpy(rng, 6, 1, 14-i), bumpy(rng, 6, 1, 9+i)
		pairs = append(pairs, pair{newArch(t, um, randomParts(rng, um, 2+4*i)), newArch(t, lm, randomParts(rng, lm, 9-2*i))})
	}
	var used contact.ClearanceScratch
	var ups, los []contact.Gap
	for range 60 {
		p := pairs[rng.IntN(len(pairs))]
		pose := kinematics.Translation(r3.Vec{X: rng.Float64(), Y: rng.Float64(), Z: -2 * rng.Float64()})
		ups, los = clearances(p.up, p.lo, pose, ups, los, &used)
		a, b := clearances(p.up, p.lo, pose, nil, nil, &contact.ClearanceScratch{})
		require.Equal(t, a, ups)
		require.Equal(t, b, los)
	}
}

func TestClearancesAllocateNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(55, 3))
	um, lm := bumpy(rng, 6, 1, 30), bumpy(rng, 6, 1, 30)
	up, lo := newArch(t, um, randomParts(rng, um, 5)), newArch(t, lm, randomParts(rng, lm, 5))
	var s contact.ClearanceScratch
	var a, b []contact.Gap
	run := func() {
		for i := range 10 {
			a, b = clearances(up, lo, kinematics.Translation(r3.Vec{X: 0.1 * float64(i), Z: -1.5}), a, b, &s)
		}
	}
	run()
	require.Zero(t, testing.AllocsPerRun(5, run))
}

// A sphere over another, on any number of cores: every vertex knows its distance from the middle of the
// other, so from its surface within what meshing takes off.
func TestClearanceMapOnAnyCores(t *testing.T) {
	const r, n = 2.0, 60
	small, large := newArch(t, testmesh.Sphere(1.5, 12), nil), newArch(t, testmesh.Sphere(r, n), nil)
	off := r * (1 - math.Cos(math.Pi/2/n)) * 2 // of the meshed from the true sphere
	rng := rand.New(rand.NewPCG(56, 1))
	for _, apart := range []float64{4, 3, 2, 1} {
		pose := testmesh.Pose(rng, 0).Then(kinematics.Translation(r3.Scale(apart, testmesh.Unit(rng))))
		var one []float64
		for _, workers := range []int{1, 2, 7, 0} {
			got, err := contact.AppendLowerMap(t.Context(), nil, large, small, pose, 1, contact.Options{Workers: workers})
			require.NoError(t, err)
			if one == nil {
				one = got
			}
			require.Equal(t, one, got, "%d workers", workers)
		}
		inside, outside, beyond := 0, 0, 0
		for i, v := range small.Mesh().Vertices() {
			want := r3.Norm(pose.Apply(v)) - r
			switch {
			case want > 1+off || want < -1-off:
				require.True(t, math.IsInf(one[i], 1))
				beyond++
			case math.Abs(math.Abs(want)-1) <= off: // either
			default:
				require.InDelta(t, want, one[i], off)
				if want < 0 {
					inside++
				} else {
					outside++
				}
			}
		}
		if apart == 2 {
			require.Greater(t, min(inside, outside, beyond), 20)
		}
	}
}

func TestClearanceMapBeyondABorderIsNotNegative(t *testing.T) {
	ball, plane := newArch(t, testmesh.Shifted(testmesh.Sphere(0.5, 6), r3.Vec{Z: -1}), nil), newArch(t, testmesh.Plane(4, 8), nil)
	for _, x := range []float64{0, 5} {
		got, err := contact.AppendLowerMap(t.Context(), nil, plane, ball, kinematics.Translation(r3.Vec{X: x}), 10, contact.Options{})
		require.NoError(t, err)
		for i, d := range got {
			if v := ball.Mesh().Vertex(mesh.VertexID(i)); x == 0 {
				require.InDelta(t, v.Z, d, 1e-12)
			} else {
				require.InDelta(t, math.Hypot(max(0, math.Hypot(v.X+x-2, max(0, math.Abs(v.Y)-2))), v.Z), d, 1e-12)
			}
		}
	}
}

func TestClearanceMapCanBeCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	ball := newArch(t, testmesh.Sphere(1, 4), nil)
	got, err := contact.AppendUpperMap(ctx, nil, ball, ball, kinematics.Pose{}, 1, contact.Options{Workers: 1})
	require.ErrorIs(t, err, context.Canceled)
	require.Nil(t, got)
}

func TestClearanceMapLimitAndEmpty(t *testing.T) {
	ball, empty := newArch(t, testmesh.Sphere(1, 1), nil), newArch(t, &mesh.Mesh{}, nil)
	got, err := contact.AppendUpperMap(t.Context(), nil, ball, empty, kinematics.Pose{}, 1, contact.Options{})
	require.NoError(t, err)
	for _, d := range got {
		require.True(t, math.IsInf(d, 1))
	}
	got, err = contact.AppendUpperMap(t.Context(), nil, empty, ball, kinematics.Pose{}, 1, contact.Options{})
	require.NoError(t, err)
	require.Empty(t, got)
}

// The parts are strips of the arch about as wide as a tooth, 15 a jaw.
func BenchmarkClearances(b *testing.B) {
	um, lm := realArches(b)
	strips := func(m *mesh.Mesh) []int32 {
		out := make([]int32, m.NumTriangles())
		for i, t := range m.All() {
			v := m.Vertex(t[0])
			out[i] = 1 + int32((math.Atan2(v.X, -v.Y-35)+math.Pi)/(2*math.Pi)*14.999)
		}
		return out
	}
	up, lo := newArch(b, um, strips(um)), newArch(b, lm, strips(lm))
	poses := sweep(61)
	b.Run("arch180k", func(b *testing.B) {
		b.ReportAllocs()
		var s contact.ClearanceScratch
		var ups, los []contact.Gap
		for b.Loop() {
			for _, p := range poses {
				ups, los = clearances(up, lo, p, ups, los, &s)
			}
		}
		b.ReportMetric(float64(len(ups)+len(los)), "parts")
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(poses))/1e6, "ms/pose")
	})
}

// clearances is the clearances of both arches, written over up and lo.
func clearances(upper, lower *contact.Arch, pose kinematics.Pose, up, lo []contact.Gap,
	s *contact.ClearanceScratch) ([]contact.Gap, []contact.Gap) {
	up, lo, err := contact.AppendClearances(up[:0], lo[:0], upper, lower, pose, s)
	if err != nil {
		panic(err)
	}
	return up, lo
}
