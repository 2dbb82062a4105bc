package occlusion

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// sentence says a finding as a dentist would write it.
func (m *movement) sentence(f *Finding) Sentence {
	pair := pairOf{f.Upper, f.Lower}
	span := span(f.FromMM, f.ToMM)
	side := "left"
	if m.working == dentition.Left {
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
	case KindNonworkingCarries:
		return say("%s, %s%s carries on the nonworking (%s) side %s and the working side hangs%s.", m.title(), pair, sites, side, span, high)
	case KindNonworkingTouches:
		return say("%s, %s%s touches on the nonworking (%s) side %s without carrying.", m.title(), pair, sites, side, span)
	case KindBackCarries:
		return say("%s, the back teeth %s%s carry %s instead of the front teeth%s.", m.title(), pair, sites, span, high)
	case KindBackTouches:
		return say("%s, the back teeth %s%s touch %s beside the guiding ones.", m.title(), pair, sites, span)
	case KindLingualCarries:
		return say("%s, the lingual cusps of %s%s carry on the working side %s%s.", m.title(), pair, sites, span, high)
	case KindLingualTouches:
		return say("%s, the lingual cusps of %s%s touch on the working side %s.", m.title(), pair, sites, span)
	case KindLateDisclusion:
		return say("%s, back teeth do not come clear in time: %s.", m.title(), list("; ", m.lateTeeth()))
	case KindUneven:
		if a, ok := m.apart(f); ok {
			return say("%s, front teeth carry on one side only: %s %s; %s stay about %s µm apart.", m.title(), pair, span, pairOf{a.upper, a.lower}, fmt.Sprintf("%.0f", 1000*a.mm))
		}
		return say("%s, front teeth carry on one side only: %s %s.", m.title(), pair, span)
	case KindKink:
		if k := m.kinkAt(f.AtMM); k != nil {
			what := fmt.Sprintf("turns steeper by %.0f°", k.ChangeDeg)
			switch {
			case k.JumpMM != 0:
				what = fmt.Sprintf("jumps by %.2f mm", k.JumpMM)
			case k.ChangeDeg < 0:
				what = fmt.Sprintf("turns flatter by %.0f°", -k.ChangeDeg)
			}
			return say("%s, the path %s at %.1f mm, where %s hands over to %s.", m.title(), what, f.AtMM, pairOf{k.From.Upper, k.From.Lower}, pairOf{k.To.Upper, k.To.Lower})
		}
	case KindGuidance:
		if p := m.patternAt(f.AtMM); p != nil {
			return say("%s, %s at %.2g mm (%s; foil %.0f µm).", m.title(), p.Pattern.words(), p.AtMM, list(", ", p.Pairs), p.FoilUm)
		}
	}
	return say("%s, %s %s.", m.title(), pair, span)
}

// words is the pattern as the subject of a sentence.
func (p PatternClass) words() string {
	switch p {
	case BackTeeth:
		return "guidance by back teeth"
	case Balanced:
		return "balanced contacts"
	case Mixed:
		return "mixed guidance"
	}
	return string(p)
}

// span is a range of travel in words.
func span(from, to float64) string {
	if from == to {
		return fmt.Sprintf("at %.1f mm", from)
	}
	return fmt.Sprintf("from %.1f to %.1f mm", from, to)
}
