package segment_test

import (
	"context"
	"math"
	"runtime"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/segment"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

var scanNoise = typodont.Disturbance{Kind: typodont.Noise, Um: 20, MM: 0.8}

// noisy is the synthetic dentition with noise, made once; tests only read it.
var noisy = sync.OnceValues(func() (*typodont.Case, error) {
	return typodont.Generate(context.Background(), typodont.Params{Disturbances: []typodont.Disturbance{scanNoise}})
})

// clean is one without, made once; tests only read it.
var clean = sync.OnceValues(func() (*typodont.Case, error) {
	return typodont.Generate(context.Background(), typodont.Params{Triangles: 40000})
})

func generate(t testing.TB, p typodont.Params) *typodont.Case {
	t.Helper()
	c, err := typodont.Generate(context.Background(), p)
	require.NoError(t, err)
	return c
}

// segmented finds the teeth of an arch, all of them by their right names, and at
// least a share of the vertices.
func segmented(t testing.TB, a typodont.Arch, least float64) *segment.Result {
	t.Helper()
	got, err := segment.Find(context.Background(), a.Mesh, a.Labels.Jaw(), segment.Options{})
	require.NoError(t, err)
	require.Equal(t, a.Labels.Teeth(), got.Labels.Teeth(), "%v", a.Labels.Jaw())
	require.Greater(t, share(got.Labels, a.Labels), least, "%v", a.Labels.Jaw())
	return got
}

func TestSegmentTruth(t *testing.T) {
	for name, p := range map[string]typodont.Params{
		"coarse": {Triangles: 30000, Disturbances: []typodont.Disturbance{scanNoise}},
		"third molars, missing and turned teeth": {Triangles: 60000, ThirdMolars: true, Disturbances: []typodont.Disturbance{
			{Kind: typodont.Missing, Tooth: 12}, {Kind: typodont.Missing, Tooth: 25}, {Kind: typodont.Missing, Tooth: 46},
			{Kind: typodont.Rotate, Tooth: 35, Degrees: 30}, {Kind: typodont.Tip, Tooth: 37, Degrees: 15}, scanNoise,
			{Kind: typodont.Island, Tooth: 23}, {Kind: typodont.Flipped, Tooth: 44}, {Kind: typodont.Hole, Tooth: 26},
		}},
		"a side without molars": {Triangles: 30000, ThirdMolars: true, Disturbances: []typodont.Disturbance{
			{Kind: typodont.Missing, Tooth: 18}, {Kind: typodont.Missing, Tooth: 15}, {Kind: typodont.Missing, Tooth: 25},
			{Kind: typodont.Missing, Tooth: 38}, {Kind: typodont.Missing, Tooth: 37}, {Kind: typodont.Missing, Tooth: 36},
			{Kind: typodont.Missing, Tooth: 44}, scanNoise,
		}},
		"shortened rows and drifted teeth": {Triangles: 50000, Disturbances: []typodont.Disturbance{
			{Kind: typodont.Missing, Tooth: 17}, {Kind: typodont.Missing, Tooth: 16}, {Kind: typodont.Missing, Tooth: 37},
			{Kind: typodont.Missing, Tooth: 31},
			{Kind: typodont.Drift, Tooth: 33, MM: 1}, {Kind: typodont.Drift, Tooth: 25, MM: 0.8},
			{Kind: typodont.Rotate, Tooth: 22, Degrees: -30}, scanNoise,
		}},
	} {
		t.Run(name, func(t *testing.T) {
			c := generate(t, p)
			segmented(t, c.Upper, 0.94)
			switch {
			case mergedPremolar[name]:
				segmentedButOne(t, c.Lower.Mesh, c.Lower.Labels)
				return
			case !misnumbered[name]:
				segmented(t, c.Lower, 0.95)
				return
			}
			got, err := segment.Find(context.Background(), c.Lower.Mesh, dentition.Lower, segment.Options{})
			require.NoError(t, err)
			require.Len(t, got.Labels.Teeth(), len(c.Lower.Labels.Teeth()))
			require.NotEmpty(t, got.Doubts)
		})
	}
}

// misnumbered lists the dentitions whose lower teeth are found, but not all by their names: in a
// row without 31 the picture takes 32 for 31 and so on to 35. That must be owned up to.
var misnumbered = map[string]bool{"shortened rows and drifted teeth": true}

// mergedPremolar lists the arches on which a lower anterior tooth or premolar is still taken together with
// its neighbour: what the picture shows outweighs the valleys there.
var mergedPremolar = map[string]bool{
	"low crowns lower": true, "crowns only lower": true, "crowns only small lower": true, "a side without molars": true,
}

// segmentedButOne finds all teeth but at most one, none of them wrong.
func segmentedButOne(t *testing.T, m *mesh.Mesh, labels *dentition.Labels) {
	t.Helper()
	got, err := segment.Find(context.Background(), m, labels.Jaw(), segment.Options{})
	require.NoError(t, err)
	require.Subset(t, labels.Teeth(), got.Labels.Teeth())
	require.GreaterOrEqual(t, len(got.Labels.Teeth()), len(labels.Teeth())-1)
}

// Other mouths than those that the handbook's sizes were taken from: whole
// dentitions of other size, wider and narrower arches, tapered, square and lopsided
// ones. Lying anyhow: TestAnyFrame.
func TestSegmentOtherArches(t *testing.T) {
	c, err := noisy()
	require.NoError(t, err)
	scale := func(x, y, z float64) func(p r3.Vec) r3.Vec {
		return func(p r3.Vec) r3.Vec { return r3.Vec{X: x * p.X, Y: y * p.Y, Z: z * p.Z} }
	}
	for name, f := range map[string]func(p r3.Vec) r3.Vec{
		"smallest": scale(0.85, 0.85, 0.85), "largest": scale(1.15, 1.15, 1.15),
		"wide": scale(1.1, 1, 1), "narrow": scale(0.9, 1, 1), "low crowns": scale(1, 1, 0.8),
		"tapered":  func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X * (1 + 0.004*(p.Y+60)), Y: p.Y, Z: p.Z} },
		"square":   func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X * (1 - 0.004*(p.Y+60)), Y: p.Y, Z: p.Z} },
		"lopsided": func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X + 0.08*(p.Y+60), Y: p.Y, Z: p.Z} },
	} {
		for _, a := range []typodont.Arch{c.Upper, c.Lower} {
			t.Run(name+" "+a.Labels.Jaw().String(), func(t *testing.T) {
				m, err := a.Mesh.Transform(f)
				require.NoError(t, err)
				if lost := mergedPremolar[name+" "+a.Labels.Jaw().String()]; lost {
					segmentedButOne(t, m, a.Labels)
					return
				}
				got := segmented(t, typodont.Arch{Mesh: m, Labels: a.Labels}, 0.945)
				for _, f := range got.Teeth {
					require.Greater(t, f.Confidence, 0.4, "%v", f.Tooth)
				}
			})
		}
	}
}

