package articulate

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// What hand articulation says, for each way in which it can end.
func TestArticulatedWords(t *testing.T) {
	places := []findings.RestContact{{PointMM: findings.Vec{-20, 30, 0}}, {PointMM: findings.Vec{20, 30, 0}}, {PointMM: findings.Vec{1, 2, 0}}}
	at := func(locked, taken, atRest bool, n int) *findings.Articulated {
		return &findings.Articulated{Close: 200, RunnerUp: 100, Away: 5, OverlapUm: 70, AtRest: atRest,
			Settling: &findings.Settling{Rest: &findings.Rest{Move: findings.Move{Text: "0.03 mm back"}, Locked: locked, Taken: taken, FarthestUm: 80, Contacts: places[:n]}}}
	}
	a := at(true, true, true, 3)
	describe(a, 45, false)
	require.Equal(t, "a clear winner: the arches come close over 200 mm², 100 % ahead of the next best place, 5 mm away (100 mm²)", a.FitText)
	require.Equal(t, "at rest, where the arches lock; 80 µm at most from the best fit over all that comes close", a.RelationText)
	require.Equal(t, "pressed together they lock on 3 contacts (1 right, 1 left, 1 front), up to 80 µm from the best fit: 0.03 mm back", a.RestText)
	require.Empty(t, a.Notes)

	a = at(true, true, false, 3)
	a.RunnerUp = 170
	describe(a, 45, true)
	require.Contains(t, a.FitText, "the best of close rivals")
	require.Equal(t, "the best fit over all that comes close, with overlap of up to 70 µm left to settle", a.RelationText)
	require.Contains(t, a.RestText, "farther than scans are off (60 µm), so single high spots may hold them there; examining settles them there")
	require.Len(t, a.Notes, 2)

	a = at(true, false, false, 3)
	a.RunnerUp = 0
	describe(a, 45, false)
	require.Contains(t, a.FitText, "here and nowhere else")
	require.Contains(t, a.RestText, "beyond the doubt of the case (150 µm): examining keeps them lifted")

	for n, want := range []string{
		"pressed together the arches are not held by anything",
		"pressed together the arches are held by one point (1 right) and do not lock",
		"pressed together the arches are held by two points (1 right, 1 left) and rock about the line through them",
		"pressed together the arches slide on over 3 contacts (1 right, 1 left, 1 front) and do not lock",
	} {
		require.Equal(t, want, describeRest(at(false, false, false, n), 45))
	}
}
