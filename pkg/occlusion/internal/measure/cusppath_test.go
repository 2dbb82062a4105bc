package measure

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// flat takes the jaw through both lateral movements on level condylar paths
// without opening.
func flat(t *testing.T, d, bennett float64) (*frames.Setup, []findings.Excursion) {
	path, err := kinematics.Straight(0)
	require.NoError(t, err)
	side := kinematics.Side{Path: path, SideShiftAngle: s1.Angle(bennett) * s1.Degree}
	e := &frames.Setup{Case: casefile.Default(), Set: kinematics.Settings{Intercondylar: d, Right: side, Left: side}}
	var out []findings.Excursion
	for _, m := range []kinematics.Movement{kinematics.Right, kinematics.Left} {
		x := findings.Excursion{Movement: findings.MovementOf(m)}
		for i := range 61 {
			st, err := e.Set.Station(m, float64(i)*0.05)
			require.NoError(t, err)
			x.Frames = append(x.Frames, findings.Frame{TravelMM: st.Travel, Pose: findings.Pose{Pose: st.Base()}})
		}
		out = append(out, x)
	}
	return e, out
}

// With no opening and level paths the angle between the working and the
// nonworking path is that of the closed form, for lower and for upper cusps; the
// numbers are those of pure rotation at a point in front of the axis and beside
// the midline.
func TestCuspAnglesMatchTheClosedForm(t *testing.T) {
	for _, c := range []struct{ d, x, y, between float64 }{
		{110, 55, 25, 95.898}, {110, 45, 28, 87.501}, {110, 65, 22, 103.253}, {96, 55, 25, 104.301}, {124, 55, 25, 88.371},
	} {
		for _, bennett := range []float64{0, 12} {
			e, out := flat(t, c.d, bennett)
			for tooth, side := range map[dentition.ToothID]float64{46: -1, 36: 1, 16: -1, 26: 1} {
				of := cusp{Landmark: anatomy.Landmark{Tooth: tooth, Feature: anatomy.MesiolingualCusp, Point: r3.Vec{X: side * c.y, Y: -c.x, Z: -33}}}
				got, err := cuspAngles(e, out, []cusp{of})
				require.NoError(t, err)
				require.Len(t, got, 1)
				require.InDelta(t, c.between, got[0].RotationDeg, 6e-4)
				// Over a millimetre the jaw turns by up to a degree to each side.
				require.InDelta(t, got[0].ShiftDeg, got[0].BetweenDeg, 2, "%v with %g°", tooth, bennett)
				if bennett == 0 {
					require.Equal(t, got[0].RotationDeg, got[0].ShiftDeg)
				} else {
					require.Greater(t, got[0].BetweenDeg, got[0].RotationDeg+10)
				}
			}
			_, err := cuspAngles(e, out[:1], nil)
			require.NoError(t, err)
		}
	}
	e, out := flat(t, 110, 0)
	of := cusp{Landmark: anatomy.Landmark{Tooth: 46, Point: r3.Vec{X: -25, Y: -55}}}
	got, err := cuspAngles(e, out[:1], []cusp{of})
	require.NoError(t, err)
	require.Empty(t, got, "one movement tells no angle")
}

// The determinants of the horizontal plane (textbooks): the angle between the working
// and the nonworking path is wider the farther the tooth is from the axis and from the
// midline and with more side shift, narrower with more distance of the condyles; in the
// paths as followed, and in both closed forms.
func TestSignsOfCuspAngles(t *testing.T) {
	angles := func(d, x, y, bennett float64) [3]float64 {
		e, out := flat(t, d, bennett)
		got, err := cuspAngles(e, out, []cusp{{Landmark: anatomy.Landmark{Tooth: 46, Feature: anatomy.MesiobuccalCusp,
			Point: r3.Vec{X: -y, Y: -x, Z: -33}}}})
		require.NoError(t, err)
		return [3]float64{got[0].BetweenDeg, got[0].RotationDeg, got[0].ShiftDeg}
	}
	usual := angles(110, 55, 25, 8)
	for name, c := range map[string]struct {
		got   [3]float64
		wider float64
	}{
		"farther from the axis":    {angles(110, 62, 25, 8), 1},
		"farther from the midline": {angles(110, 55, 29, 8), 1},
		"condyles farther apart":   {angles(124, 55, 25, 8), -1},
		"more side shift":          {angles(110, 55, 25, 15), 1},
	} {
		for i, a := range c.got {
			if name == "more side shift" && i == 1 {
				require.Equal(t, usual[i], a, "rotation alone knows no side shift")
				continue
			}
			require.Positive(t, c.wider*(a-usual[i]), "%s: %v, usually %v", name, c.got, usual)
		}
	}
}

