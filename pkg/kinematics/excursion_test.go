package kinematics_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

var movements = []kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive}

// randomSide is any settings within and a little beyond what jaws have.
func randomSide(t testing.TB, rng *rand.Rand) kinematics.Side {
	h := deg(70*rng.Float64() - 5)
	var p kinematics.CondylarPath
	var err error
	switch rng.IntN(3) {
	case 0:
		p, err = kinematics.Straight(h)
	case 1:
		p, err = kinematics.Arc(10+20*rng.Float64(), h)
	default:
		p, err = kinematics.Recorded(somePoints)
		p = kinematics.Tilt(p, deg(20*rng.Float64()-10))
	}
	require.NoError(t, err)
	return kinematics.Side{
		Path:           p,
		SideShiftAngle: deg(30 * rng.Float64()),
		ImmediateShift: 2 * rng.Float64() * float64(rng.IntN(2)),
		ShiftTravel:    rng.Float64() * float64(rng.IntN(2)),
		WorkingBack:    deg((60*rng.Float64() - 30) * float64(rng.IntN(2))),
		WorkingUp:      deg((60*rng.Float64() - 30) * float64(rng.IntN(2))),
	}
}

func randomSettings(t testing.TB, rng *rand.Rand) kinematics.Settings {
	return kinematics.Settings{Intercondylar: 90 + 40*rng.Float64(), Right: randomSide(t, rng), Left: randomSide(t, rng)}
}

// sides gives the settings and centres of the nonworking and working side, and
// the sign σ.
func sides(s kinematics.Settings, st kinematics.Station) (nonworking, working kinematics.Side, n, w r3.Vec, sigma float64) {
	if st.Movement == kinematics.Right {
		return s.Left, s.Right, st.Left, st.Right, 1
	}
	return s.Right, s.Left, st.Right, st.Left, -1
}

func TestStationKeepsTheModel(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 32))
	for range 400 {
		s := randomSettings(t, rng)
		d := s.Intercondylar
		for _, m := range movements {
			travel := 8 * rng.Float64()
			st := station(t, s, m, travel)
			theta := s1.Angle(0.4*rng.Float64() - 0.1)
			assert.InEpsilon(t, d, r3.Norm(r3.Sub(st.Left, st.Right)), 1e-13, "distance of the condyles")
			for _, pose := range []kinematics.Pose{st.Base(), st.Pose(theta)} {
				near(t, st.Right, pose.Apply(r3.Vec{X: -d / 2}), 1e-13)
				near(t, st.Left, pose.Apply(r3.Vec{X: d / 2}), 1e-13)
			}
			samePose(t, kinematics.RotationX(theta).Then(st.Base()), st.Pose(theta), 0)
			assert.Equal(t, st.Base(), st.Pose(0))

			if m == kinematics.Protrusive {
				fr, gr := s.Right.Path.At(travel)
				fl, gl := s.Left.Path.At(travel)
				inwards := (d - math.Sqrt(d*d-(fl-fr)*(fl-fr)-(gl-gr)*(gl-gr))) / 2
				near(t, r3.Vec{X: inwards - d/2, Y: -fr, Z: -gr}, st.Right, 1e-13)
				near(t, r3.Vec{X: d/2 - inwards, Y: -fl, Z: -gl}, st.Left, 1e-13)
				assert.Zero(t, st.SideShift)
				assert.Zero(t, st.WorkingShift)
				continue
			}
			nSide, wSide, n, w, sigma := sides(s, st)
			f, g := nSide.Path.At(travel)
			shift := f * math.Tan(nSide.SideShiftAngle.Radians())
			if nSide.ShiftTravel == 0 || f > nSide.ShiftTravel {
				shift += nSide.ImmediateShift
			} else {
				shift += nSide.ImmediateShift * f / nSide.ShiftTravel
			}
			assert.InDelta(t, shift, st.SideShift, 1e-14)
			near(t, r3.Vec{X: sigma * (d/2 - shift), Y: -f, Z: -g}, n, 1e-13)
			// The working condyle stays on its line, by the stated way.
			line := r3.Unit(r3.Vec{X: -sigma, Y: math.Tan(wSide.WorkingBack.Radians()), Z: math.Tan(wSide.WorkingUp.Radians())})
			near(t, r3.Add(r3.Vec{X: -sigma * d / 2}, r3.Scale(st.WorkingShift, line)), w, 1e-13)
			if line.X == -sigma {
				assert.InDelta(t, shift-d+math.Sqrt(d*d-f*f-g*g), st.WorkingShift, 1e-13)
				assert.Equal(t, [2]float64{}, [2]float64{w.Y, w.Z})
			}
		}
	}
}

