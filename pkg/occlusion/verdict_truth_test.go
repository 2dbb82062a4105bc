package occlusion_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
)

// A mounting that is off by a small roll of the lower cast, by a known amount, is
// found not acceptable, and the verdict gives back the tilt: the casts close on
// the high side and stay open on the low one.
func TestVerdictOnTiltedCasts(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	scan := func(a typodont.Arch, f func(r3.Vec) r3.Vec) *occlusion.Scan {
		m, err := a.Mesh.Transform(f)
		require.NoError(t, err)
		teeth, err := a.Labels.Triangles(m)
		require.NoError(t, err)
		return &occlusion.Scan{Mesh: m, Labels: a.Labels, Teeth: teeth}
	}
	same := func(p r3.Vec) r3.Vec { return p }
	verdict := func(rollDeg float64) occlusion.Mounting {
		// About the long axis through the middle of the arch; the left side goes
		// down.
		turn := r3.NewRotation(rollDeg*math.Pi/180, r3.Vec{Y: 1})
		at := r3.Vec{Y: -60, Z: -35}
		f := examineScans(t, c.CaseFile(), scan(c.Upper, same), scan(c.Lower, func(p r3.Vec) r3.Vec { return r3.Add(at, turn.Rotate(r3.Sub(p, at))) }))
		return f.Centric.Mounting
	}
	m := verdict(0)
	require.Equal(t, occlusion.Acceptable, m.Verdict)
	require.Nil(t, m.Tilt)
	for _, roll := range []float64{0.3, -0.3} {
		m := verdict(roll)
		require.Equal(t, occlusion.Remount, m.Verdict, "%v", m.Reasons)
		require.NotNil(t, m.Tilt)
		require.InDelta(t, roll, m.Tilt.RollDeg, 0.05)
		low, high := m.Areas[2], m.Areas[0] // left, right
		if roll < 0 {
			low, high = high, low
		}
		require.Greater(t, low.GapUm, 100.0)
		require.Less(t, high.GapUm, 40.0)
	}
}
