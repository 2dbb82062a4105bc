package main

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// forecasts makes n forecasts, five a dentition: what is said is uniform, what is true follows
// from it by a law.
func forecasts(n int, seed uint64, law func(p float64) float64) []forecast {
	rng := rand.New(rand.NewPCG(seed, 1))
	out := make([]forecast, n)
	for i := range out {
		p := rng.Float64()
		out[i] = forecast{Dentition: i / 5, P: p, Stands: rng.Float64() < law(p), Part: -1}
	}
	return out
}

// A perfect forecaster of uniform probabilities has the Brier score 1/6 (∫p(1−p)dp), a slope
// of 1, and passes.
func TestPerfectForecasterPasses(t *testing.T) {
	s := judge(forecasts(6000, 1, func(p float64) float64 { return p }), 0.002, rand.New(rand.NewPCG(2, 2)))
	require.InDelta(t, 1.0/6, s.brier, 0.008)
	require.InDelta(t, 1, s.slope, 0.1)
	require.Less(t, s.slopeLo, 1.0)
	require.Greater(t, s.slopeHi, 1.0)
	require.InDelta(t, s.brier, s.reliability-s.resolution+s.base*(1-s.base), 0.002)
	require.Empty(t, s.faults(false))
}

// One who is too sure has the slope by which the logit is too large, and fails; so does one
// who is too unsure.
func TestWrongForecastersFail(t *testing.T) {
	for _, k := range []float64{0.6, 1.6} {
		law := func(p float64) float64 { return 1 / (1 + math.Exp(-k*math.Log(p/(1-p)))) }
		s := judge(forecasts(6000, 3, law), 0.002, rand.New(rand.NewPCG(4, 4)))
		require.InEpsilon(t, k, s.slope, 0.1)
		require.NotEmpty(t, s.faults(false))
	}
}

// Truth shuffled between the forecasts has nothing to do with them: the slope is 0.
func TestShuffledTruthFails(t *testing.T) {
	f := forecasts(2000, 5, func(p float64) float64 { return p })
	shuffle(f, rand.New(rand.NewPCG(6, 6)))
	s := judge(f, 0.002, rand.New(rand.NewPCG(7, 7)))
	require.InDelta(t, 0, s.slope, 0.1)
	require.NotEmpty(t, s.faults(false))
}

// The picture is well-formed and has a dot for every bin that has findings, on the diagonal
// where what was said is true.
func TestPicture(t *testing.T) {
	s := judge(forecasts(4000, 5, func(p float64) float64 { return p }), 0.01, rand.New(rand.NewPCG(1, 2)))
	path := filepath.Join(t.TempDir(), "reliability.svg")
	require.NoError(t, s.draw(path))
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	dots := 0
	for d := xml.NewDecoder(bytes.NewReader(data)); ; {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		e, ok := token.(xml.StartElement)
		if !ok || e.Name.Local != "circle" {
			continue
		}
		dots++
		var x, y float64
		for _, a := range e.Attr {
			switch a.Name.Local {
			case "cx":
				x, err = strconv.ParseFloat(a.Value, 64)
			case "cy":
				y, err = strconv.ParseFloat(a.Value, 64)
			}
			require.NoError(t, err)
		}
		require.InDelta(t, (x-left)/field, 1-(y-above)/field, 0.12)
	}
	used := 0
	for _, b := range s.bins {
		if b.n > 0 {
			used++
		}
	}
	require.Equal(t, used, dots)
}
