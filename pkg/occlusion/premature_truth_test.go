package occlusion_test

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// A smooth bump, built independently of the generator, is the first finding with its height
// whether the casts are seated or not, and the verdict never ends in a bare "acceptable" over it.
func TestSeatingDoesNotHideAHighSpot(t *testing.T) {
	c, err := typodont.Generate(context.Background(), typodont.Params{Triangles: 30000})
	require.NoError(t, err)
	scan := func(a typodont.Arch) *casts.Scan {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		return &casts.Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
	}
	for _, x := range []struct {
		upper, lower int
		um           float64
		how          casefile.SettleTo
	}{
		{16, 46, 90, casefile.SettleNone}, {16, 46, 90, casefile.SettleSeat},
		{15, 45, 80, casefile.SettleSeat}, {25, 35, 110, casefile.SettleSeat},
	} {
		i := slices.IndexFunc(c.Truth.Stops, func(s typodont.Stop) bool { return s.Lower == x.lower && s.Upper == x.upper })
		require.GreaterOrEqual(t, i, 0)
		at := c.Truth.Stops[i].At.Vec()
		lower := scan(c.Lower)
		if lower.Mesh, err = faultkit.Bump(c.Lower.Mesh, at, faultkit.Closing(at), x.um, 1.8, nil); err != nil {
			t.Fatal(err)
		}
		file := c.CaseFile()
		file.Settle.How, file.Excursions = x.how, file.Excursions[:1]
		file.Excursions[0].MaxMM, file.Excursions[0].StepMM = 1, 0.5
		f := examineScans(t, file, scan(c.Upper), lower)
		g := f.Settling.Given
		require.NotNil(t, g, "%+v", x)
		pair := findings.Pair{Upper: findings.Part(x.upper), Lower: findings.Part(x.lower)}
		assert.Equal(t, findings.ShapeHigh, g.Shape, "%+v", x)
		assert.Equal(t, pair, findings.Pair{Upper: g.Upper, Lower: g.Lower}, "%+v", x)
		if x.lower == 46 {
			assert.InDelta(t, 0.0729, g.OpeningDeg, 0.002, "by an independent closing")
		}
		require.Len(t, f.Centric.Findings, 1, "%+v", x)
		first := f.Centric.Findings[0]
		assert.Equal(t, findings.KindPremature, first.Kind)
		assert.Equal(t, 1, first.Severity)
		assert.InDelta(t, x.um, *first.HeightUm, 0.05*x.um, "%+v", x)
		assert.NotNil(t, first.Next)
		assert.Equal(t, findings.Undecided, f.Centric.Mounting.Verdict, "%+v", x)
		assert.Contains(t, f.Centric.Mounting.Reasons[0].String(), "first contact "+pair.String())
	}
}
