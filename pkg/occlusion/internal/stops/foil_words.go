package stops

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// foilClasses are the classes in the order in which they are told, with their
// words.
var foilClasses = [...]struct {
	class findings.HoldClass
	words string
}{{findings.ClassHolds, "held"}, {findings.ClassDrags, "light drag"}, undecidedClass: {findings.ClassUndecided, "undecided"}, {findings.ClassPasses, "passing"}}

// undecidedClass is the place of that class in the order.
const undecidedClass = 2

// spread are things by what foil does there, in the order of [foilClasses].
type spread [len(foilClasses)][]findings.Sentence

func (s *spread) add(c findings.HoldClass, what findings.Sentence) {
	for k := range foilClasses {
		if foilClasses[k].class == c {
			s[k] = append(s[k], what)
		}
	}
}

// words names the things class by class: those of a class that holds more than half
// of them last and together, others one by one up to most and else by their number.
func (s *spread) words(things string, most int) findings.Sentence {
	all, rest := 0, -1
	for _, of := range s {
		all += len(of)
	}
	for k, of := range s {
		if len(of) > looseNamed && 2*len(of) > all {
			rest = k
		}
	}
	var out []findings.Sentence
	for k, of := range s {
		switch n := len(of); {
		case n == 0 || k == rest:
		case n > most:
			out = append(out, findings.Say("%s at %d", foilClasses[k].words, n))
		default:
			out = append(out, findings.Say("%s at %s", foilClasses[k].words, findings.List(", ", of)))
		}
	}
	switch {
	case rest < 0:
	case len(s[rest]) == all:
		out = append(out, findings.Say("%s at all %d %s", foilClasses[rest].words, all, things))
	default:
		out = append(out, findings.Say("%s at the other %d %s", foilClasses[rest].words, len(s[rest]), things))
	}
	return findings.List("; ", out)
}

// DescribeFoil sums up what thin foil does tooth by tooth, and narrow strips of it
// over the supporting cusps of the back teeth. It is empty where no tooth is known.
func DescribeFoil(c *findings.Centric, t *casefile.Thresholds) findings.Sentence {
	if len(c.Teeth) == 0 {
		return findings.Sentence{}
	}
	var teeth, cusps spread
	for _, x := range c.Teeth {
		teeth.add(x.Class, findings.Say("%s", x.Tooth))
	}
	tried := false
	for i := range c.Support {
		for _, k := range c.Support[i].Cusps {
			if k.Class != nil {
				tried = true
				cusps.add(*k.Class, findings.Say("%s of %s", k.Cusp, c.Support[i].Tooth))
			}
		}
	}
	out := []findings.Sentence{findings.Say("Thin foil: %s.", teeth.words("teeth", len(c.Teeth)))}
	if tried {
		out = append(out, findings.Say("Narrow strips over single supporting cusps of back teeth: %s.", cusps.words("cusps", looseNamed)))
	}
	if len(teeth[undecidedClass])+len(cusps[undecidedClass]) > 0 {
		out = append(out, findings.Say("Undecided is what stays out of contact by no more than the scans can tell (%.0f µm).", t.ScanDoubtUm))
	}
	return findings.List(" ", out)
}
