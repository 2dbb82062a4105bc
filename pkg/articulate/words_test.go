package articulate

import (
	"testing"

	"github.com/cusptrace/cusptrace/internal/interlock"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/stretchr/testify/require"
)

// What hand articulation says, for each way in which it can end.
func TestArticulatedWords(t *testing.T) {
	places := []findings.SeatContact{{PointMM: findings.Vec{-20, 30, 0}}, {PointMM: findings.Vec{20, 30, 0}}, {PointMM: findings.Vec{1, 2, 0}}}
	at := func(locked, taken, atRest bool, n int) *findings.Articulated {
		return &findings.Articulated{Close: 200, RunnerUp: 100, Away: 5, OverlapUm: 70, Locked: atRest,
			Settling: &findings.Settling{Seat: &findings.Seat{Move: findings.Move{Text: language.Literal("0.03 mm back")},
				Locked: locked, Taken: taken, FarthestUm: 80, DoubtUm: 150, Contacts: places[:n]}}}
	}
	m := &pairing{up: &casts.Scan{}, lo: &casts.Scan{}, upper: &interlock.Arch{Depth: 45, Teeth: make([]interlock.Tooth, 14)}}
	a := at(true, true, true, 3)
	a.Mounting, a.Strength, a.ErrorFrontMM, a.ErrorMolarsMM = &findings.MountingPoints{}, 5, 0.2, 0.3
	m.describe(a)
	require.Equal(t, "clearly arches that belong together: they come close over 200 mm², 100 % ahead of the best "+
		"place in another relation, 5 mm away (100 mm²)", a.FitText)
	require.Equal(t, "where the arches lock; 80 µm at most from the best fit over all that comes close", a.RelationText)
	require.Equal(t, "pressed together they lock on 3 contacts (1 right, 1 left, 1 front), up to 80 µm from the best "+
		"fit: 0.03 mm back", a.SeatText)
	require.Contains(t, a.ErrorText, "0.20 mm at the incisors and 0.30 mm at the molars")
	require.Empty(t, a.Notes)

	a = at(true, true, false, 3)
	a.Strength, a.RunnerUp = 3.4, 0
	a.Relation = findings.ToothRelation{Front: true, Overjet: -2, Overbite: -1, Midline: 3,
		Crossed: []dentition.ToothID{16}, Sides: true, Ahead: [2]float64{6, -5}}
	m.describe(a)
	require.Contains(t, a.FitText, "probably belong together")
	require.Contains(t, a.FitText, "in no other relation")
	require.Equal(t, "the best fit over all that comes close, with overlap of up to 70 µm left to settle", a.RelationText)
	require.Contains(t, a.SeatText, "farther than scans are off (60 µm), so single high spots may hold them there; "+
		"examining settles them there")
	for i, want := range []string{"look at it", "reverse overjet", "open bite", "3.0 mm to the left", "crossbite at 16",
		"6.0 mm ahead of class I on the right and 5.0 mm behind it", "points of the average mounting are not known"} {
		require.Contains(t, a.Notes[i], want)
	}

	a = at(true, false, false, 3)
	require.Contains(t, describeSeat(a, 45), "beyond the doubt of the case (150 µm): examining keeps them lifted")
	a.Settling = nil
	require.Contains(t, describeSeat(a, 45), "not pressed together")

	for n, want := range []string{
		"pressed together the arches are not held by anything",
		"pressed together the arches are held by one point (1 right) and do not lock",
		"pressed together the arches are held by two points (1 right, 1 left) and rock about the line through them",
		"pressed together the arches slide on over 3 contacts (1 right, 1 left, 1 front) and do not lock",
	} {
		require.Equal(t, want, describeSeat(at(false, false, false, n), 45))
	}
}
