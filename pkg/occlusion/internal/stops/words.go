package stops

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
)

// describeToothStops says how a tooth is held.
func describeToothStops(s *findings.ToothStops) findings.Sentence {
	if s.Stops == 0 {
		return findings.Say("%s: no stop.", s.Tooth)
	}
	out := []string{counted(s.Stops, "stop")}
	if s.AxialShare != nil {
		along := fmt.Sprintf("%.0f %% along its axis", 100**s.AxialShare)
		if !*s.Axial && !dentition.ToothID(s.Tooth).Type().Anterior() {
			along = "pushed to " + aside(s.Load.R3()) + ", " + along
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
			out = append(out, c.Cusp+" "+pointsWords(c.Points))
		}
	}
	return findings.Say("%s: %s.", s.Tooth, strings.Join(out, "; "))
}

// pointsWords is how stops stand around a cusp.
func pointsWords(p findings.Points) string {
	switch p {
	case findings.Single:
		return "on one point"
	case findings.TwoPoint:
		return "on two points"
	case findings.Tripod:
		return "on a tripod"
	case findings.OneSided:
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
