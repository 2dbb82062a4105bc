package sampling

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/sobol"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func sourcesOf(t *testing.T, edit func(*casefile.Case)) *Sources {
	c := casefile.Default()
	if edit != nil {
		edit(c)
	}
	set, err := c.Settings.Kinematics()
	require.NoError(t, err)
	return NewSources(c, set, &findings.Settling{Seat: &findings.Seat{Taken: true}}, Drifts{})
}

// inclination is that of the chord of the first 5 mm, in degrees.
func inclination(p kinematics.CondylarPath) float64 {
	f, g := p.At(5)
	return math.Atan2(g, f) * 180 / math.Pi
}

// Samples spread as the sources say: standard deviations, and as many persons with more than 6°
// between their sides as were counted: 36 % of condylar inclinations, 26 % of side shift
// angles (13iags-177411). Half of the samples have no immediate side shift.
func TestSamplesSpreadAsTheSourcesSay(t *testing.T) {
	const n = 4096
	s := sourcesOf(t, nil)
	seq := sobol.New(factors, 3)
	var sd, mean [8]float64
	var apartH, apartB, none float64
	var u [factors]float64
	for i := range uint32(n) {
		seq.Point(i, u[:])
		d := s.draw(&u)
		h := [2]float64{inclination(d.set.Right.Path), inclination(d.set.Left.Path)}
		// Side shift angles of a median of 7.5 are cut off at 0, which the drawn numbers are not.
		b := 4 * (d.z[zShiftRight] - d.z[zShiftLeft])
		x := [8]float64{h[0], h[1], d.axis.Y, d.axis.Z, d.set.Intercondylar, 1000 * d.shift.Z, d.turn.Y * 180 / math.Pi, d.press.X}
		for k, v := range x {
			mean[k], sd[k] = mean[k]+v/n, sd[k]+v*v/n
		}
		if math.Abs(h[0]-h[1]) > 6 {
			apartH += 1. / n
		}
		if math.Abs(b) > 6 {
			apartB += 1. / n
		}
		if d.set.Right.ImmediateShift == 0 {
			none += 1. / n
		}
		require.GreaterOrEqual(t, d.set.Left.SideShiftAngle.Radians(), 0.0)
		require.LessOrEqual(t, d.set.Left.ImmediateShift, immediateMost)
		require.Equal(t, r3.Vec{}, r3.Vec{X: d.axis.X})
	}
	for k, want := range [8]float64{8.5, 8.5, 5, 5, 6, 25, 0.08, 5} {
		require.InEpsilon(t, want, math.Sqrt(sd[k]-mean[k]*mean[k]), 0.03, "source %d", k)
	}
	require.InDelta(t, 0.36, apartH, 0.03)
	require.InDelta(t, 0.26, apartB, 0.03)
	require.InDelta(t, 0.5, none, 0.01)
}

// Sizes follow from how the case was made, and a case may state its own.
func TestSizesFollowFromTheCase(t *testing.T) {
	size := func(s *Sources, of findings.DoubtSource) findings.DoubtedSource {
		for _, x := range s.listed {
			if x.Source == of {
				return x
			}
		}
		t.Fatal(of)
		return findings.DoubtedSource{}
	}
	usual := sourcesOf(t, nil)
	require.Equal(t, findings.DoubtedSource{Source: findings.DoubtAxis, Size: 5, Unit: "mm", From: findings.FromMean},
		size(usual, findings.DoubtAxis))
	recorded := sourcesOf(t, func(c *casefile.Case) {
		c.Mount = casefile.Mount{Recorded: &casefile.Recorded{}}
		c.Settings.Left.Path = &casefile.CondylarPath{PointsMM: [][2]float64{{0, 0}, {4, 3}, {8, 5}}}
	})
	require.Equal(t, 1.0, size(recorded, findings.DoubtAxis).Size)
	require.Equal(t, findings.FromRecord, size(recorded, findings.DoubtInclinationLeft).From)
	require.Equal(t, 8.5, size(recorded, findings.DoubtInclinationRight).Size)
	byHand := sourcesOf(t, func(c *casefile.Case) { c.Settle.DoubtUm = 600 })
	require.Equal(t, findings.DoubtedSource{Source: findings.DoubtRegistration, Size: 100, Unit: "um", From: findings.FromHand},
		size(byHand, findings.DoubtRegistration))
	own := 12.0
	stated := sourcesOf(t, func(c *casefile.Case) { c.Doubt.UpperDriftUm = &own })
	require.Equal(t, findings.DoubtedSource{Source: findings.DoubtUpperScan, Size: 12, Unit: "um", From: findings.FromCase},
		size(stated, findings.DoubtUpperScan))
}

// Of a number that follows from two factors, each explains its share of the variance; one that
// it does not follow from explains none.
func TestExplainedShares(t *testing.T) {
	const n = 1024
	seq := sobol.New(factors, 5)
	var u [factors]float64
	s := sourcesOf(t, nil)
	y, z := make([]float64, n), make([]*[factors]float64, n)
	for i := range y {
		seq.Point(uint32(i), u[:])
		d := s.draw(&u)
		z[i] = &d.z
		y[i] = 3 + 2*d.z[zAxisY] - d.z[zPlane] // variances 4 and 1
	}
	require.InDelta(t, 0.8, explained(y, z, []int{zAxisY, zAxisZ}), 0.03)
	require.InDelta(t, 0.2, explained(y, z, []int{zPlane}), 0.03)
	require.InDelta(t, 0, explained(y, z, scanFactors(0)), 0.03)
}

func TestQuantiles(t *testing.T) {
	require.Equal(t, findings.Spread{P10: 1, P50: 5, P90: 9}, quantiles([]float64{10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0}))
	require.Equal(t, findings.Spread{P10: 7, P50: 7, P90: 7}, quantiles([]float64{7}))
	require.Equal(t, findings.Spread{P10: 1.1, P50: 1.5, P90: 1.9}, quantiles([]float64{2, 1}))
}
