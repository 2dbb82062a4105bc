package stops

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// foilClasses are the classes in the order in which they are named.
var foilClasses = [...]findings.HoldClass{findings.ClassHolds, findings.ClassDrags,
	undecidedClass: findings.ClassUndecided, findings.ClassPasses}

// undecidedClass is the place of that class in the order.
const undecidedClass = 2 // mutants: same, it names a place and takes it

// spread are things by what foil does there, in the order of [foilClasses].
type spread [len(foilClasses)][]findings.Sentence

func (s *spread) add(c findings.HoldClass, what findings.Sentence) {
	for k := range foilClasses {
		if foilClasses[k] == c {
			s[k] = append(s[k], what)
		}
	}
}

// words names the things class by class: those of a class that holds more than half
// of them last and together, others one by one up to most and else by their number.
// Things are teeth or cusps.
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
	class := func(k int) findings.Sentence { return language.Say("class." + string(foilClasses[k])) }
	var out []findings.Sentence
	for k, of := range s {
		switch n := len(of); {
		case n == 0 || k == rest:
		case n > most:
			out = append(out, language.Say("foil.count", language.With{"class": class(k), "count": n}))
		default:
			out = append(out, language.Say("foil.names", language.With{"class": class(k), "names": language.Commas(of)}))
		}
	}
	switch {
	case rest < 0:
	case len(s[rest]) == all:
		out = append(out, language.Say("foil.all."+things, language.With{"class": class(rest), "count": all}))
	default:
		out = append(out, language.Say("foil.rest."+things, language.With{"class": class(rest), "count": len(s[rest])}))
	}
	return language.Join(language.Semicolons(out))
}

// DescribeFoil sums up what thin foil does tooth by tooth, and narrow strips of it
// over the supporting cusps of the posterior teeth. It is empty where no tooth is known.
func DescribeFoil(c *findings.Centric, t *casefile.Thresholds) findings.Sentence {
	if len(c.Teeth) == 0 {
		return findings.Sentence{}
	}
	var teeth, cusps spread
	for _, x := range c.Teeth {
		teeth.add(x.Class, language.Only(x.Tooth))
	}
	tried := false
	for i := range c.Support {
		for _, k := range c.Support[i].Cusps {
			if k.Class != nil {
				tried = true
				cusps.add(*k.Class, language.Say("foil.cusp", language.With{"cusp": k.Cusp, "tooth": c.Support[i].Tooth}))
			}
		}
	}
	out := []findings.Sentence{language.Say("foil.thin", language.With{"teeth": teeth.words("teeth", len(c.Teeth))})}
	if tried {
		out = append(out, language.Say("foil.narrow", language.With{"cusps": cusps.words("cusps", looseNamed)}))
	}
	if len(teeth[undecidedClass])+len(cusps[undecidedClass]) > 0 {
		out = append(out, language.Say("foil.close", language.With{"um": t.ScanDoubtUm}))
	}
	return language.Join(language.Text(out))
}
