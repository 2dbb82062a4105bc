package yield

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/internal/qp"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/settle"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrYield says that teeth cannot be let give.
var ErrYield = errors.New("the teeth cannot be let give")

// Options are how teeth give.
type Options struct {
	// ForcesN are the closing forces, rising; nil means 12 steps from the 0.5 N of
	// a light touch to 200 N, a clench. Those that would close the casts by more
	// than 0.3 mm are left out.
	ForcesN []float64
	// Support is how teeth give in their sockets; nil means
	// [casefile.DefaultSupport].
	Support *casefile.Support
}

// yieldSite is a place where two teeth may touch.
type yieldSite struct {
	upper, lower dentition.ToothID
	gap          float64 // mm
	normal       r3.Vec  // the way in which the lower tooth opens the gap
	row          kinematics.Twist
}

// yielder is the program of yielding teeth: unknowns are the freedoms of the lower
// cast, and for each tooth its displacement along three axes and how far each goes
// beyond the free phase.
type yielder struct {
	free   []kinematics.Twist // freedoms of the cast
	push   []float64
	teeth  []dentition.ToothID
	axes   [][3]r3.Vec
	spring [][3]casefile.Spring // along the three axes
	sites  []yieldSite

	problem  *qp.Problem // but for the force
	prepared *qp.Prepared
}

// loose is a stiffness, in N/mm, that is nothing beside those of teeth; it makes
// the program of the free cast definite, and repeating takes its pull away.
const loose = 1e-3

// looseRounds is how often the program is repeated.
const looseRounds = 4

// prepare writes down the equilibrium but for the force, see [yielder.solve].
func (y *yielder) prepare() (err error) {
	m, n := len(y.free), len(y.free)+6*len(y.teeth)
	p := &qp.Problem{H: make([]float64, n*n), G: make([]float64, n), Tolerance: 1e-11}
	for i := range m {
		p.H[i*n+i] = loose
	}
	add := func(b float64, at ...float64) { // pairs of index and value
		row := make([]float64, n)
		for i := 0; i < len(at); i += 2 {
			row[int(at[i])] += at[i+1]
		}
		p.A, p.B = append(p.A, row...), append(p.B, b)
	}
	for t := range y.teeth {
		for k, s := range y.spring[t] {
			u := m + 6*t + k
			p.H[u*n+u], p.H[(u+3)*n+u+3] = s.Soft, max(s.Firm-s.Soft, loose)
			add(-s.Free, float64(u), -1, float64(u+3), 1)
			add(-s.Free, float64(u), 1, float64(u+3), 1)
		}
	}
	for _, s := range y.sites {
		var at []float64
		for i, f := range y.free {
			v := 0.0
			for k := range f {
				v += s.row[k] * f[k]
			}
			at = append(at, float64(i), v)
		}
		for side, tooth := range [2]dentition.ToothID{s.upper, s.lower} {
			if t := slices.Index(y.teeth, tooth); t >= 0 {
				for k, e := range y.axes[t] {
					at = append(at, float64(m+6*t+k), float64(2*side-1)*r3.Dot(s.normal, e))
				}
			}
		}
		add(-s.gap, at...)
	}
	y.problem = p
	y.prepared, err = qp.Prepare(p)
	return err
}

// solve finds the equilibrium under a force: the minimum of
//
//	Σ ½k₁u² + ½(k₂ − k₁)s² − F·δ   with  s ≥ |u| − u₀,  d + row·x + n·(v − u) ≥ 0,
//
// over the cast x and the displacements u, v of upper and lower teeth, a convex
// quadratic program. k₁ and k₂ are the stiffnesses before and after the free phase
// u₀, s the displacement beyond it and δ the way of the press.
func (y *yielder) solve(force float64) (qp.Solution, float64, error) {
	m, p := len(y.free), y.problem
	n := len(p.G)
	var sol qp.Solution
	last := make([]float64, m)
	for range looseRounds {
		for i := range m {
			p.G[i] = -force*y.push[i] - loose*last[i]
		}
		var err error
		if sol, err = y.prepared.Solve(p.G); err != nil {
			return sol, 0, err
		}
		off := 0.0
		for i := range m {
			off = max(off, loose*math.Abs(sol.X[i]-last[i]))
			last[i] = sol.X[i]
		}
		if off <= 1e-9*force {
			break
		}
	}
	// Optimality is checked from outside: what every unknown leaves unbalanced,
	// without the help of the loose spring.
	res := 0.0
	for i := range n {
		v := p.G[i]
		if i < m {
			v = -force * y.push[i]
		} else {
			v += p.H[i*n+i] * sol.X[i]
		}
		for _, a := range sol.Active {
			v -= a.Value * p.A[a.Row*n+i]
		}
		res = max(res, math.Abs(v))
	}
	return sol, res / force, nil
}