func TestIdentityAtZeroTravel(t *testing.T) {
	rng := rand.New(rand.NewPCG(33, 34))
	for range 50 {
		s := randomSettings(t, rng)
		for _, m := range movements {
			st := station(t, s, m, 0)
			samePose(t, kinematics.Pose{}, st.Base(), 0)
			assert.Zero(t, st.WorkingShift)
		}
	}
}

// Q is the smallest of the rotations that bring x to the line of the condyles:
// any other is Q after a rotation about x.
func TestBaseIsTheSmallestRotation(t *testing.T) {
	rng := rand.New(rand.NewPCG(35, 36))
	for range 200 {
		s := randomSettings(t, rng)
		st := station(t, s, movements[rng.IntN(3)], 1+7*rng.Float64())
		a := r3.Scale(1/s.Intercondylar, r3.Sub(st.Left, st.Right))
		q := st.Base()
		near(t, a, q.Rotate(r3.Vec{X: 1}), 1e-14)
		angle := q.Angle().Radians()
		assert.InDelta(t, math.Atan2(math.Hypot(a.Y, a.Z), a.X), angle, 1e-14)
		for range 5 {
			other := kinematics.RotationX(s1.Angle(math.Pi * (2*rng.Float64() - 1))).Then(q)
			near(t, a, other.Rotate(r3.Vec{X: 1}), 1e-14)
			assert.GreaterOrEqual(t, other.Angle().Radians(), angle-1e-14)
		}
		// Rodrigues' formula by way of acos gives the same.
		axis := r3.Cross(r3.Vec{X: 1}, a)
		if r3.Norm(axis) > 1e-3 {
			want := kinematics.Rotation(axis, s1.Angle(math.Acos(a.X)))
			near(t, want.Rotate(r3.Vec{X: 1, Y: 2, Z: 3}), q.Rotate(r3.Vec{X: 1, Y: 2, Z: 3}), 1e-11)
		}
	}
}

func TestMirroredSettingsGiveMirroredPoses(t *testing.T) {
	rng := rand.New(rand.NewPCG(37, 38))
	other := map[kinematics.Movement]kinematics.Movement{
		kinematics.Right: kinematics.Left, kinematics.Left: kinematics.Right, kinematics.Protrusive: kinematics.Protrusive,
	}
	for range 200 {
		s := randomSettings(t, rng)
		mirror := kinematics.Settings{Intercondylar: s.Intercondylar, Right: s.Left, Left: s.Right}
		travel, theta := 8*rng.Float64(), s1.Angle(0.3*rng.Float64())
		q := randomVec(rng, 90)
		for _, m := range movements {
			a, b := station(t, s, m, travel), station(t, mirror, other[m], travel)
			assert.Equal(t, mirrored(a.Right), b.Left)
			assert.Equal(t, a.WorkingShift, b.WorkingShift)
			near(t, mirrored(a.Pose(theta).Apply(q)), b.Pose(theta).Apply(mirrored(q)), 1e-12)

			table := kinematics.IncisalTable{IncisalPoint: r3.Vec{X: 0.7, Y: -83, Z: -33}, Inclination: deg(15), Wings: deg(20)}
			mirrorTable := table
			mirrorTable.IncisalPoint = mirrored(table.IncisalPoint)
			oa, err := table.Opening(a)
			require.NoError(t, err)
			ob, err := mirrorTable.Opening(b)
			require.NoError(t, err)
			assert.InDelta(t, oa.Radians(), ob.Radians(), 1e-14)
		}
	}
}

