package settle

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/qp"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// aim is what a settling makes as small as possible.
type aim interface {
	// value is the quantity itself under a pose, mm.
	value(kinematics.Pose) float64
	// program is its approximation for twists from a pose on, without the gaps:
	// the first six unknowns are the twist; radius is about how far it may go, mm.
	program(pose kinematics.Pose, radius float64) *qp.Problem
	// slope is the change of the value by a small twist, as the program has it.
	slope(pose kinematics.Pose, x kinematics.Twist) float64
	// refine adds rows to the program where it is not exact enough at its
	// solution, and says whether it did.
	refine(p *qp.Problem, pose kinematics.Pose, x []float64) (again bool)
}

// Seat brings the lower arch to where an aim is least without overlap.
type Seat struct {
	Up, Lo *contact.Arch
	box    mesh.Box // of the lower arch, as given
	Frame  kinematics.TwistFrame
	Metric [36]float64
	Feel   feeler
	// overlap is the deepest overlap of the given relation at vertices, µm.
	overlap float64
	pairs   []contact.Pair
	gap     contact.GapScratch
}

// step solves the program of an aim with gaps as constraints d + row·x ≥ margin.
func (s *Seat) step(a aim, pose kinematics.Pose, g *Gaps, radius, margin float64) (kinematics.Twist, []qp.Multiplier, error) {
	p := a.program(pose, radius)
	own, n := len(p.B), len(p.G)
	row := make([]float64, n)
	for i, r := range g.Rows {
		copy(row, r[:])
		p.A, p.B = append(p.A, row...), append(p.B, margin-g.D[i])
	}
	for {
		sol, err := qp.Solve(p)
		if err != nil {
			return kinematics.Twist{}, nil, err
		}
		if len(p.B)-own-len(g.D) < mostCuts && a.refine(p, pose, sol.X) {
			continue
		}
		var forces []qp.Multiplier
		for _, m := range sol.Active {
			if k := m.Row - own; k >= 0 && k < len(g.D) {
				forces = append(forces, qp.Multiplier{Row: k, Value: m.Value})
			}
		}
		return kinematics.Twist(sol.X[:6]), forces, nil
	}
}

// mostCuts bounds the rows that refine adds in one step.
const mostCuts = 400

// ErrSettle says that two casts cannot be seated.
var ErrSettle = errors.New("the casts cannot be settled (settle: none takes them as they lie; " +
	"where the scans are not in one frame, cusptrace articulate puts them together)")

// Of the coarse descent, in mm: its first and largest radius, the depth of
// overlap that counts as none, and the step that counts as its end. A millimetre
// of overlap weighs as much as overlapCost of the aim, more than the forces of
// contacts on any tooth's slope add up to.
const (
	radiusFirst = 0.2
	radiusMost  = 0.3
	radiusLeast = 1e-4
	depthNone   = 5e-4
	stepNone    = 2e-4
	overlapCost = 10
	coarseSteps = 80
	// pull is how many times larger than its radius the region of trust is before
	// the step is cut to the radius: what pulls back grows with the slope, and on
	// a gentle slope steps would come out short.
	pull = 50
)

// coarse descends on the signed gaps of vertices: sequential programs in a
// region of trust, which may begin with overlap. What it leaves is the overlap of
// edges with edges, some micrometres.
func (s *Seat) coarse(ctx context.Context, a aim, pose kinematics.Pose) (kinematics.Pose, error) {
	radius := radiusFirst
	g, err := s.Feel.Feel(ctx, s.Frame, pose, 2*radius)
	if err != nil {
		return pose, err
	}
	still := stay{s.Metric}
	merit := func(p kinematics.Pose, g *Gaps) float64 { return a.value(p) + overlapCost*g.depth() }
	now := merit(pose, g)
	for range coarseSteps {
		feltFrom := g
		x, forces, err := s.step(a, pose, g, pull*radius, 0)
		if errors.Is(err, qp.ErrInfeasible) {
			return pose, fmt.Errorf("%w: they overlap by %.2g mm and no movement frees them", ErrSettle, g.depth())
		} else if err != nil {
			return pose, err
		}
		size := kinematics.NormIn(&s.Metric, x)
		if size < stepNone && g.depth() < depthNone {
			return pose, nil
		}
		if size > radius {
			for i := range x {
				x[i] *= radius / size
			}
			size = radius
		}
		next := pose.Then(s.Frame.Pose(x))
		ng, err := s.Feel.Feel(ctx, s.Frame, next, max(2*radius, 0.05))
		if err != nil {
			return pose, err
		}
		// Curved surfaces that slide on each other overlap by the square of the
		// step; a second step takes that back.
		if ng.depth() > 0 {
			if y, _, err := s.step(still, next, ng, 1, 0); err == nil {
				next = next.Then(s.Frame.Pose(y))
				if ng, err = s.Feel.Feel(ctx, s.Frame, next, max(2*radius, 0.05)); err != nil {
					return pose, err
				}
			}
		}
		switch then := merit(next, ng); {
		case then < now-1e-6:
			pose, g, now = next, ng, then
			radius = min(2*radius, radiusMost)
			if displacement(s.box, pose) > holdMost {
				return pose, &fallsError{pose: pose, gaps: feltFrom, forces: forces}
			}
		case radius > radiusLeast:
			radius = min(radius, size) / 4
		default:
			return pose, nil
		}
	}
	return pose, nil
}