// step solves for a force and says what it means.
func (y *yielder) step(force float64) (findings.YieldStep, error) {
	sol, res, err := y.solve(force)
	if err != nil {
		return findings.YieldStep{}, fmt.Errorf("%w: %g N: %w", ErrYield, force, err)
	}
	out := findings.YieldStep{ForceN: force, Residual: res, Teeth: []findings.YieldLoad{}, Pairs: []findings.YieldPair{}}
	for i := range y.free {
		out.ClosingUm += 1000 * y.push[i] * sol.X[i]
	}
	load := make([]float64, len(y.teeth))
	own := 6 * len(y.teeth) // rows of springs
	for _, a := range sol.Active {
		if a.Row < own {
			continue
		}
		s := y.sites[a.Row-own]
		for _, tooth := range [2]dentition.ToothID{s.upper, s.lower} {
			if t := slices.Index(y.teeth, tooth); t >= 0 {
				load[t] += a.Value
			}
		}
		k := slices.IndexFunc(out.Pairs, func(p findings.YieldPair) bool {
			return p.Upper == findings.Part(s.upper) && p.Lower == findings.Part(s.lower)
		})
		if k < 0 {
			k = len(out.Pairs)
			out.Pairs = append(out.Pairs, findings.YieldPair{Upper: findings.Part(s.upper), Lower: findings.Part(s.lower)})
		}
		out.Pairs[k].ForceN += a.Value
	}
	slices.SortFunc(out.Pairs, func(a, b findings.YieldPair) int {
		return 256*(int(a.Upper)-int(b.Upper)) + int(a.Lower) - int(b.Lower)
	})
	for t, tooth := range y.teeth {
		if load[t] == 0 {
			continue
		}
		u := sol.X[len(y.free)+6*t:]
		out.Teeth = append(out.Teeth, findings.YieldLoad{Tooth: findings.Part(tooth), ForceN: load[t],
			AxialUm: -1000 * u[0], LateralUm: 1000 * math.Hypot(u[1], u[2])})
	}
	return out, nil
}

// Of the sites: within which gap, in mm, teeth may come to touch under force, and
// over which length only the nearest place counts.
const (
	yieldBand = 0.3
	yieldCell = 0.8
)

// Yield lets the teeth of closed casts give under a rising closing force. Each
// tooth stands on springs of its own, so that the contacts that meet first give
// way until others carry too. Casts that were seated keep six freedoms;
// otherwise the lower one turns on its hinge. Both arches must be labelled.
func Yield(ctx context.Context, casts *casts.Casts, record *casefile.Record, o Options) (*findings.Yielding, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if casts.Upper.Teeth == nil || casts.Lower.Teeth == nil {
		return nil, fmt.Errorf("%w: both arches must be labelled", ErrYield)
	}
	support := casefile.DefaultSupport()
	if o.Support != nil {
		support = *o.Support
	}
	y, err := newYielder(casts, &support)
	if err != nil {
		return nil, err
	}
	forces := o.ForcesN
	if forces == nil {
		for i := range 12 {
			forces = append(forces, 0.5*portable.Exp(float64(i)/11*portable.Log(400)))
		}
	}
	out := &findings.Yielding{Support: support.Values(), Steps: []findings.YieldStep{}, Order: []findings.YieldStop{},
		OnlyYielding: []findings.YieldStop{}}
	for i, f := range forces {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if !(f > 0) || math.IsInf(f, 1) || (i > 0 && f <= forces[i-1]) {
			return nil, fmt.Errorf("%w: closing forces must be above 0 and rise, not %v", ErrYield, forces)
		}
		s, err := y.step(f)
		if err != nil {
			return nil, err
		}
		if s.ClosingUm > 1000*yieldBand {
			break // other teeth may touch that were not looked at
		}
		if len(out.Steps) == 0 {
			join(out, &s)
		} else if err := y.between(out, out.Steps[len(out.Steps)-1].ForceN, &s); err != nil {
			return nil, err
		}
		out.Steps = append(out.Steps, s)
		if out.BeyondN == nil && y.beyond(&s) {
			out.BeyondN = &f
		}
	}
	out.OnlyYielding = onlyYielding(out, record)
	return out, nil
}

