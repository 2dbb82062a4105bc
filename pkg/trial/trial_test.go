package trial_test

import (
	"bytes"
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/trial"
)

// scan is an arch of a synthetic dentition as a scan.
func scan(t testing.TB, a typodont.Arch) *casts.Scan {
	teeth, err := a.Labels.Triangles(a.Mesh)
	require.NoError(t, err)
	return &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
}

// made is a synthetic dentition with disturbances, as scans with their case.
func made(t testing.TB, list ...typodont.Disturbance) (*casefile.Case, *casts.Scan, *casts.Scan) {
	g, err := typodont.Generate(t.Context(), typodont.Params{Disturbances: list, Travel: 5, Record: typodont.Demo().Record})
	require.NoError(t, err)
	c := g.CaseFile()
	for i := range c.Excursions {
		c.Excursions[i].MaxMM = 3 // enough to show what was built in
	}
	return c, scan(t, g.Upper), scan(t, g.Lower)
}

// written is a scan as its STL file reads back.
func written(t testing.TB, s *casts.Scan) *casts.Scan {
	var b bytes.Buffer
	require.NoError(t, meshfile.WriteSTL(&b, s.Mesh))
	raw, err := meshfile.Read(&b, meshfile.ReadOptions{Unit: mesh.Millimetre})
	require.NoError(t, err)
	m, _ := mesh.Weld(raw, 0)
	teeth, err := s.Labels.Triangles(m)
	require.NoError(t, err)
	return &casts.Scan{Mesh: m, Labels: s.Labels, Teeth: teeth}
}

// openings closes casts at every travel of a movement: the incisal opening in µm.
func openings(t testing.TB, c *casefile.Case, upper, lower *casts.Scan, m kinematics.Movement, travels []float64) []float64 {
	pair, err := occlusion.Assemble(context.Background(), c, upper, lower)
	require.NoError(t, err)
	set, err := c.Settings.Kinematics()
	require.NoError(t, err)
	var s contact.CloserScratch
	var out []float64
	for _, x := range travels {
		st, err := set.Station(m, x)
		require.NoError(t, err)
		touch, err := pair.Closer.Close(st.Base(), &s)
		require.NoError(t, err)
		out = append(out, touch.Opening.Radians()*1000*math.Hypot(pair.Incisal.Y, pair.Incisal.Z))
	}
	return out
}

// A raised cusp and an interference that were built in go: at every position of the
// movement the casts that are written close as those close that never had them, to within 5
// µm at the incisors, and every stop is kept. The truth is another dentition, not the plan. What the
// interference still holds open in protrusion, since its reduction there is refused, is not filled
// with wax.
func TestBuiltFaultsAreTakenAway(t *testing.T) {
	raise := typodont.Disturbance{Kind: typodont.Raise, Tooth: 26, Cusp: "mesiopalatal", Um: 120}
	bump := typodont.Disturbance{Kind: typodont.Interference, Tooth: 37, Movement: "right", Um: 200, MM: 2}
	c, upper, lower := made(t, raise, bump)
	c.Trial = []casefile.TrialStep{{Adjust: &casefile.Adjust{What: []casefile.Obstacle{casefile.PrematureContact,
		casefile.NonworkingInterference}}},
		{Adjust: &casefile.Adjust{What: []casefile.Obstacle{casefile.ProtrusiveInterference}, AtMostUm: 60}},
		{Wax: &casefile.Wax{Tooth: 41, ShareWith: 31, Movement: kinematics.Protrusive}}}
	r, err := trial.Run(t.Context(), c, upper, lower, trial.Options{AsSet: true})
	require.NoError(t, err)
	for _, s := range r.Treatment.Steps {
		t.Logf("%d %s %v %s: %.0f µm, %.2f mm², %.4f mm³; %v %v", s.Number, s.Stage, s.Tooth, s.Site, s.DeepestUm, s.AreaMM2,
			s.VolumeMM3, s.LimitedBy, s.Refused)
		assert.Equal(t, s.Of == 1, s.Refused.Empty())
	}
	refused := r.Treatment.Steps[len(r.Treatment.Steps)-2:]
	assert.Contains(t, refused[0].Refused.String(), "27/37 needs")
	assert.Regexp(t, "27/37 stands 37[0-9] µm in the way of the guidance at 1.9 mm in protrusion and holds the casts open",
		refused[1].Refused.String())
	for _, p := range slices.Concat(r.Treatment.Findings.Gone, r.Treatment.Findings.New) {
		t.Logf("gone or new: %v", p.Text)
	}
	for _, p := range r.Treatment.Findings.Changed {
		t.Logf("changed: %v -> %v", p.Before.Text, p.After.Text)
	}
	gone := func(k findings.Kind, upper, lower findings.Part) bool {
		return slices.ContainsFunc(r.Treatment.Findings.Gone, func(p compare.Place) bool {
			return p.Kind == k &&
				p.Upper == upper && p.Lower == lower
		})
	}
	assert.True(t, gone(findings.KindPremature, 26, 36))
	assert.True(t, gone(findings.KindNonworkingInterference, 27, 37))
	assert.Empty(t, r.Treatment.Stops.Lost)

	plain, truthUpper, truthLower := made(t)
	var travels []float64
	for x := plain.Thresholds.BegunMM; x <= 3; x += 0.1 {
		travels = append(travels, x)
	}
	want := openings(t, plain, truthUpper, truthLower, kinematics.Right, append([]float64{0}, travels...))
	got := openings(t, r.After.Case, written(t, r.After.Upper), written(t, r.After.Lower), kinematics.Right,
		append([]float64{0}, travels...))
	for i := range want {
		assert.InDelta(t, want[i], got[i], 5, "position %d", i)
	}
	deepest := map[string]float64{}
	for _, s := range r.Treatment.Steps {
		deepest[s.Stage] = max(deepest[s.Stage], s.DeepestUm)
	}
	assert.Less(t, deepest["premature"], 1.3*120)
	assert.Less(t, deepest["nonworking"], 1.3*200)
}

