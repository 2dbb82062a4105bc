package judge

import (
	"fmt"
	"testing"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/stretchr/testify/require"
)

// Which contacts of a movement are unwanted: those of the nonworking side, posterior ones in
// protrusion, and of the working side those of lingual cusps (The Glossary of Prosthodontic Terms).
func TestRuleWhatInterferes(t *testing.T) {
	e := bare(upright(16), upright(46))
	for _, c := range []struct {
		movement findings.Movement
		pair     findings.Pair
		at       findings.Vec // lingual of the middle of the teeth where x is below 0
		want     findings.Kind
	}{
		{"right", pair(26, 36), findings.Vec{}, findings.KindNonworkingInterference},
		{"right", pair(23, 33), findings.Vec{}, findings.KindNonworkingInterference},
		{"left", pair(26, 36), findings.Vec{}, ""}, // not known where on the teeth
		{"protrusive", pair(16, 46), findings.Vec{}, findings.KindProtrusiveInterference},
		{"protrusive", pair(13, 43), findings.Vec{}, ""},
		{"right", pair(16, 46), findings.Vec{-0.001}, findings.KindWorkingInterference},
		{"right", pair(16, 46), findings.Vec{0.001}, ""},
		{"right", pair(13, 43), findings.Vec{}, ""},
	} {
		x := made(c.movement, 2, func(int, *findings.Frame) {})
		_, got := ruled(t, x, -1).unwanted(e, &x.Frames[1], c.pair, c.at.R3())
		require.Equal(t, c.want, got, "%s %v", c.movement, c.pair)
	}
}

// From where to where a pair interferes. A letter is a frame of 0.25 mm: t touches, c carries, o
// another pair carries while it touches; the movement has begun at 0.5 mm. Common practice, no source.
func TestRuleWhereAnInterferenceBeginsAndEnds(t *testing.T) {
	own, other := pair(26, 36), pair(13, 43)
	for _, c := range []struct {
		course string
		end    int // the frame in which the guiding teeth stand edge to edge
		want   []string
	}{
		{"tttt", -1, []string{"touches 0.5 to 0.75"}},
		{"tt.", -1, nil}, // left before the movement has begun
		{"..t.t", -1, []string{"touches 0.5 to 1"}},
		{"..t..t", -1, []string{"touches 0.5 to 0.5", "touches 1.25 to 1.25"}},
		{"..tttt", 3, []string{"touches 0.5 to 0.75; beyond, touches 1 to 1.25"}},
		{"..t.t", 2, []string{"touches 0.5 to 0.5; beyond, touches 1 to 1"}},
		{"..t..t", 2, []string{"touches 0.5 to 0.5", "touches 1.25 to 1.25"}},
		{"..tt", 1, []string{"touches 0.5 to 0.75"}},
		{"..cctc", 3, []string{"touches 0.5 to 0.75, carries 0.5 to 0.75; beyond, touches 1 to 1.25, carries 1.25 to 1.25"}},
		{"..tttc.t", 3, []string{"touches 0.5 to 0.75; beyond, touches 1 to 1.75, carries 1.25 to 1.25"}},
		{"..ccto", 4, []string{"touches 0.5 to 1, carries 0.5 to 0.75; beyond, touches 1.25 to 1.25"}},
		{"..tcct", -1, []string{"touches 0.5 to 1.25, carries 0.75 to 1"}},
		{"..ccto", -1, []string{"touches 0.5 to 1.25, carries 0.5 to 0.75"}},
		{"..to", -1, []string{"touches 0.5 to 0.75"}},
		{".....", -1, nil},
	} {
		x := made(findings.Right, len(c.course), func(i int, f *findings.Frame) {
			switch c.course[i] {
			case 't':
				touch(f, own, 1)
			case 'c':
				touch(f, own, 1)
				carry(f, own)
			case 'o':
				touch(f, own, 1)
				carry(f, other)
			}
		})
		say := func(s *spell) string {
			require.Equal(t, own, s.pair)
			text := fmt.Sprintf("touches %g to %g", x.Frames[s.first].TravelMM, x.Frames[s.last].TravelMM)
			if s.carries() {
				text += fmt.Sprintf(", carries %g to %g", x.Frames[s.from].TravelMM, x.Frames[s.to].TravelMM)
			}
			return text
		}
		var got []string
		for _, s := range ruled(t, x, c.end).interferences(bare()) {
			text := say(&s)
			if s.beyond != nil {
				text += "; beyond, " + say(s.beyond)
			}
			got = append(got, text)
		}
		require.Equal(t, c.want, got, c.course)
	}
}

