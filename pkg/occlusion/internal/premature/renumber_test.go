package premature

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// What the relation of the casts does not tell stands last, the other premature contacts
// first.
func TestRenumber(t *testing.T) {
	f := &findings.Findings{Excursions: []findings.Excursion{{Findings: []findings.Finding{{Severity: 2}}},
		{Findings: []findings.Finding{{Severity: 1}}}}}
	f.Centric.Findings = []findings.Finding{{Doubtful: true}, {}, {Doubtful: true}}
	Renumber(f)
	require.Equal(t, []int{4, 1, 5}, []int{f.Centric.Findings[0].Severity, f.Centric.Findings[1].Severity, f.Centric.Findings[2].Severity})
	require.Equal(t, 3, f.Excursions[0].Findings[0].Severity)
	require.Equal(t, 2, f.Excursions[1].Findings[0].Severity)
	Renumber(&findings.Findings{})
}
