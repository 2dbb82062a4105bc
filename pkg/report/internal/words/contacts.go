package words

import (
	"slices"
	"strconv"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// FoilsOf lists the foils that findings speak of, thinnest
// first.
func FoilsOf(f *findings.Findings) []findings.Foil {
	var out []findings.Foil
	add := func(foil findings.Foil) {
		if !slices.Contains(out, foil) {
			out = append(out, foil)
		}
	}
	for _, t := range f.Centric.Teeth {
		for foil := range t.Foil { // sorted below
			add(foil)
		}
	}
	contacts := func(cs []findings.Contact) {
		for _, c := range cs {
			add(c.FoilUm)
		}
	}
	contacts(f.Centric.Contacts)
	for _, x := range f.Excursions {
		for _, fr := range x.Frames {
			contacts(fr.Contacts)
		}
	}
	slices.Sort(out)
	return out
}

// Micrometres writes a thickness without its unit.
func Micrometres(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// nearPairs lists the pairs of contacts foil by foil, the thinnest first, each pair
// at the first foil that finds it.
func nearPairs(contacts []findings.Contact) language.Sentence {
	var foils []findings.Foil
	first := map[findings.Pair]findings.Foil{}
	for _, c := range contacts {
		p := findings.Pair{Upper: c.Upper, Lower: c.Lower}
		if foil, ok := first[p]; !ok || c.FoilUm < foil {
			first[p] = c.FoilUm
		}
		if !slices.Contains(foils, c.FoilUm) {
			foils = append(foils, c.FoilUm)
		}
	}
	slices.Sort(foils)
	all := Pairs(contacts)
	var out []language.Sentence
	for _, foil := range foils {
		at := slices.DeleteFunc(slices.Clone(all), func(p findings.Pair) bool { return first[p] != foil })
		if len(at) > 0 {
			out = append(out, language.Say("closed.foil", language.With{"within": Within(foil), "pairs": language.Commas(at)}))
		}
	}
	return language.Say("closed.pairs", language.With{"foils": language.Semicolons(out)})
}

// Within names the thickness of a foil.
func Within(foil findings.Foil) language.Sentence {
	return language.Say("foil.within", language.With{"um": foil.Um()})
}

// Count counts contacts, each at the thickest foil that finds it.
func Count(contacts []findings.Contact) language.Sentence {
	thickest, n := findings.Foil(0), 0
	for _, c := range contacts {
		thickest = max(thickest, c.FoilUm)
	}
	for _, c := range contacts {
		if c.FoilUm == thickest {
			n++
		}
	}
	return language.Say("closed.count", language.With{"count": n, "within": Within(thickest)})
}

// Pairs lists the tooth pairs of contacts, without repeats, along the upper codes.
func Pairs(contacts []findings.Contact) []findings.Pair {
	var out []findings.Pair
	for _, c := range contacts {
		if p := (findings.Pair{Upper: c.Upper, Lower: c.Lower}); !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	slices.SortFunc(out, func(a, b findings.Pair) int {
		if a.Upper != b.Upper {
			return int(a.Upper) - int(b.Upper)
		}
		return int(a.Lower) - int(b.Lower)
	})
	return out
}

// SortedKeys lists the keys of a map in order.
func SortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// Named is a tooth with its code and its name, for sentences that give both.
func Named(r Reader, t dentition.ToothID) language.With {
	return language.With{"code": r.Notation.Format(t), "name": t.Name()}
}
