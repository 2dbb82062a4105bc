package occlusion

import "github.com/cusptrace/cusptrace/pkg/casefile"

// foilClasses are the classes in the order in which they are told, with their
// words.
var foilClasses = [...]struct {
	class HoldClass
	words string
}{{ClassHolds, "held"}, {ClassDrags, "light drag"}, undecidedClass: {ClassUndecided, "undecided"}, {ClassPasses, "passing"}}

// undecidedClass is the place of that class in the order.
const undecidedClass = 2

// spread are things by what foil does there, in the order of [foilClasses].
type spread [len(foilClasses)][]Sentence

func (s *spread) add(c HoldClass, what Sentence) {
	for k := range foilClasses {
		if foilClasses[k].class == c {
			s[k] = append(s[k], what)
		}
	}
}

// words names the things class by class: those of a class that holds more than half
// of them last and together, others one by one up to most and else by their number.
func (s *spread) words(things string, most int) Sentence {
	all, rest := 0, -1
	for _, of := range s {
		all += len(of)
	}
	for k, of := range s {
		if len(of) > looseNamed && 2*len(of) > all {
			rest = k
		}
	}
	var out []Sentence
	for k, of := range s {
		switch n := len(of); {
		case n == 0 || k == rest:
		case n > most:
			out = append(out, say("%s at %d", foilClasses[k].words, n))
		default:
			out = append(out, say("%s at %s", foilClasses[k].words, list(", ", of)))
		}
	}
	switch {
	case rest < 0:
	case len(s[rest]) == all:
		out = append(out, say("%s at all %d %s", foilClasses[rest].words, all, things))
	default:
		out = append(out, say("%s at the other %d %s", foilClasses[rest].words, len(s[rest]), things))
	}
	return list("; ", out)
}

// describeFoil sums up what thin foil does tooth by tooth, and narrow strips of it
// over the supporting cusps of the back teeth. It is empty where no tooth is known.
func describeFoil(c *Centric, t *casefile.Thresholds) Sentence {
	if len(c.Teeth) == 0 {
		return Sentence{}
	}
	var teeth, cusps spread
	for _, x := range c.Teeth {
		teeth.add(x.Class, say("%s", x.Tooth))
	}
	tried := false
	for i := range c.Support {
		for _, k := range c.Support[i].Cusps {
			if k.Class != nil {
				tried = true
				cusps.add(*k.Class, say("%s of %s", k.Cusp, c.Support[i].Tooth))
			}
		}
	}
	out := []Sentence{say("Thin foil: %s.", teeth.words("teeth", len(c.Teeth)))}
	if tried {
		out = append(out, say("Narrow strips over single supporting cusps of back teeth: %s.", cusps.words("cusps", looseNamed)))
	}
	if len(teeth[undecidedClass])+len(cusps[undecidedClass]) > 0 {
		out = append(out, say("Undecided is what stays out of contact by no more than the scans can tell (%.0f µm).", t.ScanDoubtUm))
	}
	return list(" ", out)
}
