package words

import (
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// SummaryTravels are the travels, in mm, at which movements are summed up.
var SummaryTravels = [...]float64{1, 2, 3}

// Group is a part of the arch whose clearance is summed up.
type Group struct {
	Title string // key
	holds func(t dentition.ToothID) bool
}

// Groups are the parts of the arch whose clearance is summed up.
var Groups = [...]Group{
	{"head.right", func(t dentition.ToothID) bool { return !t.Type().Anterior() && t.Side() == dentition.Right }},
	{"head.anterior", func(t dentition.ToothID) bool { return t.Type().Anterior() }},
	{"head.left", func(t dentition.ToothID) bool { return !t.Type().Anterior() && t.Side() == dentition.Left }},
}

// touchingMM is the clearance, in mm, below which a tooth is said to be in contact:
// half a micrometre, below what is written.
const touchingMM = 0.0005

// LeastClearance is the least clearance of a group of teeth, with the teeth that have
// it.
func LeastClearance(fr *findings.Frame, g Group) language.Sentence {
	least := math.Inf(1)
	var at []findings.Part
	for t := range dentition.All {
		d, ok := fr.Clearance(t)
		if !ok || !g.holds(t) {
			continue
		}
		switch {
		case d < least:
			least, at = d, []findings.Part{findings.Part(t)}
		case d == least:
			at = append(at, findings.Part(t))
		}
	}
	if math.IsInf(least, 1) {
		return language.Say("dash")
	}
	teeth := language.Join(language.Commas(at))
	if len(at) == 2 && at[0].Tooth().Jaw() != at[1].Tooth().Jaw() {
		teeth = language.Join(language.Commas([]findings.Pair{{Upper: at[0], Lower: at[1]}}))
	}
	if least < touchingMM {
		return language.Say("cell.contact", language.With{"teeth": teeth})
	}
	return language.Say("cell.clear", language.With{"mm": least, "teeth": teeth})
}

// SummaryFrames picks the frames nearest to the travels that are summed up,
// and the last.
func SummaryFrames(x *findings.Excursion) []int {
	var out []int
	last := len(x.Frames) - 1
	add := func(i int) {
		if !slices.Contains(out, i) {
			out = append(out, i)
		}
	}
	for _, travel := range SummaryTravels {
		if travel > x.Frames[last].TravelMM {
			break
		}
		best := 0
		for i := range x.Frames {
			if math.Abs(x.Frames[i].TravelMM-travel) < math.Abs(x.Frames[best].TravelMM-travel) {
				best = i
			}
		}
		add(best)
	}
	add(last)
	return out
}

// Guiding says which pair stops the closing of a frame, or what does in its stead.
func Guiding(fr *findings.Frame, labelled bool) language.Sentence {
	switch {
	case fr.Interference != nil:
		return language.Say("cell.early", language.With{
			"pair": findings.Pair{Upper: fr.Interference.Upper, Lower: fr.Interference.Lower}, "um": fr.Interference.HeightUm,
		})
	case fr.Carrier == nil:
		return language.Say("cell.guidance")
	case !labelled:
		return language.Say("cell.teeth")
	}
	return language.Join(language.Commas([]findings.Pair{{Upper: fr.Carrier.Upper, Lower: fr.Carrier.Lower}}))
}

// Course says which pairs guide the movement, one after the other, at which
// inclination, and which do so beyond the edge-to-edge position.
func Course(x *findings.Excursion) language.Sentence {
	if x.Guidance == nil {
		return language.Sentence{}
	}
	var before, beyond []language.Sentence
	for _, s := range x.Guidance.Stretches {
		span := language.Say("course.range", language.With{"from": s.FromMM, "to": s.ToMM})
		if s.FromMM == s.ToMM {
			span = language.Say("course.at", language.With{"at": s.FromMM})
		}
		with := language.With{"pair": findings.Pair{Upper: s.Upper, Lower: s.Lower}, "span": span}
		if s.ToothDeg != nil && !s.PastEdge {
			with["inclination"] = language.Say("course.deg", language.With{"deg": *s.ToothDeg})
		}
		if words := language.Say("course.pair", with); s.PastEdge {
			beyond = append(beyond, words)
		} else {
			before = append(before, words)
		}
	}
	return language.Say("course", language.With{
		"pairs": language.Commas(before), "edge": x.Guidance.EdgeToEdgeMM, "beyond": language.Commas(beyond),
	})
}

// ByTooth says whether the clearances of a frame are those of teeth.
func ByTooth(fr *findings.Frame) bool {
	for t := range dentition.All {
		if _, ok := fr.Clearance(t); ok {
			return true
		}
	}
	return false
}

// Pattern names a pattern of guidance.
func Pattern(p findings.PatternClass) language.Sentence {
	return language.Say("pattern." + strings.ReplaceAll(string(p), " ", "_"))
}
