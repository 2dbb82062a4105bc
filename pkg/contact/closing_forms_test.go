package contact

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// A point ρ mm from the axis and ψ below the horizontal in front of it is, at
// the opening θ, at (−ρ·cos(ψ+θ), −ρ·sin(ψ+θ)) in the plane of y and z.
func seen(x, rho, psi float64) r3.Vec {
	s, c := math.Sincos(psi)
	return r3.Vec{X: x, Y: -rho * c, Z: -rho * s}
}

func openingOf(t *testing.T, up, lo *mesh.Mesh) (Closing, float64) {
	t.Helper()
	var s CloserScratch
	c, ok := met(closer(t, up, lo).Close(kinematics.Pose{}, &s))
	require.True(t, ok)
	require.False(t, c.AtLimit)
	checkTouch(t, scene{up: up, lo: lo}, c, t.Name())
	return c, c.Opening.Radians()
}

// spike is a slender pyramid pointing up, its tip at the given point.
func spike(tip r3.Vec) *mesh.Mesh {
	return testmesh.Shifted(testmesh.Lathe(5, [2]float64{0, 0}, [2]float64{0.05, -2}), tip)
}

// The tip is in the plane z = h + m·y where −ρ·sin φ = h − m·ρ·cos φ, φ = ψ+θ,
// that is ρ·√(1+m²)·sin(φ − atan m) = −h.
func TestClosingOfATipOnAnInclinedPlane(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		rho, psi, m := 20+60*rng.Float64(), 0.3*rng.NormFloat64(), 0.3*rng.NormFloat64()
		theta := 0.45*rng.Float64() - 0.12
		tip := seen(0, rho, psi+theta)
		h := tip.Z - m*tip.Y
		plane := testmesh.Moved(testmesh.Plane(30, 1), func(p r3.Vec) r3.Vec {
			p.X, p.Y = p.X+2, p.Y+tip.Y
			return r3.Vec{X: p.X, Y: p.Y, Z: h + m*p.Y}
		})
		want := math.Atan(m) + math.Asin(-h/(rho*math.Hypot(1, m))) - psi
		if want > 0.34 || want < -0.13 {
			continue
		}
		c, got := openingOf(t, plane, spike(seen(0, rho, psi)))
		require.InDelta(t, want, got, 1e-13)
		require.InDelta(t, 0, r3.Norm(r3.Sub(tip, c.Point)), 1e-11)
	}
}

// A sphere of radius R about a centre at (ρ, ψ) touches the plane z = h from
// below where −ρ·sin(ψ+θ) = h − R.
func sphereOnPlane(rho, psi, radius, h float64) float64 { return math.Asin((radius-h)/rho) - psi }

func TestClosingOfASphereOnAPlane(t *testing.T) {
	const rho, radius, h = 70, 3, -20
	for _, psi := range []float64{0.1, 0.2, 0.3, 0.4} {
		want := sphereOnPlane(rho, psi, radius, h)
		centre := seen(0, rho, psi)
		plane := testmesh.Shifted(testmesh.Plane(40, 3), r3.Vec{X: 1.1, Y: centre.Y, Z: h})
		// A vertex, the pole, is on top when it touches.
		ball := testmesh.Shifted(turned(testmesh.Sphere(radius, 9), -want), centre)
		c, got := openingOf(t, plane, ball)
		require.InDelta(t, want, got, 1e-13)
		require.InDelta(t, 0, r3.Norm(r3.Sub(r3.Add(seen(0, rho, psi+want), r3.Vec{Z: radius}), c.Point)), 1e-11)
		// Anywhere else the ball, inscribed, touches later, by less with its fineness.
		last := math.Inf(1)
		for _, n := range []int{4, 16, 64} {
			ball := testmesh.Moved(testmesh.Sphere(radius, n), kinematics.Rotation(r3.Vec{X: 1, Y: 2, Z: 3}, 0.4).Apply)
			_, got := openingOf(t, plane, testmesh.Shifted(ball, centre))
			late := want - got
			require.GreaterOrEqual(t, late, -1e-13)
			require.LessOrEqual(t, late, 1.3*radius/rho/float64(n*n))
			require.Less(t, late, last)
			last = late
		}
	}
}

