package anatomy_test

import (
	"testing"

	"github.com/cusptrace/cusptrace/internal/realcase"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// plausible holds measurements against what is published of living persons: widths
// within a quarter of the means of 76 persons of class I (35.4 and
// 53.8 above, 26.9 and 51.7 below), depth of the curve of Spee up to 4 mm (2.4 ± 0.7
// in the deepest group of 200), and spheres of 60 to 140 mm (means of 77 to 111 in
// five studies).
func plausible(t *testing.T, upper, lower []anatomy.Landmark, plane *anatomy.OcclusalPlane) {
	t.Helper()
	widths := append(anatomy.Widths(upper), anatomy.Widths(lower)...)
	require.Len(t, widths, 10)
	means := map[dentition.ToothID]float64{13: 35.4, 16: 53.8, 43: 26.9, 46: 51.7}
	for i, w := range widths {
		if m := means[w.Right]; m > 0 {
			require.InDelta(t, m, w.MM, m/4, "%v", w.Right)
		}
		if i%5 > 0 {
			require.Greater(t, w.MM, widths[i-1].MM, "arches widen to the back: %v", w.Right)
		}
	}
	spee := plane.Spee(lower)
	require.Len(t, spee, 2)
	for _, d := range spee {
		require.Greater(t, d.MM, 0.0)
		require.Less(t, d.MM, 4.0)
	}
	s, ok := anatomy.CuspSphere(lower)
	require.True(t, ok)
	require.Greater(t, s.Radius, 60.0)
	require.Less(t, s.Radius, 140.0)
	require.Less(t, s.RMS, 1.0)
}

func TestMeasuresOfTruth(t *testing.T) {
	c := generate(t, typodont.Params{Disturbances: []typodont.Disturbance{{Kind: typodont.Noise, Um: 20, MM: 0.8}}})
	upper, err := anatomy.Landmarks(c.Upper.Mesh, c.Upper.Labels)
	require.NoError(t, err)
	lower, err := anatomy.Landmarks(c.Lower.Mesh, c.Lower.Labels)
	require.NoError(t, err)
	plane, ok := anatomy.NewOcclusalPlane(lower, r3.Vec{Z: 1})
	require.True(t, ok)
	plausible(t, upper, lower, &plane)
	truth := map[dentition.ToothID]typodont.ToothTruth{}
	for _, tooth := range c.Truth.Teeth {
		truth[dentition.ToothID(tooth.Tooth)] = tooth
	}
	named := func(list []typodont.PointTruth, name string) r3.Vec {
		for _, p := range list {
			if p.Name == name {
				return p.Point.Vec()
			}
		}
		t.Fatalf("no %s", name)
		return r3.Vec{}
	}
	// The casts stand with the occlusal plane level.
	for _, x := range plane.Overlaps(upper, lower) {
		d := r3.Sub(named(truth[x.Upper].Features, "incisal"), named(truth[x.Lower].Features, "incisal"))
		require.InDelta(t, -d.Y, x.Overjet, 0.2, "%v", x.Upper)
		require.InDelta(t, -d.Z, x.Overbite, 0.2, "%v", x.Upper)
	}
	for _, w := range append(anatomy.Widths(upper), anatomy.Widths(lower)...) {
		name := truthName(w.Right, w.Feature)
		d := r3.Sub(named(truth[w.Right].Cusps, name), named(truth[w.Left].Cusps, name))
		require.InDelta(t, r3.Norm(d), w.MM, 0.5, "%v", w.Right)
	}
	// The deepest cusp is one of the lower first molar (handbooks), and the arches
	// were made in class I (Andrews's first key).
	for _, d := range plane.Spee(lower) {
		require.Equal(t, dentition.FirstMolar, d.Tooth.Type())
	}
	relations := plane.MolarRelations(upper, lower)
	require.Len(t, relations, 2)
	for _, m := range relations {
		require.Equal(t, "I", m.Class(), "%v", m.MM)
	}
}

func TestMeasuresOfTheRealCaseArePlausible(t *testing.T) {
	var marks [2][]anatomy.Landmark
	for i, jaw := range []dentition.Jaw{dentition.Upper, dentition.Lower} {
		m, l := realcase.Arch(t, jaw)
		var err error
		marks[i], err = anatomy.Landmarks(m, l)
		require.NoError(t, err)
	}
	plane, ok := anatomy.NewOcclusalPlane(marks[1], r3.Vec{Z: 1})
	require.True(t, ok)
	plausible(t, marks[0], marks[1], &plane)
	for _, x := range plane.Overlaps(marks[0], marks[1]) {
		// From -1 to 8: overbite is 6 and more in 8 % (Brunelle et al. 1996).
		require.Greater(t, x.Overjet, -1.0)
		require.Less(t, x.Overjet, 8.0)
		require.Greater(t, x.Overbite, -1.0)
		require.Less(t, x.Overbite, 8.0)
	}
}
