package anatomy

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// drawn is a tooth drawn by hand: the identity as its frame and landmarks at the
// given places (mesial, buccal, occlusal).
func drawn(t dentition.ToothID, at map[Feature][]r3.Vec) Chart {
	f := Frame{Tooth: t, Mesial: r3.Vec{X: 1}, Buccal: r3.Vec{Y: 1}, Occlusal: r3.Vec{Z: 1}}
	var marks []Landmark
	for k := MesiobuccalCusp; k <= Cingulum; k++ {
		if p := at[k]; len(p) > 0 {
			m := Landmark{Tooth: t, Feature: k, Point: p[len(p)/2], Confidence: 0.9}
			if len(p) > 1 {
				m.Line = p
			}
			marks = append(marks, m)
		}
	}
	marks = append(marks, Landmark{Tooth: t + 1, Feature: CentralFossa, Point: r3.Vec{X: 1}}) // a neighbour's
	return NewChart(f, marks)
}

// A lower first molar with cusps, fossae and ridges as handbooks draw them.
func TestSitesOfADrawnMolar(t *testing.T) {
	c := drawn(46, map[Feature][]r3.Vec{
		MesiobuccalCusp: {{X: 3, Y: 2.2}}, DistobuccalCusp: {{X: -0.4, Y: 2.4}}, DistalCusp: {{X: -3.6, Y: 1.4, Z: -0.4}},
		MesiolingualCusp: {{X: 2.7, Y: -3.2}}, DistolingualCusp: {{X: -2, Y: -3.2}},
		MesialFossa: {{X: 3.4, Y: -0.4, Z: -1.4}}, CentralFossa: {{X: 0.3, Y: -0.5, Z: -2}}, DistalFossa: {{X: -3.4, Y: -0.3, Z: -1.4}},
		MesialMarginalRidge: {{X: 4.6, Y: 1.2, Z: -1}, {X: 4.6, Y: -0.5, Z: -1.2}, {X: 4.6, Y: -2, Z: -1}},
		DistalMarginalRidge: {{X: -4.6, Y: 0.6, Z: -1}, {X: -4.6, Y: -0.5, Z: -1.2}, {X: -4.6, Y: -2, Z: -1}},
		CentralGroove:       {{X: 3.4, Y: -0.4}, {X: 0.3, Y: -0.5}, {X: -3.4, Y: -0.3}},
	})
	for _, x := range []struct {
		at     r3.Vec
		want   string
		toward Feature
	}{
		{r3.Vec{X: 3.2, Y: 2}, "mesiobuccal cusp of 46", 0},
		{r3.Vec{X: 2.5, Y: 1.2, Z: -1}, "inner incline of the mesiobuccal cusp of 46", MesialFossa},
		{r3.Vec{X: -0.2, Y: 1.2, Z: -1}, "inner incline of the distobuccal cusp of 46", CentralFossa},
		{r3.Vec{X: 0.9, Y: 2.2, Z: -0.5}, "mesial incline of the distobuccal cusp of 46", CentralFossa},
		{r3.Vec{X: -1.3, Y: 2.2, Z: -0.5}, "distal incline of the distobuccal cusp of 46", CentralFossa},
		{r3.Vec{X: -0.4, Y: 3.4, Z: -1}, "outer incline of the distobuccal cusp of 46", 0},
		{r3.Vec{X: -0.4, Y: 4.4, Z: -3}, "outer face of 46", 0},
		{r3.Vec{X: 2.7, Y: -2.1, Z: -0.9}, "inner incline of the mesiolingual cusp of 46", MesialFossa},
		{r3.Vec{X: 0.6, Y: -0.2, Z: -2}, "central fossa of 46", 0},
		{r3.Vec{X: -3.2, Y: -0.5, Z: -1.4}, "distal fossa of 46", 0},
		{r3.Vec{X: 4.5, Y: 0, Z: -1.2}, "mesial marginal ridge of 46", 0},
		{r3.Vec{X: 5.2, Y: -0.5, Z: -1.6}, "mesial marginal ridge of 46", 0}, // beyond the crest
		{r3.Vec{X: -4.3, Y: -1, Z: -1.2}, "distal marginal ridge of 46", 0},
	} {
		s := c.At(x.at)
		require.Equal(t, x.want, s.String(), "%v", x.at)
		require.Equal(t, x.toward, s.Toward, "%v", x.at)
	}
	require.Equal(t, Supporting, c.At(r3.Vec{X: 3, Y: 2.2}).Role())
	require.Equal(t, Guiding, c.At(r3.Vec{X: 2.7, Y: -3.2}).Role())
	require.Equal(t, NoRole, c.At(r3.Vec{X: 0.3, Y: -0.5, Z: -2}).Role())
	require.Len(t, c.Landmarks, 11)

	// A premolar has its two fossae far apart: between them lies the groove.
	c = drawn(14, map[Feature][]r3.Vec{
		BuccalCusp: {{Y: 1.6}}, LingualCusp: {{Y: -1.6}}, MesialFossa: {{X: 2.2, Z: -1.7}}, DistalFossa: {{X: -2.2, Z: -1.7}},
		CentralGroove: {{X: 2.2, Z: -1.7}, {X: 0, Z: -1.5}, {X: -2.2, Z: -1.7}},
	})
	require.Equal(t, "central groove of 14", c.At(r3.Vec{X: 0.2, Y: 0.2, Z: -1.5}).String())
	require.Equal(t, "mesial fossa of 14", c.At(r3.Vec{X: 1.5, Y: 0.2, Z: -1.5}).String())
	require.Equal(t, "inner incline of the buccal cusp of 14", c.At(r3.Vec{X: 0.2, Y: 0.8, Z: -1}).String())
}

