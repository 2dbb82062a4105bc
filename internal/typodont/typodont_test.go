package typodont

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func generate(t testing.TB, p Params) *Case {
	t.Helper()
	c, err := Generate(context.Background(), p)
	require.NoError(t, err)
	return c
}

// plain is an undisturbed case that several tests look at.
var plain = sync.OnceValues(func() (*Case, error) { return Generate(context.Background(), Params{}) })

func undisturbed(t testing.TB) *Case {
	t.Helper()
	c, err := plain()
	require.NoError(t, err)
	return c
}

// cast is a case made ready for closing.
type cast struct {
	*Case
	closer       *contact.Closer
	upper, lower *contact.Arch
	scratch      contact.CloserScratch
}

func ready(t testing.TB, c *Case) *cast {
	t.Helper()
	parts := func(a Arch) []int32 {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		out := make([]int32, len(teeth))
		for i, v := range teeth {
			out[i] = int32(v)
		}
		return out
	}
	upper, err := contact.NewArch(c.Upper.Mesh, parts(c.Upper))
	require.NoError(t, err)
	lower, err := contact.NewArch(c.Lower.Mesh, parts(c.Lower))
	require.NoError(t, err)
	closer, err := contact.NewCloser(context.Background(), upper, lower)
	require.NoError(t, err)
	return &cast{Case: c, closer: closer, upper: upper, lower: lower}
}

// close closes at a travel; the teeth are those of the touching triangles.
func (c *cast) close(t testing.TB, movement string, travel float64) (open float64, upper, lower int, touch contact.Closing) {
	t.Helper()
	m, err := kinematics.ParseMovement(movement)
	require.NoError(t, err)
	st, err := c.Settings.Station(m, travel)
	require.NoError(t, err)
	touch, ok := c.closer.Close(st.Base(), &c.scratch)
	require.True(t, ok)
	tooth := func(a Arch, tri mesh.TriID) int {
		for _, v := range a.Mesh.Triangle(tri) {
			if l := a.Labels.Vertex(v); l != 0 {
				return int(l)
			}
		}
		return 0
	}
	return touch.Opening.Degrees(), tooth(c.Upper, touch.Upper), tooth(c.Lower, touch.Lower), touch
}

// Each scan is one open disc: one piece, one border, no fold, all outward.
func TestScansAreDiscs(t *testing.T) {
	for _, p := range []Params{{Triangles: 20000}, {Triangles: 50000, ThirdMolars: true}} {
		c := generate(t, p)
		for _, a := range []Arch{c.Upper, c.Lower} {
			top := mesh.BuildTopology(a.Mesh)
			assert.Len(t, top.Components(), 1)
			assert.Len(t, top.Loops(), 1)
			assert.InEpsilon(t, p.Triangles, a.Mesh.NumTriangles(), 0.12)
			for tri := range a.Mesh.NumTriangles() {
				require.False(t, top.Flipped(mesh.TriID(tri)))
			}
			for _, e := range top.Edges() {
				require.LessOrEqual(t, e.Sides, int32(2))
			}
		}
	}
}

// Crown sizes measured on the mesh against the handbook's (Wheeler, Nelson and
// Ash). The width is cut at the contacts by up to the overlap there.
func TestCrownSizes(t *testing.T) {
	c := undisturbed(t)
	for _, tt := range c.Truth.Teeth {
		a := c.Upper
		if tt.Tooth > 30 {
			a = c.Lower
		}
		var lo, hi [3]float64
		for k := range 3 {
			lo[k], hi[k] = math.Inf(1), math.Inf(-1)
		}
		for v, p := range a.Mesh.Vertices() {
			if int(a.Labels.Vertex(mesh.VertexID(v))) != tt.Tooth {
				continue
			}
			d := r3.Sub(p, tt.Origin.Vec())
			for k, axis := range []Point{tt.Mesial, tt.Buccal, tt.Occlusal} {
				x := r3.Dot(d, axis.Vec())
				lo[k], hi[k] = min(lo[k], x), max(hi[k], x)
			}
		}
		assert.InEpsilonf(t, tt.WidthMM, hi[0]-lo[0], 0.07, "%d mesiodistal", tt.Tooth)
		assert.InEpsilonf(t, tt.DepthMM, hi[1]-lo[1], 0.05, "%d buccolingual", tt.Tooth)
		assert.InDeltaf(t, tt.LengthMM, hi[2]-lo[2], 0.7, "%d crown length", tt.Tooth)
	}
}

