package kinematics

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/interp"
)

// PathPoint is a place on a recorded condylar path, in mm from the rest
// position.
type PathPoint struct{ Forward, Down float64 }

// recorded is the graph of down over forward, cut into panels on each of which
// Gauss-Legendre quadrature gives the length to rounding.
type recorded struct {
	down interp.FritschButland
	// Panel i reaches from forward x[i] to x[i+1], and from travel s[i] to
	// s[i+1].
	x, s []float64
	end  PathPoint
	// Nodes in 0…1 and weights of the quadrature.
	node, weight [gaussOrder]float64
}

const (
	gaussOrder = 10
	// A segment is halved until its length agrees with that of its halves to
	// this share, at most maxHalvings times: the integrand is smooth, so the
	// limit is not met on a path that a condyle could take.
	lengthTolerance = 1e-14
	maxHalvings     = 20

	// steepest is the greatest slope from one recorded point to the next, that
	// of 89.9°. Our choice: beyond it down is no function of forward.
	steepest = 573
)

// Recorded is the path through recorded points, from (0, 0) on with forward
// growing from each to the next: down is the monotone cubic of forward through
// them (Fritsch and Butland 1984, SIAM J. Sci. Stat. Comput. 5:300-304), which
// overshoots no point. Its travel is its true length; it ends at the last
// point. At least two points are needed.
func Recorded(points []PathPoint) (CondylarPath, error) {
	if len(points) < 2 {
		return nil, fmt.Errorf("%w: a recorded condylar path has %d points, needs at least 2", ErrSetting, len(points))
	}
	if points[0] != (PathPoint{}) {
		return nil, fmt.Errorf("%w: a recorded condylar path begins at forward %g, down %g mm, must begin at the closed "+
			"position 0, 0", ErrSetting, points[0].Forward, points[0].Down)
	}
	xs, ys := make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		if math.IsNaN(p.Forward+p.Down) || math.IsInf(p.Forward, 0) || math.IsInf(p.Down, 0) {
			return nil, fmt.Errorf("%w: point %d of the recorded condylar path is forward %g, down %g mm, must be finite",
				ErrSetting, i+1, p.Forward, p.Down)
		}
		if i > 0 && !(p.Forward > xs[i-1]) {
			return nil, fmt.Errorf("%w: point %d of the recorded condylar path is %g mm forward, must be more than the %g "+
				"mm of the point before", ErrSetting, i+1, p.Forward, xs[i-1])
		}
		if i > 0 && !(math.Abs(p.Down-ys[i-1]) <= steepest*(p.Forward-xs[i-1])) {
			return nil, fmt.Errorf("%w: the recorded condylar path is steeper than 89.9° from point %d (forward %g, down %g "+
				"mm) to the next (forward %g, down %g mm)", ErrSetting, i, xs[i-1], ys[i-1], p.Forward, p.Down)
		}
		xs[i], ys[i] = p.Forward, p.Down
	}
	r := &recorded{end: points[len(points)-1], x: []float64{0}, s: []float64{0}}
	if err := r.down.Fit(xs, ys); err != nil {
		return nil, fmt.Errorf("%w: recorded condylar path: %w", ErrSetting, err)
	}
	quad.Legendre{}.FixedLocations(r.node[:], r.weight[:], 0, 1)
	for i := range xs[1:] {
		r.cut(xs[i], xs[i+1], r.length(xs[i], xs[i+1]), maxHalvings)
	}
	if l := r.Length(); math.IsNaN(l) || math.IsInf(l, 0) {
		return nil, fmt.Errorf("%w: the recorded condylar path has no finite length", ErrSetting)
	}
	return r, nil
}

// cut appends the panels of x0…x1, whose length by one quadrature is whole.
func (r *recorded) cut(x0, x1, whole float64, halvings int) {
	mid := x0 + (x1-x0)/2
	first, second := r.length(x0, mid), r.length(mid, x1)
	if halvings == 0 || !(math.Abs(first+second-whole) > lengthTolerance*whole) {
		r.x = append(r.x, x1)
		r.s = append(r.s, r.Length()+whole)
		return
	}
	r.cut(x0, mid, first, halvings-1)
	r.cut(mid, x1, second, halvings-1)
}

// length is the length of the path between two forward positions within a
// panel.
func (r *recorded) length(x0, x1 float64) float64 {
	var sum float64
	for i, u := range r.node {
		sum += r.weight[i] * math.Hypot(1, r.down.PredictDerivative(x0+u*(x1-x0)))
	}
	return sum * (x1 - x0)
}

func (r *recorded) Length() float64 { return r.s[len(r.s)-1] }

func (r *recorded) At(t float64) (forward, down float64) {
	if t >= r.Length() {
		return r.end.Forward, r.end.Down
	}
	lo, hi := 0, len(r.s)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; r.s[mid] <= t {
			lo = mid
		} else {
			hi = mid
		}
	}
	// Newton's method for length(x0, x) = t − s[lo], kept inside the shrinking
	// bracket a…b. The speed is at least 1, so a step is as good as its
	// residual.
	x0, goal := r.x[lo], t-r.s[lo]
	a, b := x0, r.x[hi]
	x := x0 + (b-a)*goal/(r.s[hi]-r.s[lo])
	for b > a {
		miss := r.length(x0, x) - goal
		if miss > 0 {
			b = x
		} else {
			a = x
		}
		step := miss / math.Hypot(1, r.down.PredictDerivative(x))
		next := x - step
		if math.Abs(step) <= 1e-13*(r.x[hi]-x0) {
			// The last step may still overshoot the bracket, and with it the end of
			// the path, by its rounding.
			x = min(max(next, a), b)
			break
		}
		if !(next > a && next < b) {
			next = a + (b-a)/2
		}
		if next == x {
			break
		}
		x = next
	}
	return x, r.down.Predict(x)
}