// A jaw k times as large moves alike: lengths scale, angles stay.
func TestScaledJawMovesAlike(t *testing.T) {
	const k = 1.3
	s := even(t, 110, 33, 10, 0.5)
	s.Left.ShiftTravel, s.Right.ShiftTravel = 0.4, 0.4
	large := even(t, k*110, 33, 10, k*0.5)
	large.Left.ShiftTravel, large.Right.ShiftTravel = k*0.4, k*0.4
	q := r3.Vec{X: 3, Y: -80, Z: -30}
	for _, m := range movements {
		for _, travel := range []float64{0.2, 3, 8} {
			a, b := station(t, s, m, travel), station(t, large, m, k*travel)
			assert.InDelta(t, k*a.WorkingShift, b.WorkingShift, 1e-13)
			assert.InDelta(t, a.Base().Angle().Radians(), b.Base().Angle().Radians(), 1e-14)
			near(t, r3.Scale(k, a.Pose(0.1).Apply(q)), b.Pose(0.1).Apply(r3.Scale(k, q)), 1e-12)
		}
	}
}

// An inclination to the reference plane is that to the occlusal plane plus the
// angle between the two. The same jaw mounted to either plane moves the same.
func TestReferencePlaneMakesNoDifference(t *testing.T) {
	occlusal := average()
	occlusal.PlaneTilt = 0
	tilted := average()
	tilted.PlaneTilt = deg(10)
	p0, err := occlusal.Mount()
	require.NoError(t, err)
	p1, err := tilted.Mount()
	require.NoError(t, err)
	// Without side shift, as that is measured in the horizontal plane.
	s0, s1 := even(t, 110, 35, 0, 0), even(t, 110, 45, 0, 0)
	for _, m := range movements {
		for _, travel := range []float64{0.5, 4, 8} {
			a := p0.Then(station(t, s0, m, travel).Pose(deg(2))).Then(p0.Inverse())
			b := p1.Then(station(t, s1, m, travel).Pose(deg(2))).Then(p1.Inverse())
			samePose(t, a, b, 1e-12)
		}
	}
}

func TestEqualGuidanceIsPureTranslation(t *testing.T) {
	st := station(t, even(t, 110, 33, 10, 1), kinematics.Protrusive, 5)
	sin, cos := math.Sincos(33 * math.Pi / 180)
	samePose(t, kinematics.Translation(r3.Vec{Y: -5 * cos, Z: -5 * sin}), st.Base(), 1e-14)
}

func TestImmediateShiftAloneMovesSideways(t *testing.T) {
	s := even(t, 110, 0, 0, 0.8)
	st := station(t, s, kinematics.Left, 1e-9)
	samePose(t, kinematics.Translation(r3.Vec{X: 0.8}), st.Base(), 2e-9)
	assert.InDelta(t, 0.8, st.SideShift, 1e-12)
	assert.InDelta(t, 0.8, st.WorkingShift, 1e-12)
	// Spread over the first half millimetre it comes in proportion.
	s.Right.ShiftTravel = 0.5
	for travel, want := range map[float64]float64{0: 0, 0.125: 0.2, 0.5: 0.8, 3: 0.8} {
		assert.InDelta(t, want, station(t, s, kinematics.Left, travel).SideShift, 1e-15)
	}
	assert.InDelta(t, 0.8, station(t, s, kinematics.Right, 0.125).SideShift, 1e-15, "the other side has its own")
}

// A larger side shift makes the path of a working molar flatter in the frontal
// plane (Lundeen et al. 1978, J Prosthet Dent 40:442-452), and needs a
// lower cusp.
func TestMoreSideShiftFlattensTheFrontalPath(t *testing.T) {
	q := r3.Vec{X: 28, Y: -45, Z: -33}
	last := math.Inf(1)
	for _, shift := range []float64{0, 0.75, 1.5, 2.5, 3.5} {
		pose := canineGuided(t, even(t, 110, 35, 7.5, shift), 3, 30)
		move := r3.Sub(pose.Apply(q), q)
		flat := math.Atan2(-move.Z, move.X)
		assert.Less(t, flat, last)
		last = flat
	}
}

// A steeper condylar path lowers the nonworking molar more, and so allows a
// taller cusp (vertical determinants of occlusal morphology).
func TestSteeperCondylarPathClearsTheNonworkingMolar(t *testing.T) {
	q := r3.Vec{X: -28, Y: -45, Z: -33}
	last := math.Inf(-1)
	for _, h := range []float64{20, 30, 40, 50} {
		drop := q.Z - canineGuided(t, even(t, 110, h, 7.5, 0), forward(3, h), 40).Apply(q).Z
		assert.Greater(t, drop, last)
		last = drop
	}
}

