package contact

import (
	"context"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// syntheticArches is two arches of about n triangles each: bands along the parabola
// of a jaw with cusps on them, in front of and below the axis.
func syntheticArches(n int) (up, lo *mesh.Mesh) {
	across := 1
	for 20*across*across < n {
		across++
	}
	return band(10*across, across, true), band(10*across, across, false)
}

// jaw is the rotation between the frames in which bands are made and in which
// their teeth face each other, as the occlusal plane stands to the hinge.
var jaw = kinematics.Translation(r3.Vec{Z: -32})

// benchFrames is the poses at opening 0 of a movement to the right and back.
func benchFrames(n int) []kinematics.Pose {
	out := make([]kinematics.Pose, n)
	for i := range out {
		t := float64(i) / float64(n-1)
		out[i] = kinematics.Rotation(r3.Vec{Y: 0.3, Z: 1},
			s1.Angle(0.06*t)).Then(kinematics.Translation(r3.Vec{X: 0.5 * t, Y: -2.5 * t, Z: -1.7 * t}))
	}
	return out
}

// movements is closings as two movements make them, with the coherence of
// neighbouring frames and a jump.
func movements() []kinematics.Pose {
	f := benchFrames(24)
	for _, p := range benchFrames(24) {
		f = append(f, p.Inverse())
	}
	return f
}

func answers(c *Closer, bases []kinematics.Pose, order []int, s func(i int) *CloserScratch) []Closing {
	out := make([]Closing, len(bases))
	for _, i := range order {
		out[i], _ = met(c.Close(bases[i], s(i)))
	}
	return out
}

func TestClosingDoesNotDependOnItsScratch(t *testing.T) {
	up, lo := syntheticArches(4000)
	c := closer(t, up, lo)
	bases := movements()
	rng := rand.New(rand.NewPCG(5, 6))
	order := rng.Perm(len(bases))
	inOrder := make([]int, len(bases))
	for i := range inOrder {
		inOrder[i] = i
	}
	want := answers(c, bases, inOrder, func(int) *CloserScratch { return new(CloserScratch) })
	for _, w := range want {
		require.NotZero(t, w.Pose)
		require.False(t, w.AtLimit)
	}
	var one, two CloserScratch
	require.Equal(t, want, answers(c, bases, inOrder, func(int) *CloserScratch { return &one }))
	require.Equal(t, want, answers(c, bases, order, func(int) *CloserScratch { return &two }))
	// A scratch that has served another, smaller and larger, pair of arches.
	for _, n := range []int{20, 9000} {
		a, b := syntheticArches(n)
		_, ok := met(closer(t, a, b).Close(bases[7], &two))
		require.True(t, ok)
		require.Equal(t, want, answers(c, bases, order, func(int) *CloserScratch { return &two }))
	}
	// Stamps that run over.
	two.flanks.now = ^uint32(0) - 3
	require.Equal(t, want, answers(c, bases, order, func(int) *CloserScratch { return &two }))
	// Several goroutines on one closer.
	var wg sync.WaitGroup
	got := make([][]Closing, 4)
	for w := range got {
		wg.Go(func() {
			var s CloserScratch
			got[w] = answers(c, bases, order, func(int) *CloserScratch { return &s })
		})
	}
	wg.Wait()
	for _, g := range got {
		require.Equal(t, want, g)
	}
}

func TestClosingAllocatesNothing(t *testing.T) {
	up, lo := syntheticArches(4000)
	c := closer(t, up, lo)
	bases := movements()
	var s CloserScratch
	for _, b := range bases {
		c.Close(b, &s)
	}
	i := 0
	require.Zero(t, testing.AllocsPerRun(200, func() {
		c.Close(bases[i%len(bases)], &s)
		i++
	}))
}

// Everything twice, in either arch: of the copies the lower numbers are named.
func TestClosingNamesTheLowestOfEqualTriangles(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	var s CloserScratch
	touched := 0
	for range 300 {
		x := scenes[0].make(rng)
		want, ok := met(closer(t, x.up, x.lo).Close(x.base, &s))
		up, _ := testmesh.Join(x.up, x.up)
		lo, _ := testmesh.Join(x.lo, x.lo, x.lo)
		got, ok2 := met(closer(t, up, lo).Close(x.base, &s))
		require.Equal(t, ok, ok2)
		if want.AtLimit {
			continue
		}
		require.Equal(t, want, got)
		if ok {
			touched++
		}
	}
	require.Greater(t, touched, 100)
}

// A tip where six triangles meet is in the one of them with the lowest number,
// whatever their order.
func TestClosingDoesNotDependOnTheOrderOfTriangles(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	up, lo := syntheticArches(400)
	var s CloserScratch
	for _, base := range movements()[:8] {
		want, ok := met(closer(t, up, lo).Close(base, &s))
		require.True(t, ok)
		for range 5 {
			u, un := shuffled(t, rng, up)
			l, ln := shuffled(t, rng, lo)
			got, ok := met(closer(t, u, l).Close(base, &s))
			require.True(t, ok)
			// An edge may now run the other way, which rounds differently.
			require.InDelta(t, want.Opening.Radians(), got.Opening.Radians(), 1e-14)
			require.InDelta(t, 0, r3.Norm(r3.Sub(want.Point, got.Point)), 1e-11)
			// The triangles named touch there in the old order too.
			got.Upper, got.Lower = un[got.Upper], ln[got.Lower]
			checkTouch(t, scene{up, lo, base}, got, "shuffled")
		}
	}
}

// shuffled is m with its triangles and vertices in another order, and the old
// numbers of the new triangles.
func shuffled(t *testing.T, rng *rand.Rand, m *mesh.Mesh) (*mesh.Mesh, []mesh.TriID) {
	vp := rng.Perm(m.NumVertices()) // old vertex → new
	verts := make([]r3.Vec, len(vp))
	for i, v := range m.Vertices() {
		verts[vp[i]] = v
	}
	var tris [][3]mesh.VertexID
	var old []mesh.TriID
	for _, i := range rng.Perm(m.NumTriangles()) {
		v := m.Triangle(mesh.TriID(i))
		tris = append(tris, [3]mesh.VertexID{mesh.VertexID(vp[v[0]]), mesh.VertexID(vp[v[1]]), mesh.VertexID(vp[v[2]])})
		old = append(old, mesh.TriID(i))
	}
	out, err := mesh.New(verts, tris)
	require.NoError(t, err)
	return out, old
}

// lawful compares two ways to ask for one closing, each with its scene.
func lawful(t *testing.T, seed uint64, other func(x scene) scene, tol float64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 12))
	var s CloserScratch
	touched := 0
	for _, sc := range scenes[:5] {
		for range 60 {
			x := sc.make(rng)
			y := other(x)
			want, ok := met(closer(t, x.up, x.lo).Close(x.base, &s))
			got, ok2 := met(closer(t, y.up, y.lo).Close(y.base, &s))
			require.Equal(t, ok, ok2, sc.name)
			require.Equal(t, want.AtLimit, got.AtLimit, sc.name)
			require.InDelta(t, want.Opening.Radians(), got.Opening.Radians(), tol, sc.name)
			if ok && !want.AtLimit {
				touched++
			}
		}
	}
	require.Greater(t, touched, 50)
}

