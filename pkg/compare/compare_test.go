package compare_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

func finding(k findings.Kind, upper, lower findings.Part, from, to, um float64) findings.Finding {
	return findings.Finding{Kind: k, Upper: upper, Lower: lower, FromMM: from, ToMM: to, HeightUm: &um}
}

func document(stops []findings.Stop, list ...findings.Finding) *findings.Findings {
	return &findings.Findings{Centric: findings.Centric{Stops: stops},
		Excursions: []findings.Excursion{{Movement: findings.Right, Findings: list}}}
}

// A comparison of a document with itself shows no change, whatever it holds; sizes 0, 1 and 2.
func TestNothingChangesAgainstItself(t *testing.T) {
	stops := []findings.Stop{{Upper: 16, Lower: 46}, {Upper: 16, Lower: 46, PointMM: findings.Vec{2, 0, 0}}}
	for n := range 3 {
		list := []findings.Finding{finding(findings.KindNonworkingInterference, 27, 37, 1, 2, 200),
			finding(findings.KindProtrusiveInterference, 27, 37, 1, 2, 50)}[:n]
		f := document(stops[:n], list...)
		c := compare.Findings(f, f)
		assert.Empty(t, c.New)
		assert.Empty(t, c.Gone)
		assert.Empty(t, c.Stronger)
		assert.Empty(t, c.Weaker)
		assert.Len(t, c.Unchanged, n)
		assert.Len(t, c.Stops.Kept, n)
		assert.Empty(t, c.Stops.Lost)
		found, held := c.Scores()
		assert.Equal(t, n, found.Both)
		if n > 0 {
			assert.InDelta(t, 1, *found.Recall, 0)
			assert.InDelta(t, 1, *held.Precision, 0)
		} else {
			assert.Nil(t, found.Recall)
		}
	}
}

// What shifts by up to half a millimetre is the same finding, what shifts further or lies on
// another pair is not; turned round, new and gone change places.
func TestWhatIsTheSame(t *testing.T) {
	a := document(nil, finding(findings.KindNonworkingInterference, 27, 37, 1, 2, 200),
		finding(findings.KindNonworkingInterference, 26, 36, 1, 2, 80))
	b := document(nil, finding(findings.KindNonworkingInterference, 27, 37, 2.4, 3, 260),
		finding(findings.KindNonworkingInterference, 26, 36, 2.6, 3, 80), finding(findings.KindNonworkingInterference, 26, 37, 1, 2, 80))
	c := compare.Findings(a, b)
	require.Len(t, c.Stronger, 1)
	assert.InDelta(t, 60, *c.Stronger[0].ByUm, 1e-9)
	assert.Len(t, c.Gone, 1)
	assert.Len(t, c.New, 2)
	back := compare.Findings(b, a)
	require.Len(t, back.Weaker, 1)
	assert.Equal(t, c.Gone, back.New)
	assert.Equal(t, c.New, back.Gone)
	found, _ := c.Scores()
	assert.InDelta(t, 0.5, *found.Recall, 1e-12)
	assert.InDelta(t, 1.0/3, *found.Precision, 1e-12)
}

// Two stops of one pair are distinguished by their places.
func TestStopsAreMatchedByPlace(t *testing.T) {
	at := func(x float64) findings.Stop {
		return findings.Stop{Upper: 16, Lower: 46, PointMM: findings.Vec{x, 0, 0}}
	}
	c := compare.Findings(document([]findings.Stop{at(0), at(3)}), document([]findings.Stop{at(3.4), at(6)}))
	assert.Len(t, c.Stops.Kept, 1)
	assert.Len(t, c.Stops.Lost, 1)
	assert.Len(t, c.Stops.New, 1)
	assert.InDelta(t, 0, c.Stops.Lost[0].PointMM[0], 0)
}

// Other widths and other teeth are other persons; a tooth that was lost is not.
func TestOtherPersonsAreRefused(t *testing.T) {
	with := func(width float64, teeth ...findings.Part) *findings.Findings {
		f := &findings.Findings{Arches: &findings.Arches{Widths: []findings.ArchWidth{{Right: 16, Left: 26,
			Landmark: "mesiobuccal cusp", WidthMM: width}}}}
		for _, k := range teeth {
			f.Centric.Teeth = append(f.Centric.Teeth, findings.CentricTooth{Tooth: k})
		}
		return f
	}
	all := []findings.Part{14, 15, 16, 24, 25, 26}
	assert.NoError(t, compare.SamePerson(with(52, all...), with(52.2, all[1:]...)))
	assert.ErrorIs(t, compare.SamePerson(with(52, all...), with(53, all...)), compare.ErrOther)
	assert.ErrorIs(t, compare.SamePerson(with(52, all...), with(52, 34, 35, 36)), compare.ErrOther)
}
