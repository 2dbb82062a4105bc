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

// What lies beyond edge-to-edge is another finding than what lies before it, near as it may be.
func TestBeyondEdgeToEdge(t *testing.T) {
	before := finding(findings.KindProtrusiveInterference, 27, 37, 1, 2, 145)
	beyond := finding(findings.KindProtrusiveInterference, 27, 37, 2, 3, 385)
	beyond.PastEdge = true
	c := compare.Findings(document(nil, before, beyond), document(nil, beyond))
	require.Len(t, c.Gone, 1)
	assert.InDelta(t, 145, *c.Gone[0].HeightUm, 0)
	require.Len(t, c.Unchanged, 1)
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

// of gives a document scans, teeth and the way that it follows a movement.
func of(f *findings.Findings, scan string, mm float64, gaps map[findings.Part]float64) *findings.Findings {
	f.Inputs = []findings.Input{{Role: findings.UpperScan, SHA256: scan}, {Role: findings.LowerScan, SHA256: "same"}}
	f.Thresholds.ScanDoubtUm = 36.7
	f.Excursions[0].Frames = []findings.Frame{{TravelMM: 0}, {TravelMM: mm}}
	for t, um := range gaps {
		f.Centric.Teeth = append(f.Centric.Teeth, findings.CentricTooth{Tooth: t, GapUm: um})
	}
	return f
}

// Of other scans a change counts from 1.96·√2 of their uncertainty on, here 101.7 µm; what is smaller,
// has no height, lies on a tooth that one of them has not or beyond the travel of one is set aside. Of
// the same scans all of it is new or gone.
func TestOtherScansTellOnlyWhatCanBeProved(t *testing.T) {
	const k = findings.KindNonworkingInterference
	touch := findings.Finding{Kind: findings.KindNonworkingContact, Upper: 26, Lower: 36, FromMM: 1, ToMM: 1.5}
	stops := []findings.Stop{{Upper: 16, Lower: 46}, {Upper: 17, Lower: 47}, {Upper: 18, Lower: 47}}
	gaps := map[findings.Part]float64{16: 0, 46: 0, 17: 0, 47: 0, 26: 0, 36: 0, 27: 0, 37: 0}
	with18 := map[findings.Part]float64{18: 0}
	clear := map[findings.Part]float64{}
	for t, um := range gaps {
		with18[t], clear[t] = um, um
	}
	clear[16] = 102
	a := func(scan string) *findings.Findings {
		return of(document(stops, finding(k, 27, 37, 1, 2, 250), finding(k, 26, 36, 1, 2, 180), touch,
			finding(k, 16, 46, 0.5, 1, 101), finding(k, 17, 47, 0.5, 1, 102), finding(k, 18, 47, 0.5, 1, 400),
			finding(k, 17, 46, 4, 5, 400)), scan, 5, with18)
	}
	b := of(document(nil, finding(k, 27, 37, 1, 2, 148), finding(k, 26, 36, 1, 2, 79)), "other", 3, clear)
	c := compare.Findings(a("first"), b)
	assert.False(t, c.SameScans)
	assert.InDelta(t, 101.73, c.ProvableUm, 0.01)
	require.Len(t, c.Weaker, 1)
	assert.Equal(t, findings.Part(27), c.Weaker[0].Before.Upper)
	assert.InDelta(t, -102, *c.Weaker[0].ByUm, 1e-9)
	assert.Len(t, c.Unchanged, 1)
	require.Len(t, c.Gone, 1)
	assert.Equal(t, [2]findings.Part{17, 47}, [2]findings.Part{c.Gone[0].Upper, c.Gone[0].Lower})
	require.Len(t, c.Unproven.Before, 2)
	assert.Equal(t, findings.KindNonworkingContact, c.Unproven.Before[0].Kind)
	assert.Equal(t, findings.Part(16), c.Unproven.Before[1].Upper)
	require.Len(t, c.Unmeasured.Before, 2)
	require.Len(t, c.Stops.Lost, 1)
	assert.Equal(t, findings.Part(16), c.Stops.Lost[0].Upper)
	require.Len(t, c.Unproven.StopsBefore, 1)
	assert.Equal(t, findings.Part(17), c.Unproven.StopsBefore[0].Upper)
	require.Len(t, c.Unmeasured.StopsBefore, 1)

	back := compare.Findings(b, a("first"))
	assert.Equal(t, c.Gone, back.New)
	assert.Equal(t, c.Unproven.Before, back.Unproven.After)
	assert.Equal(t, c.Unmeasured.Before, back.Unmeasured.After)
	assert.Equal(t, c.Stops.Lost, back.Stops.New)

	same := compare.Findings(a("other"), b)
	assert.True(t, same.SameScans)
	assert.InDelta(t, 2, same.ProvableUm, 0)
	assert.Len(t, same.Gone, 5)
	assert.Len(t, same.Weaker, 2)
	assert.Len(t, same.Stops.Lost, 3)
	lies := func(um ...float64) (out []compare.Crown) {
		for i, um := range um {
			out = append(out, compare.Crown{Tooth: 16, Measured: i > 0, FitUm: um})
		}
		return out
	}
	assert.True(t, compare.Findings(a("first"), b, lies(50, 0.01, 0.1)...).SameScans)
	assert.False(t, compare.Findings(a("first"), b, lies(50, 0.01, 0.11)...).SameScans)
	assert.False(t, compare.Findings(a("first"), b, lies(0.01)...).SameScans)
	b.Inputs = nil // worked on
	assert.True(t, compare.Findings(a("first"), b).SameScans)
}
