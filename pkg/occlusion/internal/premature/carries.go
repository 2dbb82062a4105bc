package premature

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// leavesMM is how far beyond the beginning of a movement a premature contact may carry and still
// be the same: teeth slide off each other at first. Our choice.
const leavesMM = 0.3

// Fold takes out of the movements the interferences that are a premature contact itself, which
// carries from intercuspation on until its teeth have slid off each other and stands less in
// the way than the scans can tell, and tells them with it: one spot is one finding.
func Fold(l *casefile.Thresholds, contacts []findings.Finding, xs []findings.Excursion) {
	for i := range contacts {
		p := &contacts[i]
		var on []findings.Sentence
		for k := range xs {
			x := &xs[k]
			x.Findings = slices.DeleteFunc(x.Findings, func(g findings.Finding) bool {
				if !goesOn(l, p, &g, x) {
					return false
				}
				on = append(on, language.Say("finding.premature.to", language.With{"to": g.ToMM, "movement": findings.NameMovement(x.Movement)}))
				return true
			})
		}
		if len(on) > 0 {
			goesOn := language.Say("finding.premature.on", language.With{"to": language.And(on)})
			p.Text = language.Join(language.Text([]findings.Sentence{p.Text, goesOn}))
		}
	}
}

// goesOn says whether an interference of a movement is a premature contact that goes on.
func goesOn(l *casefile.Thresholds, p, g *findings.Finding, x *findings.Excursion) bool {
	if g.HeightUm == nil || *g.HeightUm >= l.ScanDoubtUm || g.Upper != p.Upper || g.Lower != p.Lower || g.ToMM >= l.BegunMM+leavesMM {
		return false
	}
	own := findings.Pair{Upper: p.Upper, Lower: p.Lower}
	return !slices.ContainsFunc(x.Frames, func(f findings.Frame) bool {
		return f.TravelMM <= g.ToMM && (f.Carrier == nil || f.Carrier.Pair() != own)
	})
}