func TestWorkingCondyleGoesTheWayItIsTold(t *testing.T) {
	s := even(t, 110, 35, 15, 0)
	s.Left.WorkingBack, s.Left.WorkingUp = deg(20), deg(-10)
	s.Right.WorkingBack = deg(-15)
	left := station(t, s, kinematics.Left, 5).Left
	assert.Greater(t, left.X, 55.5)
	assert.InDelta(t, math.Tan(20*math.Pi/180), left.Y/(left.X-55), 1e-9, "back")
	assert.InDelta(t, -math.Tan(10*math.Pi/180), left.Z/(left.X-55), 1e-9, "down")
	right := station(t, s, kinematics.Right, 5).Right
	assert.Less(t, right.X, -55.5)
	assert.InDelta(t, -math.Tan(15*math.Pi/180), right.Y/(-55-right.X), 1e-9, "forward")
	assert.Equal(t, 0.0, right.Z)
}

type wild struct{ forward, down, length float64 }

func (w wild) At(float64) (float64, float64) { return w.forward, w.down }
func (w wild) Length() float64               { return w.length }

func TestStationErrors(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := even(t, 110, 33, 10, 0)
	rec, err := kinematics.Recorded(somePoints)
	require.NoError(t, err)
	for _, c := range []struct {
		name     string
		change   func(s *kinematics.Settings)
		movement kinematics.Movement
		travel   float64
		is       error
		says     string
	}{
		{"no distance", func(s *kinematics.Settings) { s.Intercondylar = 0 }, kinematics.Right, 1, kinematics.ErrSetting,
			"intercondylar distance is 0 mm"},
		{"distance not a number", func(s *kinematics.Settings) { s.Intercondylar = nan }, kinematics.Right, 1, kinematics.ErrSetting, "above 0"},
		{"no path", func(s *kinematics.Settings) { s.Left.Path = nil }, kinematics.Right, 1, kinematics.ErrSetting,
			"left side: setting out of range: no condylar path"},
		{"side shift angle", func(s *kinematics.Settings) { s.Right.SideShiftAngle = deg(95) }, kinematics.Right, 1,
			kinematics.ErrSetting, "right side: setting out of range: side shift angle is 95°"},
		{"immediate shift", func(s *kinematics.Settings) { s.Right.ImmediateShift = -0.1 }, kinematics.Right, 1,
			kinematics.ErrSetting, "immediate side shift is -0.1 mm"},
		{"shift travel", func(s *kinematics.Settings) { s.Right.ShiftTravel = inf }, kinematics.Right, 1,
			kinematics.ErrSetting, "travel of the immediate side shift"},
		{"working direction", func(s *kinematics.Settings) { s.Right.WorkingUp = deg(90) }, kinematics.Right, 1,
			kinematics.ErrSetting, "turned by 90°"},
		{"no movement", nil, 0, 1, kinematics.ErrTravel, "Movement(0)"},
		{"negative travel", nil, kinematics.Left, -0.1, kinematics.ErrTravel, "travel is -0.1 mm"},
		{"travel not a number", nil, kinematics.Left, nan, kinematics.ErrTravel, "must be 0 or more"},
		{"infinite travel", nil, kinematics.Protrusive, inf, kinematics.ErrTravel, "must go forward"},
		{"end of the path", func(s *kinematics.Settings) { s.Left.Path = rec }, kinematics.Right, 12, kinematics.ErrTravel,
			"the condylar path is 10.39 mm long"},
		{"too far", nil, kinematics.Left, 120, kinematics.ErrTravel, "cannot keep their distance of 110 mm"},
		{"shift across the jaw", func(s *kinematics.Settings) { s.Right.ImmediateShift = 300 }, kinematics.Left, 1,
			kinematics.ErrTravel, "cannot keep their distance"},
		{"sides too different", func(s *kinematics.Settings) { s.Right.Path = kinematics.Tilt(s.Right.Path, deg(50)) },
			kinematics.Protrusive, 150, kinematics.ErrTravel, "cannot keep their distance"},
		{"sides exchanged", func(s *kinematics.Settings) {
			s.Right.Path, s.Right.ImmediateShift, s.Left.WorkingUp = straightPath(t, 89.5), 109.9, deg(80)
		}, kinematics.Left, 115, kinematics.ErrTravel, "change sides"},
		{"end of the left path", func(s *kinematics.Settings) { s.Left.Path = rec }, kinematics.Protrusive, 12,
			kinematics.ErrTravel, "left condyle: "},
		{"backward path", func(s *kinematics.Settings) { s.Right.Path = kinematics.Tilt(s.Right.Path, deg(70)) },
			kinematics.Left, 1, kinematics.ErrTravel, "must go forward"},
		{"path not a number", func(s *kinematics.Settings) { s.Right.Path = wild{1, nan, 9} }, kinematics.Left, 1,
			kinematics.ErrTravel, "must go forward"},
		{"path of no length", func(s *kinematics.Settings) { s.Right.Path = wild{1, 1, nan} }, kinematics.Left, 1,
			kinematics.ErrTravel, "NaN mm long"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := good
			if c.change != nil {
				c.change(&s)
			}
			st, err := s.Station(c.movement, c.travel)
			require.ErrorIs(t, err, c.is)
			assert.ErrorContains(t, err, c.says)
			assert.Equal(t, kinematics.Station{}, st)
		})
	}
}

