package premature

import (
	"testing"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/stretchr/testify/require"
)

// An interference is told with the premature contact that it is: of the same teeth, carrying in every
// frame from intercuspation on, less in the way than the scan uncertainty, and left less than 0.3 mm after the
// movement has begun (here at 0.5 mm; our choice). A letter is a frame of 0.25 mm: p is carried by the premature contact, o by others.
func TestRuleAPrematureContactThatGoesOn(t *testing.T) {
	l := casefile.DefaultThresholds()
	l.BegunMM = 0.5
	um, told := 36.0, l.ScanDoubtUm
	for name, c := range map[string]struct {
		course string
		f      findings.Finding
		want   bool
	}{
		"it goes on":              {"ppppo", findings.Finding{Upper: 26, Lower: 36, FromMM: 0.5, ToMM: 0.75, HeightUm: &um}, true},
		"just less than 0.8 mm":   {"ppppp", findings.Finding{Upper: 26, Lower: 36, FromMM: 0.5, ToMM: 0.7999, HeightUm: &um}, true},
		"as much as scans tell":   {"ppppo", findings.Finding{Upper: 26, Lower: 36, FromMM: 0.5, ToMM: 0.75, HeightUm: &told}, false},
		"to 0.8 mm":               {"ppppp", findings.Finding{Upper: 26, Lower: 36, FromMM: 0.5, ToMM: 0.8, HeightUm: &um}, false},
		"others between":          {"poppo", findings.Finding{Upper: 26, Lower: 36, FromMM: 0.5, ToMM: 0.75, HeightUm: &um}, false},
		"others at its end":       {"pppop", findings.Finding{Upper: 26, Lower: 36, FromMM: 0.5, ToMM: 0.75, HeightUm: &um}, false},
		"no one between":          {"p-ppo", findings.Finding{Upper: 26, Lower: 36, FromMM: 0.5, ToMM: 0.75, HeightUm: &um}, false},
		"of another upper tooth":  {"ppppo", findings.Finding{Upper: 27, Lower: 36, FromMM: 0.5, ToMM: 0.75, HeightUm: &um}, false},
		"of another lower tooth":  {"ppppo", findings.Finding{Upper: 26, Lower: 37, FromMM: 0.5, ToMM: 0.75, HeightUm: &um}, false},
		"a kink, which no one is": {"ppppo", findings.Finding{Upper: 26, Lower: 36, FromMM: 0.5, ToMM: 0.5}, false},
	} {
		x := findings.Excursion{Movement: findings.Protrusive, Findings: []findings.Finding{{Kind: findings.KindGuidance}, c.f}}
		for i, who := range c.course {
			f := findings.Frame{TravelMM: 0.25 * float64(i)}
			switch who {
			case 'p':
				f.Carrier = &findings.Touch{Upper: 26, Lower: 36}
			case 'o':
				f.Carrier = &findings.Touch{Upper: 11, Lower: 41}
			}
			x.Frames = append(x.Frames, f)
		}
		contacts := []findings.Finding{{Kind: findings.KindPremature, Upper: 26, Lower: 36, Text: language.Literal("26/36 is high.")}}
		xs := []findings.Excursion{x}
		Fold(&l, contacts, xs)
		require.Equal(t, !c.want, len(xs[0].Findings) == 2, name)
		require.Equal(t, findings.KindGuidance, xs[0].Findings[0].Kind)
		text := "26/36 is high."
		if c.want {
			text += " It still interferes to 0.8 mm in protrusion."
		}
		require.Equal(t, text, contacts[0].Text.String(), name)
	}
}