// startWithin is the share of a force within which it is found at which a pair begins to
// carry.
const startWithin = 0.02

// between finds the forces at which pairs begin to carry that do at step s and not before,
// by halving the way from a lower force.
func (y *yielder) between(out *findings.Yielding, low float64, s *findings.YieldStep) error {
	if !begins(out, s) {
		return nil
	}
	if s.ForceN-low > startWithin*s.ForceN {
		mid, err := y.step(math.Sqrt(low * s.ForceN))
		if err != nil {
			return err
		}
		if err := y.between(out, low, &mid); err != nil {
			return err
		}
		return y.between(out, mid.ForceN, s)
	}
	join(out, s)
	return nil
}

// begins says whether a pair carries at a step that carried at none before.
func begins(out *findings.Yielding, s *findings.YieldStep) bool {
	return slices.ContainsFunc(s.Pairs, func(p findings.YieldPair) bool { return !carried(out, p) })
}

func carried(out *findings.Yielding, p findings.YieldPair) bool {
	return slices.ContainsFunc(out.Order, func(x findings.YieldStop) bool { return x.Upper == p.Upper && x.Lower == p.Lower })
}

// join lists the pairs that carry at a step for the first time.
func join(out *findings.Yielding, s *findings.YieldStep) {
	for _, p := range s.Pairs {
		if !carried(out, p) {
			out.Order = append(out.Order, findings.YieldStop{Upper: p.Upper, Lower: p.Lower, FromN: s.ForceN})
		}
	}
}

// The range of forces on one tooth over which its give was measured (FACTS: 50 N along the
// axis, 5 N aside); beyond it springs are drawn out in a straight line.
const (
	measuredAxialN   = 50.0
	measuredLateralN = 5.0
)

// beyond says whether a tooth carries more at a step than teeth were measured with.
func (y *yielder) beyond(s *findings.YieldStep) bool {
	pull := func(sp casefile.Spring, um float64) float64 {
		mm := math.Abs(um) / 1000
		return sp.Soft*mm + (sp.Firm-sp.Soft)*max(0, mm-sp.Free)
	}
	return slices.ContainsFunc(s.Teeth, func(l findings.YieldLoad) bool {
		t := slices.Index(y.teeth, l.Tooth.Tooth())
		return pull(y.spring[t][0], l.AxialUm) > measuredAxialN || pull(y.spring[t][1], l.LateralUm) > measuredLateralN
	})
}

// onlyYielding picks, of the pairs and teeth that touched in the mouth, what does
// not carry at the first force and does later.
func onlyYielding(y *findings.Yielding, record *casefile.Record) []findings.YieldStop {
	out := []findings.YieldStop{}
	if record == nil || len(y.Steps) == 0 {
		return out
	}
	at := func(tooth dentition.ToothID, s findings.YieldStop) bool {
		return s.Upper == findings.Part(tooth) || s.Lower == findings.Part(tooth)
	}
	for _, s := range y.Order {
		if s.FromN == y.Steps[0].ForceN {
			continue
		}
		// A tooth that already carries elsewhere held its foil on the rigid casts.
		first := func(tooth dentition.ToothID) bool {
			return !slices.ContainsFunc(y.Order, func(o findings.YieldStop) bool { return o.FromN < s.FromN && at(tooth, o) })
		}
		seen := false
		for _, m := range record.Marks.Centric {
			seen = seen || (m.Upper == dentition.NoTooth || findings.Part(m.Upper) == s.Upper) &&
				(m.Lower == dentition.NoTooth || findings.Part(m.Lower) == s.Lower)
		}
		for _, tooth := range [2]dentition.ToothID{s.Upper.Tooth(), s.Lower.Tooth()} {
			seen = seen || record.Foil[tooth] == casefile.Holds && first(tooth)
		}
		if seen {
			out = append(out, s)
		}
	}
	return out
}

