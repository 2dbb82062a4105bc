package occlusion

import (
	"fmt"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// looseNamed is how many stops that are not stable the words name.
const looseNamed = 6

// describeStops sums up the stops: how many are stable, which back teeth are held
// badly, which stops are not stable and why, and how the stops hold across and along
// the arch. It is empty where no tooth is known.
func describeStops(stops []Stop, teeth []ToothStops) Sentence {
	if len(teeth) == 0 {
		return Sentence{}
	}
	if len(stops) == 0 {
		return say("No stop on labelled teeth.")
	}
	held, firm := 0, 0
	for i := range teeth {
		if teeth[i].Stops > 0 {
			held++
		}
	}
	for i := range stops {
		if stops[i].Stable {
			firm++
		}
	}
	out := []Sentence{say("%s on %d teeth, %s.", counted(len(stops), "stop"), held, stable(firm, len(stops)))}
	return list(" ", slices.Concat(out, describeBackTeeth(teeth), describeLoose(stops), describeHold(stops, teeth)))
}

// describeBackTeeth names the back teeth without a stop, and those that their stops
// together push aside.
func describeBackTeeth(teeth []ToothStops) []Sentence {
	var some, none, askew []Sentence
	for i := range teeth {
		t := &teeth[i]
		switch {
		case dentition.ToothID(t.Tooth).Type().Anterior():
		case t.Stops == 0:
			none = append(none, say("%s", t.Tooth))
		default:
			some = append(some, say("%s", t.Tooth))
			if t.Axial != nil && !*t.Axial {
				askew = append(askew, say("%s to %s (%s along its axis)", t.Tooth, aside(t.Load.vec()), fmt.Sprintf("%.0f %%", 100**t.AxialShare)))
			}
		}
	}
	var out []Sentence
	switch {
	case len(none) == 0:
	case len(some) > 0 && len(none) > max(looseNamed, len(some)):
		out = append(out, say("Back teeth without a stop: all but %s.", list(", ", some)))
	default:
		out = append(out, say("Back teeth without a stop: %s.", list(", ", none)))
	}
	if len(askew) > 0 {
		out = append(out, say("Back teeth pushed aside by their stops together: %s.", list(", ", askew)))
	}
	return out
}

// describeLoose names the stops that are not stable, and why.
func describeLoose(stops []Stop) []Sentence {
	var named []string
	var why []Sentence
	for i := range stops {
		s := &stops[i]
		if name := s.Text.String(); !s.Stable && !slices.Contains(named, name) { // two stops on the same features need one word
			named, why = append(named, name), append(why, say("%s (%s)", s.Text, s.Reason))
		}
	}
	switch more := len(why) - looseNamed; {
	case len(why) == 0:
		return nil
	case more > 0:
		return []Sentence{say("Not stable: %s, and %d more.", list("; ", why[:looseNamed]), more)}
	}
	return []Sentence{say("Not stable: %s.", list("; ", why))}
}

// describeHold sums up how the stops hold the back teeth across and along the arch
// and how they stand around supporting cusps.
func describeHold(stops []Stop, teeth []ToothStops) []Sentence {
	var held []Sentence
	backed := 0 // back teeth with stops
	stand := map[Points]int{}
	for i := range teeth {
		t := &teeth[i]
		if t.AcrossStable != nil {
			backed++
			if *t.AcrossStable {
				held = append(held, say("%s", t.Tooth))
			}
		}
		for _, c := range t.Cusps {
			stand[c.Points]++
		}
	}
	if backed == 0 {
		return nil
	}
	var along [2]int
	for i := range stops {
		switch stops[i].Along {
		case ClosureStopper:
			along[0]++
		case Equaliser:
			along[1]++
		}
	}
	across := say("on no back tooth")
	switch {
	case len(held) == backed:
		across = say("on every back tooth with stops")
	case len(held) > 0:
		across = say("only on %s", list(", ", held))
	}
	out := []Sentence{
		say("Across the teeth, a B contact with an A or C contact %s; along the arches, %s and %s.", across, counted(along[0], "closure stopper"), counted(along[1], "equaliser")),
	}
	var cusps []Sentence
	for _, p := range [...]Points{Tripod, TwoPoint, Single, OneSided, NoPoint} {
		if n := stand[p]; n > 0 {
			cusps = append(cusps, say("%d %s", n, p.words()))
		}
	}
	if len(cusps) > 0 {
		out = append(out, say("Supporting cusps of back teeth: %s.", list(", ", cusps)))
	}
	return out
}

// stable says how many of some stops are stable.
func stable(n, of int) string {
	switch {
	case n == of && of == 1:
		return "stable by place and incline"
	case n == of:
		return "all stable by place and incline"
	case n == 0:
		return "none stable"
	}
	return fmt.Sprintf("%d stable", n)
}
