package judge

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// onRoof takes a pointed lower tooth, whose tip is the incisal point, through
// protrusion under an upper surface that goes down by the given angles (degrees)
// over one millimetre each, the last one going on.
func onRoof(t *testing.T, angles ...float64) *Movement {
	t.Helper()
	stretches := make([][2]float64, len(angles))
	for k, a := range angles {
		stretches[k] = [2]float64{a, 1}
	}
	return onStretches(t, stretches)
}

// onStretches is onRoof for stretches of any angle and length.
func onStretches(t *testing.T, stretches [][2]float64) *Movement {
	t.Helper()
	tip := r3.Vec{Y: -85, Z: -35}
	var roof []r3.Vec
	add := func(y, z float64) { roof = append(roof, r3.Vec{X: -10, Y: y, Z: z}, r3.Vec{X: 10, Y: y, Z: z}) }
	y, z := tip.Y, tip.Z
	add(y+5, z+5*math.Tan(stretches[0][0]*math.Pi/180))
	for k, of := range stretches {
		add(y, z)
		a, long := of[0], of[1]
		if k == len(stretches)-1 {
			long = 12
		}
		y, z = y-long, z-long*math.Tan(a*math.Pi/180)
	}
	add(y, z)
	var strips [][3]mesh.VertexID
	for i := mesh.VertexID(0); int(i)+3 < len(roof); i += 2 {
		strips = append(strips, [3]mesh.VertexID{i, i + 1, i + 3}, [3]mesh.VertexID{i, i + 3, i + 2})
	}
	base := func(dx, dy float64) r3.Vec { return r3.Add(tip, r3.Vec{X: dx, Y: dy, Z: -6}) }
	peak := []r3.Vec{tip, base(-1, -1), base(1, -1), base(1, 1), base(-1, 1)}
	sides := [][3]mesh.VertexID{{0, 1, 2}, {0, 2, 3}, {0, 3, 4}, {0, 4, 1}}
	cast := func(verts []r3.Vec, tris [][3]mesh.VertexID) *casts.Cast {
		m, err := mesh.New(verts, tris)
		require.NoError(t, err)
		arch, err := contact.NewArch(context.Background(), m, nil, contact.Options{})
		require.NoError(t, err)
		return &casts.Cast{Arch: arch}
	}
	casts := &casts.Casts{Upper: cast(roof, strips), Lower: cast(peak, sides), Incisal: &tip}
	var err error
	casts.Closer, err = contact.NewCloser(context.Background(), casts.Upper.Arch, casts.Lower.Arch, contact.Options{})
	require.NoError(t, err)
	path, err := kinematics.Straight(30 * s1.Degree)
	require.NoError(t, err)
	e := frames.NewSetup(defaults, casts, kinematics.Settings{Intercondylar: 110, Right: kinematics.Side{Path: path},
		Left: kinematics.Side{Path: path}}, findings.Foils(defaults.FoilsUm))
	x := &findings.Excursion{Movement: "protrusive"}
	var s frames.Scratch
	for i := range 40 {
		f, err := e.Frame(kinematics.Protrusive, float64(i)*0.1, frames.What{}, &s)
		require.NoError(t, err)
		require.NotNil(t, f)
		x.Frames = append(x.Frames, *f)
	}
	m := newMovement(t, x, defaults)
	return &m
}

// A surface with known bends: each is one kink of its angle at the sample before
// the tip has gone to it, and the path turns by nothing else.
func TestKinksOfKnownSurfaces(t *testing.T) {
	for _, angles := range [][]float64{{40}, {20, 45}, {45, 10}, {15, 45, 15}, {30, 34}, {30, 42, 30}} {
		m := onRoof(t, angles...)
		s := m.smoothness()
		k, turning := 0, 0.0
		for j := 1; j < len(angles); j++ {
			bend := angles[j] - angles[j-1]
			turning += math.Abs(bend)
			if math.Abs(bend) < defaults.Thresholds.KinkDeg {
				continue
			}
			require.Greater(t, len(s.Kinks), k, "%v", angles)
			got := s.Kinks[k]
			require.InDelta(t, bend, got.ChangeDeg, 1e-6, "%v", angles)
			require.Zero(t, got.JumpMM)
			i, _ := nearestFrame(m.x.Frames, got.TravelMM)
			require.LessOrEqual(t, m.incisalWay(i), float64(j)+1e-9, "the bend lies between this sample and the next")
			require.GreaterOrEqual(t, m.incisalWay(i+1), float64(j)-1e-9)
			k++
		}
		require.Len(t, s.Kinks, k, "%v", angles)
		last := len(m.x.Frames) - 1
		way := 0.0
		for i := 2; i <= last; i++ {
			way += distance(m.x.Frames[i-1].IncisalPoint, m.x.Frames[i].IncisalPoint)
		}
		require.InDelta(t, turning/way, *s.TurningDegPerMM, 1e-6)
		for i := range m.x.Frames {
			if i > 0 && m.incisalWay(i) < 0.9 {
				deg, _ := m.inclination(i-1, i)
				require.InDelta(t, angles[0], deg, 1e-6, "the path follows the surface")
			}
		}
	}
}

// A surface that rises by a ledge of known height between two slopes: one jump of
// that height, where the tip passes it. (Down a ledge a tip does not jump: it swings
// back while the jaw opens, and slides along the ledge.)
func TestJumpsOfKnownSurfaces(t *testing.T) {
	for _, c := range []struct{ before, after, high float64 }{{30, 30, 0.4}, {20, 25, 0.25}, {40, 35, 0.3}} {
		const at, short = 1.02, 0.001 // where the ledge is and how long, mm
		steep := -math.Atan(c.high/short) * 180 / math.Pi
		m := onStretches(t, [][2]float64{{c.before, at}, {steep, short}, {c.after, 1}})
		s := m.smoothness()
		require.Len(t, s.Kinks, 1, "%v", c)
		require.InDelta(t, -c.high, s.Kinks[0].JumpMM, 0.05*c.high, "%v", c)
		i, _ := nearestFrame(m.x.Frames, s.Kinks[0].TravelMM)
		require.LessOrEqual(t, m.incisalWay(i), at)
		require.GreaterOrEqual(t, m.incisalWay(i+1), at)
	}
}
