package occlusion_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/report"
)

// What a person reads of the synthetic dentition as built and with disturbances:
// stops, what foil does, the verdict, the arches, the mouth's record, the movements.
func TestGoldenSummaries(t *testing.T) {
	for name, examined := range map[string]func() (made, error){
		"summary.txt": undisturbed, "summary-raised-cusp.txt": raised, "summary-interference.txt": hindered, "summary-missing-tooth.txt": gapped,
	} {
		m, err := examined()
		require.NoError(t, err)
		var b strings.Builder
		require.NoError(t, report.WriteSummary(&b, m.found, report.TextOptions{}))
		files.Check(t, name, b.String())
	}
}