// A sphere inside a cone, a pit with its apex up at (0, y₀, z₀) and half the
// angle α, is as far from its side as (z₀−z)·sin α − |y−y₀|·cos α from its centre
// (0, y, z), and touches where that is R.
func TestClosingOfASphereInACone(t *testing.T) {
	const rho, radius, alpha = 60, 1.5, 0.7
	sin, cos := math.Sincos(alpha)
	for _, off := range []float64{-1.5, -0.2, 0, 0.3, 1} { // of the apex from over the ball's way
		psi := 0.25
		apex := r3.Add(seen(0, rho, psi), r3.Vec{Y: off, Z: 8})
		// With y = −ρ·cos φ, z = −ρ·sin φ and the front and back side, s = ∓1, that is
		// ρ·sin(φ + s·(π/2−α)) = R − z₀·sin α − s·y₀·cos α.
		want := math.Inf(-1)
		for _, s := range [2]float64{-1, 1} {
			phi := math.Asin((radius-apex.Z*sin-s*apex.Y*cos)/rho) - s*(math.Pi/2-alpha)
			for _, phi := range [2]float64{phi, math.Pi - 2*s*(math.Pi/2-alpha) - phi} {
				c := seen(0, rho, phi)
				if gap := (apex.Z-c.Z)*sin - math.Abs(c.Y-apex.Y)*cos; math.Abs(gap-radius) < 1e-9 && apex.Z-c.Z < 10 { // the pit ends at 12
					want = max(want, phi-psi)
				}
			}
		}
		require.Greater(t, want, -0.13)
		last := math.Inf(1)
		for _, n := range []int{16, 64, 256} {
			pit := testmesh.Lathe(n, [2]float64{0, 0}, [2]float64{12 * math.Tan(alpha), 12})
			pit = testmesh.Shifted(testmesh.Moved(pit, func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: p.Y, Z: -p.Z} }), apex)
			ball := testmesh.Shifted(testmesh.Sphere(radius, n/4), seen(0, rho, psi))
			_, got := openingOf(t, pit, ball)
			off := math.Abs(got - want)
			require.Less(t, off, 2/float64(n*n), "apex off by %g", apex.Y)
			require.LessOrEqual(t, off, last*(1+1e-6)) // where a finer ball keeps the touching corner, the same
			last = off
		}
	}
}

// A cylinder of radius R, its axis parallel to the hinge's at (ρ, ψ), under a
// ridge z = h + m·y in x = 0: it touches where ρ·√(1+m²)·sin(φ − atan m) =
// R·√(1+m²) − h. A generator of the mesh lies where it touches.
func TestClosingOfACylinderOnAnEdge(t *testing.T) {
	const rho, radius = 50, 2
	for _, m := range []float64{-0.4, 0, 0.2, 0.5} {
		psi, theta := 0.3, 0.12
		l := math.Hypot(1, m)
		centre := seen(0, rho, psi+theta)
		h := centre.Z - m*centre.Y + radius*l
		want := math.Atan(m) + math.Asin((radius*l-h)/(rho*l)) - psi
		require.InDelta(t, theta, want, 1e-12)
		ridge := testmesh.Sheet(2, 1, func(u, v float64) r3.Vec {
			x, y := 6*(u-0.5), centre.Y+10.3*(v-0.5)
			return r3.Vec{X: x, Y: y, Z: h + m*y + 2*math.Abs(x)}
		})
		rod := testmesh.Moved(testmesh.Cylinder(radius, 7, 12), func(p r3.Vec) r3.Vec { return r3.Vec{X: p.Z + 0.7, Y: p.X, Z: p.Y} })
		rod = testmesh.Shifted(turned(rod, math.Atan2(1, -m)-want), seen(0, rho, psi))
		c, got := openingOf(t, ridge, rod)
		require.InDelta(t, want, got, 1e-13)
		touch := r3.Add(centre, r3.Scale(radius/l, r3.Vec{Y: -m, Z: 1}))
		require.InDelta(t, 0, r3.Norm(r3.Sub(touch, c.Point)), 1e-10)
	}
}

