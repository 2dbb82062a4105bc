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

// A finding stands under other settings where one of its kind and teeth lies within a millimetre of
// travel, also where that is told with one that goes on over the edge-to-edge position.
func TestTheSameFindingUnderOtherSettings(t *testing.T) {
	f := findings.Finding{Kind: findings.KindProtrusiveInterference, Upper: 27, Lower: 37, FromMM: 4, ToMM: 4.5}
	at := func(from, to float64, beyond ...float64) findings.Finding {
		g := findings.Finding{Kind: f.Kind, Upper: 27, Lower: 37, FromMM: from, ToMM: to}
		if len(beyond) > 0 {
			g.Beyond = &findings.Beyond{FromMM: beyond[0], ToMM: beyond[1]}
		}
		return g
	}
	other, kind := at(4, 4.5), at(4, 4.5)
	other.Lower, kind.Kind = 36, findings.KindProtrusiveContact
	for name, c := range map[string]struct {
		g    findings.Finding
		want bool
	}{
		"the same": {at(4, 4.5), true}, "a millimetre before": {at(1, 3), true}, "a little more": {at(1, 2.999), false},
		"a millimetre behind": {at(5.5, 6), true}, "a little more behind": {at(5.501, 6), false},
		"beyond the edge": {at(1, 2, 2.1, 3), true}, "not so far beyond": {at(1, 2, 2.1, 2.9), false},
		"before it": {at(5.5, 6, 6.1, 7), true}, "other teeth": {other, false}, "another kind": {kind, false},
		"all of it farther": {at(6, 7, 7.1, 8), false}, "beyond it, too far": {at(1, 2, 5.6, 8), false},
	} {
		require.Equal(t, c.want, sameFinding(&f, &c.g), name)
	}
}