func newYielder(pair *casts.Casts, support *casefile.Support) (*yielder, error) {
	up, lo := pair.Upper, pair.Lower
	var s contact.CloserScratch
	touch, err := pair.Closer.Close(kinematics.Pose{}, &s)
	if err != nil || touch.AtLimit {
		return nil, fmt.Errorf("%w: the casts do not close", ErrYield)
	}
	y := &yielder{}
	frame := kinematics.TwistFrame{Centre: touch.Pose.Apply(lo.Mesh().Bounds().Center()), Length: 25}
	p := settle.Press{Direction: r3.Vec{Z: 1}, Point: lo.Mesh().Bounds().Center()}
	if r := pair.Settling.Seat; r != nil {
		p.Direction, p.Point = r.PressDirection.R3(), pair.Settling.Pose.Pose.Apply(r.PressPointMM.R3())
	}
	work := frame.Along(touch.Pose.Apply(p.Point), p.Direction)
	pose := touch.Pose
	if r := pair.Settling.Seat; r != nil && r.Taken {
		pose = kinematics.Pose{}
		for i := range 6 {
			var e kinematics.Twist
			e[i] = 1
			y.free = append(y.free, e)
		}
	} else {
		// Turning about x closes: a point p moves by −ω·(x × p).
		about := r3.Scale(-1, r3.Cross(r3.Vec{X: 1}, frame.Centre))
		y.free = []kinematics.Twist{{about.X / 25, about.Y / 25, about.Z / 25, -1}}
	}
	for _, f := range y.free {
		v := 0.0
		for i := range f {
			v += f[i] * work[i]
		}
		y.push = append(y.push, v)
	}
	var pairs []contact.Pair
	var gs contact.GapScratch
	g, _ := settle.ExactGaps(frame, up.Index, lo.Index, pose, yieldBand, &pairs, &gs)
	y.take(up, lo, g)
	for _, c := range [2]*casts.Cast{up, lo} {
		for _, tooth := range c.ByPart[1:] {
			if !slices.ContainsFunc(y.sites, func(s yieldSite) bool { return s.upper == tooth || s.lower == tooth }) {
				continue
			}
			f, ok := c.Frames[tooth]
			if !ok {
				return nil, fmt.Errorf("%w: the long axis of %s is not known", ErrYield, tooth)
			}
			axial, lateral := support.Springs(tooth.Type())
			for _, s := range [2]casefile.Spring{axial, lateral} {
				if !(s.Soft > 0 && s.Free > 0 && s.Firm >= s.Soft*(1-1e-6)) || math.IsInf(s.Firm, 1) {
					return nil, fmt.Errorf("%w: the support of %s must be above 0 and not softer beyond the free phase: "+
						"%g and %g N/mm", ErrYield, tooth, s.Soft, s.Firm)
				}
			}
			y.teeth, y.axes, y.spring = append(y.teeth, tooth), append(y.axes,
				[3]r3.Vec{f.Occlusal, f.Buccal, f.Mesial}), append(y.spring, [3]casefile.Spring{axial, lateral, lateral})
		}
	}
	if len(y.sites) == 0 {
		return nil, fmt.Errorf("%w: no teeth come near each other", ErrYield)
	}
	if err := y.prepare(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrYield, err)
	}
	return y, nil
}

// take thins gaps: of those between two teeth in one cell the least counts.
func (y *yielder) take(up, lo *casts.Cast, g *settle.Gaps) {
	type key struct {
		u, l    dentition.ToothID
		x, y, z int
	}
	first := map[key]int{}
	cell := func(v float64) int { return int(math.Floor(v / yieldCell)) }
	for i, at := range g.At {
		u, l := up.Tooth(at.Upper), lo.Tooth(at.Lower)
		k := key{u, l, cell(at.Point.X), cell(at.Point.Y), cell(at.Point.Z)}
		s := yieldSite{u, l, g.D[i], at.Normal, g.Rows[i]}
		if n, ok := first[k]; !ok {
			first[k] = len(y.sites)
			y.sites = append(y.sites, s)
		} else if s.gap < y.sites[n].gap {
			y.sites[n] = s
		}
	}
}
