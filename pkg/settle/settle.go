package settle

import (
	"context"
	"errors"
	"math"

	"github.com/cusptrace/cusptrace/internal/qp"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"gonum.org/v1/gonum/spatial/r3"
)

// Options are how casts are settled.
type Options struct {
	// How is seat, lift or none; empty means seat.
	How casefile.SettleTo
	// PressPoint and PressDirection (of any length) are the force that presses the
	// casts together, on the lower one, mm in the articulator frame; nil means the
	// middle of the posterior occlusal table and the normal of the occlusal plane.
	PressPoint, PressDirection *r3.Vec
	// DoubtUm is how far, in µm at any tooth, the seat may lie from the given
	// relation to be taken; 0 means the default of the case file.
	DoubtUm float64
	// Workers is the number of goroutines, 0 for one a processor. The result does
	// not depend on it.
	Workers int
}

// Settle brings the lower cast from the given relation to where it seats, in two
// steps.
//
// The lift is the movement with the smallest largest displacement of the occlusal
// table that removes all overlap. The seat is where, from there, a force presses
// the casts together: a local minimum of the potential −F·P(a) over the six
// freedoms of the rigid pose P under the condition that the surfaces do not
// cross. There the contacts push with forces that balance F.
//
// Both are found by sequential programs: first on the signed gaps of the vertices
// of both arches, which may overlap, then on the exact gaps of all near pairs of
// triangles, where each program keeps them apart. The casts come to lie 0.1 µm
// apart, and none of them crosses. Last, the casts are pushed out of their seat
// by 10 µm in twelve directions; from where they slide to a lower place, the
// search goes on.
//
// A seat that lies farther from the given relation than the doubt is not taken:
// the casts stay lifted, and the seat is only described.
func Settle(ctx context.Context, upper, lower *casts.Cast, o Options) (*findings.Settling, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if o.How == "" {
		o.How = casefile.SettleSeat
	}
	if o.DoubtUm == 0 {
		o.DoubtUm = casefile.Default().Settle.DoubtUm
	}
	s, tab, err := NewSeat(ctx, upper, lower, contact.Options{Workers: o.Workers})
	if err != nil {
		return nil, err
	}
	out := &findings.Settling{How: string(o.How), OverlapBeforeUm: s.overlap}
	if out.LargestOverlapUm = out.OverlapBeforeUm; o.How == casefile.SettleNone {
		return out, nil
	}
	words := newCompass(tab)
	aim := lift{points: tab.extremes(), frame: s.Frame, metric: s.Metric}
	lifted, err := s.lift(ctx, aim)
	if err != nil {
		return nil, err
	}
	move := func(p kinematics.Pose) findings.Move {
		return findings.Move{Pose: findings.Pose{Pose: p}, MovedUm: 1000 * aim.value(p),
			ShiftMM: findings.VecOf(words.shift(p)), TurnDeg: turn(p), Text: words.describe(p)}
	}
	m := move(lifted)
	out.Lift, out.Pose.Pose, out.LargestOverlapUm = &m, lifted, 0
	if o.How == casefile.SettleSeat {
		r, pose, err := s.rest(ctx, upper, lower, lifted, tab, o)
		if err != nil {
			return nil, err
		}
		r.Move = move(pose)
		out.Seat = r
		if r.FarthestUm, r.FarthestTooth = farthest(lower, tab, pose); r.Locked && r.FarthestUm <= o.DoubtUm {
			r.Taken, out.Pose.Pose = true, pose
		} else {
			out.How = string(casefile.SettleLift)
		}
	}
	out.MovedUm = 1000 * aim.value(out.Pose.Pose)
	out.Text = describeSettling(out)
	return out, nil
}

