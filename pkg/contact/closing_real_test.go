package contact

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/meshfile"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"github.com/unixpickle/model3d/model3d"
	"gonum.org/v1/gonum/spatial/r3"
)

// realCase is a real adult's arches in the articulator frame, mounted by
// averages, and the settings.
type realCase struct {
	upper, lower *mesh.Mesh
	settings     kinematics.Settings
}

// loadReal reads the real scans once, which are not part of the project, and
// skips the test where they are missing.
func loadReal(t testing.TB) *realCase {
	t.Helper()
	if _, err := os.Stat(realFile("lower.stl")); err != nil {
		t.Skipf("real scans not at hand: %v", err)
	}
	c, err := theReal()
	require.NoError(t, err)
	return c
}

func realFile(name string) string {
	return filepath.Join("..", "..", "..", "shared", "data", "adult-cbct", name)
}

var theReal = sync.OnceValues(func() (*realCase, error) {
	var m [2]*mesh.Mesh
	for i, name := range []string{"upper.stl", "lower.stl"} {
		raw, err := meshfile.ReadFile(realFile(name), meshfile.ReadOptions{Unit: mesh.Millimetre})
		if err != nil {
			return nil, err
		}
		m[i], _ = mesh.Weld(raw, 0)
	}
	text, err := os.ReadFile(realFile("lower.labels.json"))
	if err != nil {
		return nil, err
	}
	var labels struct{ Labels []int }
	if err := json.Unmarshal(text, &labels); err != nil {
		return nil, err
	}
	// The landmarks are about there: the highest points of the teeth.
	top := map[int]r3.Vec{}
	for i, v := range m[1].Vertices() {
		k := labels.Labels[i]
		if old, ok := top[k]; !ok || v.Z > old.Z {
			top[k] = v
		}
	}
	inclination, err := kinematics.Straight(33 * s1.Degree)
	if err != nil {
		return nil, err
	}
	side := kinematics.Side{Path: inclination, SideShiftAngle: 10 * s1.Degree, ShiftTravel: 0.5}
	c := &realCase{settings: kinematics.Settings{Intercondylar: 110, Right: side, Left: side}}
	mount, err := kinematics.Average{
		IncisalPoint: r3.Scale(0.5, r3.Add(top[31], top[41])), RightMolar: top[47], LeftMolar: top[37], Up: r3.Vec{Z: 1},
		Intercondylar: 110, CondyleToIncisal: 105, Balkwill: 22 * s1.Degree,
	}.Mount()
	if err != nil {
		return nil, err
	}
	if c.upper, err = m[0].Transform(mount.Apply); err != nil {
		return nil, err
	}
	c.lower, err = m[1].Transform(mount.Apply)
	return c, err
})

// bases is the poses at opening 0 of a movement, 81 frames up to 8 mm.
func (c *realCase) bases(t testing.TB, m kinematics.Movement) []kinematics.Pose {
	var out []kinematics.Pose
	for i := range 81 {
		st, err := c.settings.Station(m, 0.1*float64(i))
		require.NoError(t, err)
		out = append(out, st.Base())
	}
	return out
}

// The opening is found by bisection on a test for intersection of a general
// library, model3d, over the pairs of triangles whose boxes overlap; a grid
// finds those.
func TestClosingOfRealFramesByBisection(t *testing.T) {
	c := loadReal(t)
	cl := closer(t, c.upper, c.lower)
	grid := newGrid(c.upper)
	for i, frames := range [][]int{{0, 40}, {20}, {1, 60}} {
		m := []kinematics.Movement{kinematics.Right, kinematics.Left, kinematics.Protrusive}[i]
		bases := c.bases(t, m)
		for _, frame := range frames {
			t.Run(fmt.Sprintf("%v %d", m, frame), func(t *testing.T) {
				t.Parallel()
				var s CloserScratch
				got, ok := met(cl.Close(bases[frame], &s))
				require.True(t, ok)
				checkTouch(t, scene{c.upper, c.lower, bases[frame]}, got, "real")
				theta := got.Opening.Radians()
				l := &lookout{grid: grid, lower: c.lower, base: bases[frame]}
				lo, hi := theta-0.004, OpeningMost.Radians()
				l.narrow(lo, hi)
				for d := 1e-3; theta+d < hi; d *= 2 {
					require.False(t, l.meet(theta+d), "%g above something meets", d)
				}
				require.True(t, l.meet(lo))
				for hi-lo > 1e-8 {
					mid := (lo + hi) / 2
					if l.meet(mid) {
						lo = mid
					} else {
						hi = mid
						if hi-lo < 0.01 {
							l.narrow(lo, hi)
						}
					}
				}
				require.InDelta(t, (lo+hi)/2, theta, 1e-7)
				l.narrow(theta-2e-7, theta+1e-3)
				require.True(t, l.meet(theta-1e-7), "just below nothing meets")
				for d := 1e-7; d < 1e-3; d *= 2 {
					require.False(t, l.meet(theta+d), "%g above something meets", d)
				}
			})
		}
	}
}

