package casts

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Wider says that the lower arch is wider than the upper one, and is empty where it is not: the
// buccal cusps of its premolars and molars stand farther apart than those of the same upper
// teeth, in the median of at least two kinds of teeth. In most persons the upper arch is wider
// (intermolar widths of 76 persons of class I: 53.8 ± 2.8 mm above, 51.7 ± 2.6 mm below;
// discovery.researcher.life, topic 3892787).
func Wider(upper, lower *Cast) language.Sentence {
	above := map[int]float64{} // by the tooth's position in its quadrant
	for _, w := range anatomy.Widths(upper.Landmarks) {
		above[w.Right.Position()] = w.MM
	}
	var more []float64
	for _, w := range anatomy.Widths(lower.Landmarks) {
		if mm, ok := above[w.Right.Position()]; ok && !w.Right.Type().Anterior() {
			more = append(more, w.MM-mm)
		}
	}
	if len(more) < 2 {
		return language.Sentence{}
	}
	slices.Sort(more)
	if mm := more[(len(more)-1)/2]; mm > 0 {
		return language.Say("input.wider", language.With{"mm": mm})
	}
	return language.Sentence{}
}
