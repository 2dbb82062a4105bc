package mounting

import (
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// apart is the reason of an area that is open.
const apart = "mounting.apart"

// nameArea names an area of contact.
func nameArea(name string) findings.Sentence {
	return language.Say("area." + strings.ReplaceAll(name, " ", "_"))
}

// openAreas says of every area that is open on the casts why it is: a high pair keeps it open, or the
// mouth shows the same. It names those for which neither holds.
func openAreas(f *findings.Findings) (alone []findings.Sentence) {
	m := &f.Centric.Mounting
	k := 0 // the next open area: reasons stand in the order of areas
	for i, reason := range m.Reasons {
		if reason.Key() != apart {
			continue
		}
		for m.Areas[k].Class != findings.ClassPasses {
			k++
		}
		a := &m.Areas[k]
		k++
		with := sayOpen(a)
		high, held := keptOpen(f, a)
		if held {
			with["high"] = high
		}
		mouth := openInMouth(f.Record, a)
		if len(mouth) > 0 { // mutants: same, an empty list is not said
			with["teeth"] = language.Commas(mouth)
		}
		if !held && len(mouth) == 0 {
			alone = append(alone, nameArea(a.Area))
		}
		m.Reasons[i] = language.Say(apart, with)
	}
	return alone
}

// sayOpen is what is said of an open area.
func sayOpen(a *findings.Area) language.With {
	return language.With{"area": nameArea(a.Area), "pair": findings.Pair{Upper: a.Upper, Lower: a.Lower}, "um": a.GapUm}
}

// openInMouth is the teeth of an area at which foil pulls through in the mouth as on the casts; none
// where foil holds in the mouth at one of the area, or one carries a mark of closing.
func openInMouth(r *findings.Record, a *findings.Area) (teeth []findings.Part) {
	if r == nil {
		return nil
	}
	of := slices.IndexFunc(areaTeeth[:], func(x areaRule) bool { return x.name == a.Area })
	for tooth := range dentition.All {
		if areaTeeth[of].holds(tooth, tooth) && r.Marked(findings.Part(tooth)) {
			return nil
		}
	}
	for _, t := range r.Teeth {
		switch tooth := t.Tooth.Tooth(); {
		case !areaTeeth[of].holds(tooth, tooth):
		case t.Mouth != casefile.Passes:
			return nil
		case t.Match == findings.Agree:
			teeth = append(teeth, t.Tooth)
		}
	}
	return teeth
}

// keptOpen says whether the premature contacts of the given relation keep an area open, and which
// is the first: without them its pair would meet with the others, within the scan uncertainty on
// either side of their level.
func keptOpen(f *findings.Findings, a *findings.Area) (high findings.Pair, ok bool) {
	g, c := f.Settling.Given, f.Centric.Findings
	if g == nil || g.Shape != findings.ShapeHigh || g.Turn != nil || g.Displaced != nil || len(c) == 0 || c[len(c)-1].Next == nil {
		return high, false
	}
	step := func(p findings.Pair) int {
		return slices.IndexFunc(g.Staircase, func(s findings.Step) bool { return p == findings.Pair{Upper: s.Upper, Lower: s.Lower} })
	}
	level, own := step(*c[len(c)-1].Next), step(findings.Pair{Upper: a.Upper, Lower: a.Lower})
	if level < 0 || own < 0 { // mutants: same <: the first step is the premature contact
		return high, false
	}
	s := &g.Staircase[own]
	turn := (g.Staircase[level].OpeningDeg - s.OpeningDeg) * math.Pi / 180
	later := 1000 * turn * math.Hypot(s.PointMM[1], s.PointMM[2])
	high = findings.Pair{Upper: c[0].Upper, Lower: c[0].Lower}
	return high, later <= 2*f.Thresholds.ScanDoubtUm // mutants: same, a measured way never is the border
}
