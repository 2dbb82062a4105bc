package trial

import (
	"errors"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/trial/internal/carve"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// order is the order of work: closing, then the movements from the nonworking side on
// (dental schools teach it so), and closing again, since what went from an incline may have
// been the edge of a stop.
var order = []casefile.Obstacle{
	casefile.PrematureContact, casefile.NonworkingInterference, casefile.WorkingInterference, casefile.ProtrusiveInterference,
	casefile.PrematureContact,
}

// goal is a pose that the casts shall reach, and what for.
type goal struct {
	carve.Goal
	movement     findings.Movement
	travel       float64
	upper, lower findings.Part // that are in the way
	um           float64       // way of the spot that they stand in it
}

// target is what a stage has to reach.
type target struct {
	stage casefile.Obstacle
	given bool // in the given relation, before the casts are seated
	goals []goal
	frees []freed // that are meant to go
	at    []findings.Movement
}

// freed is a finding that is meant to go, and the movement in which it stands.
type freed struct {
	findings.Finding
	movement findings.Movement
}

// movementsOf lists the movements in which an obstacle shows.
func movementsOf(o casefile.Obstacle) []findings.Movement {
	switch o {
	case casefile.NonworkingInterference, casefile.WorkingInterference:
		return []findings.Movement{findings.Right, findings.Left}
	case casefile.ProtrusiveInterference:
		return []findings.Movement{findings.Protrusive}
	}
	return nil
}

// kindOf is the kind of finding that an obstacle makes.
func kindOf(o casefile.Obstacle) findings.Kind {
	switch o {
	case casefile.NonworkingInterference:
		return findings.KindNonworkingInterference
	case casefile.WorkingInterference:
		return findings.KindWorkingInterference
	case casefile.ProtrusiveInterference:
		return findings.KindProtrusiveInterference
	}
	return findings.KindPremature
}

// adjust takes away the obstacles of a step, stage by stage, each on the casts as the one
// before left them.
func (w *work) adjust(step int, a *casefile.Adjust) error {
	what := a.What
	if what == nil {
		what = order[:4]
	}
	done, doubtful := false, (*findings.Finding)(nil)
	for _, o := range order {
		if !slices.Contains(what, o) {
			continue
		}
		x, err := w.look(movementsOf(o)...)
		if err != nil {
			return err
		}
		t, doubt, err := w.target(x, o)
		if err != nil {
			return err
		}
		if doubtful == nil {
			doubtful = doubt
		}
		if len(t.goals) == 0 {
			continue
		}
		if err := w.stage(step, a, x, t); err != nil {
			return err
		}
		done = true
	}
	switch {
	case done:
		return nil
	case doubtful != nil:
		return &refusal{why: language.Say("trial.refused.doubt", language.With{
			"pair": findings.Pair{Upper: doubtful.Upper, Lower: doubtful.Lower}, "um": *doubtful.HeightUm, "doubt": w.c.Thresholds.ScanDoubtUm})}
	}
	return &refusal{why: language.Say("trial.refused.nothing")}
}

// target finds what a stage has to reach. What stands in the way by less than the scan
// uncertainty is left alone; the first such finding is returned as doubtful.
func (w *work) target(x *Examined, o casefile.Obstacle) (t target, doubtful *findings.Finding, err error) {
	t = target{stage: o, at: movementsOf(o)}
	if o == casefile.PrematureContact {
		t.given = true
		t.level(x.Findings)
		return t, nil, nil
	}
	set, err := x.Case.Settings.Kinematics()
	if err != nil {
		return t, nil, err
	}
	kind := kindOf(o)
	for i := range x.Findings.Excursions {
		e := &x.Findings.Excursions[i]
		for k := range e.Findings {
			f := &e.Findings[k]
			switch {
			case f.Kind != kind || f.PastEdge || f.HeightUm == nil:
			case f.Doubtful:
				if doubtful == nil {
					doubtful = f
				}
			default:
				if err := t.along(x, set, e, f); err != nil {
					return t, nil, err
				}
				t.frees = append(t.frees, freed{*f, e.Movement})
			}
		}
	}
	return t, doubtful, nil
}

// level asks for the level of closing at which the premature contacts no longer are: that
// of the pair which meets next after the last of them.
func (t *target) level(f *findings.Findings) {
	if f.Settling.Given == nil {
		return
	}
	for i := range f.Centric.Findings {
		p := &f.Centric.Findings[i]
		if p.Kind != findings.KindPremature || p.Next == nil || p.HeightUm == nil {
			continue
		}
		for _, s := range f.Settling.Given.Staircase {
			if s.Upper == p.Next.Upper && s.Lower == p.Next.Lower {
				g := goal{Goal: carve.Goal{Opening: s1.Angle(s.OpeningDeg) * s1.Degree}, movement: findings.Closed, upper: p.Upper,
					lower: p.Lower, um: *p.HeightUm}
				t.goals = append(t.goals, g)
				t.frees = append(t.frees, freed{*p, findings.Closed})
				break
			}
		}
	}
	// The deepest level holds for all of them.
	least := s1.Angle(0)
	for i, g := range t.goals {
		if i == 0 || g.Opening < least {
			least = g.Opening
		}
	}
	for i := range t.goals {
		t.goals[i].Opening = least
	}
}

// along asks for the intended guidance at every frame in which a pair of teeth stands in
// its way.
func (t *target) along(x *Examined, set kinematics.Settings, e *findings.Excursion, f *findings.Finding) error {
	m, err := e.Movement.Kinematic()
	if err != nil {
		return err
	}
	var s contact.CloserScratch
	for i := range e.Frames {
		fr := &e.Frames[i]
		if fr.TravelMM < f.FromMM-1e-9 || fr.TravelMM > f.ToMM+1e-9 || fr.Carrier == nil || fr.Carrier.Upper != f.Upper ||
			fr.Carrier.Lower != f.Lower {
			continue
		}
		st, err := set.Station(m, fr.TravelMM)
		if err != nil {
			return err
		}
		g := goal{Goal: carve.Goal{Base: st.Base()}, movement: e.Movement, travel: fr.TravelMM, upper: f.Upper, lower: f.Lower}
		if t.stage == casefile.WorkingInterference {
			touch, err := x.Casts.Closer.CloseWithout(st.Base(), x.lingual(e.Movement), &s)
			if errors.Is(err, contact.ErrNoTouch) {
				continue
			}
			if err != nil {
				return err
			}
			g.Opening = touch.Opening
			g.um = 1000 * r3.Norm(r3.Vec{Y: touch.Point.Y, Z: touch.Point.Z}) * (fr.OpeningDeg*s1.Degree.Radians() - touch.Opening.Radians())
		} else {
			if fr.Unhindered == nil {
				continue
			}
			g.Opening, g.um = s1.Angle(fr.Unhindered.OpeningDeg)*s1.Degree, fr.Unhindered.HeightUm
		}
		p := fr.Carrier.PointMM.R3()
		g.Opening -= s1.Angle(clearMM / math.Hypot(p.Y, p.Z))
		t.goals = append(t.goals, g)
	}
	return nil
}

// clearMM is by how much a pair that was in the way clears the intended guidance, mm: more
// than the tolerance of the carving, so that it no longer carries.
const clearMM = 0.004

// lingual lets the lingual cusps of the posterior teeth on the working side pass through each
// other, and posterior teeth of the other side, which should not guide at all.
func (x *Examined) lingual(m findings.Movement) contact.Passing {
	working := dentition.Right
	if m == findings.Left {
		working = dentition.Left
	}
	up, lo := x.Casts.Upper, x.Casts.Lower
	low := func(c *casts.Cast, t dentition.ToothID, tri mesh.TriID) bool {
		f, ok := c.Frames[t]
		if !ok {
			return false
		}
		a, b, d := c.Mesh().Corners(tri)
		_, buccal, _ := f.Local(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, d))))
		return buccal < 0
	}
	posterior := func(a, b dentition.ToothID) bool {
		return a != dentition.NoTooth && b != dentition.NoTooth && !a.Type().Anterior() && !b.Type().Anterior()
	}
	return contact.Passing{
		Parts: func(u, l int32) bool {
			a := up.OfPart(u)
			return posterior(a, lo.OfPart(l)) && a.Side() != working
		},
		Triangles: func(u, l mesh.TriID) bool {
			a, b := up.Tooth(u), lo.Tooth(l)
			return posterior(a, b) && low(up, a, u) && low(lo, b, l)
		},
	}
}