func (c *Case) point(t testing.TB, tooth int, name string) r3.Vec {
	t.Helper()
	for _, tt := range c.Truth.Teeth {
		if tt.Tooth == tooth {
			for _, p := range append(tt.Cusps, tt.Features...) {
				if p.Name == name {
					return p.Point.Vec()
				}
			}
		}
	}
	require.Failf(t, "no point", "%d %s", tooth, name)
	return r3.Vec{}
}

// Arch widths within two standard deviations of Class I arches (n = 76,
// FACTS 4.9), inclinations in Andrews' order (4.16, 4.17), the fitted sphere and
// the depth of the curve of Spee in the published bands (1.11 to 1.19).
func TestArchForm(t *testing.T) {
	c := undisturbed(t)
	width := func(right, left int, name string) float64 {
		return r3.Norm(r3.Sub(c.point(t, right, name), c.point(t, left, name)))
	}
	assert.InDelta(t, 35.41, width(13, 23, "cusp"), 2*1.47)
	assert.InDelta(t, 26.85, width(43, 33, "cusp"), 2*1.59)
	assert.InDelta(t, 53.82, width(16, 26, "mesiobuccal"), 2*2.82)
	assert.InDelta(t, 51.71, width(46, 36, "mesiobuccal"), 2*2.60)
	inc := map[int]float64{} // the upper second molar stands more upright than the first
	for _, tt := range c.Truth.Teeth {
		inc[tt.Tooth] = tt.InclinationDeg
	}
	for place := 1; place < 7; place++ {
		assert.Greaterf(t, inc[30+place], inc[31+place], "lower %d and %d", place, place+1)
	}
	for place := 1; place < 6; place++ {
		assert.Greaterf(t, inc[20+place], inc[21+place], "upper %d and %d", place, place+1)
	}
	// Depth of the curve of Spee under the line from incisal edge to second molar.
	front, back := c.Truth.IncisalPoint.Vec(), c.Truth.LeftMolar.Vec()
	deepest := 0.0
	for _, tt := range c.Truth.Teeth {
		if tt.Tooth/10 != 3 {
			continue
		}
		for _, q := range tt.Cusps {
			if q.Supporting {
				k := (q.Point.Y - front.Y) / (back.Y - front.Y)
				deepest = max(deepest, front.Z+k*(back.Z-front.Z)-q.Point.Z)
			}
		}
	}
	assert.InDelta(t, 1.5, deepest, 1.0)
}

// Labels: all 28 teeth, each vertex within reach of its own tooth, and the two
// sides as many as the mirror image allows.
func TestLabels(t *testing.T) {
	c := undisturbed(t)
	assert.Len(t, c.Upper.Labels.Teeth(), 14)
	assert.Len(t, c.Lower.Labels.Teeth(), 14)
	frames := map[int]ToothTruth{}
	for _, tt := range c.Truth.Teeth {
		frames[tt.Tooth] = tt
	}
	require.Len(t, frames, 28)
	for _, a := range []Arch{c.Upper, c.Lower} {
		count := map[int]int{}
		for v, p := range a.Mesh.Vertices() {
			l := int(a.Labels.Vertex(mesh.VertexID(v)))
			if l == 0 {
				continue
			}
			count[l]++
			tt := frames[l]
			d := r3.Sub(p, tt.Origin.Vec())
			require.Less(t, math.Abs(r3.Dot(d, tt.Mesial.Vec())), tt.WidthMM*0.56)
			require.Less(t, math.Abs(r3.Dot(d, tt.Buccal.Vec())), tt.DepthMM*0.8)
		}
		for code, n := range count {
			assert.InEpsilonf(t, n, count[int(dentition.ToothID(code).Mirror())], 0.06, "%d", code)
		}
	}
}