// Scans that end near the crowns, or on them, have less that can be labelled
// right, so that borders weigh more.
func TestSegmentCroppedScans(t *testing.T) {
	c, err := noisy()
	require.NoError(t, err)
	for _, a := range []typodont.Arch{c.Upper, c.Lower} {
		b := a.Mesh.Bounds()
		t.Run("cut across the necks "+a.Labels.Jaw().String(), func(t *testing.T) {
			segmented(t, crop(t, a, func(p r3.Vec, _ bool) bool {
				return a.Labels.Jaw() == dentition.Upper && p.Z < b.Min.Z+9.5 || a.Labels.Jaw() == dentition.Lower && p.Z > b.Max.Z-9.5
			}), 0.91)
		})
		t.Run("2 mm of gingiva "+a.Labels.Jaw().String(), func(t *testing.T) {
			segmented(t, crop(t, a, nearTeeth(a, 2)), 0.94)
		})
		crowns := crop(t, a, func(_ r3.Vec, tooth bool) bool { return tooth })
		turn := r3.NewRotation(1.1, r3.Vec{X: 1, Y: 2, Z: -1})
		for name, f := range map[string]func(r3.Vec) r3.Vec{
			"":        func(p r3.Vec) r3.Vec { return p },
			" small":  func(p r3.Vec) r3.Vec { return r3.Scale(0.85, p) },
			" large":  func(p r3.Vec) r3.Vec { return r3.Scale(1.15, p) },
			" turned": turn.Rotate,
		} {
			t.Run("crowns only"+name+" "+a.Labels.Jaw().String(), func(t *testing.T) {
				m, err := crowns.Mesh.Transform(f)
				require.NoError(t, err)
				if mergedPremolar["crowns only"+name+" "+a.Labels.Jaw().String()] {
					segmentedButOne(t, m, crowns.Labels)
					return
				}
				segmented(t, typodont.Arch{Mesh: m, Labels: crowns.Labels}, 0.95)
			})
		}
	}
}

