package interlock

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Place is one place of the lower arch under the upper one.
type Place struct {
	// Pose takes a point of the lower arch's frame into that of the upper one.
	Pose kinematics.Pose
	// Area is over what the arches come close there, in mm² of the occlusal plane:
	// each spot counts by its gap, overlap is taken away.
	Area float64
	// Facing is the area in mm² over which they face each other at all.
	Facing float64
	// Give is how far the lower arch can go at its front, its right and its left end,
	// mm root mean square over all directions, until an eighth of the area is lost.
	Give [3]float64
}

// Strength is the area of closeness over the root of the facing area, mm. What
// arches that do not belong together come to by chance grows with that root, so it
// tells large and small arches apart from right and wrong ones alike.
func (p Place) Strength() float64 {
	if p.Facing <= 0 {
		return 0
	}
	return max(0, p.Area) / math.Sqrt(p.Facing)
}

// Pair is a point of the upper arch and one of the lower arch that come together, or
// nearly, each in the frame of its own arch, mm.
type Pair struct{ Upper, Lower r3.Vec }

// Options are the settings of [Search]; the zero value searches everywhere.
type Options struct {
	// Pairs are points that must come within Within mm of each other, seen along the
	// occlusal plane.
	Pairs  []Pair
	Within float64
	// Start is a pose near which alone the search looks, in the frames of the arches:
	// within 2 mm and 4°.
	Start *kinematics.Pose
	// Wide says that the frames may be off by several mm and up to 20°, as those that
	// were found without teeth.
	Wide bool
	// Workers is the number of goroutines, 0 for one a processor; the result does not
	// depend on it.
	Workers int
}

// grid is the starts of a search: a shift in the occlusal plane (mm) and a turn
// (radians) about the middle of the arch, from a place at which it stands by itself.
type grid struct {
	x, forth, back, turn float64
	ahead                float64 // of the lower arch's origin against the upper one, mm, posterior positive
}

// Of the search: the steps of shifts (mm) and turns (radians, 2°), the share of points
// that may overlap when the arches are closed on each other, how many places are
// refined, and how far apart two places lie that count as two, mm at some tooth.
const (
	sideStep, sagittalStep = 0.8, 0.75
	turnStep               = 0.035
	overlapShare           = 0.03
	refined                = 24
	apart                  = 0.5
)

// The grids of the search, mm and radians. Sagittally, full class III and II lie 7 mm
// from where arches meet in class I, and asymmetric ones and premolars lost in one
// jaw come on top.
var (
	usual  = grid{x: 4, forth: 13, back: 9, turn: 0.14}
	wide   = grid{x: 6.4, forth: 10.5, back: 9, turn: 0.35}
	narrow = grid{x: 1.6, forth: 1.5, back: 1.5, turn: 0.07}
)

// usualAhead is how far, in mm, a lower tooth stands before the upper one of the
// same type in class I (about half a premolar; handbook drawings).
const usualAhead = 3.0

// shapeAhead is how far, in mm, the lower front lies behind the upper one where only
// the outline is known: an overjet of 2 mm.
const shapeAhead = 2.0