func TestMovementWords(t *testing.T) {
	for _, m := range movements {
		got, err := kinematics.ParseMovement(m.String())
		require.NoError(t, err)
		assert.Equal(t, m, got)
	}
	for _, s := range []string{"", "Right", "protrusion", "Movement(1)"} {
		_, err := kinematics.ParseMovement(s)
		assert.ErrorContains(t, err, fmt.Sprintf("%q", s))
	}
}

// FuzzStation takes any numbers: it fails with one of the stated errors, or
// keeps the distance of the condyles and gives a rigid pose.
func FuzzStation(f *testing.F) {
	f.Add(110.0, 33.0, 10.0, 0.5, 0.5, 0.0, 0.0, 4.0, 1)
	f.Add(110.0, -80.0, 80.0, 3.0, 0.0, 60.0, -60.0, 30.0, 2)
	f.Add(1e-3, 60.0, 0.0, 0.0, 0.0, 89.0, 89.0, 9e-4, 3)
	f.Add(1e300, 1.0, 1.0, 1.0, 1.0, 0.0, 0.0, 1e299, 1)
	f.Fuzz(func(t *testing.T, d, h, b, s, f0, back, up, travel float64, m int) {
		path, err := kinematics.Straight(deg(h))
		if err != nil {
			return
		}
		side := kinematics.Side{Path: path, SideShiftAngle: deg(b), ImmediateShift: s, ShiftTravel: f0,
			WorkingBack: deg(back), WorkingUp: deg(up)}
		st, err := kinematics.Settings{Intercondylar: d, Right: side, Left: side}.Station(kinematics.Movement(m), travel)
		if err != nil {
			assert.True(t, isStated(err), "%v", err)
			return
		}
		if d > 1e-100 && d < 1e100 {
			assert.InEpsilon(t, d, r3.Norm(r3.Sub(st.Left, st.Right)), 1e-12)
		}
		_, err = kinematics.FromMatrix(st.Base().Matrix())
		assert.NoError(t, err)
	})
}

var sink r3.Vec

func BenchmarkStationPose(b *testing.B) {
	s := even(b, 110, 33, 10, 0.5)
	table := kinematics.IncisalTable{IncisalPoint: incisor22, Inclination: deg(10), Wings: deg(10)}
	for _, m := range movements {
		b.Run(m.String(), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				st, err := s.Station(m, 3)
				if err != nil {
					b.Fatal(err)
				}
				o, err := table.Opening(st)
				if err != nil {
					b.Fatal(err)
				}
				sink = st.Pose(o).Apply(incisor22)
			}
		})
	}
}

func TestStationAndPoseAllocateNothing(t *testing.T) {
	s := even(t, 110, 33, 10, 0.5)
	s.Left.Path = samplePaths(t)["recorded"]
	table := kinematics.IncisalTable{IncisalPoint: incisor22, Inclination: deg(10), Wings: deg(10)}
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		st, _ := s.Station(kinematics.Right, 3)
		o, _ := table.Opening(st)
		sink = st.Pose(o).Apply(incisor22)
	}))
}