func TestSitesOfDrawnFrontTeeth(t *testing.T) {
	incisor := drawn(11, map[Feature][]r3.Vec{
		IncisalEdge: {{X: 3.4}, {}, {X: -3.4}}, MesioincisalEdge: {{X: 3.4}}, DistoincisalEdge: {{X: -3.4}},
		LingualFossa: {{Y: -2, Z: -4}}, Cingulum: {{Y: -4, Z: -7}},
	})
	canine := drawn(33, map[Feature][]r3.Vec{CanineCusp: {{}}, LingualFossa: {{Y: -2, Z: -4}}, Cingulum: {{Y: -4, Z: -7}}})
	for _, x := range []struct {
		c    *Chart
		at   r3.Vec
		want string
	}{
		{&incisor, r3.Vec{X: 2, Y: -0.3, Z: -0.4}, "incisal edge of 11"},
		{&incisor, r3.Vec{X: -2, Y: 0.5, Z: -0.6}, "incisal edge of 11"},
		{&incisor, r3.Vec{X: 1, Y: -1.4, Z: -2.4}, "lingual fossa of 11"},
		{&incisor, r3.Vec{X: 1, Y: -3.6, Z: -6}, "cingulum of 11"},
		{&incisor, r3.Vec{X: 1, Y: 1.4, Z: -2.4}, "outer face of 11"},
		{&canine, r3.Vec{X: 0.2, Y: 0.2, Z: -0.2}, "cusp of 33"},
		{&canine, r3.Vec{X: -1.5, Y: 0.4, Z: -1.1}, "distal incline of the cusp of 33"},
		{&canine, r3.Vec{X: 1.5, Y: 0.4, Z: -1.1}, "mesial incline of the cusp of 33"},
		{&canine, r3.Vec{X: 0, Y: -1, Z: -1.5}, "lingual fossa of 33"},
		{&canine, r3.Vec{X: 0, Y: 1, Z: -1.5}, "outer face of 33"},
	} {
		require.Equal(t, x.want, x.c.At(x.at).String(), "%v", x.at)
	}
	bare := drawn(11, nil)
	require.Equal(t, "outer face of 11", bare.At(r3.Vec{}).String(), "no landmarks, no features")
	bare = drawn(16, nil)
	require.Equal(t, "outer face of 16", bare.At(r3.Vec{}).String())
}

// Seen from the border between two features each is beside the other; far from all
// borders there is none.
func TestBeside(t *testing.T) {
	f := Frame{Tooth: 36, Mesial: r3.Vec{X: 1}, Buccal: r3.Vec{Y: 1}, Occlusal: r3.Vec{Z: 1}}
	c := NewChart(f, []Landmark{
		{Tooth: 36, Feature: MesialFossa, Point: r3.Vec{X: 2}}, {Tooth: 36, Feature: CentralFossa, Point: r3.Vec{X: -1}},
	})
	// The border lies in the middle, at 0.5.
	for x, want := range map[float64]Feature{0.25: MesialFossa, 0.49: MesialFossa, 0.51: CentralFossa,
		0.75: CentralFossa, 0.1: 0, 0.9: 0, 2: 0} {
		require.Equal(t, want, c.Beside(r3.Vec{X: x}), "%v", x)
	}
}
