package judge

import (
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// AdjustMostUm is the height above which a contact is beyond what is adjusted by grinding;
// common practice, no source.
const AdjustMostUm = 300

// sentence says a finding as a dentist would write it: the teeth first.
func (m *Movement) sentence(f *findings.Finding) findings.Sentence {
	with := language.With{
		"pair": findings.Pair{Upper: f.Upper, Lower: f.Lower}, "movement": findings.NameMovement(m.x.Movement),
		"span": findings.Span(f.FromMM, f.ToMM),
	}
	if f.UpperAt != "" && f.LowerAt != "" {
		with["sites"] = language.Say("finding.sites", language.With{"upper": f.UpperAt, "lower": f.LowerAt})
	}
	if f.HeightUm != nil && !f.PastEdge {
		stands := language.With{"um": *f.HeightUm, "at": f.AtMM}
		if f.Doubtful {
			stands["doubt"] = language.Say("finding.doubt", language.With{"um": m.Limits.ScanDoubtUm})
		}
		if *f.HeightUm > AdjustMostUm {
			stands["end"] = language.Say("finding.premature.beyond")
		}
		with["height"] = language.Say("finding.stands", stands)
	}
	switch f.Kind {
	case findings.KindNonworkingInterference:
		return language.Say("finding.nonworking_interference", with)
	case findings.KindNonworkingContact:
		return language.Say("finding.nonworking_contact", with)
	case findings.KindProtrusiveInterference:
		return language.Say("finding.protrusive_interference", with)
	case findings.KindProtrusiveContact:
		return language.Say("finding.protrusive_contact", with)
	case findings.KindWorkingInterference:
		return language.Say("finding.working_interference", with)
	case findings.KindWorkingContact:
		return language.Say("finding.working_contact", with)
	case findings.KindLateDisclusion:
		with["teeth"] = language.Semicolons(m.lateTeeth())
		return language.Say("finding.late", with)
	case findings.KindUneven:
		if a, ok := m.apart(f); ok {
			with["other"], with["um"] = findings.Pair{Upper: a.upper, Lower: a.lower}, 1000*a.mm
		}
		return language.Say("finding.uneven", with)
	case findings.KindKink:
		if k := m.kinkAt(f.AtMM); k != nil {
			return kink(k, f.AtMM, with)
		}
	case findings.KindGuidance:
		if p := m.patternAt(f.AtMM); p != nil {
			with["pattern"] = language.Say("guides." + strings.ReplaceAll(string(p.Pattern), " ", "_"))
			with["at"], with["pairs"], with["foil"] = p.AtMM, language.Commas(p.Pairs), p.FoilUm.Um()
			return language.Say("finding.guidance", with)
		}
	}
	return language.Say("finding.place", with)
}

// kink says how the guidance changes where another pair takes it over.
func kink(k *findings.Kink, at float64, with language.With) findings.Sentence {
	with["pair"], with["next"] = findings.Pair{Upper: k.From.Upper, Lower: k.From.Lower}, findings.Pair{Upper: k.To.Upper, Lower: k.To.Lower}
	with["at"], with["deg"], with["mm"] = at, k.ChangeDeg, k.JumpMM
	switch {
	case k.JumpMM != 0:
		return language.Say("finding.jump", with)
	case k.ChangeDeg < 0:
		with["deg"] = -k.ChangeDeg
		return language.Say("finding.flatter", with)
	}
	return language.Say("finding.steeper", with)
}