// holdMost is the movement, in mm, beyond which casts are not held by where they
// were brought together.
const holdMost = 6.0

// fallsError says that pressed casts go on and on.
type fallsError struct {
	pose   kinematics.Pose
	gaps   *Gaps
	forces []qp.Multiplier
}

func (e *fallsError) Error() string { return "pressed together the casts are not held" }

// reason says why, from the contacts over which the casts go.
func (e *fallsError) reason(c []findings.SeatContact) findings.Sentence {
	switch len(c) {
	case 0:
		return language.Say("seat.held.none")
	case 1:
		return language.Say("seat.held.one", language.With{"contacts": contactsOn(c)})
	case 2:
		return language.Say("seat.held.two", language.With{"contacts": contactsOn(c)})
	}
	return language.Say("seat.held.slide", language.With{"mm": float64(holdMost), "contacts": contactsOn(c)})
}

// free moves the lower arch by as little as leaves no two triangles crossing.
func (s *Seat) free(ctx context.Context, pose kinematics.Pose) (kinematics.Pose, error) {
	still := stay{s.Metric}
	for _, margin := range [...]float64{0, 1e-3, 2e-3, 4e-3, 8e-3, 0.016, 0.032, 0.064} {
		if margin > 0 {
			g, err := s.Feel.Feel(ctx, s.Frame, pose, 0.1+2*margin)
			if err != nil {
				return pose, err
			}
			x, _, err := s.step(still, pose, g, 1, margin)
			if errors.Is(err, qp.ErrInfeasible) {
				break
			} else if err != nil {
				return pose, err
			}
			pose = pose.Then(s.Frame.Pose(x))
		}
		if d, ok := contact.LeastGap(s.Up.Index, s.Lo.Index, pose, 1, &s.gap); !ok || d.Dist >= gapFloor {
			return pose, nil
		}
	}
	return pose, fmt.Errorf("%w: no small movement frees them of overlap", ErrSettle)
}

// Of the fine descent: the band, in mm, in which pairs of triangles are looked at
// first and last, and the number of steps.
const (
	fineBand  = 0.03
	fineSteps = 40
	// fineRadius is so large that the pull of the region of trust at the end,
	// step ÷ radius, is below the residual asked for.
	fineRadius   = 10.0
	residualMost = 1e-6
)

// fine descends on the exact gaps of triangles, from a pose without crossing and
// never through one, to where the forces of the contacts balance the aim. It
// gives up where even the program does not come below a value.
func (s *Seat) fine(ctx context.Context, a aim, pose kinematics.Pose, steps int, below float64) (fineEnd, error) {
	radius := fineRadius
	band := fineBand
	e := fineEnd{pose: pose, residual: math.Inf(1)}
	g, crossing := ExactGaps(s.Frame, s.Up.Index, s.Lo.Index, pose, band, &s.pairs, &s.gap)
	if crossing {
		return e, fmt.Errorf("%w: surfaces cross", ErrSettle)
	}
	now := a.value(pose)
	for e.steps = 1; e.steps <= steps; e.steps++ {
		if err := ctx.Err(); err != nil {
			return e, err
		}
		x, forces, err := s.step(a, e.pose, g, radius, gapRest)
		if err != nil {
			return e, err
		}
		size := kinematics.NormIn(&s.Metric, x)
		e.gaps, e.forces, e.residual = g, forces, size/radius
		if e.residual <= residualMost {
			return e, nil
		}
		if !math.IsInf(below, 1) && now+a.slope(e.pose, x) >= below {
			return e, nil
		}
		// What lies beyond the band is not seen: go at most half of it.
		if most := displacement(s.box, s.Frame.Pose(x)); most > band/2 {
			for i := range x {
				x[i] *= band / 2 / most
			}
		}
		next := e.pose.Then(s.Frame.Pose(x))
		ng, crossing := ExactGaps(s.Frame, s.Up.Index, s.Lo.Index, next, band, &s.pairs, &s.gap)
		then := a.value(next)
		if crossing || then > now+1e-4 {
			radius = min(radius, size) / 4
			if radius < 1e-9 {
				return e, nil
			}
			continue
		}
		e.pose, g, now = next, ng, then
		radius = min(4*radius, fineRadius)
	}
	return e, nil
}

// fineEnd is where a fine descent ended.
type fineEnd struct {
	pose     kinematics.Pose
	gaps     *Gaps
	forces   []qp.Multiplier // of the gaps
	residual float64         // what the forces leave unbalanced, of a unit force
	steps    int
	pushes   int
}

// stay is the aim not to move.
type stay struct{ metric [36]float64 }

