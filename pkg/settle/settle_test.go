package settle

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testcast"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/spatial/r3"
)

// over turns a surface that opens upward over, so that it opens downward.
func over(m *mesh.Mesh) *mesh.Mesh {
	return testmesh.Moved(m, kinematics.RotationX(s1.Angle(math.Pi)).Apply)
}

var upward = r3.Vec{Z: 1}

// settled presses a lower body against an upper one and checks what must hold of
// every rest: nothing crosses, forces push, and they balance the press in all six
// freedoms.
func settled(t *testing.T, up, lo *mesh.Mesh, p Press) *findings.Settling {
	t.Helper()
	upper, lower := testcast.Plain(t, dentition.Upper, up), testcast.Plain(t, dentition.Lower, lo)
	s, err := Settle(context.Background(), upper, lower, Options{PressPoint: &p.Point, PressDirection: &p.Direction, DoubtUm: 1e6, Workers: 1})
	require.NoError(t, err)
	require.Equal(t, "seat", s.How, s.Text)
	balanced(t, upper, lower, s, p)
	return s
}

func balanced(t *testing.T, upper, lower *casts.Cast, s *findings.Settling, p Press) {
	t.Helper()
	require.True(t, s.Seat.Locked)
	require.LessOrEqual(t, s.Seat.Residual, 1e-6)
	require.Zero(t, s.LargestOverlapUm)
	var scratch contact.GapScratch
	gap, ok := contact.LeastGap(upper.Index, lower.Index, s.Pose.Pose, 1, &scratch)
	require.True(t, ok)
	require.Positive(t, gap.Dist)
	require.LessOrEqual(t, gap.Dist, 2e-4)
	force, share := r3.Scale(-1, p.Direction), 0.0
	moment := r3.Cross(s.Pose.Pose.Apply(p.Point), force)
	for _, c := range s.Seat.Contacts {
		force = r3.Add(force, c.Force.R3())
		moment = r3.Add(moment, r3.Cross(c.PointMM.R3(), c.Force.R3()))
		share += c.Share
	}
	require.InDelta(t, 0, r3.Norm(force), 1e-6)
	require.InDelta(t, 1, share, 1e-6)
	// Contacts gather forces within a millimetre and act at one point each, so that
	// the moment of those gathered is a little off.
	require.InDelta(t, 0, r3.Norm(moment), 2e-2)
}

// A sphere of radius R in a groove with sides at the angle α to the vertical
// touches both sides, its centre R/sin α from the edge, and each side carries
// 1/(2 sin α).
func TestSettleSphereInGroove(t *testing.T) {
	const radius = 3.0
	for _, half := range []float64{0.5, math.Pi / 4, 1.2} {
		ball := testmesh.Sphere(radius, 60)
		groove := over(testmesh.Groove(half, 16, 12, 4))
		start := r3.Vec{X: 0.4, Y: 0.7, Z: -radius/math.Sin(half) - 0.3}
		s := settled(t, groove, testmesh.Shifted(ball, start), Press{Point: start, Direction: upward})
		centre := s.Pose.Pose.Apply(start)
		// The sphere is inscribed: its flats lie closer by up to e²/8R.
		require.InDelta(t, 0, centre.X, 2e-3)
		require.InDelta(t, -radius/math.Sin(half), centre.Z, 2e-3/math.Sin(half))
		var left, right float64
		for _, c := range s.Seat.Contacts {
			if c.PointMM[0] < 0 {
				left += r3.Norm(c.Force.R3())
			} else {
				right += r3.Norm(c.Force.R3())
			}
			require.InDelta(t, math.Sin(half), c.Force.R3().Z/r3.Norm(c.Force.R3()), 1e-6)
		}
		require.InDelta(t, 1/(2*math.Sin(half)), left, 1e-5)
		require.InDelta(t, 1/(2*math.Sin(half)), right, 1e-5)
		// Along the groove nothing holds it.
		for _, p := range s.Seat.Play {
			if p.Direction == "back" || p.Direction == "forward" {
				require.InDelta(t, 1000*findings.PlayMost, p.Um, 1)
			}
		}
	}
}