// NewSeat prepares two casts for settling.
func NewSeat(ctx context.Context, upper, lower *casts.Cast, o contact.Options) (*Seat, *table, error) {
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	s := &Seat{Up: upper.Arch, Lo: lower.Arch, Feel: feeler{up: upper.Arch, lo: lower.Arch, workers: o.Workers}}
	s.box = lower.Mesh().Bounds()
	s.Feel.loBox, s.Feel.upBox = s.box, upper.Mesh().Bounds()
	if err := s.Feel.look(ctx, kinematics.Pose{}); err != nil {
		return nil, nil, err
	}
	s.overlap = 1000 * max(s.Feel.ofLower.deepest(), s.Feel.ofUpper.deepest())
	t := newTable(lower, &s.Feel.ofLower)
	s.Feel.thin(feltMost)
	centre, _ := t.mean(func(int) bool { return true })
	sum, w := 0.0, 0.0
	for i, p := range t.points {
		sum, w = sum+t.weight[i]*r3.Norm2(r3.Sub(p, centre)), w+t.weight[i]
	}
	s.Frame = kinematics.TwistFrame{Centre: centre, Length: math.Sqrt(sum / w)}
	s.Metric = s.Frame.Metric(t.points, t.weight)
	return s, &t, nil
}

// lift removes the overlap of the given relation.
func (s *Seat) lift(ctx context.Context, a aim) (kinematics.Pose, error) {
	if d, ok := contact.LeastGap(s.Up.Index, s.Lo.Index, kinematics.Pose{}, 1, &s.gap); !ok || d.Dist >= gapFloor {
		return kinematics.Pose{}, nil
	}
	p, err := s.coarse(ctx, a, kinematics.Pose{})
	if err != nil {
		return p, err
	}
	if p, err = s.free(ctx, p); err != nil {
		return p, err
	}
	e, err := s.fine(ctx, a, p, liftSteps, math.Inf(1))
	return e.pose, err
}

// liftSteps is the fine steps of a lift, which takes back what freeing took too
// much, to about a micrometre.
const liftSteps = 8

// rest presses the casts together from a pose without overlap.
func (s *Seat) rest(ctx context.Context, upper, lower *casts.Cast, from kinematics.Pose, tab *table,
	o Options) (*findings.Seat, kinematics.Pose, error) {
	a := pressing{frame: s.Frame, metric: s.Metric}
	if a.Point = tab.centre(); o.PressPoint != nil {
		a.Point = *o.PressPoint
	}
	if o.PressDirection != nil {
		a.Direction = r3.Unit(*o.PressDirection)
	} else {
		var err error
		if a.Direction, err = plate(lower); err != nil {
			return nil, from, err
		}
	}
	r := &findings.Seat{DoubtUm: o.DoubtUm, PressPointMM: findings.VecOf(a.Point),
		PressDirection: findings.VecOf(a.Direction), Contacts: []findings.SeatContact{}, Play: []findings.Play{}}
	e, err := s.press(ctx, a, from)
	var falls *fallsError
	switch {
	case errors.As(err, &falls):
		r.Contacts = restContacts(upper, lower, falls.gaps, falls.forces, a.Direction)
		r.Reason = falls.reason(r.Contacts)
		return r, falls.pose, nil
	case err != nil:
		return nil, from, err
	}
	r.Locked, r.Residual, r.Pushes = e.residual <= residualMost, e.residual, e.pushes
	if !r.Locked {
		r.Reason = language.Say("seat.search", language.With{"share": e.residual})
	}
	r.Contacts = restContacts(upper, lower, e.gaps, e.forces, a.Direction)
	r.Play, err = s.play(ctx, a, e.pose)
	return r, e.pose, err
}

// press finds the seat and pushes the casts out of it.
func (s *Seat) press(ctx context.Context, a pressing, pose kinematics.Pose) (fineEnd, error) {
	pose, err := s.approach(pose, a.Direction, 0.02)
	if err != nil {
		return fineEnd{}, err
	}
	e, err := s.slide(ctx, a, pose)
	if err != nil {
		return e, err
	}
	for range pushRounds {
		again := false
		for i := range 12 {
			var x kinematics.Twist
			x[i/2] = pushBy * float64(1-2*(i%2))
			if n := kinematics.NormIn(&s.Metric, x); n > 0 {
				x[i/2] *= pushBy / n
			}
			f, err := s.release(ctx, a, e.pose.Then(s.Frame.Pose(x)), pushSteps, a.value(e.pose)-pushGain)
			if err != nil && ctx.Err() != nil {
				return e, err
			} else if err != nil {
				continue // pushed into the other cast too deeply to come free
			}
			if a.value(f.pose) < a.value(e.pose)-pushGain {
				pushes := e.pushes + 1
				if e, err = s.slide(ctx, a, f.pose); err != nil {
					return e, err
				}
				e.pushes, again = pushes, true
			}
		}
		if !again {
			break
		}
	}
	return e, nil
}

