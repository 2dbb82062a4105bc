package articulate

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/spatial/r3"
)

// relief is the height of a surface over a grid in the occlusal plane, seen from
// the side to which its teeth face.
type relief struct {
	x0, y0, step float64
	nx, ny       int
	z            []float64 // NaN where there is nothing
}

// newRelief measures the heights of a mesh that stands in its arch frame.
func newRelief(ctx context.Context, m *mesh.Mesh, upper bool, step float64, workers int) (*relief, error) {
	x, err := index.New(ctx, m, nil, index.Options{})
	if err != nil {
		return nil, err
	}
	b := m.Bounds()
	r := &relief{x0: b.Min.X, y0: b.Min.Y, step: step}
	r.nx, r.ny = int(b.Size().X/step)+1, int(b.Size().Y/step)+1
	r.z = make([]float64, r.nx*r.ny)
	d, from := r3.Vec{Z: -1}, b.Max.Z+1
	if upper {
		d, from = r3.Vec{Z: 1}, b.Min.Z-1
	}
	err = par.Chunks(ctx, len(r.z), 1024, workers, func(_, lo, hi int) error {
		for i := lo; i < hi; i++ {
			o := r3.Vec{X: r.x0 + step*float64(i%r.nx), Y: r.y0 + step*float64(i/r.nx), Z: from}
			r.z[i] = math.NaN()
			if h, ok := x.Ray(o, d, 1e3); ok {
				r.z[i] = h.Point.Z
			}
		}
		return nil
	})
	return r, err
}

// at is the height at a place, linear between the four nearest.
func (r *relief) at(x, y float64) float64 {
	u, v := (x-r.x0)/r.step, (y-r.y0)/r.step
	if !(u >= 0 && v >= 0 && u < float64(r.nx-1) && v < float64(r.ny-1)) {
		return math.NaN()
	}
	i, j := int(u), int(v)
	u, v = u-float64(i), v-float64(j)
	k := j*r.nx + i
	return (1-v)*((1-u)*r.z[k]+u*r.z[k+1]) + v*((1-u)*r.z[k+r.nx]+u*r.z[k+r.nx+1])
}

// Of the search, in mm: the grids, and how far from its occlusal plane a surface
// takes part.
const (
	reliefStep  = 0.2
	sampleStep  = 0.6
	sampleDepth = 4.5
)

// matcher compares the relief of the upper arch with points of the lower one.
type matcher struct {
	upper  *relief
	points []r3.Vec
}

func newMatcher(ctx context.Context, upper, lower *mesh.Mesh, workers int) (*matcher, error) {
	up, err := newRelief(ctx, upper, true, reliefStep, workers)
	if err != nil {
		return nil, err
	}
	for i, z := range up.z {
		if z > sampleDepth {
			up.z[i] = math.NaN()
		}
	}
	lo, err := newRelief(ctx, lower, false, sampleStep, workers)
	if err != nil {
		return nil, err
	}
	m := &matcher{upper: up}
	for i, z := range lo.z {
		if z > -sampleDepth {
			m.points = append(m.points, r3.Vec{X: lo.x0 + lo.step*float64(i%lo.nx), Y: lo.y0 + lo.step*float64(i/lo.nx), Z: z})
		}
	}
	return m, nil
}

// Closeness: what lies within about closeWithin mm of the other surface counts as
// close; overlap of overlapFree counts like touching, and beyond it takes away.
const (
	closeWithin = 0.6
	overlapFree = 0.1
	overlapHard = 0.2
)

// closeness is the worth of a vertical gap of e mm: 1 at touch, falling to 0 with
// the gap and below 0 with the square of the overlap.
func closeness(e float64) float64 {
	if e >= 0 {
		q := e / closeWithin
		return 1 / (1 + q*q)
	}
	if e = -e - overlapFree; e <= 0 {
		return 1
	}
	return max(1-e*e/(overlapHard*overlapHard), -5)
}

// closed is the closeness summed over the lower points under a pose, in mm² of the
// occlusal plane.
func (m *matcher) closed(p kinematics.Pose) float64 {
	sum := 0.0
	for _, q := range m.points {
		q = p.Apply(q)
		if z := m.upper.at(q.X, q.Y); z == z {
			sum += closeness(z - q.Z)
		}
	}
	return sum * sampleStep * sampleStep
}

// slid is the pose of a start of the search: a shift in the plane and a turn about
// the middle of the arch.
func slid(x, y, turn, z, depth float64) kinematics.Pose {
	mid := r3.Vec{Y: depth / 2}
	return kinematics.Translation(r3.Scale(-1, mid)).Then(kinematics.Rotation(r3.Vec{Z: 1}, s1.Angle(turn))).
		Then(kinematics.Translation(r3.Add(mid, r3.Vec{X: x, Y: y, Z: z})))
}

