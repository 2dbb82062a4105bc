package chart

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"github.com/stretchr/testify/require"
)

func labels(ticks []tick) (out []string) {
	for _, t := range ticks {
		out = append(out, t.label)
	}
	return out
}

func TestTicksAreRoundAndFew(t *testing.T) {
	require.Equal(t, []string{"0", "1", "2", "3", "4", "5"}, labels(wholes(axis{0, 5})))
	require.Equal(t, []string{"-1", "0", "1"}, labels(wholes(axis{-1.5, 1.5})))
	require.Equal(t, []string{"0.0", "0.5", "1.0", "1.5", "2.0"}, labels(even(axis{-0.08, 2.4})))
	require.Equal(t, []string{"0.10", "0.12", "0.14"}, labels(even(axis{0.09, 0.151})))
	require.Empty(t, even(axis{1, 1}))
	for _, length := range []float64{1e-5, 0.03, 0.07, 0.5, 1, 2, 3.4, 6.1, 10, 59, 60, 61, 99, 1000} {
		for _, lo := range []float64{-0.4 * length, 0, 0.37 * length} {
			ticks := even(axis{lo, lo + length})
			require.GreaterOrEqual(t, len(ticks), 2, "%g from %g", length, lo)
			require.LessOrEqual(t, len(ticks), 7, "%g from %g", length, lo)
			for i, k := range ticks {
				require.True(t, k.at >= lo && k.at <= lo+length)
				require.True(t, i == 0 || k.label != ticks[i-1].label, "neighbours read apart: %v", labels(ticks))
			}
		}
	}
}

// clearance is a movement in which one tooth clears steadily.
func clearance() *findings.Excursion {
	x := &findings.Excursion{Movement: "right"}
	for _, travel := range []float64{0, 1, 2, 2.5} {
		x.Frames = append(x.Frames, findings.Frame{TravelMM: travel, OpeningDeg: travel / 2,
			ClearanceMM: map[string]float64{"16": travel, "lower": 3}})
	}
	return x
}

func TestDrawingsAreWellFormed(t *testing.T) {
	x := clearance()
	c, err := Clearance(words.Reader{Language: language.English()}, x)
	require.NoError(t, err)
	for name, c := range map[string]Chart{"opening": Opening(words.Reader{Language: language.English()}, x),
		"clearance": c, "one position": Opening(words.Reader{Language: language.English()}, &findings.Excursion{Frames: x.Frames[:1]})} {
		require.NotContains(t, string(c.SVG), "NaN", name)
		require.True(t, 0 < c.Left && c.Left < c.Right && c.Right < 1, name)
		d := xml.NewDecoder(strings.NewReader(string(c.SVG)))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else {
				require.NoError(t, err, name)
			}
		}
	}
	require.Contains(t, string(c.SVG), ">16</text>")
}

// The name of each tooth stands in the middle of its row.
func TestNamesStandAtTheirRows(t *testing.T) {
	c, err := Clearance(words.Reader{Language: language.English()}, clearance())
	require.NoError(t, err)
	picture := regexp.MustCompile(`<image x="\S+" y="(\S+)" width="\S+" height="(\S+)"`).FindStringSubmatch(string(c.SVG))
	require.NotNil(t, picture)
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v
	}
	top, row := number(picture[1]), number(picture[2])/3 // 16, nothing, lower
	for i, name := range []string{"16", "", "lower"} {
		if name != "" {
			at := regexp.MustCompile(`y="(\S+)"[^>]*>` + name + `</text>`).FindStringSubmatch(string(c.SVG))
			require.NotNil(t, at, name)
			require.InDelta(t, top+(float64(i)+0.5)*row, number(at[1])-3, 0.02, name) // 3 below the middle of its digits
		}
	}
}

func TestTextIsEscaped(t *testing.T) {
	a := newArea(100, 10, axis{0, 1}, axis{0, 1})
	a.label(point{0, 0}, "start", "<b>&")
	require.Contains(t, string(a.chart().SVG), ">&lt;b&gt;&amp;</text>")
}

func TestClearanceMapShowsTheNearestFrame(t *testing.T) {
	x := clearance()
	parts := archOrder(x)
	require.Equal(t, []string{"16", "lower"}, parts)
	m := clearanceMap(parts, x)
	require.Equal(t, 10, m.Bounds().Dx(), "two columns a step of 0.5 mm")
	require.Equal(t, m.At(0, 0), m.At(1, 0), "0 mm up to 0.5 mm")
	require.NotEqual(t, m.At(1, 0), m.At(2, 0))
	require.Equal(t, m.At(2, 0), m.At(5, 0), "1 mm from 0.5 to 1.5 mm")
	require.Equal(t, m.At(6, 0), m.At(8, 0), "2 mm up to 2.25 mm")
	require.Equal(t, m.At(9, 0), m.At(0, 1), "more than the range, for both")
	require.NotEqual(t, m.At(8, 0), m.At(9, 0))
}

func TestFramesOnAnAreaKeepTheirOrder(t *testing.T) {
	a := newArea(100, 10, axis{1, 3}, axis{-1, 1})
	require.InDelta(t, a.left, a.across(1), 1e-12)
	require.InDelta(t, a.right, a.across(3), 1e-12)
	require.InDelta(t, a.bottom, a.down(-1), 1e-12)
	require.InDelta(t, a.top, a.down(1), 1e-12)
	require.False(t, math.Signbit(a.across(2)))
}

// Both charts of a movement have the same travel axis, mark the edge-to-edge position
// there, and part the arches.
func TestChartsShareTheirAxis(t *testing.T) {
	x, edge := clearance(), 1.5
	r := words.Reader{Language: language.English()}
	x.Guidance = &findings.Course{EdgeToEdgeMM: &edge}
	c, err := Clearance(r, x)
	require.NoError(t, err)
	o := Opening(r, x)
	c.SVG, o.SVG = "", c.SVG+o.SVG
	both := string(o.SVG)
	o.SVG = ""
	require.Equal(t, c, o)
	at := num((c.Left + (1.5-c.First)/(c.Last-c.First)*(c.Right-c.Left)) * chartWidth)
	require.Equal(t, 2, strings.Count(both, `<line x1="`+at+`"`))
	require.Equal(t, []string{"16", "", "lower"}, parted([]string{"16", "lower"}))
	require.Equal(t, []string{"16", "26", "", "46", "36"}, parted([]string{"16", "26", "46", "36"}))
	require.Equal(t, []string{"46"}, parted([]string{"46"}))
	require.Empty(t, parted(nil))
}