// Wax on a worn canine, a short incisor and a missing molar, each against what is not the
// plan: the canine guides as its twin does, to 5 µm at the incisors; the incisor comes to
// within 5 µm of the opposing teeth wherever the others guide protrusion and opens the casts
// nowhere by more than 3 µm; the mirrored molar stands where the dentition that was made had
// it, and stops there. The wax is a closed body, and no stop is lost.
func TestWaxGuidesSharesAndForms(t *testing.T) {
	c, upper, lower := made(t, typodont.Disturbance{Kind: typodont.FlatCanine, Tooth: 13, MM: 1.5},
		typodont.Disturbance{Kind: typodont.Incisor, Tooth: 41, Um: -120}, typodont.Disturbance{Kind: typodont.Missing, Tooth: 46})
	c.Record = nil
	c.Trial = []casefile.TrialStep{
		{Wax: &casefile.Wax{Tooth: 46, Form: &casefile.WaxForm{Mirror: 36}}},
		{Wax: &casefile.Wax{Tooth: 13, As: 23, Movement: kinematics.Right}},
		{Wax: &casefile.Wax{Tooth: 41, ShareWith: 31, Movement: kinematics.Protrusive}},
	}
	r, err := trial.Run(t.Context(), c, upper, lower, trial.Options{AsSet: true})
	require.NoError(t, err)
	for _, s := range r.Treatment.Steps {
		t.Logf("%d %s %v %s: %.0f µm, %.2f mm², %.4f mm³; %v %v", s.Number, s.Stage, s.Tooth, s.Site, s.ThickestUm,
			s.AreaMM2, s.VolumeMM3, s.LimitedBy, s.Refused)
		assert.True(t, s.Refused.Empty())
	}
	for _, s := range r.Treatment.Stops.Lost {
		t.Logf("lost: %v", s.Text)
	}
	assert.Empty(t, r.Treatment.Stops.Lost)
	top := mesh.BuildTopology(r.Wax)
	assert.Empty(t, top.Loops())
	branches := 0
	for _, e := range top.Edges() {
		if e.Sides != 2 {
			branches++
		}
	}
	assert.Zero(t, branches, "edges where more or fewer than two triangles of the wax meet")
	up, lo := written(t, r.After.Upper), written(t, r.After.Lower)
	travels := []float64{0.6, 0.9, 1.2, 1.5, 1.8, 2.1, 2.4, 2.7}
	right := openings(t, r.After.Case, up, lo, kinematics.Right, travels)
	left := openings(t, r.After.Case, up, lo, kinematics.Left, travels)
	before := openings(t, c, upper, lower, kinematics.Protrusive, travels)
	after := openings(t, r.After.Case, up, lo, kinematics.Protrusive, travels)
	for i := range travels {
		assert.InDelta(t, left[i], right[i], 5, "canine at %g mm", travels[i])
		assert.InDelta(t, before[i], after[i], 3, "protrusion at %g mm", travels[i])
	}
	for _, x := range r.After.Findings.Excursions {
		if x.Movement != findings.Protrusive || x.Guidance == nil {
			continue
		}
		for _, f := range x.Frames {
			if f.TravelMM >= 0.5 && f.TravelMM <= 1.5 {
				assert.Less(t, f.ClearanceMM["41"], 0.005, "41 at %g mm of protrusion", f.TravelMM)
			}
		}
	}
	stops := slices.ContainsFunc(r.Treatment.Stops.New, func(s compare.Stop) bool { return s.Lower == 46 })
	assert.True(t, stops, "46 has stops")
	guideTable(t, &r.After)
}

