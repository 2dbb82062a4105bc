package occlusion

import (
	"fmt"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// describe says how a tooth is held.
func (s *ToothStops) describe() Sentence {
	if s.Stops == 0 {
		return say("%s: no stop.", s.Tooth)
	}
	out := []string{counted(s.Stops, "stop")}
	if s.AxialShare != nil {
		along := fmt.Sprintf("%.0f %% along its axis", 100**s.AxialShare)
		if !*s.Axial && !dentition.ToothID(s.Tooth).Type().Anterior() {
			along = "pushed to " + aside(s.Load.vec()) + ", " + along
		}
		out[0] += ", " + along
	}
	if s.Across != "" {
		out = append(out, "across the tooth "+strings.Join(strings.Split(s.Across, ""), "+"))
	}
	if s.Stoppers+s.Equalisers > 0 {
		out = append(out, fmt.Sprintf("along the arch %s, %s", counted(s.Stoppers, "closure stopper"), counted(s.Equalisers, "equaliser")))
	}
	for _, c := range s.Cusps {
		if c.Stops > 0 {
			out = append(out, c.Cusp+" "+c.Points.words())
		}
	}
	return say("%s: %s.", s.Tooth, strings.Join(out, "; "))
}

// words is how stops stand around a cusp.
func (p Points) words() string {
	switch p {
	case Single:
		return "on one point"
	case TwoPoint:
		return "on two points"
	case Tripod:
		return "on a tripod"
	case OneSided:
		return "on one side only"
	}
	return "without a stop"
}

// counted is a number of things.
func counted(n int, what string) string {
	switch n {
	case 0:
		return "no " + what
	case 1:
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// looseNamed is how many stops that are not stable the words name.
const looseNamed = 6

// describeStops sums up the stops: how many are stable, which are not and why,
// and which back teeth are held badly. It is empty where no tooth is known.
func describeStops(stops []Stop, teeth []ToothStops) Sentence {
	if len(teeth) == 0 {
		return Sentence{}
	}
	held := 0
	var none, askew []Sentence
	for i := range teeth {
		t := &teeth[i]
		if t.Stops > 0 {
			held++
		}
		if dentition.ToothID(t.Tooth).Type().Anterior() {
			continue
		}
		switch {
		case t.Stops == 0:
			none = append(none, say("%s", t.Tooth))
		case t.Axial != nil && !*t.Axial:
			askew = append(askew, say("%s to %s (%s along its axis)", t.Tooth, aside(t.Load.vec()), fmt.Sprintf("%.0f %%", 100**t.AxialShare)))
		}
	}
	loose := 0
	var named []string
	var why []Sentence
	for i := range stops {
		s := &stops[i]
		if s.Stable {
			continue
		}
		loose++
		if name := s.Text.String(); !slices.Contains(named, name) { // two stops on the same features need one word
			named, why = append(named, name), append(why, say("%s (%s)", s.Text, s.Reason))
		}
	}
	if len(stops) == 0 {
		return say("No stop on labelled teeth.")
	}
	out := []Sentence{say("%s on %d teeth, %s.", counted(len(stops), "stop"), held, stable(len(stops)-loose, len(stops)))}
	if len(none) > 0 {
		out = append(out, say("Back teeth without a stop: %s.", list(", ", none)))
	}
	if len(askew) > 0 {
		out = append(out, say("Back teeth pushed aside by their stops together: %s.", list(", ", askew)))
	}
	if more := len(why) - looseNamed; more > 0 {
		out = append(out, say("Not stable: %s, and %d more.", list("; ", why[:looseNamed]), more))
	} else if len(why) > 0 {
		out = append(out, say("Not stable: %s.", list("; ", why)))
	}
	return list(" ", append(out, describeHold(stops, teeth)...))
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