// nearTeeth says whether a point is within d of a tooth.
func nearTeeth(a typodont.Arch, d float64) func(r3.Vec, bool) bool {
	type cell [3]int
	cellOf := func(p r3.Vec) cell { return cell{int(p.X/d + 1000), int(p.Y/d + 1000), int(p.Z/d + 1000)} }
	near := map[cell][]r3.Vec{}
	for v, p := range a.Mesh.Vertices() {
		if a.Labels.Vertex(mesh.VertexID(v)) != dentition.NoTooth {
			near[cellOf(p)] = append(near[cellOf(p)], p)
		}
	}
	return func(p r3.Vec, tooth bool) bool {
		c := cellOf(p)
		for k := range 27 {
			for _, q := range near[cell{c[0] + k%3 - 1, c[1] + k/3%3 - 1, c[2] + k/9 - 1}] {
				if r3.Norm(r3.Sub(p, q)) < d {
					return true
				}
			}
		}
		return tooth
	}
}

// crop keeps the triangles of an arch whose middle is to be kept; tooth says
// whether their first corner is labelled.
func crop(t testing.TB, a typodont.Arch, keep func(middle r3.Vec, tooth bool) bool) typodont.Arch {
	t.Helper()
	number := map[mesh.VertexID]mesh.VertexID{}
	var verts []r3.Vec
	var codes []dentition.ToothID
	var tris [][3]mesh.VertexID
	for i, corners := range a.Mesh.Triangles() {
		p, q, r := a.Mesh.Corners(mesh.TriID(i))
		if !keep(r3.Scale(1./3, r3.Add(p, r3.Add(q, r))), a.Labels.Vertex(corners[0]) != dentition.NoTooth) {
			continue
		}
		for k, v := range corners {
			id, ok := number[v]
			if !ok {
				id = mesh.VertexID(len(verts))
				number[v] = id
				verts, codes = append(verts, a.Mesh.Vertex(v)), append(codes, a.Labels.Vertex(v))
			}
			corners[k] = id
		}
		tris = append(tris, corners)
	}
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	l, err := dentition.NewLabels(a.Labels.Jaw(), codes)
	require.NoError(t, err)
	return typodont.Arch{Mesh: m, Labels: l}
}

// share is how many of the vertices have the right label.
func share(got, want *dentition.Labels) float64 {
	n := 0
	for v := range mesh.VertexID(want.NumVertices()) {
		if got.Vertex(v) == want.Vertex(v) {
			n++
		}
	}
	return float64(n) / float64(want.NumVertices())
}

func TestSegmentCorrections(t *testing.T) {
	c, err := clean()
	require.NoError(t, err)
	a := c.Lower
	frames, err := anatomy.Frames(a.Mesh, a.Labels)
	require.NoError(t, err)
	middle := map[dentition.ToothID]r3.Vec{}
	for _, f := range frames {
		middle[f.Tooth] = f.Centre
	}
	found := func(c ...segment.Correction) (*segment.Result, error) {
		return segment.Find(context.Background(), a.Mesh, dentition.Lower, segment.Options{Corrections: c})
	}
	at := func(l *dentition.Labels, tooth dentition.ToothID) map[dentition.ToothID]int {
		count := map[dentition.ToothID]int{}
		for v := range mesh.VertexID(l.NumVertices()) {
			if a.Labels.Vertex(v) == tooth {
				count[l.Vertex(v)]++
			}
		}
		return count
	}
	// A person says that what stands in the place of 47 is the 48.
	got, err := found(segment.Correction{Tooth: 48, Point: middle[47]})
	require.NoError(t, err)
	require.NotContains(t, got.Labels.Teeth(), dentition.ToothID(47))
	require.Greater(t, at(got.Labels, 47)[48], at(got.Labels, 47)[dentition.NoTooth])
	for _, f := range got.Teeth {
		if f.Tooth == 48 {
			require.EqualValues(t, 1, f.Confidence)
		}
	}
	// That there is no tooth.
	got, err = found(segment.Correction{Point: middle[37]})
	require.NoError(t, err)
	require.NotContains(t, got.Labels.Teeth(), dentition.ToothID(37))
	require.Zero(t, at(got.Labels, 37)[37])
	// What was found anyway changes nothing but the confidence.
	plain, err := found()
	require.NoError(t, err)
	got, err = found(segment.Correction{Tooth: 44, Point: middle[44]})
	require.NoError(t, err)
	require.Equal(t, plain.Labels, got.Labels)
	// Against the order of teeth, twice at one spot, off the arch.
	for _, wrong := range [][]segment.Correction{
		{{Tooth: 46, Point: middle[36]}, {Tooth: 36, Point: middle[46]}},
		{{Tooth: 46, Point: middle[46]}, {Tooth: 45, Point: middle[46]}},
		{{Tooth: 46, Point: r3.Vec{X: 300}}},
	} {
		_, err = found(wrong...)
		require.ErrorIs(t, err, segment.ErrCorrection)
	}
}

