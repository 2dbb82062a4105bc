package findings

import "github.com/cusptrace/cusptrace/pkg/language"

// NameMovement names a movement within a sentence.
func NameMovement(movement Movement) Sentence { return language.Say("movement." + string(movement)) }

// Span is a range of travel, mm.
func Span(from, to float64) Sentence {
	if from == to {
		return language.Say("span.at", language.With{"at": from})
	}
	return language.Say("span.range", language.With{"from": from, "to": to})
}
