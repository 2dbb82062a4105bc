package occlusion_test

import (
	"context"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/stretchr/testify/require"
)

// A viewer is given every frame once while the examination goes on, and they are those
// of the document.
func TestFramesAreGivenWhileTheyAreComputed(t *testing.T) {
	ctx := context.Background()
	c := synthetic(t, nil)
	upper, lower, err := occlusion.Load(ctx, c)
	require.NoError(t, err)
	pair, err := occlusion.Assemble(ctx, c, upper, lower)
	require.NoError(t, err)
	given := map[findings.Movement]map[float64]findings.Frame{}
	f, err := occlusion.Examine(ctx, c, pair, occlusion.Options{AsSet: true, Frame: func(m findings.Movement, f *findings.Frame) {
		if given[m] == nil {
			given[m] = map[float64]findings.Frame{}
		}
		require.NotContains(t, given[m], f.TravelMM)
		given[m][f.TravelMM] = *f
	}})
	require.NoError(t, err)
	require.Len(t, given, len(f.Excursions))
	for _, x := range f.Excursions {
		require.Len(t, given[x.Movement], len(x.Frames))
		for _, fr := range x.Frames {
			require.Equal(t, fr.Pose, given[x.Movement][fr.TravelMM].Pose)
			require.Equal(t, fr.Contacts, given[x.Movement][fr.TravelMM].Contacts)
		}
	}
}
