package kinematics_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

func isStated(err error) bool {
	return errors.Is(err, kinematics.ErrTravel) || errors.Is(err, kinematics.ErrSetting) || errors.Is(err, kinematics.ErrGuidance)
}

// overTable is the height of the incisal point over the table, by its formula.
func overTable(g kinematics.IncisalTable, p r3.Vec) float64 {
	q := g.IncisalPoint
	return p.Z - (q.Z - g.Pin - math.Tan(g.Inclination.Radians())*(q.Y-p.Y) - math.Tan(g.Wings.Radians())*math.Abs(p.X-q.X))
}

func randomTable(rng *rand.Rand) kinematics.IncisalTable {
	return kinematics.IncisalTable{
		IncisalPoint: r3.Vec{X: 2 * rng.NormFloat64(), Y: -70 - 25*rng.Float64(), Z: -20 - 25*rng.Float64()},
		Inclination:  deg(80*rng.Float64() - 20),
		Wings:        deg(40 * rng.Float64() * float64(rng.IntN(2))),
		Pin:          []float64{0, 4, 40}[rng.IntN(3)] * rng.Float64(),
	}
}

// scanOpening is the largest opening on the table by a scan and bisection.
func scanOpening(g kinematics.IncisalTable, st kinematics.Station) (float64, bool) {
	over := func(theta float64) float64 { return overTable(g, st.Pose(s1.Angle(theta)).Apply(g.IncisalPoint)) }
	hi, lowest := kinematics.OpeningMax.Radians(), kinematics.OpeningMin.Radians()
	const n = 400
	for i := n - 1; i >= 0; i-- {
		lo := lowest + (kinematics.OpeningMax.Radians()-lowest)*float64(i)/n
		if over(lo) < 0 {
			hi = lo
			continue
		}
		for range 100 {
			if mid := (lo + hi) / 2; over(mid) < 0 {
				hi = mid
			} else {
				lo = mid
			}
		}
		return lo, true
	}
	return 0, false
}

func TestIncisalTableMatchesScan(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	var solved, tooHigh, tooLow int
	for range 600 {
		s := randomSettings(t, rng)
		st := station(t, s, movements[rng.IntN(3)], 8*rng.Float64())
		g := randomTable(rng)
		got, err := g.Opening(st)
		atMax := overTable(g, st.Pose(kinematics.OpeningMax).Apply(g.IncisalPoint))
		want, found := scanOpening(g, st)
		switch {
		case atMax > 0:
			tooHigh++
			require.ErrorIs(t, err, kinematics.ErrGuidance)
		case !found:
			tooLow++
			require.ErrorIs(t, err, kinematics.ErrGuidance)
		default:
			solved++
			require.NoError(t, err)
			assert.InDelta(t, want, got.Radians(), 1e-13)
			assert.InDelta(t, 0, overTable(g, st.Pose(got).Apply(g.IncisalPoint)), 1e-11)
		}
	}
	assert.Greater(t, solved, 400)
	assert.Greater(t, tooHigh, 20)
	assert.Zero(t, tooLow, "a jaw that reaches no table has a case of its own below")
}

func TestTableAtRestIsClosed(t *testing.T) {
	rng := rand.New(rand.NewPCG(43, 44))
	for range 100 {
		g := randomTable(rng)
		g.Pin = 0
		st := station(t, randomSettings(t, rng), kinematics.Left, 0)
		got, err := g.Opening(st)
		require.NoError(t, err)
		assert.Zero(t, got)
	}
}

func TestRaisedPinOpensByItsHeight(t *testing.T) {
	g := kinematics.IncisalTable{IncisalPoint: incisor22, Pin: 3}
	st := station(t, even(t, 110, 33, 10, 0), kinematics.Protrusive, 0)
	got, err := g.Opening(st)
	require.NoError(t, err)
	assert.InDelta(t, incisor22.Z-3, st.Pose(got).Apply(incisor22).Z, 1e-13)
	assert.Positive(t, got)
}

