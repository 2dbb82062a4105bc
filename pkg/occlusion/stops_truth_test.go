package occlusion_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// builtOn says whether a stop lies on a feature as the truth of the synthetic
// dentition names it.
func builtOn(s findings.StopSite, truth string) bool {
	name := strings.TrimSuffix(strings.TrimSuffix(s.Feature, " cusp"), " edge")
	return name == truth || strings.Replace(name, "lingual", "palatal", 1) == truth
}

// Every stop that was built in is found between its teeth and stable, on the features on
// which it was built: at least 95 % of both teeth's. The others say on whose border they lie,
// all but one.
func TestStopsLieWhereTheyWereBuilt(t *testing.T) {
	m, err := undisturbed()
	require.NoError(t, err)
	c := &m.found.Centric
	right, bordering, cusps := 0, 0, 0
	for _, w := range m.Truth.Stops {
		var best *findings.Stop
		near := 1.2
		for i := range c.Stops {
			s := &c.Stops[i]
			d := r3.Norm(r3.Sub(r3.Vec{X: s.PointMM[0], Y: s.PointMM[1], Z: s.PointMM[2]}, w.At.Vec()))
			if s.Upper == findings.Part(w.Upper) && s.Lower == findings.Part(w.Lower) && d < near {
				best, near = s, d
			}
		}
		require.NotNil(t, best, "%+v", w)
		of, on := best.OnLower, best.OnUpper
		ofTruth, onTruth := w.LowerFeature, w.UpperFeature
		if w.Supporting == "upper" {
			of, on, ofTruth, onTruth = on, of, onTruth, ofTruth
		}
		require.Equal(t, "supporting", of.Role, best.Text)
		require.True(t, best.Stable, "%v: %v", best.Text, best.Reason)
		if builtOn(of, ofTruth) {
			cusps++
		}
		switch {
		case builtOn(on, onTruth):
			right++
		case builtOn(findings.StopSite{Feature: on.Beside}, onTruth):
			bordering++
		default:
			t.Logf("%v: built on the %s", best.Text, onTruth)
		}
	}
	n := len(m.Truth.Stops)
	t.Logf("%d of %d stops on the cusp or edge they were built with, %d on the feature that it meets, %d on its border",
		cusps, n, right, bordering)
	require.Equal(t, n, cusps)
	require.GreaterOrEqual(t, right+bordering, n-1)
	require.GreaterOrEqual(t, float64(cusps+right), 0.95*float64(2*n))
	require.GreaterOrEqual(t, float64(right), 0.9*float64(n))
	// Supporting cusps and edges take part in all of them, as in normal occlusion.
	for _, s := range c.Stops {
		require.Contains(t, []string{s.OnUpper.Role, s.OnLower.Role}, "supporting", s.Text)
	}
}

// The words, stop by stop, tooth by tooth and in sum.
func TestGoldenStops(t *testing.T) {
	for name, examined := range map[string]func() (made, error){"stops.txt": undisturbed, "stops-raised.txt": raised} {
		m, err := examined()
		require.NoError(t, err)
		c := &m.found.Centric
		var b strings.Builder
		for _, s := range c.Stops {
			mark := "stable"
			if !s.Stable {
				mark = "not stable"
			}
			fmt.Fprintf(&b, "%s; %s: %s\n", s.Text, mark, s.Reason)
		}
		fmt.Fprintln(&b)
		for _, s := range c.Support {
			fmt.Fprintln(&b, s.Text)
		}
		fmt.Fprintf(&b, "\n%s\n", c.StopsText)
		files.Check(t, name, b.String())
	}
}

func TestSupportOfTheUndisturbedDentition(t *testing.T) {
	m, err := undisturbed()
	require.NoError(t, err)
	c := &m.found.Centric
	require.Len(t, c.Support, 28)
	stops := 0
	for _, s := range c.Support {
		tooth := dentition.ToothID(s.Tooth)
		stops += s.Stops
		if tooth.Type() == dentition.LateralIncisor { // built just out of contact
			require.Zero(t, s.Stops, tooth)
			require.Nil(t, s.AxialShare)
			continue
		}
		require.Positive(t, s.Stops, tooth)
		require.Equal(t, !tooth.Type().Anterior(), s.AcrossStable != nil, tooth)
		if tooth.Type().Anterior() {
			require.Empty(t, s.Cusps)
			continue
		}
		require.Greater(t, *s.AxialShare, 0.85, s.Text)
		// Every supporting cusp was built with a stop, so a strip is held at each.
		require.NotEmpty(t, s.Cusps)
		for _, k := range s.Cusps {
			require.Equal(t, findings.ClassHolds, *k.Class, "%v %s", tooth, k.Cusp)
		}
	}
	require.Equal(t, 2*len(c.Stops), stops, "each stop counts on both teeth")
}

// A raised mesiolingual cusp of 26 holds all others off: the one stop is its own.
// Its strip is held, those of the other molars are not.
func TestStopOfARaisedCusp(t *testing.T) {
	m, err := raised()
	require.NoError(t, err)
	c := &m.found.Centric
	require.NotEmpty(t, c.Stops)
	for _, s := range c.Stops {
		require.Equal(t, [2]findings.Part{26, 36}, [2]findings.Part{s.Upper, s.Lower})
		require.Equal(t, "mesiolingual cusp of 26 in the central fossa of 36", s.Text.String())
	}
	for _, s := range c.Support {
		require.Equal(t, s.Tooth == 26 || s.Tooth == 36, s.Stops > 0, s.Text)
		for _, k := range s.Cusps {
			if s.Tooth == 26 && k.Cusp == "mesiolingual cusp" {
				require.Equal(t, findings.ClassHolds, *k.Class)
			} else {
				require.Contains(t, []findings.HoldClass{findings.ClassUndecided, findings.ClassPasses}, *k.Class, "%v %s", s.Tooth, k.Cusp)
			}
		}
	}
}

// On the real casts, as they were scanned, marking paper of 100 µm finds stops of
// supporting cusps between antagonists.
func TestStopsOnRealCase(t *testing.T) {
	c := realCase(t)
	c.FoilsUm = []float64{100}
	c.Excursions = c.Excursions[:1]
	c.Excursions[0].MaxMM, c.Excursions[0].StepMM = 0.5, 0.5
	f := examine(t, c, 0)
	require.NotEmpty(t, f.Centric.Stops)
	require.Len(t, f.Centric.Support, 29)
	opposing(t, &f.Centric)
}

// opposing checks that stops join antagonists of normal occlusion or the teeth next
// to them, mostly with a supporting cusp or edge (79 % in normal dentitions).
func opposing(t *testing.T, c *findings.Centric) {
	t.Helper()
	supporting := 0
	for _, s := range c.Stops {
		up, lo := dentition.ToothID(s.Upper), dentition.ToothID(s.Lower)
		require.Equal(t, up.Side(), lo.Side(), s.Text)
		require.InDelta(t, up.Position(), lo.Position(), 2, s.Text)
		if s.OnUpper.Role == "supporting" || s.OnLower.Role == "supporting" {
			supporting++
		}
	}
	require.GreaterOrEqual(t, float64(supporting), 0.79*float64(len(c.Stops)))
}
