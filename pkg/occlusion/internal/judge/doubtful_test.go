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
		of(findings.KindLateDisclusion, 0), of(findings.KindProtrusiveContact, 0), of(findings.KindProtrusiveInterference,
			5), of(findings.KindNonworkingInterference, 3), of(findings.KindWorkingInterference, 36),
		of(findings.KindNonworkingContact, 0), of(findings.KindProtrusiveInterference, 65),
		{Kind: findings.KindNonworkingInterference, PastEdge: true},
	}
	slices.SortStableFunc(all, func(a, b findings.Finding) int {
		return important(&a, &b, &findings.Excursion{}, &findings.Excursion{})
	})
	var kinds []findings.Kind
	for _, f := range all {
		kinds = append(kinds, f.Kind)
	}
	require.Equal(t, []findings.Kind{findings.KindProtrusiveInterference, findings.KindNonworkingInterference,
		findings.KindNonworkingContact, findings.KindProtrusiveInterference, findings.KindProtrusiveContact, findings.KindWorkingInterference, findings.KindLateDisclusion, findings.KindNonworkingInterference}, kinds)
	m := &Movement{x: &findings.Excursion{Movement: "protrusive"}, Limits: &defaults.Thresholds}
	require.Contains(t, m.sentence(&all[3]).String(),
		"It stands 5 µm in the way of the intended guidance at 1.0 mm, below the scan uncertainty (")
	require.Contains(t, m.sentence(&all[0]).String(), "It stands 65 µm in the way of the intended guidance at 1.0 mm.")
}
