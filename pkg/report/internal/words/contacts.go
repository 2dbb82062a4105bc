package words

import (
	"slices"
	"strconv"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// FoilsOf lists the foil thicknesses (µm) that findings speak of, thinnest
// first.
func FoilsOf(f *findings.Findings) []float64 {
	var out []float64
	add := func(um float64) {
		if !slices.Contains(out, um) {
			out = append(out, um)
		}
	}
	for _, t := range f.Centric.Teeth {
		for s := range t.Foil { // sorted below
			if um, err := strconv.ParseFloat(s, 64); err == nil {
				add(um)
			}
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
	var foils []float64
	first := map[findings.Pair]float64{}
	for _, c := range contacts {
		p := findings.Pair{Upper: c.Upper, Lower: c.Lower}
		if um, ok := first[p]; !ok || c.FoilUm < um {
			first[p] = c.FoilUm
		}
		if !slices.Contains(foils, c.FoilUm) {
			foils = append(foils, c.FoilUm)
		}
	}
	slices.Sort(foils)
	all := Pairs(contacts)
	var out []language.Sentence
	for _, um := range foils {
		at := slices.DeleteFunc(slices.Clone(all), func(p findings.Pair) bool { return first[p] != um })
		if len(at) > 0 {
			out = append(out, language.Say("closed.foil", language.With{"within": Within(um), "pairs": language.Commas(at)}))
		}
	}
	return language.Say("closed.pairs", language.With{"foils": language.Semicolons(out)})
}

// Within names a foil thickness, µm.
func Within(um float64) language.Sentence {
	return language.Say("foil.within", language.With{"um": um})
}

// Count counts contacts, each at the thickest foil that finds it.
func Count(contacts []findings.Contact) language.Sentence {
	thickest, n := 0.0, 0
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
