package chart

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"

	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// Opening draws the opening over the travel, with what guides.
func Opening(r words.Reader, x *findings.Excursion) Chart {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range x.Frames {
		lo, hi = min(lo, x.Frames[i].OpeningDeg), max(hi, x.Frames[i].OpeningDeg)
	}
	for _, s := range x.Spread {
		lo, hi = min(lo, s.OpeningDeg.P10), max(hi, s.OpeningDeg.P90)
	}
	room := max(hi-lo, 0.05)
	first, last := span(x)
	a := newArea(openingHigh, plotLeft, axis{first, last}, axis{lo - 0.06*room, hi + 0.42*room})
	a.top += edgeHigh
	across, up := wholes(a.x), even(a.y)
	a.grid(across, up)
	var low, high []point
	for _, s := range x.Spread {
		low, high = append(low, point{s.TravelMM, s.OpeningDeg.P10}), append(high, point{s.TravelMM, s.OpeningDeg.P90})
	}
	if len(low) > 1 {
		a.band(spread, low, high)
		a.label(low[len(low)-1], "end", r.Say("sure.band"))
	}
	a.edge(r, x)
	a.bottomAxis(r.Say("chart.travel"), across)
	a.leftAxis(r.Say("chart.axis.opening"), up)
	curve := make([]point, len(x.Frames))
	for i := range x.Frames {
		curve[i] = point{x.Frames[i].TravelMM, x.Frames[i].OpeningDeg}
	}
	a.line(ink, 1.6, curve...)
	// A point with the pair of teeth where another pair takes over. The labels go
	// up and down in three rows above the curve, so that neighbours do not meet.
	runs := stretches(r, x)
	label := func(i int) point {
		return point{curve[runs[i].from].x, hi + room*(0.34-0.11*float64((i+1)%3))}
	}
	for i, s := range runs {
		a.line(stem, 0.6, curve[s.from], label(i))
	}
	for i, s := range runs {
		a.dot(ink, 3, curve[s.from])
		anchor := "start"
		if label(i).x > first+0.9*(last-first) {
			anchor = "end" // inside the frame
		}
		a.label(label(i), anchor, s.pair)
	}
	return a.chart()
}

// stretch is a run of frames that one pair of teeth carries.
type stretch struct {
	from, to int // frames, both included
	pair     string
}

// stretches lists what guides a movement, one after the other; none where the
// guidance is not by teeth.
func stretches(r words.Reader, x *findings.Excursion) []stretch {
	var out []stretch
	for i := range x.Frames {
		c := x.Frames[i].Carrier
		if c == nil {
			return nil
		}
		name := findings.PairIn(r.Notation, c.Upper, c.Lower)
		if last := len(out) - 1; last >= 0 && out[last].pair == name {
			out[last].to = i
			continue
		}
		out = append(out, stretch{i, i, name})
	}
	return out
}

// OpeningWords describes the chart for those who do not see it.
func OpeningWords(r words.Reader, x *findings.Excursion) string {
	f, l := &x.Frames[0], &x.Frames[len(x.Frames)-1]
	return r.Say("chart.opening.words", language.With{"first": f.OpeningDeg, "from": f.TravelMM, "last": l.OpeningDeg,
		"to": l.TravelMM, "course": words.Course(x)})
}
