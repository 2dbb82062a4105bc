package stops

import (
	"slices"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// looseNamed is how many stops that are not stable the words name.
const looseNamed = 6

// describeStops sums up the stops: how many are stable, which posterior teeth are held
// badly, which stops are not stable and why, and how the stops hold across and along
// the arch. It is empty where no tooth is known.
func describeStops(stops []findings.Stop, teeth []findings.ToothStops) findings.Sentence {
	if len(teeth) == 0 {
		return findings.Sentence{}
	}
	if len(stops) == 0 {
		return language.Say("stops.none")
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
	out := []findings.Sentence{language.Say("stops.sum",
		language.With{"stops": len(stops), "teeth": held, "stable": stable(firm, len(stops))})}
	return language.Join(language.Text(slices.Concat(out, describePosteriorTeeth(teeth), describeLoose(stops), describeHold(stops, teeth))))
}

// describePosteriorTeeth names the posterior teeth without a stop, and those that their stops
// together push aside.
func describePosteriorTeeth(teeth []findings.ToothStops) []findings.Sentence {
	var some, none, askew []findings.Sentence
	for i := range teeth {
		t := &teeth[i]
		switch {
		case t.Tooth.Tooth().Type().Anterior():
		case t.Stops == 0:
			none = append(none, language.Only(t.Tooth))
		default:
			some = append(some, language.Only(t.Tooth))
			if t.Axial != nil && !*t.Axial {
				askew = append(askew, language.Say("stops.aside.tooth",
					language.With{"tooth": t.Tooth, "direction": aside(t.Load.R3()), "share": 100 * *t.AxialShare}))
			}
		}
	}
	var out []findings.Sentence
	switch {
	case len(none) == 0:
	case len(some) > 0 && len(none) > max(looseNamed, len(some)):
		out = append(out, language.Say("stops.without.all", language.With{"teeth": language.Commas(some)}))
	default:
		out = append(out, language.Say("stops.without", language.With{"teeth": language.Commas(none)}))
	}
	if len(askew) > 0 {
		out = append(out, language.Say("stops.aside", language.With{"teeth": language.Commas(askew)}))
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
			named, why = append(named, name), append(why, language.Say("stops.loose.one", language.With{"stop": s.Text, "reason": s.Reason}))
		}
	}
	switch more := len(why) - looseNamed; {
	case len(why) == 0:
		return nil
	case more > 0:
		return []findings.Sentence{language.Say("stops.loose.more", language.With{"stops": language.Semicolons(why[:looseNamed]), "more": more})}
	}
	return []findings.Sentence{language.Say("stops.loose", language.With{"stops": language.Semicolons(why)})}
}

// describeHold sums up how the stops hold the posterior teeth across and along the arch
// and how they stand around supporting cusps.
func describeHold(stops []findings.Stop, teeth []findings.ToothStops) []findings.Sentence {
	var held []findings.Sentence
	backed := 0 // posterior teeth with stops
	stand := map[findings.Points]int{}
	for i := range teeth {
		t := &teeth[i]
		if t.AcrossStable != nil {
			backed++
			if *t.AcrossStable {
				held = append(held, language.Only(t.Tooth))
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
	across := language.Say("stops.across.none")
	switch {
	case len(held) == backed:
		across = language.Say("stops.across.all")
	case len(held) > 0:
		across = language.Say("stops.across.some", language.With{"teeth": language.Commas(held)})
	}
	out := []findings.Sentence{
		language.Say("stops.hold", language.With{"across": across, "stoppers": stoppers(along[0]), "equalisers": equalisers(along[1])}),
	}
	var cusps []findings.Sentence
	for _, p := range [...]findings.Points{findings.Tripod, findings.TwoPoint, findings.Single, findings.OneSided, findings.NoPoint} {
		if n := stand[p]; n > 0 {
			cusps = append(cusps, language.Say("stops.cusps.count", language.With{"count": n, "points": pointsWords(p)}))
		}
	}
	if len(cusps) > 0 {
		out = append(out, language.Say("stops.cusps.sum", language.With{"cusps": language.Commas(cusps)}))
	}
	return out
}

// stable says how many of some stops are stable.
func stable(n, of int) findings.Sentence {
	switch {
	case n == of && of == 1:
		return language.Say("stops.stable.one")
	case n == of:
		return language.Say("stops.stable.all")
	case n == 0:
		return language.Say("stops.stable.none")
	}
	return language.Say("stops.stable.some", language.With{"stable": n})
}
