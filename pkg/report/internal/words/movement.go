package words

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// SummaryTravels are the travels, in mm, at which movements are summed up.
var SummaryTravels = [...]float64{1, 2, 3}

// MovementTitle is the heading of a movement.
func MovementTitle(m string) string {
	switch m {
	case "right":
		return "Right lateral movement (right side working)"
	case "left":
		return "Left lateral movement (left side working)"
	}
	return "Protrusive movement"
}

// Group is a part of the arch whose clearance the summary gives.
type Group struct {
	Title string
	holds func(t dentition.ToothID) bool
}

// Groups are the parts of the arch whose clearance is summed up.
var Groups = [...]Group{
	{"right back teeth clear", func(t dentition.ToothID) bool { return !t.Type().Anterior() && t.Side() == dentition.Right }},
	{"front teeth clear", func(t dentition.ToothID) bool { return t.Type().Anterior() }},
	{"left back teeth clear", func(t dentition.ToothID) bool { return !t.Type().Anterior() && t.Side() == dentition.Left }},
}

// LeastClearance is the least clearance of a group of teeth, with the teeth that have
// it.
func LeastClearance(n dentition.Notation, fr *findings.Frame, g Group) string {
	least := math.Inf(1)
	var at []dentition.ToothID
	for _, p := range SortedKeys(fr.ClearanceMM) {
		t, err := dentition.ParseTooth(p)
		if err != nil || !g.holds(t) {
			continue
		}
		switch d := fr.ClearanceMM[p]; {
		case d < least:
			least, at = d, []dentition.ToothID{t}
		case d == least:
			at = append(at, t)
		}
	}
	if math.IsInf(least, 1) {
		return "–"
	}
	separator := ", "
	if len(at) == 2 && at[0].Jaw() != at[1].Jaw() {
		separator = "/"
	}
	var codes []string
	for _, t := range at {
		codes = append(codes, n.Format(t))
	}
	names := strings.Join(codes, separator)
	if least < 0.0005 {
		return "contact (" + names + ")"
	}
	return fmt.Sprintf("%.2f mm (%s)", least, names)
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

// Course says which pairs carry the movement, one after the other, at which
// inclination, and what carries past the edge-to-edge position.
func Course(n dentition.Notation, x *findings.Excursion) string {
	if x.Guidance == nil {
		return ""
	}
	var before, past []string
	for _, s := range x.Guidance.Stretches {
		span := fmt.Sprintf("%.4g–%.4g mm", s.FromMM, s.ToMM)
		if s.FromMM == s.ToMM {
			span = fmt.Sprintf("at %.4g mm", s.FromMM)
		}
		if s.ToothDeg != nil && !s.PastEdge {
			span += fmt.Sprintf(", %.0f°", *s.ToothDeg)
		}
		words := Pair(n, s.Upper, s.Lower) + " (" + span + ")"
		if s.PastEdge {
			past = append(past, words)
		} else {
			before = append(before, words)
		}
	}
	out := "Carried in turn by " + strings.Join(before, ", ")
	if x.Guidance.EdgeToEdgeMM != nil {
		out += fmt.Sprintf("; edge to edge at %.4g mm", *x.Guidance.EdgeToEdgeMM)
	}
	if len(past) > 0 {
		out += ", past it by " + strings.Join(past, ", ")
	}
	return out + "."
}
