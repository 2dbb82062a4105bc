package stops

import (
	"fmt"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// looseNamed is how many stops that are not stable the words name.
const looseNamed = 6

// describeStops sums up the stops: how many are stable, which back teeth are held
// badly, which stops are not stable and why, and how the stops hold across and along
// the arch. It is empty where no tooth is known.
func describeStops(stops []findings.Stop, teeth []findings.ToothStops) findings.Sentence {
	if len(teeth) == 0 {
		return findings.Sentence{}
	}
	if len(stops) == 0 {
		return findings.Say("No stop on labelled teeth.")
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
	out := []findings.Sentence{findings.Say("%s on %d teeth, %s.", counted(len(stops), "stop"), held, stable(firm, len(stops)))}
	return findings.List(" ", slices.Concat(out, describeBackTeeth(teeth), describeLoose(stops), describeHold(stops, teeth)))
}

// describeBackTeeth names the back teeth without a stop, and those that their stops
// together push aside.
func describeBackTeeth(teeth []findings.ToothStops) []findings.Sentence {
	var some, none, askew []findings.Sentence
	for i := range teeth {
		t := &teeth[i]
		switch {
		case dentition.ToothID(t.Tooth).Type().Anterior():
		case t.Stops == 0:
			none = append(none, findings.Say("%s", t.Tooth))
		default:
			some = append(some, findings.Say("%s", t.Tooth))
			if t.Axial != nil && !*t.Axial {
				askew = append(askew, findings.Say("%s to %s (%s along its axis)", t.Tooth, aside(t.Load.R3()), fmt.Sprintf("%.0f %%", 100**t.AxialShare)))
			}
		}
	}
	var out []findings.Sentence
	switch {
	case len(none) == 0:
	case len(some) > 0 && len(none) > max(looseNamed, len(some)):
		out = append(out, findings.Say("Back teeth without a stop: all but %s.", findings.List(", ", some)))
	default:
		out = append(out, findings.Say("Back teeth without a stop: %s.", findings.List(", ", none)))
	}
	if len(askew) > 0 {
		out = append(out, findings.Say("Back teeth pushed aside by their stops together: %s.", findings.List(", ", askew)))
	}
	return out
}

// describeLoose names the stops that are not stable, and why.
func describeLoose(stops []findings.Stop) []findings.Sentence {
	var named []string
	var why []findings.Sentence
	for i := range stops {
		s := &stops[i]
		if name := s.Text.String(); !s.Stable && !slices.Contains(named, name) { // two stops on the same features need one word
			named, why = append(named, name), append(why, findings.Say("%s (%s)", s.Text, s.Reason))
		}
	}
	switch more := len(why) - looseNamed; {
	case len(why) == 0:
		return nil
	case more > 0:
		return []findings.Sentence{findings.Say("Not stable: %s, and %d more.", findings.List("; ", why[:looseNamed]), more)}
	}
	return []findings.Sentence{findings.Say("Not stable: %s.", findings.List("; ", why))}
}

// describeHold sums up how the stops hold the back teeth across and along the arch
// and how they stand around supporting cusps.
func describeHold(stops []findings.Stop, teeth []findings.ToothStops) []findings.Sentence {
	var held []findings.Sentence
	backed := 0 // back teeth with stops
	stand := map[findings.Points]int{}
	for i := range teeth {
		t := &teeth[i]
		if t.AcrossStable != nil {
			backed++
			if *t.AcrossStable {
				held = append(held, findings.Say("%s", t.Tooth))
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
		case findings.ClosureStopper:
			along[0]++
		case findings.Equaliser:
			along[1]++
		}
	}
	across := findings.Say("on no back tooth")
	switch {
	case len(held) == backed:
		across = findings.Say("on every back tooth with stops")
	case len(held) > 0:
		across = findings.Say("only on %s", findings.List(", ", held))
	}
	out := []findings.Sentence{
		findings.Say("Across the teeth, a B contact with an A or C contact %s; along the arches, %s and %s.", across, counted(along[0], "closure stopper"), counted(along[1], "equaliser")),
	}
	var cusps []findings.Sentence
	for _, p := range [...]findings.Points{findings.Tripod, findings.TwoPoint, findings.Single, findings.OneSided, findings.NoPoint} {
		if n := stand[p]; n > 0 {
			cusps = append(cusps, findings.Say("%d %s", n, pointsWords(p)))
		}
	}
	if len(cusps) > 0 {
		out = append(out, findings.Say("Supporting cusps of back teeth: %s.", findings.List(", ", cusps)))
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