// At rest the mounting is the identity, the arches touch without overlap, and
// every stop's pair of teeth is within 1 µm.
func TestStopsTouchAtRest(t *testing.T) {
	for _, n := range []int{20000, 100000} {
		c := ready(t, generate(t, Params{Triangles: n}))
		mount, err := kinematics.Average{
			IncisalPoint: c.Truth.IncisalPoint.Vec(), RightMolar: c.Truth.RightMolar.Vec(), LeftMolar: c.Truth.LeftMolar.Vec(), Up: r3.Vec{Z: 1},
			Intercondylar: c.Params.Intercondylar, CondyleToIncisal: c.Params.CondyleToIncisal, Balkwill: c.Params.Balkwill,
		}.Mount()
		require.NoError(t, err)
		assert.InDelta(t, 0, r3.Norm(mount.Offset()), 1e-9)
		assert.InDelta(t, 0, mount.Angle().Degrees(), 1e-9)

		open, _, _, _ := c.close(t, "protrusive", 0)
		assert.Less(t, open, 0.0, "the arches overlap at rest")
		assert.Greater(t, open*math.Pi/180*90e3, -1.0, "µm at the incisal point")
		require.GreaterOrEqual(t, len(c.Truth.Stops), 20)
		for _, s := range c.Truth.Stops {
			up, lo := patchAround(t, c.Upper, s.Upper, s.point()), patchAround(t, c.Lower, s.Lower, s.point())
			gap, ok := contact.LeastGap(up, lo, kinematics.Pose{}, 1, &contact.GapScratch{})
			require.True(t, ok)
			assert.Lessf(t, gap.Dist, 0.001, "%d %s on %d %s", s.Lower, s.LowerFeature, s.Upper, s.UpperFeature)
			assert.Greater(t, gap.Dist, 0.0)
		}
	}
}

// patchAround is an index of a tooth's triangles within 1 mm of a point.
func patchAround(t testing.TB, a Arch, tooth int, at r3.Vec) *mesh.Index {
	t.Helper()
	var tris [][3]mesh.VertexID
	for _, tri := range a.Mesh.All() {
		for _, v := range tri {
			if int(a.Labels.Vertex(v)) == tooth && r3.Norm(r3.Sub(a.Mesh.Vertex(v), at)) < 1 {
				tris = append(tris, tri)
				break
			}
		}
	}
	m, err := mesh.New(a.Mesh.Vertices(), tris)
	require.NoError(t, err)
	x, err := mesh.NewIndex(m, nil)
	require.NoError(t, err)
	return x
}

// The undisturbed arches move as they were built to: the guiding teeth carry, at
// the opening of the prescribed slope, and the finer mesh follows it closer.
func TestGuidance(t *testing.T) {
	worst := map[int]float64{}
	for _, n := range []int{50000, 150000} {
		c := ready(t, generate(t, Params{Triangles: n}))
		for _, g := range c.Truth.Guidance {
			require.Greaterf(t, g.ToMM, 1.2, "%s", g.Movement)
			for _, o := range g.Openings[1:] {
				open, upper, lower, _ := c.close(t, g.Movement, o.TravelMM)
				worst[n] = max(worst[n], math.Abs(open-o.OpeningDeg)*math.Pi/180*90)
				if o.TravelMM > 0.15 {
					assert.Containsf(t, g.Lower, lower, "%s at %.1f", g.Movement, o.TravelMM)
					if g.Movement != "protrusive" {
						assert.Containsf(t, g.Upper, upper, "%s at %.1f", g.Movement, o.TravelMM)
					}
				}
			}
		}
	}
	t.Log("largest departure at the incisal point, mm:", worst)
	assert.Less(t, worst[50000], 0.05)
	assert.Less(t, worst[150000], worst[50000])
}

// In every movement the back teeth clear, more the farther it goes.
func TestBackTeethClear(t *testing.T) {
	c := ready(t, undisturbed(t))
	for _, movement := range []string{"right", "left", "protrusive"} {
		for _, travel := range []float64{1, 1.5} {
			_, _, _, touch := c.close(t, movement, travel)
			up, _ := contact.Clearances(c.upper, c.lower, touch.Pose, nil, nil, &contact.ClearanceScratch{})
			for i, part := range c.upper.Parts {
				if part%10 >= 4 {
					assert.Greaterf(t, up[i].Dist, 0.1*travel, "%d in %s at %g", part, movement, travel)
				}
			}
		}
	}
}