// A point's path seen from the other arch undoes the path seen from its own.
func TestPathOfUpperIsTheInverse(t *testing.T) {
	_, out := flat(t, 110, 10)
	q := r3.Vec{X: 20, Y: -50, Z: -30}
	down := out[0].PathOf(q, dentition.Lower)
	for i, p := range down {
		back := out[0].PathOf(p, dentition.Upper)
		require.InDelta(t, 0, r3.Norm(r3.Sub(q, back[i])), 1e-9)
	}
}

// named is a cusp with its tooth, empty where there is none.
func named(c findings.CuspOf) string {
	if c.Cusp == "" {
		return ""
	}
	return c.Tooth.String() + " " + c.Cusp
}

// Straight paths over a tooth with known cusps and grooves.
func TestExitAndGroove(t *testing.T) {
	at := func(f anatomy.Feature, x, y float64) anatomy.Landmark {
		return anatomy.Landmark{Tooth: 36, Feature: f, Point: r3.Vec{X: x, Y: y}}
	}
	// A lower left tooth: buccal is to the left (x), mesial to the front (−y).
	over := anatomy.Frame{Tooth: 36, Occlusal: r3.Vec{Z: 1}, Buccal: r3.Vec{X: 1}, Mesial: r3.Vec{Y: -1}}
	central := at(anatomy.CentralGroove, 0, 0)
	central.Line = []r3.Vec{{Y: -3}, {Y: -1}, {Y: 1}, {Y: 3}}
	lingual := at(anatomy.LingualGroove, -3, 0)
	lingual.Line = []r3.Vec{{}, {X: -1.5}, {X: -3}}
	buccal := at(anatomy.BuccalGroove, 3, 0)
	buccal.Line = []r3.Vec{{X: 3}, {X: 1.5}, {}}
	marks := []anatomy.Landmark{
		buccal,
		at(anatomy.MesiobuccalCusp, 3, -3), at(anatomy.DistobuccalCusp, 3, 0), at(anatomy.DistalCusp, 3, 3),
		at(anatomy.MesiolingualCusp, -3, -3), at(anatomy.DistolingualCusp, -3, 3), central, lingual,
		{Tooth: 37, Feature: anatomy.MesiolingualCusp, Point: r3.Vec{X: -3, Y: 7}},
		{Tooth: 46, Feature: anatomy.MesiolingualCusp, Point: r3.Vec{X: -3, Y: -7}}, // of the other side
	}
	for _, c := range []struct {
		deg    float64 // of the path, 0 to mesial, 90 to buccal
		groove string
		angle  float64
		from   string // empty: it does not leave
		to     string
	}{
		{100, "buccal groove", 10, "36 distobuccal cusp", "36 distal cusp"},
		{70, "buccal groove", 20, "36 mesiobuccal cusp", "36 distobuccal cusp"},
		{-80, "lingual groove", 10, "36 mesiolingual cusp", "36 distolingual cusp"},
		{-145, "central groove", 35, "36 distolingual cusp", "37 mesiolingual cusp"},
		{10, "central groove", 10, "", ""},
		{180, "central groove", 0, "", ""},
	} {
		var way []r3.Vec
		for i := range 80 {
			w := float64(i) * 0.1
			s, k := math.Sincos(c.deg * math.Pi / 180)
			way = append(way, r3.Vec{X: w * s, Y: 0.01 - w*k})
		}
		name, deg := grooveAlong(&over, marks, way[:11])
		require.Equal(t, c.groove, name, "%g°", c.deg)
		require.InDelta(t, c.angle, *deg, 1e-9)
		_, between, ok := crossing(way, rows(marks, dentition.Left))
		require.Equal(t, c.from != "", ok, "%g°", c.deg)
		require.Equal(t, [2]string{c.from, c.to}, [2]string{named(between[0]), named(between[1])})
	}
	far := []r3.Vec{{X: 10, Y: 10}, {X: 11, Y: 10}}
	_, deg := grooveAlong(&over, marks, far)
	require.Nil(t, deg)
}