// Search finds the places in which two arches interlock best, the best first; places
// less than 0.5 mm apart at every tooth count as one.
func Search(ctx context.Context, upper, lower *Arch, o Options) ([]Place, error) {
	m, err := newMatcher(ctx, upper, lower, o.Workers)
	if err != nil {
		return nil, err
	}
	found, err := m.coarse(ctx, m.starts(upper, lower, o), o)
	if err != nil {
		return nil, err
	}
	best := distinct(found, refined, 0.6, m.depth)
	err = par.Chunks(ctx, len(best), 1, o.Workers, func(_, lo, hi int) error {
		for i := lo; i < hi; i++ {
			p := &best[i]
			for _, width := range [2]float64{0.6, 0.3} {
				p.Pose, p.Area = m.climb(p.Pose, width)
			}
			p.Facing, p.Give = m.facing(p.Pose), m.give(p.Pose, p.Area)
			if !o.allows(p.Pose, o.Within) {
				p.Area = math.Inf(-1)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(best, byArea)
	return distinct(best, refined, apart, m.depth), nil
}

// starts are the poses from which the search sets out, before the arches are closed
// on each other.
func (m *matcher) starts(upper, lower *Arch, o Options) []kinematics.Pose {
	g, base := usual, kinematics.Pose{}
	switch {
	case o.Start != nil:
		g, base = narrow, *o.Start
	case o.Wide:
		g = wide
		g.ahead = shapeAhead
	default:
		g.ahead = meeting(upper, lower)
	}
	var out []kinematics.Pose
	mid := base.Apply(r3.Vec{Y: lower.Depth / 2})
	for t := -g.turn; t <= g.turn+1e-9; t += turnStep {
		for x := -g.x; x <= g.x+1e-9; x += sideStep {
			for y := -g.forth; y <= g.back+1e-9; y += sagittalStep {
				out = append(out, base.Then(kinematics.Translation(r3.Scale(-1, mid))).
					Then(kinematics.Rotation(r3.Vec{Z: 1}, s1.Angle(t))).
					Then(kinematics.Translation(r3.Add(mid, r3.Vec{X: x, Y: g.ahead + y}))))
			}
		}
	}
	return out
}

// meeting is by how much the lower arch must go back so that its teeth stand to the
// upper ones as in class I, mm.
func meeting(upper, lower *Arch) float64 {
	sum, n := 0.0, 0.0
	for _, t := range lower.Teeth {
		if u, ok := upper.Tooth(t.ID.Counterpart()); ok {
			sum, n = sum+u.Centre.Y-t.Centre.Y, n+1
		}
	}
	if n == 0 {
		return shapeAhead
	}
	return sum/n - usualAhead
}

// allows says whether the given pairs come together under a pose.
func (o *Options) allows(p kinematics.Pose, within float64) bool {
	for _, k := range o.Pairs {
		q := p.Apply(k.Lower)
		if math.Hypot(q.X-k.Upper.X, q.Y-k.Upper.Y) > within {
			return false
		}
	}
	return true
}

// thinning leaves one point in so many for the coarse search.
const thinning = 5

// coarse closes the arches on each other from every start and weighs the places.
func (m *matcher) coarse(ctx context.Context, starts []kinematics.Pose, o Options) ([]Place, error) {
	var thin []r3.Vec
	n := 0
	for i, q := range m.points {
		if m.labelled && m.tooth[i] == dentition.NoTooth {
			continue
		}
		if n++; n%thinning == 0 {
			thin = append(thin, q)
		}
	}
	found := make([]Place, len(starts))
	gaps := make([][]float64, par.Workers(o.Workers))
	err := par.Chunks(ctx, len(starts), 64, o.Workers, func(w, lo, hi int) error {
		for i := lo; i < hi; i++ {
			p := starts[i]
			found[i] = Place{Pose: p, Area: math.Inf(-1)}
			if !o.allows(p, o.Within+sideStep) {
				continue
			}
			g := gaps[w][:0]
			for _, q := range thin {
				q = p.Apply(q)
				if z, _, _, t := m.upper.at(q.X, q.Y); z == z && (!m.labelled || t != dentition.NoTooth) {
					g = append(g, z-q.Z)
				}
			}
			gaps[w] = g
			if len(g) == 0 || len(g) < len(thin)/4 {
				continue
			}
			slices.Sort(g)
			level := g[int(overlapShare*float64(len(g)))]
			sum := 0.0
			for _, v := range g {
				x, _, _ := worth(v-level, 0.6)
				sum += max(x, -5)
			}
			found[i] = Place{Pose: p.Then(kinematics.Translation(r3.Vec{Z: level})), Area: sum}
		}
		return nil
	})
	slices.SortStableFunc(found, byArea)
	return found, err
}

func byArea(a, b Place) int {
	switch {
	case a.Area > b.Area:
		return -1
	case a.Area < b.Area:
		return 1
	}
	return 0
}

// distinct picks the first places that lie apart from each other.
func distinct(list []Place, most int, apart, depth float64) []Place {
	var out []Place
	for _, c := range list {
		if math.IsInf(c.Area, -1) || len(out) == most {
			break
		}
		if !slices.ContainsFunc(out, func(o Place) bool { return Between(o.Pose, c.Pose, depth) < apart }) {
			out = append(out, c)
		}
	}
	return out
}

// Between is the largest distance, in mm, of the front and the two ends of a lower
// arch of some depth (mm) under two poses.
func Between(a, b kinematics.Pose, depth float64) float64 {
	most := 0.0
	for _, q := range ends(depth) {
		most = max(most, r3.Norm(r3.Sub(a.Apply(q), b.Apply(q))))
	}
	return most
}

// ends are the front, the right and the left end of an arch of some depth, mm, whose
// molars stand as far apart as those of adults.
func ends(depth float64) [3]r3.Vec { return [3]r3.Vec{{}, {X: -25, Y: depth}, {X: 25, Y: depth}} }
