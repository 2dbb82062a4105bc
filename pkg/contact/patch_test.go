package contact_test

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// resting is a sphere of radius rho, an octahedron's side divided by n, that
// touches z = 0 from above at the origin.
func resting(rho float64, n int) *mesh.Mesh {
	return testmesh.Shifted(testmesh.Sphere(rho, n), r3.Vec{Z: rho})
}

func patches(t testing.TB, up, lo *mesh.Mesh, pose kinematics.Pose, overlap bool, foils ...float64) []contact.Patch {
	t.Helper()
	return appended(nil, newArch(t, up, nil), newArch(t, lo, nil), pose, foils, overlap, &contact.PatchScratch{})
}

// FACTS O14: a cusp of radius ρ on a plane, gap within τ: a disc of π(2ρτ − τ²),
// measured along the plane. The patch is measured on the upper surface. If that
// is the sphere, it is the cap over that disc, 2πρτ, which is the disc's area
// divided by 1 − τ/2ρ; if it is the plane, the nearest point of the sphere lies
// aslant and the disc is π(2ρτ + τ²).
func TestPatchOfASphereOnAPlane(t *testing.T) {
	fineness := []int{30, 60, 120}
	if testing.Short() {
		fineness = fineness[:2]
	}
	finest := float64(fineness[len(fineness)-1])
	for _, c := range []struct{ rho, tau, disc float64 }{
		{2, 0.008, 0.100330}, {2, 0.012, 0.150344}, {2, 0.02, 0.250071}, {2, 0.05, 0.620465}, {2, 0.2, 2.387610},
		{1.5, 0.02, 0.187239}, {3, 0.02, 0.375734},
	} {
		require.InDelta(t, math.Pi*(2*c.rho*c.tau-c.tau*c.tau), c.disc, 1e-6)
		lastCap, lastDisc := math.Inf(1), math.Inf(1)
		for _, n := range fineness {
			ball, plane := resting(c.rho, n), testmesh.Plane(4, 4*n/10)
			p := patches(t, ball, plane, kinematics.Pose{}, false, c.tau)
			require.Len(t, p, 1)
			errCap := math.Abs(p[0].Area*(1-c.tau/(2*c.rho)) - c.disc)
			require.Zero(t, p[0].Gap)
			require.Less(t, r3.Norm(p[0].Point), 1e-9)
			// The middle of a cap lies half way up.
			require.InDelta(t, 0, r3.Norm(r3.Sub(p[0].Centre, r3.Vec{Z: c.tau / 2})), 0.1*c.tau)
			require.Less(t, r3.Norm(r3.Sub(p[0].UpperNormal, r3.Vec{Z: -1})), 0.01)
			require.InDelta(t, 1, p[0].LowerNormal.Z, 1e-12)
			require.Zero(t, p[0].Depth)

			q := patches(t, plane, resting(c.rho, n), kinematics.Pose{}, false, c.tau)
			require.Len(t, q, 1)
			errDisc := math.Abs(q[0].Area - (c.disc + 2*math.Pi*c.tau*c.tau))
			// Twice as fine a mesh must come clearly nearer, until well below a tenth of a percent.
			require.True(t, errCap < lastCap/2 || errCap < 5e-4*c.disc, "cap, ρ %v, τ %v, n %d: off by %g after %g", c.rho,
				c.tau, n, errCap, lastCap)
			require.True(t, errDisc < lastDisc/2 || errDisc < 5e-4*c.disc, "disc, ρ %v, τ %v, n %d: off by %g after %g", c.rho,
				c.tau, n, errDisc, lastDisc)
			lastCap, lastDisc = errCap, errDisc
		}
		// What is left is how far the flats lie within the sphere, edge²/8ρ.
		edge := c.rho * math.Pi / 2 / finest
		left := (2e-3 + 2*edge*edge/(8*c.rho)/c.tau) * c.disc
		require.Less(t, lastCap, left, "cap, ρ %v, τ %v", c.rho, c.tau)
		require.Less(t, lastDisc, left, "disc, ρ %v, τ %v", c.rho, c.tau)
	}
}