// A roof in a groove of its own slope goes up by s·cot α when it goes aside by s,
// and is free along the groove.
func TestSettlePlay(t *testing.T) {
	for _, half := range []float64{0.6, math.Pi / 4, 1, 1.2} {
		groove := over(testmesh.Groove(half, 12, 20, 6))
		roof := testmesh.Moved(over(testmesh.Groove(half, 10, 10, 6)), func(p r3.Vec) r3.Vec { p.Z -= 0.05; return p })
		s := settled(t, groove, testmesh.Turned(roof), Press{Point: r3.Vec{Z: -4}, Direction: upward})
		require.InDelta(t, 0, s.Pose.Pose.Apply(r3.Vec{Z: -0.05}).Z, 1e-3)
		require.Len(t, s.Seat.Play, 6)
		for _, p := range s.Seat.Play {
			switch p.Direction {
			case "left", "right":
				// Seen are up to 5 % more, at 1 rad.
				require.InEpsilon(t, 10*math.Tan(half), p.Um, 0.06)
			case "back", "forward":
				require.InDelta(t, 1000*findings.PlayMost, p.Um, 1)
			default:
				require.Less(t, p.Um, 40.0)
			}
		}
	}
}

// pit is three planes through the origin, each at the angle slope to the
// horizontal, that open upward, with their downhill directions at the azimuths.
func pit(slope float64, azimuth [3]float64, size float64) *mesh.Mesh {
	var parts []*mesh.Mesh
	for _, a := range azimuth {
		out := r3.Vec{X: math.Cos(a) * math.Cos(slope), Y: math.Sin(a) * math.Cos(slope), Z: math.Sin(slope)}
		across := r3.Vec{X: -math.Sin(a), Y: math.Cos(a)}
		parts = append(parts, testmesh.Sheet(3, 3, func(u, v float64) r3.Vec {
			return r3.Add(r3.Scale(size*u, out), r3.Scale(2*size*u*(v-0.5), across))
		}))
	}
	m, _ := testmesh.Join(parts...)
	m, _ = mesh.Weld(m, 0)
	return m
}

// In a pit of three planes with the normals n the forces solve Σ λn = F.
func TestSettleSphereInPit(t *testing.T) {
	const radius, slope = 2.0, 0.7
	azimuth := [3]float64{0.2, 2.1, 4.3}
	start := r3.Vec{X: 0.3, Y: -0.2, Z: -radius/math.Cos(slope) - 0.2}
	s := settled(t, over(pit(slope, azimuth, 6)), testmesh.Shifted(testmesh.Sphere(radius, 60), start), Press{Point: start, Direction: upward})
	centre := s.Pose.Pose.Apply(start)
	require.InDelta(t, 0, math.Hypot(centre.X, centre.Y), 3e-3)
	require.InDelta(t, -radius/math.Cos(slope), centre.Z, 3e-3)
	n := mat.NewDense(3, 3, nil)
	for i, a := range azimuth {
		// Turned over about x, and seen from the sphere: outward and up.
		n.Set(0, i, math.Sin(slope)*math.Cos(a))
		n.Set(1, i, -math.Sin(slope)*math.Sin(a))
		n.Set(2, i, math.Cos(slope))
	}
	var want mat.VecDense
	require.NoError(t, want.SolveVec(n, mat.NewVecDense(3, []float64{0, 0, 1})))
	for i, a := range azimuth {
		got := 0.0
		for _, c := range s.Seat.Contacts {
			if f := c.Force.R3(); math.Cos(a)*f.X-math.Sin(a)*f.Y > 0.9*math.Hypot(f.X, f.Y) {
				got += r3.Norm(f)
			}
		}
		require.InDelta(t, want.AtVec(i), got, 1e-5)
	}
}

