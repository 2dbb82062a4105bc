package register

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// All are our choice.
const (
	// wholePoints is about how many points of a surface are fitted from each start.
	wholePoints = 3000
	// wholeRounds is how many rounds are made at each reach.
	wholeRounds = 15
)

// reaches, in mm, are taken one after the other from each start.
var reaches = [...]float64{12, 4, 1.5}

// Whole finds how a surface lies on another of the same thing that may stand anywhere, and
// may show more or less of it: from the place where it is given, and from the four in which
// the main axes of both fall together, the one that fits best. ok is false where none does.
func Whole(ctx context.Context, m *mesh.Mesh, to *index.Index) (best Fit, ok bool) {
	points := some(m, wholePoints)
	a, b := axes(m), axes(to.Mesh())
	starts := []kinematics.Pose{{}}
	for k := range 4 {
		flip := [3]float64{1, 1, 1} // two of the axes turned over, or none
		for i := range flip {
			if k > 0 && i != k-1 {
				flip[i] = -1
			}
		}
		starts = append(starts, a.onto(b, flip))
	}
	best.Median = math.Inf(1)
	for _, start := range starts {
		f, fits := Fit{Pose: start}, true
		for _, reach := range reaches {
			if f, fits = Onto(ctx, points, to, f.Pose, Options{Reach: reach, Rounds: wholeRounds, Least: 100}); !fits {
				break
			}
		}
		if fits && f.Median < best.Median {
			best, ok = f, true
		}
	}
	return best, ok
}

// some is about so many of the vertices that have a triangle, evenly over their numbers.
func some(m *mesh.Mesh, about int) []r3.Vec {
	used := make([]bool, m.NumVertices())
	n := 0
	for _, t := range m.Triangles() {
		for _, v := range t {
			if !used[v] {
				used[v] = true
				n++
			}
		}
	}
	every := max(1, n/about)
	var out []r3.Vec
	i := 0
	for v, yes := range used {
		if yes {
			if i%every == 0 {
				out = append(out, m.Vertex(mesh.VertexID(v)))
			}
			i++
		}
	}
	return out
}

// frame is the middle and the main axes of a surface, a right-handed set.
type frame struct {
	middle r3.Vec
	axis   [3]r3.Vec
}

// axes finds the main axes of the area of a surface, the longest first.
func axes(m *mesh.Mesh) frame {
	var f frame
	sum := 0.0
	each := func(do func(p r3.Vec, area float64)) {
		for t := range m.All() {
			a, b, c := m.Corners(t)
			do(r3.Scale(1.0/3, r3.Add(a, r3.Add(b, c))), r3.Norm(m.AreaVector(t)))
		}
	}
	each(func(p r3.Vec, area float64) { f.middle, sum = r3.Add(f.middle, r3.Scale(area, p)), sum+area })
	f.middle = r3.Scale(1/sum, f.middle)
	var a [3][3]float64
	each(func(p r3.Vec, area float64) {
		d := r3.Sub(p, f.middle)
		v := [3]float64{d.X, d.Y, d.Z}
		for i := range 3 {
			for k := range 3 {
				a[i][k] += area * v[i] * v[k]
			}
		}
	})
	f.axis, _ = geom.Principal(a)
	f.axis[2] = r3.Cross(f.axis[0], f.axis[1])
	return f
}

// onto is the motion that takes the axes to those of another surface, each turned over or not.
func (f frame) onto(g frame, flip [3]float64) kinematics.Pose {
	to := kinematics.ToAxes(r3.Scale(flip[0], g.axis[0]), r3.Scale(flip[2], g.axis[2]))
	turn := kinematics.ToAxes(f.axis[0], f.axis[2]).Then(to.Inverse())
	return kinematics.Translation(r3.Scale(-1, f.middle)).Then(turn).Then(kinematics.Translation(g.middle))
}