// A raised cusp opens the closing by the angle that its lever gives.
func TestRaisedCuspOpens(t *testing.T) {
	for _, d := range []Disturbance{
		{Kind: Raise, Tooth: 26, Cusp: "mesiopalatal", Um: 150},
		{Kind: Raise, Tooth: 46, Cusp: "distobuccal", Um: 150},
		{Kind: Raise, Tooth: 35, Um: 150},
		{Kind: Raise, Tooth: 17, Um: 100},
	} {
		c := ready(t, generate(t, Params{Triangles: 100000, Disturbances: []Disturbance{d}}))
		require.Len(t, c.Truth.Expected, 1)
		e := c.Truth.Expected[0]
		open, upper, lower, _ := c.close(t, "protrusive", 0)
		assert.InEpsilonf(t, e.OpeningDeg, open, 0.01, "%+v", d)
		assert.Equal(t, e.Upper, upper)
		assert.Equal(t, e.Lower, lower)
	}
}

// An obstacle of the nonworking side carries the frame at its travel; without it
// the closing would go on by its height there.
func TestInterference(t *testing.T) {
	d := Disturbance{Kind: Interference, Tooth: 37, Movement: "right", Um: 200, MM: 2}
	plain, c := ready(t, undisturbed(t)), ready(t, generate(t, Params{Disturbances: []Disturbance{d}}))
	rest, _, _, _ := c.close(t, "right", 0)
	assert.Less(t, rest, 0.0, "nothing new at rest")
	without, _, _, _ := plain.close(t, "right", d.MM)
	with, upper, lower, touch := c.close(t, "right", d.MM)
	e := c.Truth.Expected[0]
	assert.Equal(t, e.Lower, lower)
	assert.Equal(t, e.Upper, upper)
	assert.InDelta(t, e.OpeningDeg, with, 1e-4)
	q := touch.Pose.Inverse().Apply(touch.Point)
	assert.InDelta(t, d.Um, (with-without)*math.Pi/180*math.Hypot(q.Y, q.Z)*1000, 2)
	assert.Less(t, r3.Norm(r3.Sub(e.Point.Vec(), touch.Point)), 0.05)
}

func TestFlatCanineGivesUpGuidance(t *testing.T) {
	c := ready(t, generate(t, Params{Disturbances: []Disturbance{{Kind: FlatCanine, Tooth: 13}}}))
	e := c.Truth.Expected[0]
	assert.Less(t, e.FromMM, c.Truth.Guidance[0].ToMM)
	_, upper, _, _ := c.close(t, "right", 0.2)
	assert.Equal(t, 13, upper)
	plain := ready(t, undisturbed(t))
	was, _, _, _ := plain.close(t, "right", 1.8)
	is, _, _, _ := c.close(t, "right", 1.8)
	assert.Less(t, is, was-0.1)
}

func TestShortIncisorLeavesGuidanceToTheOther(t *testing.T) {
	c := ready(t, generate(t, Params{Disturbances: []Disturbance{{Kind: Incisor, Tooth: 31, Um: -150}}}))
	for _, travel := range []float64{0.5, 1, 1.5} {
		_, _, lower, _ := c.close(t, "protrusive", travel)
		assert.Equal(t, c.Truth.Expected[0].Lower, lower)
	}
}

func TestMissingToothAndOpenBite(t *testing.T) {
	c := generate(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Missing, Tooth: 46}, {Kind: OpenAnterior}}})
	assert.NotContains(t, c.Lower.Labels.Teeth(), dentition.ToothID(46))
	assert.Len(t, mesh.BuildTopology(c.Lower.Mesh).Components(), 1)
	r := ready(t, c)
	up, _ := contact.Clearances(r.upper, r.lower, kinematics.Pose{}, nil, nil, &contact.ClearanceScratch{})
	for i, part := range r.upper.Parts {
		if part%10 <= 2 {
			assert.Greaterf(t, up[i].Dist, 1.0, "%d", part)
		}
	}
	for _, s := range c.Truth.Stops {
		assert.NotEqual(t, 46, s.Lower)
	}
}

