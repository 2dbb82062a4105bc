package occlusion

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// A height below the doubt of the scans makes a finding no more important than a
// touch, and is said to be doubtful.
func TestDoubtfulHeightsComeLater(t *testing.T) {
	of := func(kind Kind, um float64) Finding {
		f := Finding{Kind: kind, Upper: 27, Lower: 37, FromMM: 1, ToMM: 2, AtMM: 1}
		if um > 0 {
			f.HeightUm, f.Doubtful = &um, um < defaults.Thresholds.ScanDoubtUm
		}
		return f
	}
	all := []Finding{
		of(KindLateDisclusion, 0), of(KindBackTouches, 0), of(KindBackCarries, 5), of(KindNonworkingCarries, 3), of(KindLingualCarries, 36), of(KindNonworkingTouches, 0), of(KindBackCarries, 65),
		{Kind: KindNonworkingCarries, PastEdge: true},
	}
	slices.SortStableFunc(all, func(a, b Finding) int { return important(&a, &b) })
	var kinds []Kind
	for _, f := range all {
		kinds = append(kinds, f.Kind)
	}
	require.Equal(t, []Kind{KindBackCarries, KindNonworkingCarries, KindNonworkingTouches, KindBackCarries, KindBackTouches, KindLingualCarries, KindLateDisclusion, KindNonworkingCarries}, kinds)
	m := &movement{x: &Excursion{Movement: "protrusive"}, limits: &defaults.Thresholds}
	require.Contains(t, m.sentence(&all[3]).String(), "about 5 µm too high for the desired guidance at 1.0 mm, less than the scans can tell.")
	require.Contains(t, m.sentence(&all[0]).String(), "about 65 µm too high for the desired guidance at 1.0 mm.")
}