// A sphere in a cone of half angle α: its centre lies R/sin α from the apex and
// the forces add up to 1/sin α.
func TestSettleSphereInCone(t *testing.T) {
	const radius, half = 2.0, 0.8
	cone := over(testmesh.Cone(half, 6, 96))
	start := r3.Vec{X: 0.1, Y: 0.25, Z: -radius/math.Sin(half) - 0.4}
	s := settled(t, cone, testmesh.Shifted(testmesh.Sphere(radius, 60), start), Press{Point: start, Direction: upward})
	centre := s.Pose.Pose.Apply(start)
	require.InDelta(t, 0, math.Hypot(centre.X, centre.Y), 5e-3)
	require.InDelta(t, -radius/math.Sin(half), centre.Z, 5e-3)
	sum := 0.0
	for _, c := range s.Seat.Contacts {
		sum += r3.Norm(c.Force.R3())
	}
	// Forces within a millimetre are gathered as vectors, which takes some off.
	require.InDelta(t, 1/math.Sin(half), sum, 1.5e-2)
}

// A block on three spheres: the forces are the barycentric coordinates of the
// point of the press.
func TestSettleBlockOnThreeSpheres(t *testing.T) {
	at := [3]r3.Vec{{X: -10, Y: 0}, {X: 12, Y: -2}, {X: 1, Y: -15}}
	share := [3]float64{0.5, 0.3, 0.2}
	var press r3.Vec
	var balls []*mesh.Mesh
	for i, p := range at {
		press = r3.Add(press, r3.Scale(share[i], p))
		p.Z = -2 - 0.1*float64(i) // not level at first
		balls = append(balls, testmesh.Shifted(testmesh.Sphere(2, 40), p))
	}
	lower, _ := testmesh.Join(balls...)
	block := over(testmesh.Plane(40, 2))
	s := settled(t, block, lower, Press{Point: press, Direction: upward})
	require.Len(t, s.Seat.Contacts, 3)
	for i, p := range at {
		got := 0.0
		for _, c := range s.Seat.Contacts {
			if math.Hypot(c.PointMM[0]-p.X, c.PointMM[1]-p.Y) < 1 {
				got += c.Share
			}
		}
		// Spheres that lean touch up to R·sin(lean) beside their poles.
		require.InDelta(t, share[i], got, 3e-3)
	}
}

// Fewer than three points do not hold a cast, and the settling says which.
func TestSettleTooFewToHold(t *testing.T) {
	var balls []*mesh.Mesh
	for _, x := range []float64{-15, 15} {
		balls = append(balls, testmesh.Shifted(testmesh.Sphere(2, 20), r3.Vec{X: x, Z: -2.1}))
	}
	lower, _ := testmesh.Join(balls...)
	upper := testcast.Plain(t, dentition.Upper, over(testmesh.Plane(60, 2)))
	s, err := Settle(context.Background(), upper, testcast.Plain(t, dentition.Lower, lower),
		Options{PressPoint: &r3.Vec{Y: -8, Z: -2}, PressDirection: &upward})
	require.NoError(t, err)
	require.False(t, s.Seat.Locked)
	require.Equal(t, "lift", s.How)
	require.Contains(t, s.Seat.Reason.String(), "held by two points")
	require.Contains(t, s.Seat.Reason.String(), "rock about the line")
}

// bumps is a plate with smooth hills, and its counterpart with wider dales.
func bumps(height, width float64, n int) *mesh.Mesh {
	tops := []r3.Vec{{X: -6, Y: -4}, {X: 6, Y: -5}, {X: -5, Y: 6}, {X: 7, Y: 5}, {X: 0, Y: -9}}
	return testmesh.Sheet(n, n, func(u, v float64) r3.Vec {
		p := r3.Vec{X: 24 * (u - 0.5), Y: 24 * (v - 0.5)}
		for i, c := range tops {
			d := r3.Norm2(r3.Sub(r3.Vec{X: p.X, Y: p.Y}, c)) / (width * width)
			p.Z += height * (1 + 0.1*float64(i)) * math.Exp(-d)
		}
		return p
	})
}