// A facet is flat, of the stated area, and lies along the movement.
func TestFacet(t *testing.T) {
	c := generate(t, Params{Triangles: 100000, Disturbances: []Disturbance{{Kind: Facet, Tooth: 46, Cusp: "distobuccal", Movement: "right"}}})
	require.Len(t, c.Truth.Facets, 2)
	for _, f := range c.Truth.Facets {
		assert.InDelta(t, 0, r3.Dot(f.Normal.Vec(), f.Way.Vec()), 1e-12)
		assert.Greater(t, f.AreaMM2, 0.2)
		a := c.Upper
		if f.Tooth > 30 {
			a = c.Lower
		}
		area := 0.0
		for tri := range a.Mesh.NumTriangles() {
			p, q, s := a.Mesh.Corners(mesh.TriID(tri))
			on := true
			for _, v := range []r3.Vec{p, q, s} {
				on = on && math.Abs(r3.Dot(r3.Sub(v, f.Point.Vec()), f.Normal.Vec())) < 2e-5 && r3.Norm(r3.Sub(v, f.Point.Vec())) < 2.6
			}
			if on {
				area += r3.Norm(a.Mesh.AreaVector(mesh.TriID(tri)))
			}
		}
		assert.InEpsilon(t, f.AreaMM2, area, 0.02)
	}
}

// Noise has the stated size; holes, islands and flipped patches are what the
// topology sees.
func TestScanFaults(t *testing.T) {
	plain := generate(t, Params{Triangles: 30000})
	noisy := generate(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Noise, Um: 20}}, Seed: 7})
	require.Equal(t, plain.Lower.Mesh.NumVertices(), noisy.Lower.Mesh.NumVertices())
	sum := 0.0
	for v, p := range plain.Lower.Mesh.Vertices() {
		sum += r3.Norm2(r3.Sub(noisy.Lower.Mesh.Vertex(mesh.VertexID(v)), p))
	}
	assert.InEpsilon(t, 0.020, math.Sqrt(sum/float64(plain.Lower.Mesh.NumVertices())), 0.08)
	other := generate(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Noise, Um: 20}}, Seed: 8})
	assert.NotEqual(t, noisy.Lower.Mesh.Vertex(100), other.Lower.Mesh.Vertex(100))

	loops := func(c *Case) int { return len(mesh.BuildTopology(c.Upper.Mesh).Loops()) }
	hole := generate(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Hole, Tooth: 16}}})
	assert.Equal(t, loops(plain)+1, loops(hole))
	island := generate(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Island, Tooth: 16}}})
	assert.Len(t, mesh.BuildTopology(island.Upper.Mesh).Components(), 2)
	flipped := generate(t, Params{Triangles: 30000, Disturbances: []Disturbance{{Kind: Flipped, Tooth: 16}}})
	n := 0
	top := mesh.BuildTopology(flipped.Upper.Mesh)
	for tri := range flipped.Upper.Mesh.NumTriangles() {
		if top.Flipped(mesh.TriID(tri)) {
			n++
		}
	}
	assert.Positive(t, n)
}

// What is written reads back: scans with labels of the right length, the case
// file without complaint; the bytes are the same every time, on any number of
// cores.
func TestWriteDir(t *testing.T) {
	var first map[string][]byte
	for _, cores := range []int{1, 3} {
		old := runtime.GOMAXPROCS(cores)
		c := generate(t, Params{Triangles: 20000, Disturbances: []Disturbance{{Kind: Noise}}, Seed: 3})
		runtime.GOMAXPROCS(old)
		dir := filepath.Join(t.TempDir(), "new", "folder")
		require.NoError(t, c.WriteDir(dir))
		files := map[string][]byte{}
		entries, err := os.ReadDir(dir)
		require.NoError(t, err)
		for _, e := range entries {
			files[e.Name()], err = os.ReadFile(filepath.Join(dir, e.Name()))
			require.NoError(t, err)
		}
		require.Len(t, files, 6)
		if first == nil {
			first = files
		}
		for name := range files {
			assert.Truef(t, string(first[name]) == string(files[name]), "%s differs", name)
		}
		back, warnings, err := casefile.Read(filepath.Join(dir, CaseFile))
		require.NoError(t, err)
		assert.Empty(t, warnings)
		assert.Equal(t, casefile.SettleNone, back.Settle)
		f, err := os.Open(filepath.Join(dir, UpperLabelsFile))
		require.NoError(t, err)
		labels, err := dentition.ReadLabels(UpperLabelsFile, f, dentition.Upper, c.Upper.Mesh.NumVertices())
		require.NoError(t, err)
		require.NoError(t, f.Close())
		assert.Len(t, labels.Teeth(), 14)
	}
}

