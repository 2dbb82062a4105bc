package occlusion_test

import (
	"context"
	"math"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// A lower cast that was shifted or turned by a rigid motion of known size is told by that
// motion, with its direction and without one that is not there, whether the casts are seated
// or not.
func TestDisplacedCastsAreToldByTheirMotion(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	for _, v := range []struct {
		how    casefile.SettleTo
		motion faultkit.Motion
		shape  findings.Shape
		said   string
	}{
		{casefile.SettleSeat, faultkit.Motion{Shift: r3.Vec{Y: -0.2}}, findings.ShapeShifted,
			"the lower cast stands 0.20 mm too far forward (back"},
		{casefile.SettleNone, faultkit.Motion{Shift: r3.Vec{X: 0.15, Y: 0.1}}, findings.ShapeShifted,
			"the lower cast stands 0.10 mm too far back and 0.15 mm too far to the left (back"},
		{casefile.SettleSeat, faultkit.Motion{Yaw: 0.4 * s1.Degree}, findings.ShapeShifted,
			"the lower cast stands turned by 0.40° with its front to the left (back"},
	} {
		v.motion.About = c.Lower.Mesh.Bounds().Center()
		lower := labelledWith(t, c.Lower, nil)
		lower.Mesh, err = faultkit.Moved(lower.Mesh, v.motion)
		require.NoError(t, err)
		file := c.CaseFile()
		file.Settle.How, file.Excursions = v.how, file.Excursions[:1]
		file.Excursions[0].MaxMM, file.Excursions[0].StepMM = 1, 0.5
		f := examinePair(t, file, labelledWith(t, c.Upper, nil), lower)
		g := f.Settling.Given
		t.Log(g.Text.String(), f.Centric.Mounting.Verdict)
		require.Equal(t, v.shape, g.Shape)
		require.Contains(t, g.Text.String(), v.said)
		require.NotNil(t, g.Displaced)
		require.Empty(t, f.Centric.Findings)
		// The shift is that of the middle of the occlusal table, which a turn about the
		// middle of the cast moves a little.
		within := 0.005 + 3*math.Abs(v.motion.Yaw.Radians())
		require.InDelta(t, v.motion.Shift.X, g.Displaced.ShiftMM[0], within)
		require.InDelta(t, v.motion.Shift.Y, g.Displaced.ShiftMM[1], within)
		require.InDelta(t, v.motion.Yaw.Degrees(), g.Displaced.YawDeg, 0.01)
		require.InDelta(t, 0, g.Displaced.RollDeg, 0.01)
		require.InDelta(t, 0, g.Displaced.PitchDeg, 0.01)
		require.NotEqual(t, findings.Acceptable, f.Centric.Mounting.Verdict)
		require.Nil(t, f.Centric.Mounting.Tilt, "a shift is no tilt")
	}
}