// Two edges that cross at a chosen point at a chosen opening, their triangles on
// both sides of the plane through them, which the lower one goes through
// steeply: nothing touches before.
func TestClosingOfAnEdgeOnAnEdge(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	done := 0
	for done < 1000 {
		theta := 0.3*rng.Float64() - 0.1
		p := seen(10*rng.NormFloat64(), 15+50*rng.Float64(), 0.4*rng.NormFloat64())
		e, f := testmesh.Unit(rng), testmesh.Unit(rng)
		n := r3.Cross(e, f)
		up := r3.Unit(r3.Vec{Y: p.Z, Z: -p.Y}) // the way of closing
		if r3.Norm(n) < 0.2 {
			continue
		}
		n = r3.Unit(n)
		if r3.Dot(n, up) < 0 {
			n = r3.Scale(-1, n)
		}
		if r3.Dot(n, up) < 0.6 {
			continue
		}
		edge := func(e, third r3.Vec) *mesh.Mesh {
			s := 0.1 + rng.Float64()
			m, err := mesh.New([]r3.Vec{r3.Add(p, r3.Scale(-s, e)), r3.Add(p, r3.Scale(0.1+rng.Float64(), e)),
				r3.Add(p, third)}, [][3]mesh.VertexID{{0, 1, 2}})
			require.NoError(t, err)
			return m
		}
		lower := turned(edge(e, r3.Scale(-1, n)), -theta)
		c, got := openingOf(t, edge(f, n), lower)
		require.InDelta(t, theta, got, 1e-12)
		require.InDelta(t, 0, r3.Norm(r3.Sub(p, c.Point)), 1e-10)
		done++
	}
}

// At the ends of the search: a tip that meets a plane at the opening θ.
func TestClosingAtItsLimits(t *testing.T) {
	tipAt := func(theta s1.Angle) (Closing, bool) {
		plane := testmesh.Shifted(testmesh.Plane(30, 1), r3.Vec{X: 1, Y: -50})
		tip := testmesh.Moved(spike(r3.Vec{Y: -50}), kinematics.RotationX(-theta).Apply)
		var s CloserScratch
		return met(closer(t, plane, tip).Close(kinematics.Pose{}, &s))
	}
	const little = 1e-9 * s1.Radian
	for _, theta := range []s1.Angle{OpeningLeast + little, -1 * s1.Degree, 0, 10 * s1.Degree, OpeningMost - little} {
		c, ok := tipAt(theta)
		require.True(t, ok)
		require.False(t, c.AtLimit)
		require.InDelta(t, theta.Radians(), c.Opening.Radians(), 1e-13)
	}
	for _, theta := range []s1.Angle{OpeningLeast - little, -30 * s1.Degree} {
		c, ok := tipAt(theta)
		require.False(t, ok, "touches at %v", c.Opening)
		require.Zero(t, c)
	}
	for _, theta := range []s1.Angle{OpeningMost + little, 21 * s1.Degree} {
		c, ok := tipAt(theta)
		require.True(t, ok)
		require.True(t, c.AtLimit)
		require.Equal(t, OpeningMost, c.Opening)
		checkTouch(t, scene{up: testmesh.Shifted(testmesh.Plane(30, 1), r3.Vec{X: 1, Y: -50}),
			lo: testmesh.Moved(spike(r3.Vec{Y: -50}), kinematics.RotationX(-theta).Apply)}, c, "at the limit")
	}
}
