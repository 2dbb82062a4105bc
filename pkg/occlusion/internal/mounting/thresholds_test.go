package mounting

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// The borders of the case are those that the mounting is judged by.
func TestMountingThresholdsOfTheCaseAreUsed(t *testing.T) {
	l := &casefile.Default().Thresholds
	l.HoldsUm, l.DragsUm, l.ScanDoubtUm = 10, 12, 5
	require.Equal(t, findings.Undecided, Judge(three(0, 16, 0), l).Verdict)
	require.Equal(t, findings.Remount, Judge(three(0, 18, 0), l).Verdict)
}
