package measure

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func TestArchesInWords(t *testing.T) {
	require.Nil(t, Arches(&casts.Casts{Upper: &casts.Cast{}, Lower: &casts.Cast{}}), "without labels there is nothing to measure")
	at := func(tooth dentition.ToothID, f anatomy.Feature, x, y, z float64) anatomy.Landmark {
		return anatomy.Landmark{Tooth: tooth, Feature: f, Point: r3.Vec{X: x, Y: y, Z: z}, Confidence: 1}
	}
	teeth := []dentition.ToothID{}
	pair := &casts.Casts{
		Upper: &casts.Cast{Teeth: teeth, Landmarks: []anatomy.Landmark{
			at(11, anatomy.IncisalEdge, -4, -82, -3), at(21, anatomy.IncisalEdge, 4, -82, 0.5),
			at(16, anatomy.MesiobuccalCusp, -25, -53, -1), at(26, anatomy.MesiobuccalCusp, 25, -50, -1),
		}},
		Lower: &casts.Cast{Teeth: teeth, Landmarks: []anatomy.Landmark{
			at(31, anatomy.MesioincisalEdge, 0, -80, 0), at(41, anatomy.MesioincisalEdge, 0, -80, 0), at(31,
				anatomy.IncisalEdge, 2, -80, 0), at(41, anatomy.IncisalEdge, -2, -80, 0),
			at(36, anatomy.MesiobuccalCusp, 23, -52, -1.5), at(36, anatomy.DistobuccalCusp, 23, -48, 0), at(36, anatomy.BuccalGroove, 23, -50, -2),
			at(46, anatomy.MesiobuccalCusp, -23, -52, -1.5), at(46, anatomy.DistobuccalCusp, -23, -48, 0), at(46,
				anatomy.BuccalGroove, -23, -50, -2),
		}},
	}
	a := Arches(pair)
	require.Nil(t, a.Sphere)
	require.Equal(t, "Widths between cusp tips: 16–26: 50.1 mm, 46–36: 46.0 mm. 11/41: overjet 2.0 mm, overbite 3.0 "+
		"mm. 21/31: overjet 2.0 mm, open bite 0.5 mm. "+
		"Curve of Spee on the right: 1.5 mm deep (46). Curve of Spee on the left: 1.5 mm deep (36). "+
		"16/46: class II, the mesiobuccal cusp of 16 3.0 mm mesial to the buccal groove of 46. 26/36: class I, the "+
		"mesiobuccal cusp of 26 at the buccal groove of 36.", a.Text.String())
	require.Contains(t, a.Text.In(dentition.Quadrant), "the mesiobuccal cusp of 6┘ 3.0 mm mesial to the buccal groove of 6┐")
	for _, c := range []struct {
		mm   float64
		want string
	}{{1.2, "class I,"}, {1.3, "class I (almost II),"}, {-1.3, "class I (almost III),"}, {2.2, "class II (almost I),"},
		{2.3, "class II,"}, {-2.2, "class III (almost I),"}} {
		m := findings.ArchMolars{Side: "right", Upper: 16, Lower: 46, MesialMM: c.mm, Class: anatomy.MolarRelation{MM: c.mm}.Class()}
		require.Contains(t, describeMolars(&m).String(), c.want, c.mm)
	}
	require.Equal(t, "Sphere over the lower cusps: radius 83 mm (cusps about 0.28 mm off it).",
		describeArches((&findings.Arches{Sphere: &findings.ArchSphere{RadiusMM: 83.2, RMSMM: 0.28}})).String())
	require.Equal(t, "The lower cusps lie nearly in a plane (a sphere of more than 500 mm).",
		describeArches((&findings.Arches{Sphere: &findings.ArchSphere{RadiusMM: 501}})).String())
	require.Equal(t, "The labelled teeth show nothing to measure.",
		Arches(&casts.Casts{Upper: &casts.Cast{Teeth: teeth}, Lower: &casts.Cast{}}).Text.String())
}