func mapped(m *mesh.Mesh, f func(r3.Vec) r3.Vec) *mesh.Mesh { return testmesh.Moved(m, f) }

// A mirrored case has the same openings.
func TestClosingOfMirroredArches(t *testing.T) {
	flip := func(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }
	lawful(t, 11, func(x scene) scene {
		m := x.base.Matrix()
		for _, i := range [4]int{1, 2, 4, 8} { // reflected on both sides
			m[i] = -m[i]
		}
		m[3] = -m[3]
		base, err := kinematics.FromMatrix(m)
		require.NoError(t, err)
		return scene{mapped(x.up, flip), mapped(x.lo, flip), base}
	}, 1e-12)
}

// In the mandible's frame it is the upper arch that turns, the other way.
// Reflected in z = 0 it turns the same way, and the roles are exchanged.
func TestClosingWithArchesExchanged(t *testing.T) {
	flip := func(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: p.Y, Z: -p.Z} }
	lawful(t, 13, func(x scene) scene {
		inv := x.base.Inverse()
		return scene{mapped(x.lo, flip), mapped(mapped(x.up, inv.Apply), flip), kinematics.Pose{}}
	}, 1e-11)
}

// A pose of both arches changes nothing.
func TestClosingOfArchesMovedTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(14, 15))
	lawful(t, 16, func(x scene) scene {
		p := testmesh.Pose(rng, 5)
		return scene{mapped(x.up, p.Apply), x.lo, x.base.Then(p)}
	}, 1e-11)
}

// No surface, or nothing that could meet.
func TestClosingOfNothing(t *testing.T) {
	some, _ := syntheticArches(20)
	none, err := mesh.New(nil, nil)
	require.NoError(t, err)
	var s CloserScratch
	for _, p := range [][2]*mesh.Mesh{{some, none}, {none, some}, {none, none}, {some, testmesh.Shifted(some, r3.Vec{X: 200})}} {
		c, ok := met(closer(t, p[0], p[1]).Close(kinematics.Pose{}, &s))
		require.False(t, ok)
		require.Zero(t, c)
	}
}

func TestNewCloserIsCancelled(t *testing.T) {
	up, lo := syntheticArches(100)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := NewCloser(ctx, arch(t, up), arch(t, lo), Options{})
	require.ErrorIs(t, err, context.Canceled)
}

