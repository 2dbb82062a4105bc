package judge

import (
	"slices"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// A height below the doubt of the scans makes a finding no more important than a
// touch, and is said to be doubtful.
func TestDoubtfulHeightsComeLater(t *testing.T) {
	of := func(kind findings.Kind, um float64) findings.Finding {
		f := findings.Finding{Kind: kind, Upper: 27, Lower: 37, FromMM: 1, ToMM: 2, AtMM: 1}
		if um > 0 {
			f.HeightUm, f.Doubtful = &um, um < defaults.Thresholds.ScanDoubtUm
		}
		return f
	}
	all := []findings.Finding{
		of(findings.KindLateDisclusion, 0), of(findings.KindBackTouches, 0), of(findings.KindBackCarries, 5), of(findings.KindNonworkingCarries, 3), of(findings.KindLingualCarries, 36), of(findings.KindNonworkingTouches, 0), of(findings.KindBackCarries, 65),
		{Kind: findings.KindNonworkingCarries, PastEdge: true},
	}
	slices.SortStableFunc(all, func(a, b findings.Finding) int { return important(&a, &b) })
	var kinds []findings.Kind
	for _, f := range all {
		kinds = append(kinds, f.Kind)
	}
	require.Equal(t, []findings.Kind{findings.KindBackCarries, findings.KindNonworkingCarries, findings.KindNonworkingTouches, findings.KindBackCarries, findings.KindBackTouches, findings.KindLingualCarries, findings.KindLateDisclusion, findings.KindNonworkingCarries}, kinds)
	m := &Movement{x: &findings.Excursion{Movement: "protrusive"}, Limits: &defaults.Thresholds}
	require.Contains(t, m.sentence(&all[3]).String(), "about 5 µm too high for the desired guidance at 1.0 mm, less than the scans can tell.")
	require.Contains(t, m.sentence(&all[0]).String(), "about 65 µm too high for the desired guidance at 1.0 mm.")
}