func (stay) value(kinematics.Pose) float64 { return 0 }
func (a stay) program(kinematics.Pose, float64) *qp.Problem {
	return &qp.Problem{H: a.metric[:], G: make([]float64, 6)}
}
func (stay) slope(kinematics.Pose, kinematics.Twist) float64     { return 0 }
func (stay) refine(*qp.Problem, kinematics.Pose, []float64) bool { return false }

// pressing is the aim of seating: the potential −F·P(a) of a force F that acts on
// the point a of the lower arch.
type pressing struct {
	Press
	frame  kinematics.TwistFrame
	metric [36]float64
}

func (a pressing) value(p kinematics.Pose) float64 {
	return -r3.Dot(a.Direction, r3.Sub(p.Apply(a.Point), a.Point))
}

func (a pressing) program(pose kinematics.Pose, radius float64) *qp.Problem {
	p := &qp.Problem{H: make([]float64, 36), G: make([]float64, 6)}
	for i, m := range a.metric {
		p.H[i] = m / radius
	}
	for i, w := range a.frame.Along(pose.Apply(a.Point), a.Direction) {
		p.G[i] = -w
	}
	return p
}

func (a pressing) slope(pose kinematics.Pose, x kinematics.Twist) float64 {
	v := 0.0
	for i, w := range a.frame.Along(pose.Apply(a.Point), a.Direction) {
		v -= w * x[i]
	}
	return v
}

func (pressing) refine(*qp.Problem, kinematics.Pose, []float64) bool { return false }

// lift is the aim of the lift: the largest displacement of some points from where
// they are given.
type lift struct {
	points []r3.Vec
	frame  kinematics.TwistFrame
	metric [36]float64
}

func (a lift) value(p kinematics.Pose) float64 {
	most := 0.0
	for _, q := range a.points {
		most = max(most, r3.Norm(r3.Sub(p.Apply(q), q)))
	}
	return most
}

// program has a seventh unknown t, at least the component of every displacement
// in a number of directions: the six axes, and the direction in which each point
// is displaced already. refine adds the directions that prove to be missing.
func (a lift) program(pose kinematics.Pose, radius float64) *qp.Problem {
	p := &qp.Problem{H: make([]float64, 49), G: make([]float64, 7)}
	for i := range 6 {
		for j := range 6 {
			// Weaker than the aim, whose gradient is 1: it only decides between equals.
			p.H[7*i+j] = a.metric[6*i+j] / (4 * radius)
		}
	}
	p.H[48], p.G[6] = 1e-3, 1
	for _, q := range a.points {
		d := r3.Sub(pose.Apply(q), q)
		for _, u := range [6]r3.Vec{{X: 1}, {X: -1}, {Y: 1}, {Y: -1}, {Z: 1}, {Z: -1}} {
			a.cut(p, r3.Add(q, d), d, u)
		}
		if n := r3.Norm(d); n > 0 {
			a.cut(p, r3.Add(q, d), d, r3.Scale(1/n, d))
		}
	}
	return p
}

// cut adds t ≥ u·(d + δ(q)).
func (a lift) cut(p *qp.Problem, q, d, u r3.Vec) {
	for _, v := range a.frame.Along(q, u) {
		p.A = append(p.A, -v)
	}
	p.A, p.B = append(p.A, 1), append(p.B, r3.Dot(u, d))
}

func (a lift) slope(pose kinematics.Pose, x kinematics.Twist) float64 {
	return a.value(pose.Then(a.frame.Pose(x))) - a.value(pose)
}

func (a lift) refine(p *qp.Problem, pose kinematics.Pose, x []float64) bool {
	again := false
	for _, q := range a.points {
		at := pose.Apply(q)
		d := r3.Sub(at, q)
		var move r3.Vec
		for i, e := range [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}} {
			row, v := a.frame.Along(at, e), 0.0
			for k := range row {
				v += row[k] * x[k]
			}
			switch i {
			case 0:
				move.X = v
			case 1:
				move.Y = v
			default:
				move.Z = v
			}
		}
		if n := r3.Norm(r3.Add(d, move)); n > x[6]+1e-5 && n > 0 {
			a.cut(p, at, d, r3.Scale(1/n, r3.Add(d, move)))
			again = true
		}
	}
	return again
}

// approach moves the lower arch along a direction until it is at most near mm
// from the upper one; the way is never longer than the gap, so nothing is passed.
func (s *Seat) approach(pose kinematics.Pose, dir r3.Vec, near float64) (kinematics.Pose, error) {
	way := 0.0
	for range 100 {
		d, ok := contact.LeastGap(s.Up.Index, s.Lo.Index, pose, math.Inf(1), &s.gap)
		if !ok || d.Upper == mesh.None || way > approachMost {
			break
		}
		if d.Dist <= near {
			return pose, nil
		}
		pose = pose.Then(kinematics.Translation(r3.Scale(d.Dist, dir)))
		way += d.Dist
	}
	return pose, fmt.Errorf("%w: pressed together over %.3g mm they do not meet", casts.ErrApart, way)
}

// approachMost is how far, in mm, casts are moved to meet each other.
const approachMost = 10.0
