package articulate

import (
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/settle"
)

// describe tells in words what was found.
func (m *pairing) describe(a *findings.Articulated) {
	verdict := "clearly arches that belong together"
	if a.Strength < strengthClear {
		verdict = "arches that probably belong together"
		a.Notes = append(a.Notes, "the fit is not far from what arches of two persons may reach: look at it before relying on it")
	}
	a.FitText = fmt.Sprintf("%s: they come close over %.0f mm²", verdict, a.Close)
	if a.RunnerUp > 0 {
		a.FitText += fmt.Sprintf(", %.0f %% ahead of the best place in another relation, %.0f mm away (%.0f mm²)",
			100*(a.Close/a.RunnerUp-1), a.Away, a.RunnerUp)
	} else {
		a.FitText += ", and in no other relation"
	}
	if a.Locked {
		a.RelationText = fmt.Sprintf("where the arches lock; %.0f µm at most from the best fit over all that comes close",
			a.Settling.Seat.FarthestUm)
	} else {
		a.RelationText = fmt.Sprintf("the best fit over all that comes close, with overlap of up to %.0f µm left to settle", a.OverlapUm)
	}
	a.ErrorText = fmt.Sprintf("%.2f mm at the incisors and %.2f mm at the molars in two of three cases, twice that in "+
		"nineteen of twenty; a bite scan is nearer", a.ErrorFrontMM, a.ErrorMolarsMM)
	a.SeatText = describeSeat(a, m.upper.Depth)
	a.Notes = append(a.Notes, relationNotes(&a.Relation)...)
	switch {
	case len(m.upper.Teeth) == 0:
		a.Notes = append(a.Notes, "the arches were put together from their outlines, not from their teeth")
	case m.up.Found != nil || m.lo.Found != nil:
		a.Notes = append(a.Notes, "teeth were found from the shape of the scans: look whether they are numbered right")
	}
	switch {
	case a.Mounting == nil:
		a.Notes = append(a.Notes, "the points of the average mounting are not known, since the teeth of the lower arch "+
			"are not: give its labels, or the points in the case, before examining it")
	case a.Mounting.Guessed:
		a.Notes = append(a.Notes, "a tooth is missing on which a point of the average mounting lies; the nearest one stands for it")
	}
}

func describeSeat(a *findings.Articulated, depth float64) string {
	if a.Settling == nil {
		return fmt.Sprintf("not pressed together: the overlap is more than scans are off (%.0f µm); examining settles "+
			"the arches within the error above", fitErrorUm)
	}
	r := a.Settling.Seat
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
			return fmt.Sprintf("pressed together the arches are held by two points (%s) and rock about the line through them",
				strings.Join(where, ", "))
		}
		return fmt.Sprintf("pressed together the arches slide on over %s and do not lock", on)
	}
	s := fmt.Sprintf("pressed together they lock on %s, up to %.0f µm from the best fit: %s", on, r.FarthestUm, r.Text)
	switch {
	case a.Locked:
	case r.Taken:
		s += fmt.Sprintf("; farther than scans are off (%.0f µm), so single high spots may hold them there; examining "+
			"settles them there", fitErrorUm)
	default:
		s += fmt.Sprintf("; beyond the doubt of the case (%.0f µm): examining keeps them lifted and closes them "+
			"on the hinge", r.DoubtUm)
	}
	if t := settle.LooseContacts(r); !t.Empty() {
		s += "; " + t.String()
	}
	return s
}
