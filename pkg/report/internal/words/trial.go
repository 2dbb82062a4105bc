package words

import (
	"github.com/cusptrace/cusptrace/pkg/compare"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/treatment"
)

// StepPlace says where a step of a trial treatment works.
func StepPlace(s *treatment.Step) findings.Sentence {
	if s.Site == "" {
		return language.Say("trial.place.tooth", language.With{"tooth": s.Tooth})
	}
	return language.Say("trial.place", language.With{"tooth": s.Tooth, "site": s.Site})
}

// StepSize says how deep a step goes, or how thick its wax is.
func StepSize(s *treatment.Step) findings.Sentence {
	with := language.With{"um": s.DeepestUm, "area": s.AreaMM2, "volume": s.VolumeMM3}
	if s.Kind == treatment.Wax {
		with["um"] = s.ThickestUm
	}
	if r := s.RangeUm; r != nil {
		with["low"], with["high"] = r.P10, r.P90
	}
	return language.Say("trial.size."+string(s.Kind), with)
}

// Changed says how a finding changed.
func Changed(c *compare.Change) findings.Sentence {
	with := language.With{"kind": language.Say("kind." + string(c.Before.Kind)), "pair": findings.Pair{Upper: c.Before.Upper,
		Lower: c.Before.Lower}, "movement": language.Say("movement." + string(c.Before.Movement))}
	if c.Before.HeightUm != nil && c.After.HeightUm != nil {
		with["before"], with["after"] = *c.Before.HeightUm, *c.After.HeightUm
	}
	return language.Say("compare.height", with)
}

// Stair says which pair would meet at a level of closing, and what must be lowered for it.
func Stair(s *treatment.Stair) findings.Sentence {
	var lowered []findings.Sentence
	for _, l := range s.LowerUm {
		lowered = append(lowered, language.Say("trial.stair.one", language.With{"pair": findings.Pair{Upper: l.Upper,
			Lower: l.Lower}, "um": l.Um}))
	}
	with := language.With{"pair": findings.Pair{Upper: s.Upper, Lower: s.Lower}, "lowered": language.And(lowered)}
	if s.IncisalDropMM != nil {
		with["mm"] = *s.IncisalDropMM
	}
	return language.Say("trial.stair", with)
}

// shapedMost is how many shapings are named, those with the largest areas.
const shapedMost = 4

// Shaped says which opposing teeth have shaped the wax of a step; empty where none has.
func Shaped(s *treatment.Step) language.Sentence {
	var spots []language.Sentence
	for _, x := range s.Shaped[:min(shapedMost, len(s.Shaped))] {
		with := language.With{"tooth": x.Opposing, "mm2": x.AreaMM2}
		if x.Movement == findings.Closed {
			spots = append(spots, language.Say("trial.shaped.closed", with))
			continue
		}
		with["movement"], with["from"], with["to"] = findings.NameMovement(x.Movement), x.FromMM, x.ToMM
		spots = append(spots, language.Say("trial.shaped.movement", with))
	}
	if len(spots) == 0 {
		return language.Sentence{}
	}
	return language.Say("trial.shaped", language.With{"spots": language.Commas(spots)})
}

// CrownChanges say what was lost and gained on crowns, of those on which something can be proved, and
// name those that could not be measured.
func CrownChanges(crowns []compare.Crown) (changed []findings.Sentence, unmeasured []findings.Sentence) {
	for i := range crowns {
		c := &crowns[i]
		if !c.Measured {
			unmeasured = append(unmeasured, language.Say("trial.place.tooth", language.With{"tooth": c.Tooth}))
		}
		for _, of := range [2]struct {
			key    string
			extent *compare.Extent
		}{{"compare.crown.lost", &c.Lost}, {"compare.crown.gained", &c.Gained}} {
			if e := of.extent; e.DeepestUm > 0 {
				changed = append(changed, language.Say(of.key, language.With{"tooth": c.Tooth, "um": e.DeepestUm, "mm2": e.AreaMM2,
					"mm3": e.VolumeMM3, "least": c.ProvableUm}))
			}
		}
	}
	return changed, unmeasured
}
