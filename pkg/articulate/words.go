package articulate

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/settle"
)

// describe tells in words what was found; depth is that of the arch, mm, and
// reversed that the lower front stands before the upper one.
func describe(a *findings.Articulated, depth float64, reversed bool) {
	verdict := "a clear winner"
	if a.Lead() < leadClear {
		verdict = "the best of close rivals"
		a.Notes = append(a.Notes, "the next best place is not much worse: look at the arches before relying on this one")
	}
	a.FitText = fmt.Sprintf("%s: the arches come close over %.0f mm²", verdict, a.Close)
	if a.RunnerUp > 0 {
		a.FitText += fmt.Sprintf(", %.0f %% ahead of the next best place, %.0f mm away (%.0f mm²)", 100*(a.Close/a.RunnerUp-1), a.Away, a.RunnerUp)
	} else {
		a.FitText += " here and nowhere else"
	}
	if reversed {
		a.Notes = append(a.Notes, "the lower front teeth stand before the upper ones: a reverse overjet, or the two scans are exchanged")
	}
	r := a.Settling.Rest
	if a.AtRest {
		a.RelationText = fmt.Sprintf("at rest, where the arches lock; %.0f µm at most from the best fit over all that comes close", r.FarthestUm)
	} else {
		a.RelationText = fmt.Sprintf("the best fit over all that comes close, with overlap of up to %.0f µm left to settle", a.OverlapUm)
	}
	a.RestText = describeRest(a, depth)
}

func describeRest(a *findings.Articulated, depth float64) string {
	r := a.Settling.Rest
	var side [3]int
	for _, c := range r.Contacts {
		switch {
		case c.PointMM[1] < depth/3:
			side[2]++
		case c.PointMM[0] < 0:
			side[0]++
		default:
			side[1]++
		}
	}
	var where []string
	for i, name := range [3]string{"right", "left", "front"} {
		if side[i] > 0 {
			where = append(where, fmt.Sprintf("%d %s", side[i], name))
		}
	}
	on := fmt.Sprintf("%d contacts (%s)", len(r.Contacts), strings.Join(where, ", "))
	if !r.Locked {
		switch len(r.Contacts) {
		case 0:
			return "pressed together the arches are not held by anything"
		case 1:
			return fmt.Sprintf("pressed together the arches are held by one point (%s) and do not lock", where[0])
		case 2:
			return fmt.Sprintf("pressed together the arches are held by two points (%s) and rock about the line through them", strings.Join(where, ", "))
		}
		return fmt.Sprintf("pressed together the arches slide on over %s and do not lock", on)
	}
	s := fmt.Sprintf("pressed together they lock on %s, up to %.0f µm from the best fit: %s", on, r.FarthestUm, r.Text)
	switch {
	case a.AtRest:
	case r.Taken:
		s += fmt.Sprintf("; farther than scans are off (%.0f µm), so single high spots may hold them there; examining settles them there", fitErrorUm)
	default:
		s += fmt.Sprintf("; beyond the doubt of the case (%.0f µm): examining keeps them lifted and closes them on the hinge", casefile.Default().Settle.DoubtUm)
	}
	if t := settle.LooseContacts(r); t != "" {
		s += "; " + t
	}
	return s
}
