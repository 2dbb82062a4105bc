package stops

import (
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// describeToothStops says how a tooth is held.
func describeToothStops(s *findings.ToothStops) findings.Sentence {
	if s.Stops == 0 {
		return language.Say("stops.tooth.none", language.With{"tooth": s.Tooth})
	}
	first := language.With{"count": s.Stops}
	if s.AxialShare != nil {
		along := language.With{"share": 100 * *s.AxialShare, "direction": aside(s.Load.R3())}
		first["along"] = language.Say("stops.tooth.along", along)
		if !*s.Axial && !s.Tooth.Tooth().Type().Anterior() {
			first["along"] = language.Say("stops.tooth.aside", along)
		}
	}
	out := []findings.Sentence{language.Say("stops.tooth.stops", first)}
	if s.Across != "" {
		out = append(out, language.Say("stops.tooth.across", language.With{"letters": strings.Join(strings.Split(s.Across, ""), "+")}))
	}
	if s.Stoppers+s.Equalisers > 0 {
		out = append(out, language.Say("stops.tooth.arch", language.With{
			"stoppers": stoppers(s.Stoppers), "equalisers": equalisers(s.Equalisers),
		}))
	}
	for _, c := range s.Cusps {
		if c.Stops > 0 {
			out = append(out, language.Say("stops.tooth.cusp", language.With{"cusp": c.Cusp, "points": pointsWords(c.Points)}))
		}
	}
	return language.Say("stops.tooth", language.With{"tooth": s.Tooth, "parts": language.Semicolons(out)})
}

// pointsWords is how stops stand around a cusp.
func pointsWords(p findings.Points) findings.Sentence { return language.Say("stops.on." + string(p)) }

// stoppers counts closure stoppers, equalisers counts equalisers.
func stoppers(n int) findings.Sentence {
	if n == 0 {
		return language.Say("stops.stoppers.none")
	}
	return language.Say("stops.stoppers.some", language.With{"count": n})
}

func equalisers(n int) findings.Sentence {
	if n == 0 {
		return language.Say("stops.equalisers.none")
	}
	return language.Say("stops.equalisers.some", language.With{"count": n})
}
