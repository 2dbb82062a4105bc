package contact_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/testmesh"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/stretchr/testify/require"
)

func TestAppendPairsAgainstBruteForce(t *testing.T) {
	var s contact.GapScratch
	found := 0
	for _, sc := range scenes() {
		up, lo := newIndex(t, sc.up), newIndex(t, sc.lo)
		for i, pose := range sc.poses {
			all := bruteAll(sc.up, sc.lo, pose)
			least, _ := leastOf(all, func(brutePair) bool { return true })
			for _, limit := range []float64{0, 0.05, 0.3, least.Dist} {
				var want []contact.Pair
				for _, p := range all {
					if d := math.Sqrt(p.sq); d <= limit {
						want = append(want, contact.Pair{Upper: p.upper, Lower: p.lower, Dist: d, UpperPoint: p.pu, LowerPoint: p.pl})
					}
				}
				got := contact.AppendPairs(nil, up, lo, pose, limit, &s)
				again := contact.AppendPairs(got[:len(got):len(got)], up, lo, pose, limit, &s)
				require.Equal(t, got, again[len(got):], "the order is always the same")
				require.Equal(t, want, sortPairs(got), "%s, pose %d, within %v", sc.name, i, limit)
				found += len(want)
			}
			for _, limit := range []float64{math.NaN(), -1, math.Inf(1)} {
				require.Empty(t, contact.AppendPairs(nil, up, lo, pose, limit, &s), fmt.Sprint(limit))
			}
		}
	}
	require.Greater(t, found, 3000)
}

func TestPairsKeepWhatWasThere(t *testing.T) {
	up, lo := newIndex(t, testmesh.Plane(1, 1)), newIndex(t, testmesh.Plane(1, 1))
	before := []contact.Pair{{Dist: 7}}
	got := contact.AppendPairs(before, up, lo, kinematics.Pose{}, 0, &contact.GapScratch{})
	require.Equal(t, before[0], got[0])
	require.Len(t, got, 5)
}

// The pairs of the peers' benchmark: both arches as they were scanned.
func BenchmarkPairsWithin200um(b *testing.B) {
	um, lm := realArches(b)
	up, lo := newIndex(b, um), newIndex(b, lm)
	b.Run("arch180k", func(b *testing.B) {
		b.ReportAllocs()
		var s contact.GapScratch
		var dst []contact.Pair
		for b.Loop() {
			dst = contact.AppendPairs(dst[:0], up, lo, kinematics.Pose{}, 0.2, &s)
		}
		if len(dst) < 1000 {
			b.Fatal("too few pairs")
		}
		b.ReportMetric(float64(len(dst)), "pairs")
	})
}