// Which frame shows an interference best: that of the largest patch, the first of equal ones, but
// where it carries one in which it does. An upper case letter carries; the area is the letter's
// number, a = 1.
func TestRuleWhichFrameShowsItBest(t *testing.T) {
	own := pair(26, 36)
	for course, want := range map[string]string{
		"..aba": "2 mm² at 0.75", "..bab": "2 mm² at 0.5", "..aBaa": "2 mm² at 0.75", "..dAbc": "1 mm² at 0.75", "..ABAc": "2 mm² at 0.75",
		"..BAB": "2 mm² at 0.5", "...A": "1 mm² at 0.75",
	} {
		x := made(findings.Right, len(course), func(i int, f *findings.Frame) {
			switch l := course[i]; {
			case l >= 'a':
				touch(f, own, float64(l-'a'+1))
			case l >= 'A':
				touch(f, own, float64(l-'A'+1))
				carry(f, own)
			}
		})
		all := ruled(t, x, -1).interferences(bare())
		require.Len(t, all, 1, course)
		require.Equal(t, want, fmt.Sprintf("%g mm² at %g", all[0].area, x.Frames[all[0].best].TravelMM), course)
		require.Equal(t, all[0].area, all[0].point[0], course)
	}
	// Of several patches of a pair in one frame the largest counts.
	x := made(findings.Right, 3, func(i int, f *findings.Frame) { touch(f, own, 1); touch(f, own, 3); touch(f, own, 2) })
	require.InDelta(t, 3, ruled(t, x, -1).interferences(bare())[0].area, 0)
}

// Who carries from the very beginning, where a case lets the movement begin at once, carries.
func TestRuleCarryingFromTheFirstFrame(t *testing.T) {
	x := made(findings.Right, 2, func(_ int, f *findings.Frame) { touch(f, pair(26, 36), 1); carry(f, pair(26, 36)) })
	m := ruled(t, x, -1)
	m.Limits.BegunMM = 0
	all := m.Outline(bare())
	require.Equal(t, findings.KindNonworkingInterference, all[0].Kind)
	require.Equal(t, []float64{0, 0.25}, []float64{all[0].FromMM, all[0].ToMM})
}

// How high an interference stands: the most of the heights of the frames in which the pair
// carries, the first of equal ones. Numbers are heights (µm) frame by frame, - another pair.
func TestRuleHowHighItStands(t *testing.T) {
	own := pair(26, 36)
	for _, c := range []struct {
		um   []float64
		high float64
		at   float64
	}{
		{[]float64{20, 50, 30}, 50, 0.75}, {[]float64{50, 20, 50}, 50, 0.5}, {[]float64{20, -90, 30}, 30, 1}, {[]float64{20, 30}, 30, 0.75},
		{[]float64{0, 0}, 0, 0.5}, {[]float64{40}, 40, 0.5},
	} {
		x := made(findings.Right, 2+len(c.um), func(i int, f *findings.Frame) {
			if i < 2 {
				return
			}
			um := c.um[i-2]
			touch(f, own, 1)
			carry(f, own)
			if um < 0 { // lies beside it
				carry(f, pair(27, 37))
			}
			f.Unhindered = &findings.Unhindered{HeightUm: max(um, -um)}
		})
		m := ruled(t, x, -1)
		s := m.interferences(bare())[0]
		var f findings.Finding
		require.NoError(t, m.measureHeight(bare(), &s, &f, nil))
		require.Equal(t, []float64{c.high, c.at, c.at}, []float64{*f.HeightUm, f.AtMM, f.PointMM[0]}, "%v", c.um)
	}
	// Nothing else would meet: no height is known, and the frame stays.
	x := made(findings.Right, 3, func(_ int, f *findings.Frame) { touch(f, own, 1); carry(f, own) })
	m := ruled(t, x, -1)
	s := m.interferences(bare())[0]
	var f findings.Finding
	require.NoError(t, m.measureHeight(bare(), &s, &f, nil))
	require.Zero(t, *f.HeightUm)
}