func TestBadParams(t *testing.T) {
	for _, p := range []Params{
		{Triangles: 10}, {Overjet: 9}, {Overbite: math.NaN()}, {CanineGuidance: 3},
		{Disturbances: []Disturbance{{Kind: "nothing"}}},
		{Disturbances: []Disturbance{{Kind: Raise, Tooth: 18}}},
		{Disturbances: []Disturbance{{Kind: Raise, Tooth: 16, Cusp: "distal"}}, Triangles: 20000},
		{Disturbances: []Disturbance{{Kind: Raise, Tooth: 16, Um: 9000}}},
		{Disturbances: []Disturbance{{Kind: FlatCanine, Tooth: 14}}},
		{Disturbances: []Disturbance{{Kind: Interference, Tooth: 47, Movement: "right"}}},
		{Disturbances: []Disturbance{{Kind: Facet, Tooth: 46}}},
	} {
		_, err := Generate(context.Background(), p)
		assert.ErrorIsf(t, err, ErrParams, "%+v", p)
	}
	for _, s := range []string{"", "raise", "raise,tooth", "raise,tooth=x", "raise,tooth=16,size=3", "raise,tooth=16,um=NaN"} {
		_, err := ParseDisturbance(s)
		assert.ErrorIs(t, err, ErrParams, s)
	}
	d, err := ParseDisturbance("raise,tooth=26,cusp=mesiopalatal")
	require.NoError(t, err)
	assert.Equal(t, Disturbance{Kind: Raise, Tooth: 26, Cusp: "mesiopalatal", Um: 150}, d)
}

// Other overlaps keep the promises too, or are refused.
func TestOverjetAndOverbite(t *testing.T) {
	for _, p := range []Params{{Overjet: 2, Overbite: 2.4}, {Overjet: 3, Overbite: 3.6}} {
		p.Triangles = 30000
		c := ready(t, generate(t, p))
		open, _, _, _ := c.close(t, "protrusive", 0)
		assert.Less(t, open, 0.0)
		assert.Greater(t, open*math.Pi/180*90e3, -1.0, "µm at the incisal point")
		for _, g := range c.Truth.Guidance {
			o := g.Openings[len(g.Openings)/2]
			got, _, lower, _ := c.close(t, g.Movement, o.TravelMM)
			assert.Contains(t, g.Lower, lower)
			assert.InDelta(t, o.OpeningDeg, got, 0.03)
		}
	}
	_, err := Generate(context.Background(), Params{Overjet: 2, Overbite: 3.6, Triangles: 20000})
	assert.ErrorIs(t, err, ErrParams)
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Generate(ctx, Params{Triangles: 20000})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestDemo(t *testing.T) {
	assert.Len(t, generate(t, Demo()).Truth.Expected, 4)
}

func FuzzParseDisturbance(f *testing.F) {
	for _, s := range []string{"", "raise,tooth=26,um=150", "noise,um=5,mm=1e3", "facet,tooth=46,movement=left", "tip,tooth=11,degrees=-3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDisturbance(s)
		if err != nil {
			require.ErrorIs(t, err, ErrParams)
			return
		}
		again, err := d.withDefaults(7)
		require.NoError(t, err)
		require.Equal(t, d, again)
	})
}

// A pair of 50 000 triangles each; the target is 2 s on two cores.
func BenchmarkGenerate(b *testing.B) {
	for b.Loop() {
		c := generate(b, Params{Triangles: 50000})
		require.NotZero(b, c.Upper.Mesh.NumTriangles())
	}
}