// guideTable holds the guide table against the poses of the examination: in all movements up to
// edge-to-edge the ball of the pin, 20 mm below the incisors and in front of them, lies on the printed
// surface within 10 µm.
func guideTable(t *testing.T, x *trial.Examined) {
	const radius = 1.0
	tip := r3.Add(x.Casts.Mount.Inverse().Apply(*x.Casts.Incisal), x.Casts.Mount.Inverse().Rotate(r3.Vec{Y: -8, Z: -20}))
	m, err := trial.GuideTable(t.Context(), x, tip, radius)
	require.NoError(t, err)
	top := mesh.BuildTopology(m)
	require.Empty(t, top.Loops())
	for _, e := range top.Edges() {
		require.EqualValues(t, 2, e.Sides)
	}
	table, err := index.New(t.Context(), m, nil, index.Options{})
	require.NoError(t, err)
	toScan := x.Casts.Mount.Then(x.Casts.Settling.Pose.Pose).Inverse()
	pin := x.Casts.Mount.Apply(tip)
	seen := 0
	for _, e := range x.Findings.Excursions {
		if e.Guidance == nil {
			continue
		}
		for _, f := range e.Frames {
			if f.TravelMM < 0.3 || f.TravelMM > 1.8 {
				continue
			}
			h, ok := table.Nearest(toScan.Apply(f.Pose.Inverse().Apply(pin)), 3)
			require.True(t, ok)
			assert.InDelta(t, radius, h.Dist, 0.01, "%s at %g mm", e.Movement, f.TravelMM)
			seen++
		}
	}
	require.Greater(t, seen, 12)
	for _, bad := range []struct {
		tip    r3.Vec
		radius float64
	}{{tip, 30}, {tip, math.NaN()}, {r3.Vec{X: math.Inf(1)}, 1}, {r3.Vec{Z: -1e6}, 1}} {
		_, err = trial.GuideTable(t.Context(), x, bad.tip, bad.radius)
		require.ErrorIs(t, err, trial.ErrTable)
	}
}

