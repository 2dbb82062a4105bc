package interlock

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh/index"
	"gonum.org/v1/gonum/spatial/r3"
)

// Of the reliefs, mm: their grids, and between which heights, counted from the
// occlusal plane to the gingiva, a lower surface takes part: crowns are 7 to 11 mm
// high, and a curve of Spee lets some stand above the plane.
const (
	upperStep = 0.25
	lowerStep = 0.5
	below     = 5.5
	above     = 4.0
)

// relief is the height of a surface over a grid in the occlusal plane, seen from
// the side to which its teeth face.
type relief struct {
	x0, y0, step float64
	nx, ny       int
	z            []float64           // NaN where there is nothing
	tooth        []dentition.ToothID // of each cell; NoTooth beside the teeth
}

func newRelief(ctx context.Context, a *Arch, step float64, workers int) (*relief, error) {
	x, err := index.New(ctx, a.mesh, nil, index.Options{Workers: workers})
	if err != nil {
		return nil, err
	}
	b := a.mesh.Bounds()
	r := &relief{x0: b.Min.X, y0: b.Min.Y, step: step}
	r.nx, r.ny = int(b.Size().X/step)+1, int(b.Size().Y/step)+1
	r.z, r.tooth = make([]float64, r.nx*r.ny), make([]dentition.ToothID, r.nx*r.ny)
	d, from := r3.Vec{Z: -1}, b.Max.Z+1
	if a.Jaw == dentition.Upper {
		d, from = r3.Vec{Z: 1}, b.Min.Z-1
	}
	err = par.Chunks(ctx, len(r.z), 1024, workers, func(_, lo, hi int) error {
		for i := lo; i < hi; i++ {
			o := r3.Vec{X: r.x0 + step*float64(i%r.nx), Y: r.y0 + step*float64(i/r.nx), Z: from}
			r.z[i] = math.NaN()
			h, ok := x.Ray(o, d, 1e3)
			if !ok {
				continue
			}
			r.z[i] = h.Point.Z
			if a.tris != nil {
				r.tooth[i] = a.tris[h.Tri]
			}
		}
		return nil
	})
	return r, err
}

// at is the height at a place with its slopes, bilinear between the four nearest,
// and the tooth of one of them. Beyond the surface the height is NaN.
func (r *relief) at(x, y float64) (z, zx, zy float64, tooth dentition.ToothID) {
	u, v := (x-r.x0)/r.step, (y-r.y0)/r.step
	if !(u >= 0 && v >= 0 && u < float64(r.nx-1) && v < float64(r.ny-1)) {
		return math.NaN(), 0, 0, dentition.NoTooth
	}
	i, j := int(u), int(v)
	u, v = u-float64(i), v-float64(j)
	k := j*r.nx + i
	a, b, c, d := r.z[k], r.z[k+1], r.z[k+r.nx], r.z[k+r.nx+1]
	z = (1-v)*((1-u)*a+u*b) + v*((1-u)*c+u*d)
	zx = ((1-v)*(b-a) + v*(d-c)) / r.step
	zy = ((1-u)*(c-a) + u*(d-b)) / r.step
	return z, zx, zy, r.tooth[k]
}

// matcher compares the upper relief with points of the lower one.
type matcher struct {
	upper  *relief
	points []r3.Vec
	tooth  []dentition.ToothID // of each point
	// labelled says that both arches have labels; otherwise everything counts as
	// teeth.
	labelled bool
	depth    float64 // of the lower arch, mm
}

func newMatcher(ctx context.Context, upper, lower *Arch, workers int) (*matcher, error) {
	up, err := newRelief(ctx, upper, upperStep, workers)
	if err != nil {
		return nil, err
	}
	lo, err := newRelief(ctx, lower, lowerStep, workers)
	if err != nil {
		return nil, err
	}
	m := &matcher{upper: up, labelled: upper.tris != nil && lower.tris != nil, depth: lower.Depth}
	for i, z := range lo.z {
		if z > -below && z < above {
			m.points = append(m.points, r3.Vec{X: lo.x0 + lo.step*float64(i%lo.nx), Y: lo.y0 + lo.step*float64(i/lo.nx), Z: z})
			m.tooth = append(m.tooth, lo.tooth[i])
		}
	}
	return m, nil
}

// steepest is the least cosine between the normal of a surface and the vertical
// that is believed: the walls of a relief are as steep as its grid allows.
const steepest = 0.2

// gap is how far a point of the lower arch lies from the upper surface above it, mm,
// negative where it lies beyond, to first order along the normal n of that surface,
// into which the gap grows; soft says that one of both is not a tooth. It is nothing
// where no upper surface lies above it.
func (m *matcher) gap(q r3.Vec, of dentition.ToothID) (g float64, n r3.Vec, soft, ok bool) {
	z, zx, zy, t := m.upper.at(q.X, q.Y)
	if z != z {
		return 0, n, false, false
	}
	c := max(1/math.Sqrt(1+zx*zx+zy*zy), steepest)
	soft = m.labelled && (t == dentition.NoTooth || of == dentition.NoTooth)
	return (z - q.Z) * c, r3.Vec{X: zx * c, Y: zy * c, Z: -c}, soft, true
}

// worth is what a gap of g is worth at a width w, with its first two derivatives: 1
// at touch, half of it at w, little beyond; overlap takes away with its square, from
// a third of w on more than touch is worth.
func worth(g, w float64) (value, slope, bend float64) {
	if g >= 0 {
		q := g / w
		d := 1 + q*q
		return 1 / d, -2 * q / (w * d * d), (6*q*q - 2) / (w * w * d * d * d)
	}
	o := w / 3
	q := -g / o
	if q < 3 {
		return 1 - q*q, 2 * q / o, -2 / (o * o)
	}
	return -8 - 6*(q-3), 6 / o, 0
}

// softMost is how much a point that is not a tooth may take away: soft tissue gives
// way, and its scans are of a moment.
const softMost = 0.3

// reach is the widest gap that is looked at, as a multiple of the width.
const reach = 4.0

// Facing is the area in mm² of the occlusal plane over which the arches face each
// other under a pose.
func (m *matcher) facing(p kinematics.Pose) float64 {
	n := 0
	for i, q := range m.points {
		if _, _, _, ok := m.gap(p.Apply(q), m.tooth[i]); ok {
			n++
		}
	}
	return float64(n) * lowerStep * lowerStep
}
