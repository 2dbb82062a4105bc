package occlusion_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// A smooth bump on 46, built independently of the generator, is the first finding with its
// height whether the casts are seated or not, and the verdict never ends in a bare
// "acceptable" over it.
func TestSeatingDoesNotHideAHighSpot(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	var at r3.Vec
	for _, s := range c.Truth.Stops {
		if s.Lower == 46 && s.Upper == 16 {
			at = s.At.Vec()
			break
		}
	}
	const um = 90
	high, err := faultkit.Bump(c.Lower.Mesh, at, faultkit.Closing(at), um, 1.8, nil)
	require.NoError(t, err)
	scan := func(a typodont.Arch) *casts.Scan {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		return &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
	}
	lower := scan(c.Lower)
	lower.Mesh = high
	for _, how := range []casefile.SettleTo{casefile.SettleNone, casefile.SettleSeat} {
		file := c.CaseFile()
		file.Settle.How, file.Excursions = how, file.Excursions[:1]
		file.Excursions[0].MaxMM, file.Excursions[0].StepMM = 1, 0.5
		f := examineScans(t, file, scan(c.Upper), lower)
		g := f.Settling.Given
		require.NotNil(t, g)
		assert.Equal(t, findings.ShapeHigh, g.Shape)
		assert.Equal(t, findings.Pair{Upper: 16, Lower: 46}, findings.Pair{Upper: g.Upper, Lower: g.Lower})
		assert.InDelta(t, 0.0729, g.OpeningDeg, 0.002, "by an independent closing")
		require.Len(t, f.Centric.Findings, 1)
		first := f.Centric.Findings[0]
		assert.Equal(t, findings.KindPremature, first.Kind)
		assert.Equal(t, 1, first.Severity)
		assert.InDelta(t, um, *first.HeightUm, 3)
		assert.NotNil(t, first.Next)
		assert.Equal(t, findings.Undecided, f.Centric.Mounting.Verdict)
		assert.Contains(t, f.Centric.Mounting.Reasons[0].String(), "first contact 16/46")
	}
}
