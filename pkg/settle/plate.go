package settle

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/qp"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrArch says that a surface does not show where its teeth, its front or its
// ends are.
var ErrArch = errors.New("not a dental arch that can be put by hand")

// Pick is an axis that is not along v.
func Pick(v r3.Vec) r3.Vec {
	if math.Abs(v.X) > 0.7 {
		return r3.Vec{Y: 1}
	}
	return r3.Vec{X: 1}
}

// LayPlate is the upward unit normal of the plane above all points that lies
// lowest over their middle.
func LayPlate(points []r3.Vec) (r3.Vec, error) {
	b := mesh.EmptyBox()
	for _, p := range points {
		b = b.Include(p)
	}
	mid, scale := b.Center(), r3.Norm(b.Size())
	if len(points) == 0 || scale == 0 {
		return r3.Vec{}, fmt.Errorf("%w: nothing to lay a plate on", ErrArch)
	}
	p := qp.Problem{H: []float64{1e-4, 0, 0, 0, 1e-4, 0, 0, 0, 1e-4}, G: []float64{0, 0, 1}}
	var sum r3.Vec
	for _, q := range points {
		d := r3.Scale(1/scale, r3.Sub(q, mid))
		p.A, p.B = append(p.A, d.X, d.Y, 1), append(p.B, d.Z)
		sum = r3.Add(sum, d)
	}
	n := float64(len(points))
	p.G[0], p.G[1] = sum.X/n, sum.Y/n
	s, err := qp.Solve(&p)
	if err != nil {
		return r3.Vec{}, fmt.Errorf("occlusal plane: %w", err)
	}
	return r3.Unit(r3.Vec{X: -s.X[0], Y: -s.X[1], Z: 1}), nil
}

// Hull is the convex hull of points seen along z, counter-clockwise (Andrew's
// monotone chain, 1979).
func Hull(points []r3.Vec) []r3.Vec {
	p := slices.Clone(points)
	slices.SortFunc(p, func(a, b r3.Vec) int {
		switch {
		case a.X < b.X || (a.X == b.X && a.Y < b.Y):
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	turns := func(a, b, c r3.Vec) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }
	var out []r3.Vec
	chain := func(from int, list func(func(r3.Vec))) {
		list(func(q r3.Vec) {
			for len(out) >= from+2 && turns(out[len(out)-2], out[len(out)-1], q) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, q)
		})
	}
	chain(0, func(f func(r3.Vec)) {
		for _, q := range p {
			f(q)
		}
	})
	if len(out) > 0 {
		out = out[:len(out)-1]
	}
	chain(len(out), func(f func(r3.Vec)) {
		for i := len(p) - 1; i >= 0; i-- {
			f(p[i])
		}
	})
	if len(out) > 0 {
		out = out[:len(out)-1]
	}
	return out
}

// plate is the upward unit normal of a flat plate laid on the lower cast: of all
// planes above its teeth (incisors to second molars where they are labelled) the
// one that lies lowest over their middle. On a whole arch it rests on the
// incisors and the last molars, as the occlusal plane is defined.
func plate(lo *casts.Cast) (r3.Vec, error) {
	m := lo.Mesh()
	if lo.Teeth == nil {
		return LayPlate(m.Vertices())
	}
	use := make([]bool, m.NumVertices())
	for t, c := range m.All() {
		if k := lo.Tooth(t); k != dentition.NoTooth && k.Position() <= 7 {
			use[c[0]], use[c[1]], use[c[2]] = true, true, true
		}
	}
	var points []r3.Vec
	for v, q := range m.Vertices() {
		if use[v] {
			points = append(points, q)
		}
	}
	return LayPlate(points)
}