func TestSegmentOnAnyCores(t *testing.T) {
	m := generate(t, typodont.Params{Triangles: 20000}).Lower.Mesh
	want, err := segment.Find(context.Background(), m, dentition.Lower, segment.Options{})
	require.NoError(t, err)
	if testing.Short() {
		return // the race detector has seen it
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one, err := segment.Find(context.Background(), m, dentition.Lower, segment.Options{})
	require.NoError(t, err)
	require.Equal(t, want, one)
}

// What is seen while teeth are being found comes before they are cut out, and mostly stays; a tooth that was said to be none is found again
// where its border is drawn.
func TestSegmentShowsAndDraws(t *testing.T) {
	made, err := clean()
	require.NoError(t, err)
	a := made.Lower
	frames, err := anatomy.Frames(a.Mesh, a.Labels)
	require.NoError(t, err)
	var middle r3.Vec
	for _, f := range frames {
		if f.Tooth == 37 {
			middle = f.Centre
		}
	}
	aside := func(p r3.Vec) float64 { return math.Hypot(p.X-middle.X, p.Y-middle.Y) }
	o := segment.Options{Corrections: []segment.Correction{{Point: middle}}}
	line := segment.Border{Tooth: 37}
	for i := range 12 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 12)
		goal, best := r3.Add(middle, r3.Vec{X: 4 * cos, Y: 4 * sin}), math.Inf(-1)
		var at r3.Vec
		for _, p := range a.Mesh.Vertices() {
			if math.Hypot(p.X-goal.X, p.Y-goal.Y) < 0.7 && p.Z > best {
				at, best = p, p.Z
			}
		}
		line.Points = append(line.Points, at)
	}
	line.Points = append(line.Points, line.Points[0])
	require.NoError(t, o.Say(line.String()))
	var seen []segment.Sight
	o.Seen = func(s segment.Sight) { seen = append(seen, s) }
	got, err := segment.Find(context.Background(), a.Mesh, dentition.Lower, o)
	require.NoError(t, err)

	in, out := 0, 0
	for v, p := range a.Mesh.Vertices() {
		switch is := got.Labels.Vertex(mesh.VertexID(v)) == 37; {
		case aside(p) < 3 && p.Z > middle.Z:
			require.True(t, is, "%v", p)
			in++
		case aside(p) > 5.5:
			require.False(t, is, "%v", p)
			out++
		}
	}
	require.Greater(t, in, 20)
	require.Greater(t, out, 1000)
	for _, f := range got.Teeth {
		require.Equal(t, f.Tooth == 37, f.Confidence == 1, "%v", f.Tooth)
	}

	require.Len(t, seen, 2)
	require.Nil(t, seen[0].Teeth)
	same, crowns := 0, 0
	for v := range a.Mesh.NumVertices() {
		if tooth := seen[1].Teeth[v]; tooth != dentition.NoTooth {
			require.True(t, seen[1].Crowns[v])
			require.NotEqual(t, dentition.ToothID(37), tooth)
			if crowns++; tooth == got.Labels.Vertex(mesh.VertexID(v)) {
				same++
			}
		}
	}
	require.Greater(t, crowns, 1000)
	require.Greater(t, float64(same), 0.9*float64(crowns))
	for _, s := range seen {
		require.Greater(t, s.Left.X, 0.95, "the patient's left, %v", s.Left)
		require.Greater(t, s.Up.Z, 0.95, "up, %v", s.Up)
	}
}
