package articulate

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testcast"
	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// From any two frames hand articulation finds the rest to which the dentition was
// built, within 50 µm in 49 of 50.
func TestArticulateSynthetic(t *testing.T) {
	c := testcast.Synthetic(t)
	rng := rand.New(rand.NewPCG(9, 1))
	missed, n := 0, testcast.Few(50)
	for range n {
		a, d := byHand(t, c, rng)
		require.Greater(t, a.Lead(), 0.2)
		require.True(t, a.Locked)
		require.True(t, a.Settling.Seat.Taken)
		require.Zero(t, a.OverlapUm)
		if d > 0.05 {
			t.Logf("%.4f mm astray: %s", d, a.Settling.Text)
			missed++
		}
	}
	require.LessOrEqual(t, missed, n/50)
}

// byHand moves the arches of a case into random frames and puts them together. It
// returns how far at some tooth, mm, they come out from where they were built.
func byHand(t testing.TB, c *typodont.Case, rng *rand.Rand) (*findings.Articulated, float64) {
	t.Helper()
	pu, pl := testmesh.Pose(rng, 200), testmesh.Pose(rng, 200)
	a, err := Articulate(context.Background(), moved(t, c.Upper, pu), moved(t, c.Lower, pl), Options{})
	require.NoError(t, err)
	return a, testcast.Astray(c.Lower, pl.Then(a.UpperFromLower).Then(pu.Inverse()), kinematics.Pose{})
}

// moved is an arch as a labelled scan in another frame.
func moved(t testing.TB, a typodont.Arch, p kinematics.Pose) *casts.Scan {
	t.Helper()
	teeth, err := a.Labels.Triangles(a.Mesh)
	require.NoError(t, err)
	return &casts.Scan{Mesh: testmesh.Moved(a.Mesh, p.Apply), Labels: a.Labels, Teeth: teeth}
}

// With 20 µm of noise hand articulation comes within 100 µm. Rigid rests cannot:
// pressed together right from the true relation, such arches come to lie 55 to
// 142 µm off it (seeds 2 to 7), on the few highest peaks; the best fit averages over
// all of them.
func TestArticulateNoise(t *testing.T) {
	missed, n := 0, testcast.Few(50)
	for seed := range uint64(n) {
		c, err := testcast.Generated(typodont.Params{Seed: seed}, "noise,um=20")
		require.NoError(t, err)
		a, d := byHand(t, c, rand.New(rand.NewPCG(seed, 2)))
		t.Logf("seed %d: %.4f mm astray; %s", seed, d, a.SeatText)
		require.False(t, a.Locked)
		if d > 0.1 {
			missed++
		}
	}
	require.LessOrEqual(t, missed, n/50)
}

// The real arches come within 0.6 mm of where they were scanned, from every start
// the same.
func TestArticulateReal(t *testing.T) {
	upper, lower := testcast.RealScan(t, dentition.Upper), testcast.RealScan(t, dentition.Lower)
	rng := rand.New(rand.NewPCG(7, 1))
	var first kinematics.Pose
	for i := range testcast.Few(16) {
		pu, pl := testmesh.Pose(rng, 200), testmesh.Pose(rng, 200)
		a, err := Articulate(context.Background(), moved(t, upper, pu), moved(t, lower, pl), Options{})
		require.NoError(t, err)
		got := pl.Then(a.UpperFromLower).Then(pu.Inverse())
		t.Logf("%.4f mm astray: %s", testcast.Astray(lower, got, kinematics.Pose{}), a.SeatText)
		require.Less(t, testcast.Astray(lower, got, kinematics.Pose{}), 0.6)
		if i == 0 {
			first = got
		}
		require.Less(t, testcast.Astray(lower, got, first), 5e-3)
	}
}

// Nearness has the derivatives that it says, and passes evenly through nothing at
// touch.
func TestNearness(t *testing.T) {
	const h = 1e-5
	for _, x := range []float64{-2, -0.5, 0.01, 0.3, 1, 1.7, 3} {
		a, _, _ := nearness(x - h)
		b, slope, bend := nearness(x)
		c, _, _ := nearness(x + h)
		require.InDelta(t, (c-a)/(2*h), slope, 1e-8)
		require.InDelta(t, (a-2*b+c)/(h*h), bend, 1e-4)
	}
	top, flat, _ := nearness(1)
	require.InDelta(t, 1, top, 1e-15)
	require.Zero(t, flat)
	for _, e := range []float64{0, 1e-3, 1e-2} {
		a, _, _ := nearness(-e)
		b, _, _ := nearness(e)
		require.InDelta(t, 0, a+b, math.E*e*e*e)
	}
}

