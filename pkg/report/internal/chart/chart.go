// Package chart draws what happens over the travel of a movement.
package chart

import (
	"html/template"

	"github.com/cusptrace/cusptrace/pkg/findings"
)

// Chart is a drawing with where its data area lies, in shares of its width, so
// that the page can lay a cursor over it.
type Chart struct {
	SVG         template.HTML
	Left, Right float64
	First, Last float64 // travel at both ends, mm
}

// span is the first and the last travel of a movement, apart from each other.
func span(x *findings.Excursion) (first, last float64) {
	first, last = x.Frames[0].TravelMM, x.Frames[len(x.Frames)-1].TravelMM
	if last == first {
		last += 0.1
	}
	return first, last
}
