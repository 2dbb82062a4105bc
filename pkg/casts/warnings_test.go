package casts

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

// A case whose labels have right and left exchanged is warned of, and no other.
func TestExchangedSidesAreToldOf(t *testing.T) {
	g, err := typodont.Generate(t.Context(), typodont.Params{Triangles: 20000})
	require.NoError(t, err)
	for _, a := range []typodont.Arch{g.Upper, g.Lower} {
		teeth, err := a.Labels.Triangles(a.Mesh)
		require.NoError(t, err)
		for turn, want := range map[float64]int{0: 0, math.Pi: 1} {
			// Half a turn about the vertical axis puts the right teeth on the left.
			scan := &Scan{Mesh: a.Mesh, Labels: a.Labels, Teeth: teeth}
			c, err := NewCast(t.Context(), scan, a.Labels.Jaw(), kinematics.Rotation(r3.Vec{Z: 1}, s1.Angle(turn)), AllSurface)
			require.NoError(t, err)
			require.Len(t, ScanWarnings(c), want)
		}
	}
}
