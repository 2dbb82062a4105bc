package judge

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// sentence says a finding as a dentist would write it.
func (m *Movement) sentence(f *findings.Finding) findings.Sentence {
	pair := findings.Pair{Upper: f.Upper, Lower: f.Lower}
	span := Span(f.FromMM, f.ToMM)
	side := "left"
	if m.Working == dentition.Left {
		side = "right"
	}
	high := ""
	if f.HeightUm != nil && !f.PastEdge {
		high = fmt.Sprintf("; about %.0f µm too high for the desired guidance at %.1f mm", *f.HeightUm, f.AtMM)
		if f.Doubtful {
			high += ", less than the scans can tell"
		}
	}
	sites := ""
	if f.UpperAt != "" && f.LowerAt != "" {
		sites = fmt.Sprintf(" (upper %s on lower %s)", f.UpperAt, f.LowerAt)
	}
	switch f.Kind {
	case findings.KindNonworkingCarries:
		return findings.Say("%s, %s%s carries on the nonworking (%s) side %s and the working side hangs%s.", m.title(), pair, sites, side, span, high)
	case findings.KindNonworkingTouches:
		return findings.Say("%s, %s%s touches on the nonworking (%s) side %s without carrying.", m.title(), pair, sites, side, span)
	case findings.KindBackCarries:
		return findings.Say("%s, the back teeth %s%s carry %s instead of the front teeth%s.", m.title(), pair, sites, span, high)
	case findings.KindBackTouches:
		return findings.Say("%s, the back teeth %s%s touch %s beside the guiding ones.", m.title(), pair, sites, span)
	case findings.KindLingualCarries:
		return findings.Say("%s, the lingual cusps of %s%s carry on the working side %s%s.", m.title(), pair, sites, span, high)
	case findings.KindLingualTouches:
		return findings.Say("%s, the lingual cusps of %s%s touch on the working side %s.", m.title(), pair, sites, span)
	case findings.KindLateDisclusion:
		return findings.Say("%s, back teeth do not come clear in time: %s.", m.title(), findings.List("; ", m.lateTeeth()))
	case findings.KindUneven:
		if a, ok := m.apart(f); ok {
			return findings.Say("%s, front teeth carry on one side only: %s %s; %s stay about %s µm apart.", m.title(), pair, span, findings.Pair{Upper: a.upper, Lower: a.lower}, fmt.Sprintf("%.0f", 1000*a.mm))
		}
		return findings.Say("%s, front teeth carry on one side only: %s %s.", m.title(), pair, span)
	case findings.KindKink:
		if k := m.kinkAt(f.AtMM); k != nil {
			what := fmt.Sprintf("turns steeper by %.0f°", k.ChangeDeg)
			switch {
			case k.JumpMM != 0:
				what = fmt.Sprintf("jumps by %.2f mm", k.JumpMM)
			case k.ChangeDeg < 0:
				what = fmt.Sprintf("turns flatter by %.0f°", -k.ChangeDeg)
			}
			return findings.Say("%s, the path %s at %.1f mm, where %s hands over to %s.", m.title(), what, f.AtMM, findings.Pair{Upper: k.From.Upper, Lower: k.From.Lower}, findings.Pair{Upper: k.To.Upper, Lower: k.To.Lower})
		}
	case findings.KindGuidance:
		if p := m.patternAt(f.AtMM); p != nil {
			return findings.Say("%s, %s at %.2g mm (%s; foil %.0f µm).", m.title(), patternWords(p.Pattern), p.AtMM, findings.List(", ", p.Pairs), p.FoilUm)
		}
	}
	return findings.Say("%s, %s %s.", m.title(), pair, span)
}

// patternWords is the pattern as the subject of a sentence.
func patternWords(p findings.PatternClass) string {
	switch p {
	case findings.BackTeeth:
		return "guidance by back teeth"
	case findings.Balanced:
		return "balanced contacts"
	case findings.Mixed:
		return "mixed guidance"
	}
	return string(p)
}

// Span is a range of travel in words.
func Span(from, to float64) string {
	if from == to {
		return fmt.Sprintf("at %.1f mm", from)
	}
	return fmt.Sprintf("from %.1f to %.1f mm", from, to)
}
