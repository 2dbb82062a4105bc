package judge

import (
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/stretchr/testify/require"
)

// travels is a movement with frames at the given travels.
func travels(t *testing.T, mm ...float64) *Movement {
	t.Helper()
	c := casefile.Default()
	x := &findings.Excursion{Movement: findings.Right}
	for _, at := range mm {
		x.Frames = append(x.Frames, findings.Frame{TravelMM: at})
	}
	return &Movement{x: x, Limits: &c.Thresholds, End: len(mm) - 1}
}

// What only touches must go on to 0.3 mm beyond the beginning of a movement, just so; what
// carries need not.
func TestContactsThatFadeAreNotTold(t *testing.T) {
	m := travels(t, 0, 0.3, 0.5, 0.599, 0.6, 0.7)
	just := m.Limits.BegunMM + 0.3 - 1e-9 // a last bit is forgiven
	m.x.Frames = append(m.x.Frames, findings.Frame{TravelMM: just}, findings.Frame{TravelMM: math.Nextafter(just, 0)})
	for last, want := range map[int]int{1: 0, 3: 0, 4: 1, 5: 1, 6: 1, 7: 0} {
		require.Len(t, m.lasting([]spell{{first: 1, last: last, from: -1}}), want, "to %g mm", m.x.Frames[last].TravelMM)
		require.Len(t, m.lasting([]spell{{first: 1, last: last, from: 1, to: 1}}), 1)
		require.Len(t, m.lasting([]spell{{first: 0, last: last, from: 0, to: 0}}), 1)
	}
}

// Only a guidance that steepens, or leaps, where it passes to another pair after the
// beginning and before the edge-to-edge position hinders; what interferes tells it itself.
func TestWhichKinksHinder(t *testing.T) {
	m := travels(t, 0, 0.3, 1, 2, 3)
	m.End = 3
	from, to := findings.Touch{Upper: 13, Lower: 43}, findings.Touch{Upper: 14, Lower: 44}
	kink := func(at, deg, jump float64, to findings.Touch) *findings.Kink {
		return &findings.Kink{TravelMM: at, ChangeDeg: deg, JumpMM: jump, From: from, To: to}
	}
	interferes := func(p findings.Touch, carries int) []spell {
		return []spell{{pair: findings.Pair{Upper: p.Upper, Lower: p.Lower}, from: carries}}
	}
	for _, c := range []struct {
		name string
		k    *findings.Kink
		s    []spell
		want bool
	}{
		{"steeper", kink(1, 12, 0, to), nil, true},
		{"flatter", kink(1, -12, 0, to), nil, false},
		{"a leap up", kink(1, -12, -0.2, to), nil, true},
		{"no bend", kink(1, 0, 0, to), nil, false},
		{"just before the beginning", kink(0.2999, 12, 0, to), nil, false},
		{"at the beginning", kink(0.3, 12, 0, to), nil, true},
		{"at the edge-to-edge position", kink(2, 12, 0, to), nil, true},
		{"just beyond it", kink(2.0001, 12, 0, to), nil, false},
		{"of one pair", kink(1, 12, 0, from), nil, false},
		{"from what interferes", kink(1, 12, 0, to), interferes(from, 1), false},
		{"to what interferes", kink(1, 12, 0, to), interferes(to, 1), false},
		{"to what only touches", kink(1, 12, 0, to), interferes(to, -1), true},
	} {
		require.Equal(t, c.want, m.hinders(c.k, c.s), c.name)
	}
}

// A tooth disoccludes late just after the threshold, or never, unless a contact up to the
// edge-to-edge position tells it.
func TestLateTeethThatContactsTell(t *testing.T) {
	m := travels(t, 0, 1, 2, 3, 4)
	m.End = 3
	at := func(mm float64) *findings.Disclusion { return &findings.Disclusion{Tooth: 16, ClearsMM: &mm} }
	m.fold(nil)
	require.False(t, m.tooLate(at(3)))
	require.True(t, m.tooLate(at(3.0001)))
	require.True(t, m.tooLate(&findings.Disclusion{Tooth: 16}))
	m.fold([]spell{{pair: findings.Pair{Upper: 16, Lower: 46}, first: 3}})
	require.False(t, m.tooLate(at(4)))
	m.fold([]spell{{pair: findings.Pair{Upper: 16, Lower: 46}, first: 4}})
	require.True(t, m.tooLate(at(4)), "beyond edge to edge")
}

// Causes stand before what they bring about, behind premature contacts; what the scans or
// the relation cannot tell stands with contacts.
func TestOrderOfFindings(t *testing.T) {
	list := []findings.Finding{
		{Kind: findings.KindPremature},
		{Kind: findings.KindShallow, Explains: []findings.Pair{{Upper: 16, Lower: 46}}},
		{Kind: findings.KindNonworkingInterference},
		{Kind: findings.KindProtrusiveInterference},
		{Kind: findings.KindPremature, Doubtful: true},
		{Kind: findings.KindProtrusiveInterference, Doubtful: true},
		{Kind: findings.KindShallow},
		{Kind: findings.KindNonworkingInterference, PastEdge: true},
	}
	x := &findings.Excursion{}
	for i := range list[1:] {
		require.Negative(t, important(&list[i], &list[i+1], x, x), "%v before %v", list[i].Kind, list[i+1].Kind)
	}
}

// The places of pairs in a right lateral movement and in protrusion: a canine of the
// nonworking side, or an anterior tooth there on a posterior tooth, interferes, incisors do not.
func TestPlacesOfPairs(t *testing.T) {
	m := travels(t, 0)
	m.Working = dentition.Right
	for _, c := range []struct {
		working, up, lo int
		want            frames.Region
	}{
		{1, 13, 43, frames.Front}, {1, 11, 41, frames.Front}, {1, 16, 46, frames.WorkingBack}, {1, 26, 36, frames.NonworkingBack},
		{1, 21, 31, frames.NonworkingFront}, {1, 22, 33, frames.NonworkingFront},
		{1, 23, 33, frames.NonworkingBack}, {1, 23, 34, frames.NonworkingBack}, {1, 22, 34, frames.NonworkingBack},
		{0, 23, 33, frames.Front}, {0, 16, 46, frames.Back}, {1, 0, 0, frames.Nowhere},
	} {
		working := m.Working
		if c.working == 0 {
			working = 0
		}
		require.Equal(t, c.want, frames.RegionOf(working, findings.Part(c.up), findings.Part(c.lo)), "%v", c)
	}
}

// Without an incisal point what begins beyond 3 mm stands behind, however large; with one the
// edge-to-edge position decides.
func TestFarAlongWithoutAnIncisalPoint(t *testing.T) {
	um := 729.0
	small := &findings.Finding{Kind: findings.KindWorkingContact, FromMM: 0.5}
	unknown := &findings.Excursion{Frames: []findings.Frame{{}}}
	known := &findings.Excursion{Frames: []findings.Frame{{IncisalPoint: &findings.Vec{}}}}
	for from, want := range map[float64]int{3: -1, 3.0001: 1} {
		large := &findings.Finding{Kind: findings.KindProtrusiveInterference, HeightUm: &um, FromMM: from}
		require.Equal(t, want, important(large, small, unknown, unknown))
		require.Equal(t, -1, important(large, small, known, known))
	}
}