// candidate is a place in the search.
type candidate struct {
	pose  kinematics.Pose
	score float64 // mm²
}

// Of the coarse search: the range of shifts (mm) and turns (radians) about where
// the fronts of the arches meet, its steps, the share of the points that may
// overlap when the arches are closed on each other, and how many of the best
// places are refined.
const (
	slideX, slideBack, slideForth = 5.0, 8.0, 5.0
	slideStep                     = 0.75
	turnMost, turnStep            = 0.28, 0.035
	overlapShare                  = 0.03
	refined                       = 24
	apart                         = 1.2 // mm at some tooth, between places that count as two
)

// search finds the places in which the arches fit best, the best first.
func (m *matcher) search(ctx context.Context, depth float64, workers int) ([]candidate, error) {
	thin := make([]r3.Vec, 0, len(m.points)/3+1)
	for i := 0; i < len(m.points); i += 3 {
		thin = append(thin, m.points[i])
	}
	var starts [][3]float64
	for t := -turnMost; t <= turnMost+1e-9; t += turnStep {
		for x := -slideX; x <= slideX; x += slideStep {
			for y := -slideForth; y <= slideBack; y += slideStep {
				starts = append(starts, [3]float64{x, y, t})
			}
		}
	}
	found := make([]candidate, len(starts))
	gaps := make([][]float64, par.Workers(workers))
	err := par.Chunks(ctx, len(starts), 64, workers, func(w, lo, hi int) error {
		for i := lo; i < hi; i++ {
			s := starts[i]
			p := slid(s[0], s[1], s[2], 0, depth)
			g := gaps[w][:0]
			for _, q := range thin {
				q = p.Apply(q)
				if z := m.upper.at(q.X, q.Y); z == z {
					g = append(g, z-q.Z)
				}
			}
			gaps[w] = g
			found[i].score = math.Inf(-1)
			if len(g) < len(thin)/4 {
				continue
			}
			slices.Sort(g)
			level := g[int(overlapShare*float64(len(g)))]
			found[i] = candidate{pose: slid(s[0], s[1], s[2], level, depth)}
			for _, v := range g {
				found[i].score += closeness(v - level)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(found, byScore)
	best := distinct(found, refined, apart/2, depth)
	err = par.Chunks(ctx, len(best), 1, workers, func(_, lo, hi int) error {
		for i := lo; i < hi; i++ {
			if err := m.refine(&best[i], depth); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(best, byScore)
	return distinct(best, refined, apart, depth), nil
}

func byScore(a, b candidate) int {
	switch {
	case a.score > b.score:
		return -1
	case a.score < b.score:
		return 1
	}
	return 0
}

// distinct picks the first candidates that lie apart from each other.
func distinct(list []candidate, most int, apart, depth float64) []candidate {
	var out []candidate
	for _, c := range list {
		if math.IsInf(c.score, -1) || len(out) == most {
			break
		}
		if !slices.ContainsFunc(out, func(o candidate) bool { return between(o.pose, c.pose, depth) < apart }) {
			out = append(out, c)
		}
	}
	return out
}

// between is the largest distance of three places of the arch under two poses.
func between(a, b kinematics.Pose, depth float64) float64 {
	most := 0.0
	for _, q := range [3]r3.Vec{{}, {X: -25, Y: depth}, {X: 25, Y: depth}} {
		most = max(most, r3.Norm(r3.Sub(a.Apply(q), b.Apply(q))))
	}
	return most
}

// refine climbs to the nearest best place in all six freedoms, twice, each time
// with a fresh simplex (Nelder and Mead 1965, Comput J 7:308-313).
func (m *matcher) refine(c *candidate, depth float64) error {
	f := kinematics.TwistFrame{Length: 25}
	for _, size := range [3]float64{0.6, 0.2, 0.05} {
		f.Centre = c.pose.Apply(r3.Vec{Y: depth / 2})
		from := c.pose
		res, err := optimize.Minimize(optimize.Problem{Func: func(x []float64) float64 {
			return -m.closed(from.Then(f.Pose(kinematics.Twist(x))))
		}}, make([]float64, 6), &optimize.Settings{FuncEvaluations: 350}, &optimize.NelderMead{SimplexSize: size})
		if res == nil {
			return fmt.Errorf("search for the fit: %w", err)
		}
		c.pose, c.score = from.Then(f.Pose(kinematics.Twist(res.X))), -res.F
	}
	return nil
}
