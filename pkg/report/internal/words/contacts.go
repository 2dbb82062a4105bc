package words

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
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
func nearPairs(n dentition.Notation, contacts []findings.Contact) string {
	var foils []float64
	first := map[string]float64{}
	for _, c := range contacts {
		p := Pair(n, c.Upper, c.Lower)
		if um, ok := first[p]; !ok || c.FoilUm < um {
			first[p] = c.FoilUm
		}
		if !slices.Contains(foils, c.FoilUm) {
			foils = append(foils, c.FoilUm)
		}
	}
	slices.Sort(foils)
	var out []string
	for _, um := range foils {
		var at []string
		for _, p := range SortedKeys(first) {
			if first[p] == um {
				at = append(at, p)
			}
		}
		if len(at) > 0 {
			out = append(out, fmt.Sprintf("within %g µm at %s", um, strings.Join(at, ", ")))
		}
	}
	return strings.Join(out, "; ")
}

// Places counts contacts, each at the thickest foil that finds it.
func Places(contacts []findings.Contact) string {
	thickest, n := 0.0, 0
	for _, c := range contacts {
		thickest = max(thickest, c.FoilUm)
	}
	for _, c := range contacts {
		if c.FoilUm == thickest {
			n++
		}
	}
	if n == 1 {
		return fmt.Sprintf("1 place within %g µm", thickest)
	}
	return fmt.Sprintf("%d places within %g µm", n, thickest)
}

// Pairs lists the tooth pairs of contacts, without repeats.
func Pairs(n dentition.Notation, contacts []findings.Contact) string {
	var out []string
	for _, c := range contacts {
		s := Pair(n, c.Upper, c.Lower)
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

// Pair writes a pair of teeth, the upper one first.
func Pair(n dentition.Notation, up, lo findings.Part) string { return findings.PairIn(n, up, lo) }

// SortedKeys lists the keys of a map in order.
func SortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
