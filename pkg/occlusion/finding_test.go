package occlusion_test

import (
	"context"
	"math"
	"os"
	"slices"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// made is a synthetic dentition and what its examination found.
type made struct {
	*typodont.Case
	found *findings.Findings
}

// mouth is what an invented mouth shows, whatever the casts do.
var mouth = &casefile.Record{
	FoilUm: 8, Foil: map[dentition.ToothID]casefile.Hold{11: casefile.Holds, 16: casefile.Passes, 26: casefile.Holds,
		36: casefile.LightDrag, 46: casefile.Passes},
	Marks: casefile.Marks{
		Centric: []casefile.Mark{{Upper: 16, Lower: 46}, {Upper: 26, Lower: 36}},
		Right:   []casefile.Mark{{Upper: 13, Lower: 43}, {Upper: 27, Lower: 37}},
	},
	Notes: "Feels high on the left.",
}

// disturbed examines the synthetic dentition with disturbances built in, up to a
// little past the edge-to-edge position, in all movements or those named.
func disturbed(o occlusion.Options, list []typodont.Disturbance, movements ...kinematics.Movement) (made, error) {
	return examined(typodont.Params{Triangles: 50000, Disturbances: list}, o, func(c *casefile.Case) {
		c.Record = mouth
		for i := range c.Excursions {
			c.Excursions[i].MaxMM = 5
		}
		c.Excursions = slices.DeleteFunc(c.Excursions, func(x casefile.Excursion) bool {
			return len(movements) > 0 && !slices.Contains(movements, x.Movement)
		})
	})
}

// examined examines a synthetic dentition as an edited case says.
func examined(params typodont.Params, o occlusion.Options, edit func(*casefile.Case)) (made, error) {
	ctx := context.Background()
	var m made
	var err error
	if m.Case, err = typodont.Generate(ctx, params); err != nil {
		return m, err
	}
	dir, err := os.MkdirTemp("", "typodont")
	if err != nil {
		return m, err
	}
	defer os.RemoveAll(dir)
	if err := m.WriteDir(dir); err != nil {
		return m, err
	}
	c, _, err := casefile.Read(dir + "/" + typodont.CaseFile)
	if err != nil {
		return m, err
	}
	c.Settle = casefile.Settle{How: casefile.SettleNone}
	edit(c)
	upper, lower, err := occlusion.Load(ctx, c)
	if err != nil {
		return m, err
	}
	casts, err := occlusion.Assemble(ctx, c, upper, lower)
	if err != nil {
		return m, err
	}
	m.found, err = occlusion.Examine(ctx, c, casts, o)
	return m, err
}

// asSet examines without trying other settings.
var asSet = occlusion.Options{AsSet: true}

// undisturbed is examined once for all tests.
var undisturbed = sync.OnceValues(func() (made, error) { return disturbed(occlusion.Options{}, nil) })

func plain(t *testing.T) made {
	t.Helper()
	m, err := undisturbed()
	require.NoError(t, err)
	return m
}

func with(t *testing.T, d typodont.Disturbance, movements ...kinematics.Movement) made {
	t.Helper()
	m, err := disturbed(asSet, []typodont.Disturbance{d}, movements...)
	require.NoError(t, err)
	return m
}

func (m made) excursion(t *testing.T, movement findings.Movement) *findings.Excursion {
	t.Helper()
	for i := range m.found.Excursions {
		if m.found.Excursions[i].Movement == movement {
			return &m.found.Excursions[i]
		}
	}
	require.Fail(t, "no movement "+string(movement))
	return nil
}

// lists are the findings of a kind that begin before the edge-to-edge position.
func (m made) lists(t *testing.T, movement findings.Movement, kind findings.Kind) (out []findings.Finding) {
	t.Helper()
	for _, g := range m.excursion(t, movement).Findings {
		if g.Kind == kind && !g.PastEdge {
			out = append(out, g)
		}
	}
	return out
}

// onlyIn checks that the movements named, and no others, show findings of a kind,
// and that the undisturbed dentition shows none.
func (m made) onlyIn(t *testing.T, kind findings.Kind, movements ...string) {
	t.Helper()
	for _, x := range m.found.Excursions {
		require.Equal(t, slices.Contains(movements, string(x.Movement)), len(m.lists(t, x.Movement, kind)) > 0, "%s to the %s", kind, x.Movement)
	}
	for _, x := range plain(t).found.Excursions {
		require.Empty(t, plain(t).lists(t, x.Movement, kind))
	}
}

// promised are the findings of a kind that begin within the travel of which the truth
// speaks; beyond it, edges meet edges and the obstacle may be met again.
func (m made) promised(t *testing.T, movement findings.Movement, kind findings.Kind) []findings.Finding {
	t.Helper()
	const truthMM = 4.0
	return slices.DeleteFunc(slices.Clone(m.lists(t, movement, kind)), func(g findings.Finding) bool { return g.FromMM > truthMM+0.05 })
}

func teeth(upper, lower dentition.ToothID) [2]findings.Part {
	return [2]findings.Part{findings.Part(upper), findings.Part(lower)}
}

// excess is, for every frame of a movement, by how much the disturbed dentition is
// held open more than the undisturbed one: the way of its carrying spot about the
// hinge, in µm. It is the truth of a height to be removed.
func (m made) excess(t *testing.T, movement findings.Movement) []float64 {
	was, is := plain(t).excursion(t, movement), m.excursion(t, movement)
	out := make([]float64, len(is.Frames))
	for i := range is.Frames {
		f := &is.Frames[i]
		require.InDelta(t, was.Frames[i].TravelMM, f.TravelMM, 1e-9)
		pose := f.Pose.Pose
		q := pose.Inverse().Apply(r3.Vec{X: f.Carrier.PointMM[0], Y: f.Carrier.PointMM[1], Z: f.Carrier.PointMM[2]})
		out[i] = 1000 * (f.OpeningDeg - was.Frames[i].OpeningDeg) * math.Pi / 180 * math.Hypot(q.Y, q.Z)
	}
	return out
}

// checkHeight checks an interference against the undisturbed dentition: how much is
// in the way within 10 %, where it is most within 0.1 mm, where it begins and ends.
func (m made) checkHeight(t *testing.T, movement string, g findings.Finding) {
	t.Helper()
	excess, x := m.excess(t, findings.Movement(movement)), m.excursion(t, findings.Movement(movement))
	first, last, best := -1, 0, 0
	for i := range x.Frames {
		f := &x.Frames[i]
		if f.TravelMM < 0.3-1e-9 || f.TravelMM > g.ToMM+0.35 || excess[i] < 1 {
			continue
		}
		if first < 0 {
			first, best = i, i
		}
		last = i
		if excess[i] > excess[best] {
			best = i
		}
	}
	require.GreaterOrEqual(t, first, 0)
	require.InDelta(t, x.Frames[first].TravelMM, g.FromMM, 0.11, "begins")
	require.InDelta(t, x.Frames[last].TravelMM, g.ToMM, 0.11, "ends")
	require.InDelta(t, x.Frames[best].TravelMM, g.AtMM, 0.11, "is highest")
	require.InEpsilon(t, excess[best], *g.HeightUm, 0.1)
}

// traceable checks that every finding leads to a frame, to teeth, to a place on them
// and to features there, and that the frame shows a contact or its carrier at that
// place.
func (m made) traceable(t *testing.T) {
	t.Helper()
	for _, x := range m.found.Excursions {
		for _, g := range x.Findings {
			require.NotEqual(t, findings.Part(0), g.Upper, g.Text)
			require.NotEqual(t, findings.Part(0), g.Lower, g.Text)
			require.NotNil(t, g.PointMM, g.Text)
			require.NotEmpty(t, g.UpperAt+g.LowerAt, g.Text)
			require.LessOrEqual(t, g.FromMM, g.AtMM, g.Text)
			require.LessOrEqual(t, g.AtMM, g.ToMM, g.Text)
			require.NotNil(t, g.Teeth)
			require.Equal(t, g.Kind == findings.KindLateDisclusion, len(g.Teeth) > 0, g.Text)
			seen := false
			for _, f := range x.Frames {
				if f.TravelMM != g.AtMM {
					continue
				}
				seen = f.Carrier.PointMM == *g.PointMM && f.Carrier.Upper == g.Upper && f.Carrier.Lower == g.Lower
				for _, c := range f.Contacts {
					seen = seen || c.PointMM == *g.PointMM && c.Upper == g.Upper && c.Lower == g.Lower
				}
			}
			require.True(t, seen, "%s: its place is no contact of the frame at %g mm", g.Text, g.AtMM)
		}
	}
}

// cause is the number of a cause.
func cause(t *testing.T, g findings.Finding, word string) float64 {
	t.Helper()
	k := slices.IndexFunc(g.Causes, func(x findings.Cause) bool { return x.Cause == word })
	require.GreaterOrEqual(t, k, 0, "%s among %v", word, g.Causes)
	return g.Causes[k].Value
}

func TestUndisturbedDentitionIsGuidedAsBuilt(t *testing.T) {
	m := plain(t)
	m.traceable(t)
	f := m.found
	require.Equal(t, findings.Acceptable, f.Centric.Mounting.Verdict)
	for _, x := range f.Excursions {
		want := findings.CanineGuidance
		if x.Movement == "protrusive" {
			want = findings.AnteriorGuidance
		}
		require.Equal(t, want, x.Guidance.Patterns[1].Pattern, x.Movement)
		for _, g := range x.Findings {
			require.True(t, g.Kind == findings.KindGuidance || g.PastEdge, g.Text)
			require.Equal(t, findings.Robust, g.Robustness.State, g.Text)
		}
	}
	// The lower canine slides on the prescribed slope in the frontal plane, the
	// incisors on theirs in the sagittal plane, as far as the truth says.
	for _, g := range m.Truth.Guidance {
		x := m.excursion(t, findings.Movement(g.Movement))
		require.NotNil(t, x.Guidance.EdgeToEdgeMM)
		require.Greater(t, *x.Guidance.EdgeToEdgeMM, g.ToMM)
		for _, p := range x.Guidance.Patterns {
			if p.TravelMM < g.ToMM-0.2 {
				require.InDelta(t, g.SlopeDeg, *p.ToothDeg, 4, "%s at %g mm", g.Movement, p.AtMM)
			}
		}
		carried := 0.0
		for _, k := range x.Guidance.Guides {
			carried += k.CarryMM
		}
		require.InDelta(t, *x.Guidance.EdgeToEdgeMM, carried, 1e-9, "stretches cover the way to edge to edge")
	}
}

// hindered has an interference on the nonworking side, on 37 in the movement to the
// right, and is examined once for all tests.
var hindered = sync.OnceValues(func() (made, error) {
	d := typodont.Disturbance{Kind: typodont.Interference, Tooth: 37, Movement: "right", MM: hinderedMM, Um: hinderedUm}
	return disturbed(occlusion.Options{}, []typodont.Disturbance{d}, kinematics.Right, kinematics.Left)
})

const hinderedMM, hinderedUm = 2.0, 200.0

func TestNonworkingInterferenceIsFound(t *testing.T) {
	const travel, high = hinderedMM, hinderedUm
	m, err := hindered()
	require.NoError(t, err)
	m.onlyIn(t, findings.KindNonworkingInterference, "right")
	got := m.promised(t, "right", findings.KindNonworkingInterference)
	require.Len(t, got, 1)
	g := got[0]
	require.Equal(t, teeth(27, 37), [2]findings.Part{g.Upper, g.Lower})
	require.LessOrEqual(t, g.FromMM, travel)
	require.GreaterOrEqual(t, g.ToMM, travel)
	m.checkHeight(t, "right", g)
	// It is as high as built where it is highest.
	require.InDelta(t, m.Truth.Expected[0].TravelMM, g.AtMM, 0.11)
	require.InEpsilon(t, high, *g.HeightUm, 0.1)
	require.Equal(t, findings.Robust, g.Robustness.State)
	require.Positive(t, *g.AreaMM2)
	// The closed form of parallel inclines: it meets an incline steeper than its way.
	require.Greater(t, cause(t, g, "contact_incline"), cause(t, g, "path_angle")+5)
	require.NotEmpty(t, g.LowerAt)
	require.Contains(t, g.Text.String(), "nonworking interference in right lateral movement")
}

// A short incisor leaves protrusion to the other side, a long one takes it.
func TestUnevenIncisors(t *testing.T) {
	for _, c := range []struct {
		d            typodont.Disturbance
		upper, lower dentition.ToothID
		opens        bool
	}{
		{typodont.Disturbance{Kind: typodont.Incisor, Tooth: 41, Um: -150}, 21, 31, false},
		{typodont.Disturbance{Kind: typodont.Incisor, Tooth: 31, Um: 150}, 21, 31, true},
	} {
		m := with(t, c.d, kinematics.Protrusive)
		m.onlyIn(t, findings.KindUneven, "protrusive")
		got := m.lists(t, "protrusive", findings.KindUneven)
		require.Len(t, got, 1)
		require.Equal(t, teeth(c.upper, c.lower), [2]findings.Part{got[0].Upper, got[0].Lower})
		require.Equal(t, c.opens, m.found.Centric.OpeningDeg > 0.01)
		x := m.excursion(t, "protrusive")
		require.Less(t, *x.Smoothness.Evenness, 0.1)
		require.InDelta(t, 1, *plain(t).excursion(t, "protrusive").Smoothness.Evenness, 0.1)
		require.GreaterOrEqual(t, got[0].ToMM, 2.0)
		m.traceable(t)
		m.checkApart(t, got[0], math.Abs(c.d.Um))
		require.Contains(t, got[0].Text.String(), "11/41 is out of contact (gap 1")
	}
}

// checkApart checks how far the anterior teeth of the other side stay apart, within
// 10 %: an incisor that is shorter by so much along its axis, or longer and its
// neighbour out of the way by as much, leaves a gap that is its part across the
// surfaces where they touch in the undisturbed dentition.
func (m made) checkApart(t *testing.T, g findings.Finding, um float64) {
	t.Helper()
	require.Equal(t, "um", g.Unit)
	for _, f := range plain(t).excursion(t, "protrusive").Frames {
		if math.Abs(f.TravelMM-g.AtMM) > 1e-9 {
			continue
		}
		for _, c := range f.Contacts {
			if [2]findings.Part{c.Upper, c.Lower} != teeth(11, 41) || c.FoilUm != g.FoilUm {
				continue
			}
			for _, w := range m.Truth.Teeth {
				if w.Tooth == 41 {
					axis := w.Occlusal.Vec()
					require.InEpsilon(t, um*r3.Dot(axis, r3.Vec{X: c.Normal[0], Y: c.Normal[1], Z: c.Normal[2]}), *g.Value, 0.1)
					return
				}
			}
		}
	}
	require.Fail(t, "11/41 do not touch in the undisturbed dentition")
}

// raised has a premature cusp and is examined once for all tests.
var raised = sync.OnceValues(func() (made, error) {
	return disturbed(asSet, []typodont.Disturbance{{Kind: typodont.Raise, Tooth: 26, Cusp: "mesiopalatal", Um: 150}}, kinematics.Protrusive)
})

func TestRaisedCuspHoldsTheCastsOpen(t *testing.T) {
	m, err := raised()
	require.NoError(t, err)
	m.traceable(t)
	f, e := m.found, m.Truth.Expected[0]
	// The foil in the mouth shows the same one tooth: the casts are mounted as the
	// patient bites, and the tooth is the first finding.
	require.Equal(t, findings.Acceptable, f.Centric.Mounting.Verdict)
	require.InEpsilon(t, e.OpeningDeg, f.Centric.OpeningDeg, 0.1)
	first := f.Centric.Findings[0]
	require.Equal(t, findings.KindPremature, first.Kind)
	require.Equal(t, teeth(26, 36), [2]findings.Part{first.Upper, first.Lower})
	m.onlyIn(t, findings.KindProtrusiveInterference, "protrusive")
	got := m.lists(t, "protrusive", findings.KindProtrusiveInterference)
	require.Len(t, got, 1)
	require.Equal(t, teeth(26, 36), [2]findings.Part{got[0].Upper, got[0].Lower})
	m.checkHeight(t, "protrusive", got[0])
	require.Equal(t, "left molars", f.Centric.Mounting.Areas[2].Area)
	require.Equal(t, findings.ClassHolds, f.Centric.Mounting.Areas[2].Class)
}

// A worn canine guides until its tip is reached, then it is flat: it takes the jaw
// less far down than the other one by as much as it is worn. The posterior teeth of the
// side come less far apart.
func TestFlatCanineGivesUpGuidance(t *testing.T) {
	const worn = 1.5
	m := with(t, typodont.Disturbance{Kind: typodont.FlatCanine, Tooth: 13, MM: worn}, kinematics.Right, kinematics.Left)
	is, was := m.excursion(t, "right"), plain(t).excursion(t, "right")
	slope := map[float64][2]float64{}
	for i, p := range is.Guidance.Patterns {
		slope[p.AtMM] = [2]float64{*p.ToothDeg, *was.Guidance.Patterns[i].ToothDeg}
	}
	require.InDelta(t, slope[0.5][1], slope[0.5][0], 6, "it guides at first")
	require.Greater(t, slope[2][1], 35.0)
	require.Less(t, slope[2][0], 15.0, "it is flat then")
	for i, d := range is.Disclusion {
		if dentition.ToothID(d.Tooth).Side() == dentition.Right {
			require.Less(t, d.ClearanceMM["3"], was.Disclusion[i].ClearanceMM["3"]-0.3, "%v", d.Tooth)
		}
	}

	m.onlyIn(t, findings.KindShallow, "right")
	m.traceable(t)
	got := m.lists(t, "right", findings.KindShallow)
	require.Len(t, got, 1)
	g := got[0]
	require.Equal(t, teeth(13, 43), [2]findings.Part{g.Upper, g.Lower})
	require.Equal(t, "mm", g.Unit)
	require.InEpsilon(t, worn, *g.Value, 0.1)
	require.Contains(t, g.Text.String(), "13/43: guidance in right lateral movement takes the jaw 1.")
	// Against the same movement of the undisturbed dentition.
	from, at, most := 0.0, 0.0, 0.0
	for i, f := range is.Frames {
		less := f.IncisalPoint[2] - was.Frames[i].IncisalPoint[2]
		if less <= 0.1 {
			from = is.Frames[i+1].TravelMM
		}
		if f.Carrier.Upper == g.Upper && less > most {
			at, most = f.TravelMM, less
		}
		if f.TravelMM >= g.AtMM {
			break
		}
	}
	require.InDelta(t, from, g.FromMM, 0.11)
	require.InDelta(t, at, g.AtMM, 0.11)
	require.InEpsilon(t, most, *g.Value, 0.1)
}

// With the anterior teeth apart the posterior teeth carry every movement.
func TestOpenBiteIsCarriedByBackTeeth(t *testing.T) {
	m := with(t, typodont.Disturbance{Kind: typodont.OpenAnterior}, kinematics.Right, kinematics.Protrusive)
	m.onlyIn(t, findings.KindProtrusiveInterference, "protrusive")
	m.onlyIn(t, findings.KindNonworkingInterference, "right")
	m.traceable(t)
	for _, late := range m.lists(t, "right", findings.KindLateDisclusion) {
		require.NotContains(t, late.Teeth, findings.Part(26), "told by its interference")
		require.NotContains(t, late.Teeth, findings.Part(36))
	}
	carry := m.lists(t, "right", findings.KindNonworkingInterference)
	k := slices.IndexFunc(carry, func(g findings.Finding) bool { return g.Upper == 26 && g.Lower == 36 })
	require.GreaterOrEqual(t, k, 0, "the teeth that carry")
	// The closed form of parallel inclines: they run into each other.
	require.Greater(t, cause(t, carry[k], "contact_incline"), cause(t, carry[k], "path_angle"))
	bite := cause(t, m.lists(t, "protrusive", findings.KindProtrusiveInterference)[0], "overbite")
	require.InDelta(t, plain(t).found.Arches.Incisors[0].OverbiteMM-3, bite, 0.3, "raised by 3 mm")
	for _, x := range m.found.Excursions {
		for _, p := range x.Guidance.Patterns {
			if p.AtMM <= 2 {
				require.Contains(t, []findings.PatternClass{findings.PosteriorGuidance, findings.NonworkingOnly, findings.Balanced,
					findings.GroupFunction}, p.Pattern, "%s at %g mm", x.Movement, p.AtMM)
			}
		}
	}
}

// gapped lacks 46 and is examined once for all tests.
var gapped = sync.OnceValues(func() (made, error) {
	return disturbed(asSet, []typodont.Disturbance{{Kind: typodont.Missing, Tooth: 46}}, kinematics.Right)
})

// A missing tooth interferes nowhere.
func TestMissingToothBringsNoInterference(t *testing.T) {
	m, err := gapped()
	require.NoError(t, err)
	for _, x := range m.found.Excursions {
		for _, g := range x.Findings {
			require.True(t, g.Kind == findings.KindGuidance || g.PastEdge, g.Text)
		}
		for _, d := range x.Disclusion {
			require.NotEqual(t, findings.Part(46), d.Tooth)
		}
		for _, p := range x.CuspPaths {
			require.NotEqual(t, findings.Part(46), p.Over)
		}
	}
}

// Teeth out of their place interfere where they stand, and the cause says how far
// they are out; no other cause says that they stand out of place.
func TestDisplacedTeethInterfere(t *testing.T) {
	for _, c := range []struct {
		d     typodont.Disturbance
		upper dentition.ToothID
		cause string
		value float64
	}{
		{typodont.Disturbance{Kind: typodont.Tip, Tooth: 37, Degrees: 15}, 27, "tipped_tooth", 15},
		{typodont.Disturbance{Kind: typodont.Drift, Tooth: 37, MM: 1}, 27, "drifted_tooth", 1},
		{typodont.Disturbance{Kind: typodont.Rotate, Tooth: 36, Degrees: 15}, 26, "rotated_tooth", 15},
	} {
		if testing.Short() && c.cause != "tipped_tooth" {
			continue
		}
		m := with(t, c.d, kinematics.Right)
		got := m.lists(t, "right", findings.KindNonworkingInterference)
		require.Len(t, got, 1, "%v", c.d.Kind)
		require.Equal(t, teeth(c.upper, dentition.ToothID(c.d.Tooth)), [2]findings.Part{got[0].Upper, got[0].Lower})
		m.checkHeight(t, "right", got[0])
		require.InEpsilon(t, c.value, cause(t, got[0], c.cause), 0.1)
		for _, x := range got[0].Causes {
			if slices.Contains([]string{"tipped_tooth", "drifted_tooth", "out_of_row", "rotated_tooth"}, x.Cause) {
				require.Equal(t, c.cause, x.Cause, x.Text)
				require.Contains(t, x.Text.String(), findings.Part(c.d.Tooth).String())
			}
		}
		if c.d.Kind == typodont.Tip {
			require.Less(t, cause(t, got[0], "contact_incline"), cause(t, got[0], "path_angle"), "in the way from the start")
		}
	}
}

// A tooth that has lost one of its two usual antagonists is not said to be in the way for
// that while the other holds it in its row.
func TestMissingAntagonistBesideOneThatHoldsIsNoCause(t *testing.T) {
	high := typodont.Disturbance{Kind: typodont.Interference, Tooth: 37, Movement: "right", MM: hinderedMM, Um: hinderedUm}
	m, err := disturbed(asSet, []typodont.Disturbance{high, {Kind: typodont.Missing, Tooth: 26}}, kinematics.Right)
	require.NoError(t, err)
	got := m.promised(t, "right", findings.KindNonworkingInterference)
	require.Len(t, got, 1)
	require.Equal(t, teeth(27, 37), [2]findings.Part{got[0].Upper, got[0].Lower})
	for _, x := range got[0].Causes {
		require.NotEqual(t, "missing_antagonist", x.Cause, "27 holds 37, which stands in its row")
	}
}

// Faults of a scan away from where teeth meet change no finding; what they are stands
// in the warnings. Noise, of 15 µm, brings no carrying where none was built, and the
// guidance stays.
func TestFaultsOfScansBringNoFindings(t *testing.T) {
	list := func(m made) (out []string) {
		for _, x := range m.found.Excursions {
			for _, g := range x.Findings {
				out = append(out, string(x.Movement)+" "+g.Text.String())
			}
		}
		return out
	}
	right := plain(t).excursion(t, "right")
	faulty, err := disturbed(asSet, []typodont.Disturbance{{Kind: typodont.Hole, Tooth: 26},
		{Kind: typodont.Island, Tooth: 14}, {Kind: typodont.Flipped, Tooth: 36}}, kinematics.Right)
	require.NoError(t, err)
	var want []string
	for _, g := range right.Findings {
		want = append(want, "right "+g.Text.String())
	}
	require.Equal(t, want, list(faulty))
	w := language.Join(language.Text(faulty.found.Warnings)).String()
	for _, s := range []string{"the upper scan has 1 hole in its teeth, up to 6.", "the upper scan has 1 loose part:",
		"triangles that lie inside out"} {
		require.Contains(t, w, s)
	}
	require.NotContains(t, language.Join(language.Text(plain(t).found.Warnings)).String(), "scan has")

	noisy, err := disturbed(asSet, []typodont.Disturbance{{Kind: typodont.Noise, Um: 15}}, kinematics.Right)
	require.NoError(t, err)
	for _, g := range noisy.excursion(t, "right").Findings {
		require.Contains(t, []findings.Kind{findings.KindGuidance, findings.KindNonworkingContact, findings.KindWorkingContact}, g.Kind, g.Text)
		require.True(t, g.Kind != findings.KindGuidance || g.Pattern == findings.CanineGuidance, g.Text)
	}
}
