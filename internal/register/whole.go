package register

import (
	"context"
	"math"

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

// axes finds the main axes of the area of a surface, by Jacobi's rotations (Golub & Van Loan,
// Matrix Computations, 4th ed., 8.5), the longest first.
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
	v := [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for range 30 {
		for p := range 2 {
			for q := p + 1; q < 3; q++ {
				rotate(&a, &v, p, q)
			}
		}
	}
	order := [3]int{0, 1, 2}
	for i := range 2 {
		for k := i + 1; k < 3; k++ {
			if a[order[k]][order[k]] > a[order[i]][order[i]] {
				order[i], order[k] = order[k], order[i]
			}
		}
	}
	for i := range 2 {
		f.axis[i] = r3.Vec{X: v[0][order[i]], Y: v[1][order[i]], Z: v[2][order[i]]}
	}
	f.axis[2] = r3.Cross(f.axis[0], f.axis[1])
	return f
}

// rotate makes the element p, q of a symmetric matrix zero and takes the rotation into v.
func rotate(a, v *[3][3]float64, p, q int) {
	if a[p][q] == 0 {
		return
	}
	tau := (a[q][q] - a[p][p]) / (2 * a[p][q])
	t := 1 / (math.Abs(tau) + math.Sqrt(1+tau*tau))
	if tau < 0 {
		t = -t
	}
	c := 1 / math.Sqrt(1+t*t)
	s := t * c
	for k := range 3 {
		a[k][p], a[k][q] = c*a[k][p]-s*a[k][q], s*a[k][p]+c*a[k][q]
	}
	for k := range 3 {
		a[p][k], a[q][k] = c*a[p][k]-s*a[q][k], s*a[p][k]+c*a[q][k]
		v[k][p], v[k][q] = c*v[k][p]-s*v[k][q], s*v[k][p]+c*v[k][q]
	}
}

// onto is the motion that takes the axes to those of another surface, each turned over or not.
func (f frame) onto(g frame, flip [3]float64) kinematics.Pose {
	turn := kinematics.ToAxes(f.axis[0], f.axis[2]).Then(kinematics.ToAxes(r3.Scale(flip[0], g.axis[0]), r3.Scale(flip[2], g.axis[2])).Inverse())
	return kinematics.Translation(r3.Scale(-1, f.middle)).Then(turn).Then(kinematics.Translation(g.middle))
}