// The wings act to both sides, the sagittal inclination forward only.
func TestWingsOpenToBothSides(t *testing.T) {
	s := even(t, 110, 33, 10, 0)
	flat := kinematics.IncisalTable{IncisalPoint: incisor22, Inclination: deg(10)}
	wings := flat
	wings.Wings = deg(20)
	for _, m := range movements {
		st := station(t, s, m, 4)
		a, err := flat.Opening(st)
		require.NoError(t, err)
		b, err := wings.Opening(st)
		require.NoError(t, err)
		if m == kinematics.Protrusive {
			assert.InDelta(t, a.Radians(), b.Radians(), 1e-14)
		} else {
			assert.Greater(t, b.Degrees(), a.Degrees()+0.3)
		}
	}
}

// The incisal guide angle of overbite over overjet takes the incisors to edge
// to edge: there the protrusion is the overjet and the drop the overbite.
func TestIncisalGuideAngleReachesEdgeToEdge(t *testing.T) {
	for _, c := range []struct{ overbite, overjet, angle float64 }{{2.9, 2.9, 45}, {3, 2, 56.310}, {2.21, 2.75, 38.787}} {
		gamma := math.Atan2(c.overbite, c.overjet)
		assert.InDelta(t, c.angle, gamma*180/math.Pi, digits(3))
		g := kinematics.IncisalTable{IncisalPoint: incisor22, Inclination: s1.Angle(gamma)}
		s := even(t, 110, 33, 0, 0)
		lo, hi := 0.0, 8.0
		var p r3.Vec
		for range 80 {
			travel := (lo + hi) / 2
			st := station(t, s, kinematics.Protrusive, travel)
			opening, err := g.Opening(st)
			require.NoError(t, err)
			p = r3.Sub(st.Pose(opening).Apply(incisor22), incisor22)
			if -p.Y < c.overjet {
				lo = travel
			} else {
				hi = travel
			}
		}
		assert.InDelta(t, c.overbite, -p.Z, 1e-9)
	}
}

func TestFree(t *testing.T) {
	st := station(t, even(t, 110, 33, 10, 0), kinematics.Right, 3)
	for _, a := range []float64{-8, 0, 3, 20} {
		got, err := kinematics.Free(deg(a)).Opening(st)
		require.NoError(t, err)
		assert.Equal(t, deg(a), got)
	}
	for _, a := range []float64{-8.1, 20.1, math.NaN(), 90} {
		_, err := kinematics.Free(deg(a)).Opening(st)
		require.ErrorIs(t, err, kinematics.ErrSetting)
	}
}

func TestTableErrors(t *testing.T) {
	good := kinematics.IncisalTable{IncisalPoint: incisor22, Inclination: deg(10)}
	for _, c := range []struct {
		name   string
		change func(g *kinematics.IncisalTable)
		is     error
		says   string
	}{
		{"point", func(g *kinematics.IncisalTable) { g.IncisalPoint.Z = math.NaN() }, kinematics.ErrSetting, "incisal point"},
		{"inclination", func(g *kinematics.IncisalTable) { g.Inclination = deg(90) }, kinematics.ErrSetting,
			"inclination of the incisal table is 90°"},
		{"wings", func(g *kinematics.IncisalTable) { g.Wings = deg(-1) }, kinematics.ErrSetting, "wings is -1°"},
		{"pin", func(g *kinematics.IncisalTable) { g.Pin = -1 }, kinematics.ErrSetting, "raised by -1 mm"},
		{"pin far too high", func(g *kinematics.IncisalTable) { g.Pin = 60 }, kinematics.ErrGuidance, "open by more than 20°"},
		{"point on the axis", func(g *kinematics.IncisalTable) { g.IncisalPoint = r3.Vec{Z: 0} }, kinematics.ErrGuidance, ""},
		{"table never reached", func(g *kinematics.IncisalTable) {
			g.IncisalPoint, g.Inclination = r3.Vec{Y: -3, Z: -1},
				deg(-80)
		}, kinematics.ErrGuidance, "does not reach the incisal table"},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := good
			c.change(&g)
			_, err := g.Opening(station(t, even(t, 110, 33, 10, 0), kinematics.Protrusive, 4))
			require.ErrorIs(t, err, c.is)
			assert.ErrorContains(t, err, c.says)
		})
	}
}
