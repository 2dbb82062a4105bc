package casts

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/faultkit"
	"github.com/cusptrace/cusptrace/internal/testcase"
	"github.com/cusptrace/cusptrace/internal/typodont"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
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

// A lower arch whose buccal cusps stand outside the upper ones is told of, with by how much.
func TestALowerArchThatIsTooWideIsToldOf(t *testing.T) {
	g, err := typodont.Generate(t.Context(), typodont.Params{Triangles: 20000})
	require.NoError(t, err)
	cast := func(a typodont.Arch, wide float64) *Cast {
		m, err := a.Mesh.Transform(func(p r3.Vec) r3.Vec { return r3.Vec{X: wide * p.X, Y: p.Y, Z: p.Z} })
		require.NoError(t, err)
		teeth, err := a.Labels.Triangles(m)
		require.NoError(t, err)
		c, err := NewCast(t.Context(), &Scan{Mesh: m, Labels: a.Labels, Teeth: teeth}, a.Labels.Jaw(), kinematics.Pose{}, TeethAlone)
		require.NoError(t, err)
		return c
	}
	upper := cast(g.Upper, 1)
	require.True(t, Wider(upper, cast(g.Lower, 1)).Empty())
	require.True(t, Wider(upper, cast(g.Lower, 1.08)).Empty())
	require.Contains(t, Wider(upper, cast(g.Lower, 1.25)).String(), "wider than the upper one, by ")
	require.True(t, Wider(upper, &Cast{}).Empty(), "nothing is known")
}

// Noise is told of from where it matters, and slits are not taken for holes.
func TestUglyScansAreToldOf(t *testing.T) {
	c := testcase.New(60).Upper
	words := func(m *mesh.Mesh) (keys []string) {
		cast, err := NewCast(t.Context(), &Scan{Mesh: m}, dentition.Upper, kinematics.Pose{}, AllSurface)
		require.NoError(t, err)
		for _, w := range ScanWarnings(cast) {
			keys = append(keys, w.Key())
		}
		return keys
	}
	require.Empty(t, words(c))
	few, err := faultkit.Noisy(c, 20, 1)
	require.NoError(t, err)
	require.Empty(t, words(few))
	many, err := faultkit.Noisy(c, 60, 1)
	require.NoError(t, err)
	require.Equal(t, []string{"input.noise"}, words(many))
	slit, _, err := faultkit.TJunctions(c, 20, 1)
	require.NoError(t, err)
	welded, _ := mesh.Weld(slit, 0)
	require.Equal(t, []string{"input.slits"}, words(welded))
}