// A sphere sunk by δ: within τ of the plane or behind it lies a cap of height δ + τ,
// and without telling sides only the zone between δ − τ and δ + τ.
func TestPatchOfASunkSphere(t *testing.T) {
	const rho, tau, n = 2.0, 0.03, 100
	for _, sunk := range []float64{0.005, 0.05, 0.2} {
		pose := kinematics.Translation(r3.Vec{Z: sunk}) // the plane rises
		p := patches(t, resting(rho, n), testmesh.Plane(5, 40), pose, true, tau)
		require.Len(t, p, 1)
		require.InEpsilon(t, 2*math.Pi*rho*(sunk+tau), p[0].Area, 3e-3)
		require.InDelta(t, sunk, p[0].Depth, 1e-9)
		require.Zero(t, p[0].Gap)
		require.InDelta(t, (sunk+tau)/2, p[0].Centre.Z, 0.02*(sunk+tau))

		flat := patches(t, resting(rho, n), testmesh.Plane(5, 40), pose, false, tau)
		require.Len(t, flat, 1)
		require.InEpsilon(t, 2*math.Pi*rho*(tau+min(sunk, tau)), flat[0].Area, 3e-3)
		require.Zero(t, flat[0].Depth)
	}
}

func TestPatchesAreConnected(t *testing.T) {
	plane := testmesh.Plane(8, 40)
	two, _ := testmesh.Join(testmesh.Shifted(resting(1, 90), r3.Vec{X: -0.5}), testmesh.Shifted(resting(1, 90), r3.Vec{X: 2}))
	p := patches(t, two, plane, kinematics.Translation(r3.Vec{Z: -0.001}), false, 0.02, 0.04)
	require.Len(t, p, 4)
	for i, x := range []float64{0.02, 0.02, 0.04, 0.04} {
		require.Equal(t, x, p[i].Foil)
		require.InEpsilon(t, 2*math.Pi*(x-0.001), p[i].Area, 5e-3)
		require.InDelta(t, 0.001, p[i].Gap, 1e-12)
	}
	require.InDelta(t, 2.5, math.Abs(p[0].Centre.X-p[1].Centre.X), 2e-3)

	// A ridge: a cylinder on its side. Its patch is as long as it and
	// 2ρ·acos((ρ−τ)/ρ) wide.
	const tau, rho, long = 0.02, 2.0, 4.0
	lying := kinematics.RotationX(s1.Angle(math.Pi / 2)).Then(kinematics.Translation(r3.Vec{Z: rho}))
	ridge := testmesh.Moved(testmesh.Cylinder(rho, long, 360), lying.Apply)
	p = patches(t, ridge, plane, kinematics.Pose{}, false, tau)
	require.Len(t, p, 1)
	require.InEpsilon(t, long*2*rho*math.Acos((rho-tau)/rho), p[0].Area, 8e-3)
	require.InDelta(t, 0, p[0].Centre.X, 1e-3)
	require.InDelta(t, 0, p[0].Centre.Y, 1e-3)

	// On a groove it rests on two lines.
	groove := testmesh.Groove(math.Pi/4, 8, 8, 40)
	seat := rho * math.Cos(math.Pi/360) // the flats' distance from the axis; 45° are one eighth of 360 steps
	vee := kinematics.Translation(r3.Vec{Z: -(seat*math.Sqrt2 - rho) - 0.002*math.Sqrt2})
	p = patches(t, ridge, groove, vee, false, tau)
	require.Len(t, p, 2)
	for _, q := range p {
		require.InDelta(t, 1/math.Sqrt2, q.LowerNormal.Z, 1e-9)
		require.Less(t, r3.Dot(q.LowerNormal, q.UpperNormal), -0.999)
	}
	require.InDelta(t, 0, p[0].LowerNormal.X+p[1].LowerNormal.X, 1e-9)
}

// Two near triangles that touch in one corner only, or whose common side is out of
// reach, are two patches.
func TestPatchesAcrossACommonSide(t *testing.T) {
	// A ridge tile, its ridge 1 mm up and both feet near the plane.
	tile := testmesh.Sheet(2, 1, func(u, v float64) r3.Vec {
		return r3.Vec{X: 2*u - 1, Y: 2*v - 1, Z: 1 - math.Abs(2*u-1)}
	})
	p := patches(t, tile, testmesh.Plane(6, 6), kinematics.Translation(r3.Vec{Z: -0.01}), false, 0.05)
	require.Len(t, p, 2)
	for _, q := range p {
		require.InDelta(t, 2*0.04*math.Sqrt2, q.Area, 2e-3)
	}
	// Deeper than the ridge it is all one.
	p = patches(t, tile, testmesh.Plane(6, 6), kinematics.Pose{}, false, 1.5)
	require.Len(t, p, 1)
	require.InDelta(t, 4*math.Sqrt2, p[0].Area, 1e-9)
}

