package vary

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// What compares the movements to both sides cannot be tried where one of them cannot
// be run; everything else needs its own movement only.
func TestWhatComparesSidesNeedsBoth(t *testing.T) {
	reruns := []rerun{{}, {impossible: true}}
	require.True(t, triable(&findings.Finding{Kind: findings.KindGuidance}, 0, reruns))
	require.False(t, triable(&findings.Finding{Kind: findings.KindGuidance}, 1, reruns))
	require.False(t, triable(&findings.Finding{Kind: findings.KindShallow}, 0, reruns))
	require.True(t, triable(&findings.Finding{Kind: findings.KindShallow}, 0, reruns[:1]))
}
