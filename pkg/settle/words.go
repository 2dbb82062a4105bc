package settle

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
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

// describe tells a movement of the lower cast.
func (c compass) describe(p kinematics.Pose) findings.Sentence {
	var out []findings.Sentence
	add := func(unit string, size, least float64, plus, minus string) {
		if math.Abs(size) >= least {
			if size < 0 {
				plus = minus
			}
			out = append(out, language.Say(plus, language.With{unit: math.Abs(size)}))
		}
	}
	r, l := p.Apply(c.right).Z-c.right.Z, p.Apply(c.left).Z-c.left.Z
	if math.Abs(r-l) < wordMM {
		add("mm", (r+l)/2, wordMM, "move.closer", "move.open")
	} else {
		add("mm", r, wordMM, "move.closer.right", "move.open.right")
		add("mm", l, wordMM, "move.closer.left", "move.open.left")
	}
	d := c.shift(p)
	add("mm", d.X, wordMM, "move.left", "move.right")
	add("mm", d.Y, wordMM, "move.back", "move.forward")
	t := turn(p)
	add("deg", t[0], wordDeg, "move.pitch.opens", "move.pitch.closes")
	add("deg", t[1], wordDeg, "move.roll.left", "move.roll.right")
	add("deg", t[2], wordDeg, "move.turn.left", "move.turn.right")
	if len(out) == 0 {
		return language.Say("move.none")
	}
	return language.Join(language.Commas(out))
}

// contactsOn lists the teeth of contacts, without repeats, in the order of their
// share.
func contactsOn(c []findings.SeatContact) language.List {
	var out []findings.Sentence
	seen := map[string]bool{}
	for _, x := range c {
		s := language.Only(findings.Pair{Upper: x.Upper, Lower: x.Lower})
		if x.Upper == 0 && x.Lower == 0 {
			s = language.Say("seat.place", language.With{"x": x.PointMM[0], "y": x.PointMM[1], "z": x.PointMM[2]})
		}
		if name := s.String(); !seen[name] {
			seen[name] = true
			out = append(out, s)
		}
	}
	return language.Commas(out)
}

// describeSettling tells a settling.
func describeSettling(s *findings.Settling) findings.Sentence {
	var out []findings.Sentence
	how := language.Say("seat.how.given")
	if s.OverlapBeforeUm >= 0.5 {
		how = language.Say("seat.how.lifted")
	}
	if s.Lift != nil {
		if s.OverlapBeforeUm >= 0.5 {
			out = append(out, language.Say("seat.overlap", language.With{"um": s.OverlapBeforeUm, "lifted": s.Lift.MovedUm, "move": s.Lift.Text}))
		} else {
			out = append(out, language.Say("seat.apart"))
		}
	}
	r := s.Seat
	switch {
	case r == nil:
	case !r.Locked:
		out = append(out, language.Say("seat.unlocked", language.With{"reason": r.Reason}))
	case r.Taken:
		out = append(out, language.Say("seat.locked", language.With{"contacts": contactsOn(r.Contacts), "um": r.FarthestUm, "move": r.Text}))
	default:
		out = append(out, language.Say("seat.far", language.With{
			"doubt": r.DoubtUm, "mm": r.FarthestUm / 1000, "contacts": contactsOn(r.Contacts), "how": how,
		}))
	}
	if r != nil && r.Locked && r.Taken {
		if t := LooseContacts(r); !t.Empty() {
			out = append(out, t)
		}
	}
	return language.Join(language.Semicolons(out))
}

// looseUm is the play, in µm, from which a direction counts as badly held: our
// choice, five times the rise that it is measured with.
const looseUm = 50

// LooseContacts names the directions in which the casts are badly held.
func LooseContacts(r *findings.Seat) findings.Sentence {
	var out []findings.Sentence
	for _, p := range r.Play {
		if p.Um < looseUm {
			continue
		}
		with := language.With{"direction": p.Name(), "um": p.Um}
		if p.Um >= 1000*findings.PlayMost*0.99 {
			out = append(out, language.Say("seat.play.free", with))
		} else {
			out = append(out, language.Say("seat.play.one", with))
		}
	}
	if len(out) == 0 {
		return findings.Sentence{}
	}
	return language.Say("seat.play", language.With{"directions": language.Commas(out)})
}