// landscape is two bumpy surfaces near each other.
func landscape(seed uint64, n int) (up, lo *mesh.Mesh, pose kinematics.Pose) {
	rng := rand.New(rand.NewPCG(57, seed))
	up, lo = testmesh.Turned(bumpy(rng, 6, 0.6, n)), bumpy(rng, 6, 0.6, n)
	var s contact.GapScratch
	x, err := index.New(context.Background(), up, nil, index.Options{})
	if err != nil {
		panic(err)
	}
	y, err := index.New(context.Background(), lo, nil, index.Options{})
	if err != nil {
		panic(err)
	}
	pose = kinematics.Rotation(r3.Vec{Z: 1}, s1.Angle(rng.Float64())).Then(kinematics.Translation(r3.Vec{Z: -2}))
	for range 4 { // down to about a touch
		g, _ := contact.LeastGap(x, y, pose, math.Inf(1), &s)
		pose = pose.Then(kinematics.Translation(r3.Vec{Z: 0.98 * g.Dist}))
	}
	return up, lo, pose
}

// Every thick patch begins at the least point of some thin one, and areas grow.
func TestThinPatchesLieInThickOnes(t *testing.T) {
	foils := []float64{0.008, 0.02, 0.04, 0.1, 0.3}
	several := 0
	for seed := range uint64(12) {
		up, lo, pose := landscape(seed, 60)
		all := patches(t, up, lo, pose, seed%2 == 0, foils...)
		byFoil := map[float64][]contact.Patch{}
		for _, p := range all {
			byFoil[p.Foil] = append(byFoil[p.Foil], p)
		}
		for i, thick := range foils[1:] {
			thin := byFoil[foils[i]]
			var a, b float64
			for _, p := range thin {
				a += p.Area
			}
			begins := 0
			for _, p := range byFoil[thick] {
				b += p.Area
				if p.Gap <= foils[i] {
					begins++
					at := slices.IndexFunc(thin, func(q contact.Patch) bool { return q.Upper == p.Upper && q.Point == p.Point && q.Gap == p.Gap })
					require.GreaterOrEqual(t, at, 0, "seed %d: a patch at %v begins where none is at %v", seed, thick, foils[i])
					require.GreaterOrEqual(t, p.Area, thin[at].Area)
				}
			}
			require.LessOrEqual(t, begins, len(thin))
			require.Greater(t, b, a, "seed %d", seed)
			if len(thin) > 1 {
				several++
			}
		}
	}
	require.Greater(t, several, 5)
}

func TestPatchesSortedAndTheLeastGapFirst(t *testing.T) {
	for seed := range uint64(8) {
		up, lo, pose := landscape(seed, 40)
		ua, la := newArch(t, up, nil), newArch(t, lo, nil)
		want, _ := contact.LeastGap(ua.Index, la.Index, pose, math.Inf(1), &contact.GapScratch{})
		foils := []float64{0.3, 0.05, 0.1} // in the order asked for
		var s contact.PatchScratch
		before := []contact.Patch{{Foil: -1}}
		got := appended(before, ua, la, pose, foils, false, &s)
		require.Equal(t, before[0], got[0])
		got = got[1:]
		for i, p := range got {
			if i > 0 && got[i-1].Foil == p.Foil {
				require.LessOrEqual(t, got[i-1].Gap, p.Gap)
			} else {
				require.Equal(t, foils[0], p.Foil)
				foils = foils[1:]
				require.Equal(t, want.Dist, p.Gap)
				require.Equal(t, want.UpperPoint, p.Point)
			}
			require.GreaterOrEqual(t, p.Area, 0.0)
			require.InDelta(t, 1, r3.Norm(p.UpperNormal), 1e-12)
			require.InDelta(t, 1, r3.Norm(p.LowerNormal), 1e-12)
		}
		require.Empty(t, foils)
	}
}