// What does not fit ends in a statement, not in a pose.
func TestArticulateRefuses(t *testing.T) {
	c := testcast.Synthetic(t)
	upper, lower := c.Upper.Mesh, c.Lower.Mesh
	sixes := func(k dentition.ToothID) bool { return k%10 == 6 }
	for name, p := range map[string]struct {
		upper, lower *mesh.Mesh
		err          error
		says         string
	}{
		"two upper arches":   {upper, upper, ErrNoFit, "what helps"},
		"two lower arches":   {lower, lower, ErrNoFit, "what helps"},
		"a ball":             {upper, testmesh.Sphere(30, 20), settle.ErrArch, "lower arch: "},
		"a plate":            {testmesh.Plane(60, 20), lower, ErrNoFit, "what helps"},
		"another's, smaller": {upper, testmesh.Moved(lower, func(p r3.Vec) r3.Vec { return r3.Scale(0.6, p) }), ErrNoFit, "what helps"},
		"four molars":        {only(t, c.Upper, sixes), only(t, c.Lower, sixes), settle.ErrArch, "no curved front"},
	} {
		_, err := Articulate(context.Background(), &casts.Scan{Mesh: p.upper}, &casts.Scan{Mesh: p.lower}, Options{})
		require.ErrorIs(t, err, p.err, name)
		require.ErrorContains(t, err, p.says, name)
	}
}

// Where teeth were looked for in vain, outlines alone put nothing together, unless a person says how.
func TestArticulateEdentulous(t *testing.T) {
	none := errors.New("no teeth found")
	bare := casts.Scan{Mesh: testmesh.Sphere(30, 20), Unfound: none}
	for _, p := range [][2]*casts.Scan{{&bare, {Mesh: bare.Mesh}}, {{Mesh: bare.Mesh}, &bare}} {
		_, err := Articulate(context.Background(), p[0], p[1], Options{})
		require.ErrorIs(t, err, settle.ErrArch)
		require.ErrorIs(t, err, none)
		_, err = Articulate(context.Background(), p[0], p[1], Options{Anyway: true})
		require.NotErrorIs(t, err, none)
	}
}

// only is the teeth of an arch that are wanted.
func only(t testing.TB, a typodont.Arch, want func(dentition.ToothID) bool) *mesh.Mesh {
	t.Helper()
	teeth, err := a.Labels.Triangles(a.Mesh)
	require.NoError(t, err)
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for k, c := range a.Mesh.All() {
		if teeth[k] != dentition.NoTooth && want(teeth[k]) {
			n := mesh.VertexID(len(verts))
			verts = append(verts, a.Mesh.Vertex(c[0]), a.Mesh.Vertex(c[1]), a.Mesh.Vertex(c[2]))
			tris = append(tris, [3]mesh.VertexID{n, n + 1, n + 2})
		}
	}
	m, err := mesh.New(verts, tris)
	require.NoError(t, err)
	m, _ = mesh.Weld(m, 0)
	return m
}

func TestArticulateMirrored(t *testing.T) {
	c := testcast.Synthetic(t, "raise,tooth=26,um=150")
	mirror := func(m *mesh.Mesh) *mesh.Mesh {
		return testmesh.Turned(testmesh.Moved(m, func(p r3.Vec) r3.Vec { p.X = -p.X; return p }))
	}
	a, err := Articulate(context.Background(), &casts.Scan{Mesh: c.Upper.Mesh}, &casts.Scan{Mesh: c.Lower.Mesh}, Options{})
	require.NoError(t, err)
	b, err := Articulate(context.Background(), &casts.Scan{Mesh: mirror(c.Upper.Mesh)}, &casts.Scan{Mesh: mirror(c.Lower.Mesh)}, Options{})
	require.NoError(t, err)
	for _, q := range []r3.Vec{{Y: -80, Z: -35}, {X: 25, Y: -45, Z: -35}, {X: -25, Y: -45, Z: -35}} {
		p, m := a.UpperFromLower.Apply(q), b.UpperFromLower.Apply(r3.Vec{X: -q.X, Y: q.Y, Z: q.Z})
		m.X = -m.X
		require.Less(t, r3.Norm(r3.Sub(p, m)), 0.01)
	}
}

func BenchmarkArticulate(b *testing.B) {
	up, lo := moved(b, testcast.RealScan(b, dentition.Upper), kinematics.Pose{}), moved(b,
		testcast.RealScan(b, dentition.Lower), kinematics.Pose{})
	b.ReportAllocs()
	var err error
	for b.Loop() {
		_, err = Articulate(context.Background(), up, lo, Options{})
	}
	require.NoError(b, err)
}
