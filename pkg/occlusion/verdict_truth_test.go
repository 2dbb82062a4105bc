package occlusion_test

import (
	"context"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// A mounting that is off by a small roll and pitch of the lower cast about the middle
// of the arch, by known amounts, is found not acceptable, and the verdict gives back
// both, though the casts have closed on the hinge until the high side touched.
func TestVerdictOnTiltedCasts(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	scan := func(a typodont.Arch, f func(r3.Vec) r3.Vec) *casts.Scan {
		m, err := a.Mesh.Transform(f)
		require.NoError(t, err)
		teeth, err := a.Labels.Triangles(m)
		require.NoError(t, err)
		return &casts.Scan{Mesh: m, Labels: a.Labels, Teeth: teeth}
	}
	same := func(p r3.Vec) r3.Vec { return p }
	verdict := func(rollDeg, pitchDeg float64) findings.Mounting {
		// The left side goes down, and the front.
		turn := r3.NewRotation(rollDeg*math.Pi/180, r3.Vec{Y: 1})
		nod := r3.NewRotation(pitchDeg*math.Pi/180, r3.Vec{X: 1})
		at := r3.Vec{Y: -55, Z: -35}
		f := examineScans(t, c.CaseFile(), scan(c.Upper, same),
			scan(c.Lower, func(p r3.Vec) r3.Vec { return r3.Add(at, nod.Rotate(turn.Rotate(r3.Sub(p, at)))) }))
		return f.Centric.Mounting
	}
	m := verdict(0, 0)
	require.Equal(t, findings.Acceptable, m.Verdict)
	require.Nil(t, m.Tilt)
	for _, off := range []struct{ roll, pitch, within float64 }{{0.3, 0, 0.01}, {0, 0.3, 0.01}, {0.3, 0.3, 0.01},
		{-0.3, -0.3, 0.01}, {1, 0, 0.01}} {
		m := verdict(off.roll, off.pitch)
		require.Equal(t, findings.Remount, m.Verdict, "%v", m.Reasons)
		require.NotNil(t, m.Tilt)
		t.Logf("%v: %s", off, m.Tilt.Text.String())
		require.InDelta(t, off.roll, m.Tilt.RollDeg, off.within)
		require.InDelta(t, off.pitch, m.Tilt.PitchDeg, off.within)
		if off.roll > 0 {
			require.Less(t, m.Areas[0].GapUm, 40.0, "the right side is high")
			require.Greater(t, m.Areas[2].GapUm, 100.0)
		}
	}
}