// Wax on a canine that shall lead at an inclination, and on a crown whose cusp is worn down by
// 300 µm and gets its twin's form. The incisal point then goes down along a straight path of that
// inclination to the horizontal plane, by the canines; where the unworn dentition touches its
// opponents on the worn tooth the waxed one has its form, to 20 µm, and elsewhere the casts close as
// the unworn ones do. Two triangulations of that form, the tooth's own and its twin's mirrored, lie up
// to 37 µm apart there (15 µm where the arches have three times the triangles): each place is held
// against the nearer of both.
func TestWaxLeadsAndRestores(t *testing.T) {
	plain, plainUpper, plainLower := made(t)
	c, upper, lower := made(t, typodont.Disturbance{Kind: typodont.FlatCanine, Tooth: 13, MM: 1.5},
		typodont.Disturbance{Kind: typodont.Raise, Tooth: 26, Cusp: "mesiopalatal", Um: -300})
	c.Record = nil
	c.Trial = []casefile.TrialStep{
		{Wax: &casefile.Wax{Tooth: 26, Form: &casefile.WaxForm{Mirror: 16}, Material: casefile.Metal}},
		{Wax: &casefile.Wax{Tooth: 13, InclinationDeg: 55, Movement: kinematics.Right}},
	}
	r, err := trial.Run(t.Context(), c, upper, lower, trial.Options{AsSet: true})
	require.NoError(t, err)
	for _, s := range r.Treatment.Steps {
		t.Logf("%d %s %v %s: %.0f µm, %.2f mm², %.4f mm³; %v %v", s.Number, s.Stage, s.Tooth, s.Site, s.ThickestUm,
			s.AreaMM2, s.VolumeMM3, s.LimitedBy, s.Refused)
		assert.True(t, s.Refused.Empty())
	}
	assert.Empty(t, r.Treatment.Stops.Lost)
	leads(t, &r.After.Findings.Excursions[slices.IndexFunc(r.After.Findings.Excursions,
		func(x findings.Excursion) bool { return x.Movement == findings.Right })], 13, 55)

	t.Log(r.Treatment.Steps[0].Warning)
	assert.Contains(t, r.Treatment.Steps[0].Warning.String(), "metal needs 1.5 mm at the mesiolingual cusp, 36 in")
	led := r.Treatment.Steps[1]
	t.Logf("%+v", led.Shaped)
	if assert.NotEmpty(t, led.Shaped) {
		assert.Equal(t, findings.Part(43), led.Shaped[0].Opposing)
		assert.Equal(t, findings.Right, led.Shaped[0].Movement)
	}
	area := 0.0
	for _, s := range led.Shaped {
		assert.Equal(t, dentition.Lower, s.Opposing.Tooth().Jaw())
		assert.LessOrEqual(t, s.FromMM, s.ToMM)
		area += s.AreaMM2
	}
	assert.Less(t, area, led.AreaMM2)

	up := written(t, r.After.Upper)
	distance := func(s *casts.Scan) func(r3.Vec, float64) (float64, bool) {
		x, err := index.New(t.Context(), s.Mesh, nil, index.Options{})
		require.NoError(t, err)
		return func(p r3.Vec, within float64) (float64, bool) {
			h, ok := x.Nearest(p, within)
			return h.Dist, ok
		}
	}
	toWorn, toWaxed, toLower := distance(upper), distance(up), distance(plainLower)
	twin := mirrored(t, plainUpper, 16)
	lost, back, apart, all := 0.0, 0.0, 0.0, 0
	for v, p := range plainUpper.Mesh.Vertices() {
		if _, touches := toLower(p, 0.05); plainUpper.Labels.Vertex(mesh.VertexID(v)) != 26 || !touches {
			continue
		}
		h, ok := twin.Nearest(p, 1)
		require.True(t, ok)
		was, ok := toWorn(p, 1)
		now, ok2 := toWaxed(p, 1)
		other, ok3 := toWaxed(h.Point, 1)
		require.True(t, ok && ok2 && ok3)
		lost, apart, all = max(lost, was), max(apart, h.Dist), all+1
		back = max(back, min(now, other))
	}
	t.Logf("%.0f µm were worn, %.0f µm off after waxing at %d places; the triangulations lie %.0f µm apart", 1000*lost, 1000*back, all,
		1000*apart)
	assert.Greater(t, lost, 0.15)
	assert.Less(t, back, 0.02)
	assert.Greater(t, all, 10)
	travels := []float64{0, 0.6, 1.2, 1.8}
	for _, m := range []kinematics.Movement{kinematics.Left, kinematics.Protrusive} {
		want, got := openings(t, plain, plainUpper, plainLower, m, travels), openings(t, r.After.Case, up, written(t, r.After.Lower), m, travels)
		for i := range travels {
			assert.InDelta(t, want[i], got[i], 5, "%v at %g mm", m, travels[i])
		}
	}
}

// mirrored is a tooth of a scan that stands symmetrically about x = 0, mirrored.
func mirrored(t *testing.T, s *casts.Scan, tooth dentition.ToothID) *index.Index {
	verts := append([]r3.Vec(nil), s.Mesh.Vertices()...)
	for v := range verts {
		verts[v].X = -verts[v].X
	}
	var tris [][3]mesh.VertexID
	for k, c := range s.Mesh.All() {
		if s.Teeth[k] == tooth {
			tris = append(tris, [3]mesh.VertexID{c[0], c[2], c[1]})
		}
	}
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	x, err := index.New(t.Context(), m, nil, index.Options{})
	require.NoError(t, err)
	return x
}

// leads checks that a tooth carries a movement along a straight path of an inclination.
func leads(t *testing.T, x *findings.Excursion, tooth findings.Part, deg float64) {
	at := func(mm float64) *findings.Frame {
		return &x.Frames[slices.IndexFunc(x.Frames, func(f findings.Frame) bool { return f.TravelMM > mm-1e-9 })]
	}
	for _, mm := range []float64{0.8, 1.2, 1.6, 2} {
		a, b := at(mm).IncisalPoint, at(mm+0.4).IncisalPoint
		down, along := a[2]-b[2], math.Hypot(b[0]-a[0], b[1]-a[1])
		assert.InDelta(t, deg, math.Atan2(down, along)*180/math.Pi, 0.5, "at %g mm", mm)
		assert.Equal(t, tooth, at(mm).Carrier.Upper)
	}
}