// A search without gradients, gonum's Nelder-Mead on the five freedoms left when
// the lower body is always pressed to first touch, finds nothing lower near the
// rest.
func TestSettleAgainstNelderMead(t *testing.T) {
	upper := testcast.Plain(t, dentition.Upper, testmesh.Turned(bumps(2, 2.6, 26)))
	lower := testcast.Plain(t, dentition.Lower, testmesh.Shifted(bumps(2, 2.2, 26), r3.Vec{X: 0.12, Y: -0.08, Z: -0.6}))
	p := Press{Point: r3.Vec{X: 0.5, Y: -1, Z: 0}, Direction: upward}
	s, err := Settle(context.Background(), upper, lower, Options{PressPoint: &p.Point, PressDirection: &p.Direction, DoubtUm: 1e6})
	require.NoError(t, err)
	require.True(t, s.Seat.Locked)
	a := pressing{Press: p, frame: kinematics.TwistFrame{Centre: r3.Vec{}, Length: 8}}
	var g contact.GapScratch
	height := func(x []float64) float64 {
		pose := s.Pose.Pose.Then(a.frame.Pose(kinematics.Twist{x[0], x[1], -0.3, x[2], x[3], x[4]}))
		for range 400 {
			d, _ := contact.LeastGap(upper.Index, lower.Index, pose, 10, &g)
			if d.Dist <= gapRest {
				break
			}
			pose = pose.Then(kinematics.Translation(r3.Vec{Z: d.Dist}))
		}
		return a.value(pose)
	}
	rng := rand.New(rand.NewPCG(5, 1))
	for range 3 {
		x := make([]float64, 5)
		for i := range x {
			x[i] = 0.05 * (2*rng.Float64() - 1)
		}
		res, err := optimize.Minimize(optimize.Problem{Func: height}, x, &optimize.Settings{FuncEvaluations: 1200},
			&optimize.NelderMead{SimplexSize: 0.02})
		require.NoError(t, err)
		require.GreaterOrEqual(t, res.F, a.value(s.Pose.Pose)-3e-4)
	}
	require.InDelta(t, a.value(s.Pose.Pose), height(make([]float64, 5)), 5e-4)
}

// Casts come to rest at the same height where a sixth of the vertices is felt and where all
// are: the descent on triangles decides. (How these hills turn in wider dales changes their
// height by less than that descent can tell, so places are not compared.)
func TestSettleOnFewerVertices(t *testing.T) {
	ctx := context.Background()
	upper := testcast.Plain(t, dentition.Upper, testmesh.Turned(bumps(2, 2.6, 50)))
	lower := testcast.Plain(t, dentition.Lower, testmesh.Shifted(bumps(2, 2.2, 50), r3.Vec{X: 0.12, Y: -0.08, Z: -0.6}))
	var heights [2]float64
	for i, most := range [2]int{1 << 30, 500} {
		s, _, err := NewSeat(ctx, upper, lower, contact.Options{Workers: 1})
		require.NoError(t, err)
		s.Feel.thin(most)
		if near := max(len(s.Feel.ofLower.list), len(s.Feel.ofUpper.list)); i == 1 {
			require.LessOrEqual(t, near, most)
			require.Equal(t, 6, s.Feel.every)
		}
		a := pressing{Press{r3.Vec{X: 0.5, Y: -1}, upward}, s.Frame, s.Metric}
		pose, err := s.approach(kinematics.Pose{}, a.Direction, 0.02)
		require.NoError(t, err)
		e, err := s.slide(ctx, a, pose)
		require.NoError(t, err)
		require.LessOrEqual(t, e.residual, residualMost)
		heights[i] = a.value(e.pose)
	}
	require.InDelta(t, heights[0], heights[1], 1e-6)
}