// grid holds for each cell the triangles whose box enters it.
type grid struct {
	m     *mesh.Mesh
	cells map[[3]int32][]int32
}

const cell = 0.5 // mm

func newGrid(m *mesh.Mesh) *grid {
	g := &grid{m: m, cells: map[[3]int32][]int32{}}
	for i := range m.NumTriangles() {
		a, b, c := m.Corners(mesh.TriID(i))
		g.enter(around(a, b, c), func(k [3]int32, _ []int32) bool {
			g.cells[k] = append(g.cells[k], int32(i))
			return false
		})
	}
	return g
}

// enter calls f with the cells that a box enters, until it says stop, and tells
// whether it did.
func (g *grid) enter(b mesh.Box, f func(k [3]int32, triangles []int32) bool) bool {
	at := func(x float64) int32 { return int32(math.Floor(x / cell)) }
	for x := at(b.Min.X); x <= at(b.Max.X); x++ {
		for y := at(b.Min.Y); y <= at(b.Max.Y); y++ {
			for z := at(b.Min.Z); z <= at(b.Max.Z); z++ {
				k := [3]int32{x, y, z}
				if f(k, g.cells[k]) {
					return true
				}
			}
		}
	}
	return false
}

// lookout tests whether the arches meet at an opening.
type lookout struct {
	grid  *grid
	lower *mesh.Mesh
	base  kinematics.Pose
	near  []int32 // the lower triangles that may meet something
}

func (l *lookout) pose(theta float64) kinematics.Pose {
	return kinematics.RotationX(s1.Angle(theta)).Then(l.base)
}

// narrow leaves out the lower triangles that enter no cell with an upper one at
// any opening from lo to hi, less than a degree apart or wide apart: then none is
// left out.
func (l *lookout) narrow(lo, hi float64) {
	l.near = l.near[:0]
	// From the chord between two openings the arc is off by 100 mm·(hi−lo)²/8.
	off := 100 * (hi - lo) * (hi - lo) / 8
	p, q := l.pose(lo), l.pose(hi)
	for i := range l.lower.NumTriangles() {
		a, b, c := l.lower.Corners(mesh.TriID(i))
		box := around(p.Apply(a), p.Apply(b), p.Apply(c), q.Apply(a), q.Apply(b), q.Apply(c))
		d := r3.Vec{X: off, Y: off, Z: off}
		box.Min, box.Max = r3.Sub(box.Min, d), r3.Add(box.Max, d)
		if hi-lo > 0.02 || l.grid.enter(box, func(_ [3]int32, up []int32) bool { return len(up) > 0 }) {
			l.near = append(l.near, int32(i))
		}
	}
}

func (l *lookout) meet(theta float64) bool {
	p := l.pose(theta)
	for _, i := range l.near {
		a, b, c := l.lower.Corners(mesh.TriID(i))
		a, b, c = p.Apply(a), p.Apply(b), p.Apply(c)
		box := around(a, b, c)
		tri := model3d.Triangle{coord(a), coord(b), coord(c)}
		if l.grid.enter(box, func(_ [3]int32, up []int32) bool {
			for _, j := range up {
				a, b, c := l.grid.m.Corners(mesh.TriID(j))
				if overlap(box, around(a, b, c)) && len(tri.TriangleCollisions(&model3d.Triangle{coord(a), coord(b), coord(c)})) > 0 {
					return true
				}
			}
			return false
		}) {
			return true
		}
	}
	return false
}

func overlap(a, b mesh.Box) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y && a.Min.Z <= b.Max.Z && b.Min.Z <= a.Max.Z
}

func coord(p r3.Vec) model3d.Coord3D { return model3d.XYZ(p.X, p.Y, p.Z) }

func around(points ...r3.Vec) mesh.Box {
	b := mesh.EmptyBox()
	for _, p := range points {
		b = b.Include(p)
	}
	return b
}
