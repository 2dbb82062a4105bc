package stops

import (
	"context"
	"math"
	"strings"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// wall is a face of a fossa: it rises at a slope, in degrees, towards an azimuth
// from mesial (0) to buccal (90).
type wall struct{ slope, azimuth float64 }

func (w wall) normal() r3.Vec {
	s, c := math.Sincos(w.slope * math.Pi / 180)
	sin, cos := math.Sincos(w.azimuth * math.Pi / 180)
	return r3.Vec{X: -s * cos, Y: -s * sin, Z: c}
}

// ball is a round cusp of 1 mm, the mesiolingual one of 16, in a fossa with plane
// walls through the origin, the central one of 46, one micrometre from each wall.
// Both teeth stand along the axes: x mesial, y buccal, z up.
func ball(t *testing.T, walls ...wall) (upper, lower *casts.Cast) {
	t.Helper()
	// The centre lies equally far from all walls: n·c = r. One wall is touched half
	// a millimetre up.
	const r = 1.001
	var c r3.Vec
	switch len(walls) {
	case 1:
		n := walls[0].normal()
		up := r3.Unit(r3.Sub(r3.Vec{Z: 1}, r3.Scale(n.Z, n)))
		c = r3.Add(r3.Scale(r, n), r3.Scale(0.5, up))
	case 2:
		a, b := walls[0].normal(), walls[1].normal()
		c = r3.Scale(r/(1+r3.Dot(a, b)), r3.Add(a, b))
	default: // alike on all sides
		c = r3.Vec{Z: r / math.Cos(walls[0].slope*math.Pi/180)}
	}
	fossa := testmesh.Sheet(40, 40, func(u, v float64) r3.Vec {
		p := r3.Vec{X: 8 * (u - 0.5), Y: 8 * (v - 0.5), Z: math.Inf(-1)}
		for _, w := range walls {
			n := w.normal()
			p.Z = max(p.Z, -(n.X*p.X+n.Y*p.Y)/n.Z)
		}
		return p
	})
	mark := func(t dentition.ToothID, f anatomy.Feature, p ...r3.Vec) anatomy.Landmark {
		return anatomy.Landmark{Tooth: t, Feature: f, Point: p[len(p)/2], Line: p, Confidence: 0.9}
	}
	cast := func(jaw dentition.Jaw, tooth dentition.ToothID, m *mesh.Mesh, f anatomy.Frame, marks ...anatomy.Landmark) *casts.Cast {
		a, err := contact.NewArch(context.Background(), m, nil, contact.Options{})
		require.NoError(t, err)
		teeth := make([]dentition.ToothID, m.NumTriangles())
		for i := range teeth {
			teeth[i] = tooth
		}
		f.Tooth, f.Mesial, f.Buccal = tooth, r3.Vec{X: 1}, r3.Vec{Y: 1}
		return &casts.Cast{Arch: a, Jaw: jaw, Teeth: teeth, ByPart: []dentition.ToothID{0, tooth},
			Frames: map[dentition.ToothID]anatomy.Frame{tooth: f}, Landmarks: marks}
	}
	upper = cast(dentition.Upper, 16, testmesh.Shifted(testmesh.Sphere(1, 60), c), anatomy.Frame{Centre: c, Occlusal: r3.Vec{Z: -1}},
		mark(16, anatomy.MesiolingualCusp, r3.Sub(c, r3.Vec{Z: 1})), mark(16, anatomy.MesiobuccalCusp, r3.Add(c, r3.Vec{Y: 5})),
		mark(16, anatomy.DistolingualCusp, r3.Add(c, r3.Vec{X: -5})))
	lower = cast(dentition.Lower, 46, fossa, anatomy.Frame{Occlusal: r3.Vec{Z: 1}},
		mark(46, anatomy.MesiobuccalCusp, r3.Vec{X: 3, Y: 3}), mark(46, anatomy.DistobuccalCusp, r3.Vec{X: -3, Y: 3}),
		mark(46, anatomy.MesiolingualCusp, r3.Vec{X: 3, Y: -3}), mark(46, anatomy.DistolingualCusp, r3.Vec{X: -3, Y: -3}),
		mark(46, anatomy.CentralFossa, r3.Vec{}), mark(46, anatomy.CentralGroove, r3.Vec{X: 3}, r3.Vec{}, r3.Vec{X: -3}))
	return upper, lower
}

// heldBy is what the stops of two casts hold by the thresholds of a case.
func heldBy(t *testing.T, upper, lower *casts.Cast, of *casefile.Case) *findings.Centric {
	t.Helper()
	return lowered(t, upper, lower, of, 0)
}

// lowered is the same with the lower cast down by some µm.
func lowered(t *testing.T, upper, lower *casts.Cast, of *casefile.Case, um float64) *findings.Centric {
	t.Helper()
	e := &frames.Setup{Case: of, Casts: &casts.Casts{Upper: upper, Lower: lower}}
	pose := kinematics.Translation(r3.Vec{Z: -um / 1000})
	var s frames.Scratch
	var err error
	s.Patches, err = contact.AppendPatches(nil, upper.Arch, lower.Arch, pose, []float64{0.008, 0.04}, false, &s.Patch)
	require.NoError(t, err)
	c := &findings.Centric{}
	require.NoError(t, Support(t.Context(), e, c, &s, pose))
	return c
}

// held is what the stops of a ball in a fossa hold.
func held(t *testing.T, walls ...wall) *findings.Centric {
	t.Helper()
	upper, lower := ball(t, walls...)
	return heldBy(t, upper, lower, casefile.Default())
}

// A round cusp in a V whose walls rise at a and b pushes with the sum of two unit
// vectors; its share along the axis is cos((a−b)/2) in closed form. On one wall it
// is cos a; between three or more alike it is 1.
func TestAxialShareOfABallBetweenWalls(t *testing.T) {
	across := func(a, b float64) []wall { return []wall{{a, 90}, {b, -90}} }
	along := func(a, b float64) []wall { return []wall{{a, 0}, {b, 180}} }
	yes, no, both := []bool{true}, []bool{false}, []bool{true, true}
	pit := []wall{{40, 90}, {40, 210}, {40, 330}}
	for _, c := range []struct {
		name                 string
		walls                []wall
		share                float64
		points               findings.Points
		across               string
		stoppers, equalisers int
		stable               []bool // by wall
	}{
		{"V of 30", across(30, 30), 1, findings.TwoPoint, "BC", 0, 0, both},
		{"V of 45", across(45, 45), 1, findings.TwoPoint, "BC", 0, 0, both},
		{"V of 30 and 60", across(30, 60), math.Cos(math.Pi / 12), findings.TwoPoint, "BC", 0, 0, both},
		{"V of 5 and 65", across(5, 65), math.Cos(math.Pi / 6), findings.TwoPoint, "BC", 0, 0, []bool{true, false}},
		{"V along the arch", along(40, 40), 1, findings.TwoPoint, "", 1, 1, both},
		{"one wall of 20", []wall{{20, 90}}, math.Cos(math.Pi / 9), findings.Single, "B", 0, 0, yes},
		{"one wall of 45", []wall{{45, 90}}, math.Cos(math.Pi / 4), findings.Single, "B", 0, 0, no},
		{"one wall of 40, lingual", []wall{{40, -90}}, math.Cos(math.Pi / 4.5), findings.Single, "C", 0, 0, no},
		{"one wall facing mesially", []wall{{45, 180}}, math.Cos(math.Pi / 4), findings.Single, "", 1, 0, no},
		{"a pit of three walls", pit, 1, findings.Tripod, "BC", 1, 1, []bool{true, true, true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := held(t, c.walls...)
			require.Len(t, got.Stops, len(c.walls))
			require.Len(t, got.Support, 2)
			up, lo := got.Support[0], got.Support[1]
			require.Equal(t, [2]findings.Part{16, 46}, [2]findings.Part{up.Tooth, lo.Tooth})
			for _, s := range []findings.ToothStops{up, lo} {
				require.Equal(t, len(c.walls), s.Stops)
				require.InDelta(t, c.share, *s.AxialShare, 0.01)
				require.Equal(t, c.share >= 0.9, *s.Axial)
				require.Equal(t, c.across, s.Across)
				require.Equal(t, c.across == "BC", *s.AcrossStable)
				require.Equal(t, [2]int{c.stoppers, c.equalisers}, [2]int{s.Stoppers, s.Equalisers})
			}
			// What pushes one tooth pushes the other the other way.
			require.InDelta(t, -up.Load[0], lo.Load[0], 0.02)
			require.InDelta(t, -up.Load[1], lo.Load[1], 0.02)
			require.InDelta(t, up.Load[2], lo.Load[2], 0.02)
			require.Equal(t, "mesiolingual cusp", up.Cusps[0].Cusp)
			require.Equal(t, c.points, up.Cusps[0].Points)
			require.InDelta(t, c.share, *up.Cusps[0].AxialShare, 0.01)
			require.Equal(t, findings.NoPoint, up.Cusps[1].Points)
			var stable []bool
			for i, s := range got.Stops {
				stable = append(stable, s.Stable)
				require.Equal(t, "mesiolingual cusp of 16 in the central fossa of 46", s.Text.String())
				require.Equal(t, "supporting", s.OnUpper.Role)
				require.Empty(t, s.OnLower.Role)
				if len(c.walls) == 1 {
					require.InDelta(t, c.walls[i].slope, s.OnLower.InclineDeg, 0.5)
					require.InDelta(t, c.walls[i].slope, s.OnUpper.InclineDeg, 0.5)
				}
			}
			require.ElementsMatch(t, c.stable, stable)
		})
	}
	got := held(t, wall{45, 90})
	reason := got.Stops[0].Reason.String()
	require.Contains(t, []string{"on an incline of 45° that pushes 16 to lingual, unopposed",
		"on an incline of 45° that pushes 46 to buccal, unopposed"}, reason)
	require.Equal(t, "1 stop on 2 teeth, none stable. Posterior teeth pushed aside by their stops together: 16 to "+
		"lingual (71 % along its axis), 46 to buccal (71 % along its axis). "+
		"Not stable: mesiolingual cusp of 16 in the central fossa of 46 ("+reason+"). "+
		"Across the teeth, a B contact with an A or C contact on no posterior tooth; along the arches, no closure stopper and no equaliser. "+
		"Supporting cusps of posterior teeth: 1 on one point, 3 without a stop.", got.StopsText.String())
	require.Contains(t, held(t, pit...).StopsText.String(),
		"Across the teeth, a B contact with an A or C contact on every posterior tooth with stops; along the arches, 1 "+
			"closure stopper and 1 equaliser. "+
			"Supporting cusps of posterior teeth: 1 on a tripod, ")
	got = held(t, wall{20, 90})
	require.Equal(t, "in position, loading 16 and 46 nearly along their axes (20° and 20°)", got.Stops[0].Reason.String())
	require.Equal(t, "16: 1 stop, 94 % along its axis; across the tooth B; mesiolingual cusp on one point.", got.Support[0].Text.String())
	got = held(t, pit...)
	require.Equal(t, "the 3 stops of the mesiolingual cusp of 16 together load it along its axis (100 %)", got.Stops[0].Reason.String())
}

// A strip over a cusp measures its gap alone: of a ball lifted by h off walls of
// slope a, the gap grows by h·cos a. At 30 µm a contact of the 40 µm foil lies on the cusp,
// under which foil does not pull through, whatever the strip says.
func TestStripsOfFoil(t *testing.T) {
	const slope = 30.0
	upper, lower := ball(t, wall{slope, 90}, wall{slope, -90})
	for _, c := range []struct {
		lift float64 // µm
		want findings.HoldClass
	}{{0, findings.ClassHolds}, {7, findings.ClassDrags}, {30, findings.ClassDrags}, {80, findings.ClassPasses}} {
		cusps := lowered(t, upper, lower, casefile.Default(), c.lift).Support[0].Cusps
		k := cusps[0]
		require.InDelta(t, 1+c.lift*math.Cos(slope*math.Pi/180), *k.GapUm, 0.3)
		require.Equal(t, c.want, *k.Class)
		require.Nil(t, cusps[1].GapUm, "no surface around that tip")
	}
}

func TestPointsOfACusp(t *testing.T) {
	at := func(deg ...float64) (out []r3.Vec) {
		for _, d := range deg {
			s, c := math.Sincos(d * math.Pi / 180)
			out = append(out, r3.Vec{X: c / 2, Y: s / 2, Z: math.Sqrt(0.75)})
		}
		return out
	}
	require.Equal(t, findings.NoPoint, points(nil))
	require.Equal(t, findings.Single, points(at(10)))
	require.Equal(t, findings.TwoPoint, points(at(10, 190)))
	require.Equal(t, findings.Tripod, points(at(0, 120, 240)))
	require.Equal(t, findings.Tripod, points(at(350, 100, 190)))
	require.Equal(t, findings.OneSided, points(at(0, 60, 170)))
	require.Equal(t, findings.OneSided, points(at(0, 10, 20, 30)))
	axis := r3.Vec{Z: 1}
	require.Equal(t, findings.OneSided, points([]r3.Vec{axis, axis, axis}), "straight down there is no side")
}

// Where supporting cusps have their place (textbooks: fossae and marginal ridges,
// upper mesiolingual and lower distobuccal cusps in fossae).
func TestPlacesOfSupportingCusps(t *testing.T) {
	limits := &casefile.Default().Thresholds
	site := func(tooth dentition.ToothID, f anatomy.Feature, slope anatomy.Slope) bearing {
		return bearing{Site: anatomy.Site{Tooth: tooth, Feature: f, Slope: slope}, load: r3.Vec{Y: 0.1, Z: math.Sqrt(0.99)}, incline: 5.7}
	}
	for _, c := range []struct {
		up, lo bearing
		stable bool
		words  string
	}{
		{site(16, anatomy.MesiolingualCusp, 0), site(46, anatomy.CentralFossa, 0), true, "mesiolingual cusp of 16 in the central fossa of 46"},
		{site(16, anatomy.MesiolingualCusp, 0), site(46, anatomy.DistalMarginalRidge, 0), true,
			"mesiolingual cusp of 16 on the distal marginal ridge of 46"},
		{site(16, anatomy.DistolingualCusp, 0), site(47, anatomy.MesialMarginalRidge, 0), true,
			"distolingual cusp of 16 on the mesial marginal ridge of 47"},
		{site(16, anatomy.CentralFossa, 0), site(46, anatomy.DistobuccalCusp, anatomy.OuterSlope), true,
			"distobuccal cusp of 46 in the central fossa of 16"},
		{site(16, anatomy.MesialMarginalRidge, 0), site(46, anatomy.DistobuccalCusp, 0), true,
			"distobuccal cusp of 46 on the mesial marginal ridge of 16"},
		{site(15, anatomy.DistalMarginalRidge, 0), site(46, anatomy.MesiobuccalCusp, 0), true,
			"mesiobuccal cusp of 46 on the distal marginal ridge of 15"},
		{site(14, anatomy.BuccalCusp, anatomy.InnerSlope), site(44, anatomy.BuccalCusp, anatomy.OuterSlope), false,
			"buccal cusp of 44 on the inner incline of the buccal cusp of 14"},
		{site(14, anatomy.LingualCusp, 0), site(44, anatomy.CentralGroove, 0), true, "lingual cusp of 14 in the central groove of 44"},
		{site(16, anatomy.MesiobuccalCusp, 0), site(46, anatomy.BuccalGroove, 0), false, "mesiobuccal cusp of 16 in the buccal groove of 46"},
		{site(16, anatomy.CentralFossa, 0), site(46, anatomy.CentralFossa, 0), false, "central fossa of 16 against the central fossa of 46"},
		{site(11, anatomy.LingualFossa, 0), site(41, anatomy.IncisalEdge, 0), true, "incisal edge of 41 in the lingual fossa of 11"},
		{site(13, anatomy.Cingulum, 0), site(43, anatomy.CanineCusp, anatomy.DistalSlope), true, "cusp of 43 on the cingulum of 13"},
		{site(11, anatomy.IncisalEdge, 0), site(41, anatomy.IncisalEdge, 0), false, "incisal edge of 41 on the incisal edge of 11"},
		{site(11, anatomy.LingualFossa, 0), site(41, 0, 0), false, "lingual fossa of 11 against the outer face of 41"},
	} {
		s := spot{up: c.up, lo: c.lo}
		require.Equal(t, c.words, s.words().String())
		stable, reason := s.weigh(grouped([]spot{s}), limits)
		require.Equal(t, c.stable, stable, "%v: %v", c.words, reason)
		require.NotEmpty(t, reason.String())
	}
	s := spot{up: site(16, anatomy.MesiolingualCusp, 0), lo: site(46, anatomy.DistalMarginalRidge, 0)}
	_, reason := s.weigh(grouped([]spot{s}), limits)
	require.Equal(t, "on a marginal ridge where a fossa is usual, but loading 16 and 46 nearly along their axes (6° and 6°)", reason.String())
	s = spot{up: site(16, anatomy.MesiolingualCusp, 0), lo: site(46, anatomy.CentralFossa, 0)}
	require.Contains(t, s.words().In(dentition.Universal), "mesiolingual cusp of 3 in")
}

// A stop on a steep incline of a fossa is stable where the other stops of the tooth
// oppose it, so that their sum goes along the axis, and only there: two unit vectors
// at ±a make a sum along the axis, at a and 0 one whose share is cos(a/2).
func TestStopsOnInclinesAreOpposedByTheirTooth(t *testing.T) {
	at := func(tooth dentition.ToothID, f anatomy.Feature, deg float64) bearing {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		return bearing{Site: anatomy.Site{Tooth: tooth, Feature: f}, load: r3.Vec{X: -sin, Z: cos}, incline: math.Abs(deg)}
	}
	for _, c := range []struct {
		a, other float64
		reason   string
	}{
		{40, -40, "on an incline of 40° that pushes 14 to distal, but its 2 stops together load it along its axis (100 %)"},
		{40, 0, "on an incline of 40° that pushes 14 to distal, but its 2 stops together load it along its axis (94 %)"},
		{40, 25, "on an incline of 40° that pushes 14 to distal, unopposed"},
		{70, 0, "on an incline of 70° that pushes 14 to distal, unopposed"},
		{29, 29, "in position, loading 14 and 44 nearly along their axes (29° and 5°)"},
	} {
		all := []spot{
			{up: at(14, anatomy.LingualCusp, c.a), lo: at(44, anatomy.DistalFossa, 5)},
			{up: at(14, anatomy.MesialFossa, c.other), lo: at(44, anatomy.BuccalCusp, 5)},
		}
		stable, reason := all[0].weigh(grouped(all), &casefile.Default().Thresholds)
		require.Equal(t, c.reason, reason.String())
		require.Equal(t, !strings.HasSuffix(c.reason, "unopposed"), stable)
	}
}