// Mirrored casts come to a mirrored rest.
func TestSettleMirrored(t *testing.T) {
	mirror := func(m *mesh.Mesh) *mesh.Mesh {
		return testmesh.Turned(testmesh.Moved(m, func(p r3.Vec) r3.Vec { p.X = -p.X; return p }))
	}
	up, lo := testmesh.Turned(bumps(2, 2.6, 26)), testmesh.Shifted(bumps(2, 2.2, 26), r3.Vec{X: 0.12, Y: -0.08, Z: 0.2})
	var poses [2]kinematics.Pose
	var lifts [2]*findings.Move
	for i := range poses {
		p := Press{Point: r3.Vec{X: 0.5, Y: -1}, Direction: upward}
		if i == 1 {
			up, lo, p.Point.X = mirror(up), mirror(lo), -p.Point.X
		}
		s, err := Settle(context.Background(), testcast.Plain(t, dentition.Upper, up),
			testcast.Plain(t, dentition.Lower, lo), Options{PressPoint: &p.Point, PressDirection: &p.Direction, DoubtUm: 1e6})
		require.NoError(t, err)
		require.True(t, s.Seat.Locked)
		require.Positive(t, s.Lift.MovedUm)
		poses[i], lifts[i] = s.Pose.Pose, s.Lift
	}
	require.InDelta(t, lifts[0].MovedUm, lifts[1].MovedUm, 1.5)
	for _, q := range []r3.Vec{{X: 8, Y: 8}, {X: -8, Y: 8}, {Y: -8}} {
		a, b := poses[0].Apply(q), poses[1].Apply(r3.Vec{X: -q.X, Y: q.Y, Z: q.Z})
		b.X = -b.X
		require.InDelta(t, 0, r3.Norm(r3.Sub(a, b)), 1e-3)
	}
}

// The lift of a sphere that has sunk into a plane is straight out of it.
func TestSettleLift(t *testing.T) {
	lower := testmesh.Shifted(testmesh.Sphere(2, 40), r3.Vec{Z: -1.9})
	s, err := Settle(context.Background(), testcast.Plain(t, dentition.Upper, over(testmesh.Plane(20, 40))),
		testcast.Plain(t, dentition.Lower, lower),
		Options{How: casefile.SettleLift})
	require.NoError(t, err)
	require.Equal(t, "lift", s.How)
	require.InDelta(t, 100, s.OverlapBeforeUm, 1e-6)
	require.InDelta(t, 100.1, s.MovedUm, 1)
	require.Nil(t, s.Seat)
	require.InDelta(t, -0.1, s.Lift.ShiftMM[2], 2e-3)
}

// Without overlap there is nothing to lift, and with none nothing is done.
func TestSettleNothingToDo(t *testing.T) {
	upper, lower := testcast.Plain(t, dentition.Upper, over(testmesh.Plane(20, 4))), testcast.Plain(t, dentition.Lower,
		testmesh.Shifted(testmesh.Sphere(2, 20), r3.Vec{Z: -2.3}))
	for _, how := range []casefile.SettleTo{casefile.SettleLift, casefile.SettleNone} {
		s, err := Settle(context.Background(), upper, lower, Options{How: how})
		require.NoError(t, err)
		require.Equal(t, string(how), s.How)
		require.Equal(t, kinematics.Pose{}, s.Pose.Pose)
		require.Zero(t, s.MovedUm)
		require.Zero(t, s.OverlapBeforeUm)
	}
}

// The result is the same bytes on any number of cores, and a cancelled context
// ends the search.
func TestSettleOnAnyCores(t *testing.T) {
	up, lo := testmesh.Turned(bumps(2, 2.6, 26)), testmesh.Shifted(bumps(2, 2.2, 26), r3.Vec{X: 0.12, Y: -0.08, Z: 0.2})
	upper, lower := testcast.Plain(t, dentition.Upper, up), testcast.Plain(t, dentition.Lower, lo)
	var first *findings.Settling
	for _, workers := range []int{1, 2, 5} {
		s, err := Settle(context.Background(), upper, lower, Options{Workers: workers})
		require.NoError(t, err)
		if first == nil {
			first = s
		}
		require.Equal(t, first, s)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Settle(ctx, upper, lower, Options{})
	require.ErrorIs(t, err, context.Canceled)
}