// About another axis the arches close as if all had been moved onto the x axis.
func TestClosingAboutAnotherAxis(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 18))
	var s CloserScratch
	touched := 0
	for range 200 {
		x := scenes[4].make(rng)
		hinge := kinematics.Translation(testmesh.Vec(rng, 3))
		if rng.IntN(2) == 0 {
			hinge = testmesh.Pose(rng, 3)
		}
		want, ok := met(closer(t, x.up, x.lo).Close(x.base, &s))
		back := hinge.Inverse()
		c, err := NewCloserAbout(context.Background(), arch(t, mapped(x.up, back.Apply)), arch(t, mapped(x.lo, back.Apply)), hinge, Options{})
		require.NoError(t, err)
		got, ok2 := met(c.Close(x.base, &s))
		require.Equal(t, ok, ok2)
		require.InDelta(t, want.Opening.Radians(), got.Opening.Radians(), 1e-12)
		if !ok || want.AtLimit {
			continue
		}
		touched++
		require.InDelta(t, 0, r3.Norm(r3.Sub(back.Apply(want.Point), got.Point)), 1e-9)
		moved := hinge.Then(want.Pose).Then(back)
		for _, p := range []r3.Vec{{}, {X: 50, Y: -70, Z: -30}} {
			require.InDelta(t, 0, r3.Norm(r3.Sub(moved.Apply(p), got.Pose.Apply(p))), 1e-9)
		}
	}
	require.Greater(t, touched, 50)
}

// Who asks only for a touch above an opening is told the same touch, or none.
func TestClosingAboveAnOpening(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	var s CloserScratch
	told, none := 0, 0
	for range 300 {
		x := scenes[0].make(rng)
		c := closer(t, x.up, x.lo)
		want, ok := met(c.Close(x.base, &s))
		if !ok || want.AtLimit {
			continue
		}
		off := s1.Angle((rng.Float64() - 0.5) * 0.02)
		got, err := c.CloseAbove(x.base, want.Opening-off, Passing{}, &s)
		if off > 0 {
			require.NoError(t, err)
			require.Equal(t, want, got)
			told++
		} else {
			require.ErrorIs(t, err, ErrNoTouch)
			none++
		}
	}
	require.Greater(t, min(told, none), 30)
}

// Parts that may pass through each other are as all pairs of their triangles.
func TestClosingWithoutSomeParts(t *testing.T) {
	rng := rand.New(rand.NewPCG(23, 24))
	var s CloserScratch
	touched := 0
	for range 300 {
		x := scenes[0].make(rng)
		parted := func(m *mesh.Mesh) (*Arch, []int32) {
			m, _ = mesh.Weld(m, 0)
			of := make([]int32, m.NumTriangles())
			for i := range of {
				of[i] = int32(rng.IntN(4)) - 1
			}
			a, err := NewArch(t.Context(), m, of, Options{})
			require.NoError(t, err)
			return a, of
		}
		up, upOf := parted(x.up)
		lo, loOf := parted(x.lo)
		c, err := NewCloser(t.Context(), up, lo, Options{})
		require.NoError(t, err)
		var apart [5][5]bool
		for i := range apart {
			for k := range apart {
				apart[i][k] = rng.IntN(3) == 0
			}
		}
		pass := func(u, l int32) bool { return apart[u+1][l+1] }
		want, ok := met(c.CloseWithout(x.base, Passing{Triangles: func(u, l mesh.TriID) bool { return pass(upOf[u], loOf[l]) }}, &s))
		got, ok2 := met(c.CloseWithout(x.base, Passing{Parts: pass}, &s))
		require.Equal(t, ok, ok2)
		require.Equal(t, want, got)
		if ok {
			touched++
		}
	}
	require.Greater(t, touched, 100)
}

// Triangles that may pass through each other are as if they were not there; the
// corners and edges that others have too are the others'.
func TestClosingWithoutSomeTriangles(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 20))
	var s CloserScratch
	later := 0
	for range 300 {
		x := scenes[0].make(rng)
		ghost := testmesh.Shifted(x.up, r3.Vec{Z: -0.3}) // in the way
		want, ok := met(closer(t, x.up, x.lo).Close(x.base, &s))
		if want.AtLimit {
			continue
		}
		up, part := testmesh.Join(x.up, ghost)
		c := closer(t, up, x.lo)
		got, ok2 := met(c.CloseWithout(x.base, Passing{Triangles: func(u, _ mesh.TriID) bool { return part[u] == 1 }}, &s))
		require.Equal(t, ok, ok2)
		require.Equal(t, want, got)
		if all, ok := met(c.Close(x.base, &s)); ok && all.Opening > got.Opening {
			later++
		}
	}
	require.Greater(t, later, 30)
}