func TestPatchesDoNotDependOnScratchOrFrame(t *testing.T) {
	var used contact.PatchScratch
	rng := rand.New(rand.NewPCG(58, 1))
	for seed := range uint64(8) {
		up, lo, pose := landscape(seed, 30+3*int(seed))
		ua, la := newArch(t, up, nil), newArch(t, lo, nil)
		overlap := seed%2 == 1
		want := appended(nil, ua, la, pose, []float64{0.02, 0.1}, overlap, &contact.PatchScratch{})
		require.NotEmpty(t, want)
		for range 2 {
			require.Equal(t, want, appended(nil, ua, la, pose, []float64{0.02, 0.1}, overlap, &used))
		}
		both := testmesh.Pose(rng, 30)
		moved := appended(nil, newArch(t, testmesh.Moved(up, both.Apply), nil), la, pose.Then(both), []float64{0.02, 0.1}, overlap, &used)
		require.Len(t, moved, len(want))
		for i, p := range want {
			q := moved[i]
			require.InDelta(t, p.Area, q.Area, 1e-9)
			require.InDelta(t, p.Gap, q.Gap, 1e-12)
			require.InDelta(t, p.Depth, q.Depth, 1e-12)
			if p.Area > 1e-4 { // of less the middle is not well determined
				require.Less(t, r3.Norm(r3.Sub(both.Apply(p.Centre), q.Centre)), 1e-9)
			}
			require.Less(t, r3.Norm(r3.Sub(both.Rotate(p.UpperNormal), q.UpperNormal)), 1e-9)
			// Where an edge is nearest, either face may be named.
			require.Less(t, r3.Norm(r3.Sub(both.Rotate(p.LowerNormal), q.LowerNormal)), 1e-2)
		}
	}
}

// A plane of two triangles is far coarser than the patch on it.
func TestPatchOnACoarsePlane(t *testing.T) {
	const rho, tau = 2.0, 0.02
	ball := testmesh.Shifted(resting(rho, 120), r3.Vec{X: 0.3, Y: -0.2})
	for _, side := range []float64{3, 10, 20} {
		p := patches(t, testmesh.Plane(side, 1), ball, kinematics.Pose{}, false, tau)
		require.Len(t, p, 1)
		require.InEpsilon(t, math.Pi*(2*rho*tau+tau*tau), p[0].Area, 0.01, "side %v", side)
		require.Less(t, r3.Norm(r3.Sub(p[0].Centre, r3.Vec{X: 0.3, Y: -0.2})), 0.01)
		q := patches(t, ball, testmesh.Plane(side, 1), kinematics.Pose{}, false, tau)
		require.Len(t, q, 1)
		require.InEpsilon(t, 2*math.Pi*rho*tau, q[0].Area, 0.01)
	}
}

func TestNoPatches(t *testing.T) {
	ball, plane, empty := resting(1, 8), testmesh.Plane(4, 4), &mesh.Mesh{}
	apart := kinematics.Translation(r3.Vec{Z: -1})
	for _, overlap := range []bool{false, true} {
		require.Empty(t, patches(t, ball, plane, apart, overlap, 0.1))
		require.Empty(t, patches(t, ball, plane, kinematics.Pose{}, overlap))
		require.Empty(t, patches(t, ball, empty, kinematics.Pose{}, overlap, 0.1))
		require.Empty(t, patches(t, empty, plane, kinematics.Pose{}, overlap, 0.1))
		touch := patches(t, ball, plane, kinematics.Pose{}, overlap, 0)
		require.Len(t, touch, 1, "a foil without thickness shows where they touch")
		require.Zero(t, touch[0].Area)
		require.Less(t, r3.Norm(touch[0].Centre), 1e-12)
	}
}

func BenchmarkPatches(b *testing.B) {
	um, lm := realArches(b)
	up, lo := newArch(b, um, nil), newArch(b, lm, nil)
	pose := kinematics.RotationX(0.3 * s1.Degree)
	g, _ := contact.LeastGap(up.Index, lo.Index, pose, math.Inf(1), &contact.GapScratch{})
	pose = pose.Then(kinematics.Translation(r3.Vec{Z: 0.9 * g.Dist}))
	b.Run("arch180k/8+40um", func(b *testing.B) {
		b.ReportAllocs()
		var s contact.PatchScratch
		var dst []contact.Patch
		for b.Loop() {
			dst = appended(dst[:0], up, lo, pose, []float64{0.008, 0.04}, false, &s)
		}
		for _, p := range dst {
			sink += p.Area
		}
	})
}

// appended is contact.AppendPatches of what must not fail.
func appended(dst []contact.Patch, upper, lower *contact.Arch, pose kinematics.Pose, foils []float64, overlap bool,
	s *contact.PatchScratch) []contact.Patch {
	out, err := contact.AppendPatches(dst, upper, lower, pose, foils, overlap, s)
	if err != nil {
		panic(err)
	}
	return out
}