// slide goes downhill to the next place that holds: in wide steps as far as those
// lead, then in exact ones.
func (s *Seat) slide(ctx context.Context, a pressing, pose kinematics.Pose) (fineEnd, error) {
	var e fineEnd
	for range slideRounds {
		p, err := s.coarse(ctx, a, pose)
		if err != nil {
			return e, err
		}
		if e, err = s.release(ctx, a, p, fineSteps, math.Inf(1)); err != nil {
			return e, err
		}
		if e.residual <= residualMost {
			break
		}
		pose = e.pose
	}
	return e, nil
}

// slideRounds is how often wide and exact steps take turns.
const slideRounds = 12

// Pushes: by how much, in mm, how many steps the casts may slide before they are
// compared, how much lower, in mm, a place must lie to count, and how often all
// directions are tried.
const (
	pushBy     = 0.01
	pushSteps  = 12
	pushGain   = 1e-4
	pushRounds = 20
)

// release frees the casts from small overlap and lets them slide.
func (s *Seat) release(ctx context.Context, a aim, pose kinematics.Pose, steps int, below float64) (fineEnd, error) {
	pose, err := s.free(ctx, pose)
	if err != nil {
		return fineEnd{}, err
	}
	return s.fine(ctx, a, pose, steps, below)
}

// farthest is the largest displacement, in µm, of the middle of any lower tooth,
// or of the occlusal table where nothing is labelled.
func farthest(lower *casts.Cast, tab *table, pose kinematics.Pose) (float64, findings.Part) {
	most, tooth := 0.0, findings.Part(dentition.NoTooth)
	if lower.Teeth == nil {
		for _, p := range tab.extremes() {
			most = max(most, 1000*r3.Norm(r3.Sub(pose.Apply(p), p)))
		}
		return most, tooth
	}
	sum, n := make([]r3.Vec, 256), make([]float64, 256)
	m := lower.Mesh()
	for t, c := range m.All() {
		k := lower.Tooth(t)
		for _, v := range c {
			sum[k], n[k] = r3.Add(sum[k], m.Vertex(v)), n[k]+1
		}
	}
	for _, k := range lower.ByPart[1:] {
		if n[k] > 0 {
			p := r3.Scale(1/n[k], sum[k])
			if d := 1000 * r3.Norm(r3.Sub(pose.Apply(p), p)); d > most {
				most, tooth = d, findings.Part(k)
			}
		}
	}
	return most, tooth
}

// restContactWithin joins places that carry force and lie within this distance, in
// mm, on the same teeth: about the size of a contact.
const restContactWithin = 1.0

// restContacts gathers the forces of gaps into contacts, the one with the largest
// share first.
func restContacts(upper, lower *casts.Cast, g *Gaps, forces []qp.Multiplier, dir r3.Vec) []findings.SeatContact {
	out := []findings.SeatContact{}
	var weight []float64
	for _, f := range forces {
		at := g.At[f.Row]
		u, l := findings.Part(upper.Tooth(at.Upper)), findings.Part(lower.Tooth(at.Lower))
		share := -f.Value * r3.Dot(at.Normal, dir)
		k := -1
		for i := range out {
			if out[i].Upper == u && out[i].Lower == l && r3.Norm(r3.Sub(out[i].PointMM.R3(), at.Point)) <= restContactWithin {
				k = i
				break
			}
		}
		if k < 0 {
			out, weight = append(out, findings.SeatContact{Upper: u, Lower: l, PointMM: findings.VecOf(at.Point)}), append(weight, 0)
			k = len(out) - 1
		}
		c := &out[k]
		w := f.Value / (weight[k] + f.Value)
		c.PointMM = findings.VecOf(r3.Add(c.PointMM.R3(), r3.Scale(w, r3.Sub(at.Point, c.PointMM.R3()))))
		weight[k] += f.Value
		c.Force = findings.VecOf(r3.Add(c.Force.R3(), r3.Scale(-f.Value, at.Normal)))
		c.Share += share
	}
	sortByShare(out)
	return out
}
