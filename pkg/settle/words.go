package settle

import (
	"fmt"
	"math"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// compass are the places of an occlusal table by which its movement is told.
type compass struct{ centre, right, left r3.Vec }

func newCompass(t *table) compass {
	var c compass
	c.centre = t.centre()
	mid := t.box().Center().X
	var r, l bool
	c.right, r = t.mean(func(i int) bool { return t.points[i].X < mid })
	c.left, l = t.mean(func(i int) bool { return t.points[i].X >= mid })
	if !r {
		c.right = c.centre
	}
	if !l {
		c.left = c.centre
	}
	return c
}

func (c compass) shift(p kinematics.Pose) r3.Vec { return r3.Sub(p.Apply(c.centre), c.centre) }

// Movements smaller than these, in mm and degrees, are not worth a word.
const (
	wordMM  = 0.005
	wordDeg = 0.005
)

// describe tells a movement of the lower cast in words.
func (c compass) describe(p kinematics.Pose) string {
	var out []string
	add := func(size, least float64, format, plus, minus string) {
		if math.Abs(size) >= least {
			if size < 0 {
				plus = minus
			}
			out = append(out, fmt.Sprintf(format, math.Abs(size), plus))
		}
	}
	r, l := p.Apply(c.right).Z-c.right.Z, p.Apply(c.left).Z-c.left.Z
	if math.Abs(r-l) < wordMM {
		add((r+l)/2, wordMM, "%.2f mm %s", "closer", "more open")
	} else {
		add(r, wordMM, "%.2f mm %s on the right", "closer", "more open")
		add(l, wordMM, "%.2f mm %s on the left", "closer", "more open")
	}
	d := c.shift(p)
	add(d.X, wordMM, "%.2f mm %s", "to the left", "to the right")
	add(d.Y, wordMM, "%.2f mm %s", "back", "forward")
	t := turn(p)
	add(t[0], wordDeg, "%.2f° of pitch (%s)", "the front opens", "the front closes")
	add(t[1], wordDeg, "%.2f° of roll (%s)", "the left side down", "the right side down")
	add(t[2], wordDeg, "%.2f° of turn (%s)", "the front to the left", "the front to the right")
	if len(out) == 0 {
		return "no movement worth a word"
	}
	return strings.Join(out, ", ")
}

// places lists the teeth of contacts, without repeats, in the order of their
// share.
func places(c []findings.RestContact) findings.Sentence {
	var out []findings.Sentence
	seen := map[string]bool{}
	for _, x := range c {
		s := findings.Say("%s", findings.Pair{Upper: x.Upper, Lower: x.Lower})
		if x.Upper == 0 && x.Lower == 0 {
			s = findings.Say("(%.1f, %.1f, %.1f)", x.PointMM[0], x.PointMM[1], x.PointMM[2])
		}
		if name := s.String(); !seen[name] {
			seen[name] = true
			out = append(out, s)
		}
	}
	return findings.List(", ", out)
}

// describeSettling tells a settling in words.
func describeSettling(s *findings.Settling) findings.Sentence {
	var out []findings.Sentence
	if s.Lift != nil {
		if s.OverlapBeforeUm >= 0.5 {
			out = append(out, findings.Say("as given the casts overlap by up to %.0f µm; lifted out of it by %.0f µm: %s", s.OverlapBeforeUm, s.Lift.MovedUm, s.Lift.Text))
		} else {
			out = append(out, findings.Say("as given the casts do not overlap"))
		}
	}
	r := s.Rest
	switch {
	case r == nil:
	case !r.Locked:
		out = append(out, findings.Say("pressed together they do not lock: %s", r.Reason))
	case r.Taken:
		out = append(out, findings.Say("pressed together they lock on %s, by at most %.0f µm at any tooth from the given relation: %s", places(r.Contacts), r.FarthestUm, r.Text))
	default:
		stay := "as given"
		if s.OverlapBeforeUm >= 0.5 {
			stay = "lifted"
		}
		out = append(out, findings.Say("they do not lock within the doubt of the registration (%.0f µm): pressed together they would slide by up to %.2f mm at a tooth, onto %s; so they stay %s and are closed on the hinge",
			r.DoubtUm, r.FarthestUm/1000, places(r.Contacts), stay))
	}
	if r != nil && r.Locked && r.Taken {
		if t := LooseContacts(r); t != "" {
			out = append(out, findings.Say("%s", t))
		}
	}
	if len(out) == 0 {
		return findings.Sentence{}
	}
	return findings.List("; ", out)
}

// looseUm is the play, in µm, from which a direction counts as badly held: our
// choice, five times the rise that it is measured with.
const looseUm = 50

// LooseContacts names the directions in which the casts are badly held.
func LooseContacts(r *findings.Rest) string {
	var out []string
	for _, p := range r.Play {
		if p.Um >= looseUm {
			s := fmt.Sprintf("%s (%.0f µm)", p.Direction, p.Um)
			if p.Um >= 1000*findings.PlayMost*0.99 {
				s = p.Direction + " (not held)"
			}
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "badly held: " + strings.Join(out, ", ")
}
