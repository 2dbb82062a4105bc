package typodont

import (
	"math"
	"sort"

	"github.com/cusptrace/cusptrace/internal/portable"
	"gonum.org/v1/gonum/spatial/r3"
)

const pi = math.Pi

// A frame is where a tooth stands: its origin and the unit directions mesial,
// buccal and occlusal. It is left-handed in two of the four quadrants.
type frame struct{ org, m, b, o r3.Vec }

// local is the tooth's coordinates of a point.
func (f *frame) local(p r3.Vec) (m, b, o float64) {
	d := r3.Sub(p, f.org)
	return r3.Dot(d, f.m), r3.Dot(d, f.b), r3.Dot(d, f.o)
}

// world is the point with the given tooth coordinates.
func (f *frame) world(m, b, o float64) r3.Vec {
	return r3.Add(f.org, f.direction(m, b, o))
}

// direction is the vector with the given tooth coordinates.
func (f *frame) direction(m, b, o float64) r3.Vec {
	return r3.Add(r3.Scale(m, f.m), r3.Add(r3.Scale(b, f.b), r3.Scale(o, f.o)))
}

// incline turns the crown about its mesiodistal axis, labially for a > 0.
func (f *frame) incline(a float64) {
	s, c := math.Sincos(a)
	f.o, f.b = r3.Add(r3.Scale(c, f.o), r3.Scale(s, f.b)), r3.Sub(r3.Scale(c, f.b), r3.Scale(s, f.o))
}

// angulate turns the crown about its labiolingual axis, to mesial for a > 0.
func (f *frame) angulate(a float64) {
	s, c := math.Sincos(a)
	f.o, f.m = r3.Add(r3.Scale(c, f.o), r3.Scale(s, f.m)), r3.Sub(r3.Scale(c, f.m), r3.Scale(s, f.o))
}

// rotate turns the crown about its long axis, its mesial side to buccal for
// a > 0.
func (f *frame) rotate(a float64) {
	s, c := math.Sincos(a)
	f.m, f.b = r3.Add(r3.Scale(c, f.m), r3.Scale(s, f.b)), r3.Sub(r3.Scale(c, f.b), r3.Scale(s, f.m))
}

// moved is the frame after a rigid motion of space.
func (f frame) moved(point, direction func(r3.Vec) r3.Vec) frame {
	return frame{point(f.org), direction(f.m), direction(f.b), direction(f.o)}
}

// A line is the arch form: a weighted catenary y = k(cosh(x/c) − 1) through the
// contact points in the plan (x to the left, y to posterior), symmetrical about
// x = 0.
type line struct {
	c, k  float64 // mm
	front float64 // y of its vertex
	s     []float64
}

const lineStep = 0.1 // mm of x between the values of the table of arc lengths

func newLine(c, k, front float64) line {
	l := line{c: c, k: k, front: front, s: []float64{0}}
	// Simpson's rule between the table's places.
	for x := 0.0; l.s[len(l.s)-1] < 80; x += lineStep {
		h := lineStep / 6 * (l.rate(x) + 4*l.rate(x+lineStep/2) + l.rate(x+lineStep))
		l.s = append(l.s, l.s[len(l.s)-1]+h)
	}
	return l
}

func (l *line) slope(x float64) float64 { return l.k / l.c * sinh(x/l.c) }
func (l *line) rate(x float64) float64  { return math.Hypot(1, l.slope(x)) }

// at is the point at arc length s from the midline on the left side, with the
// unit tangent away from the midline.
func (l *line) at(s float64) (p, along r3.Vec) {
	i := sort.SearchFloat64s(l.s, s)
	i = min(max(i-1, 0), len(l.s)-2)
	x := lineStep * (float64(i) + (s-l.s[i])/(l.s[i+1]-l.s[i]))
	for range 2 { // Newton on the arc length from the table's place
		x0 := lineStep * float64(i)
		d := x - x0
		have := l.s[i] + d/6*(l.rate(x0)+4*l.rate(x0+d/2)+l.rate(x))
		x -= (have - s) / l.rate(x)
	}
	r := l.rate(x)
	return r3.Vec{X: x, Y: l.front + l.k*(cosh(x/l.c)-1)}, r3.Vec{X: 1 / r, Y: l.slope(x) / r}
}

// mirror reflects in the sagittal plane.
func mirror(v r3.Vec) r3.Vec { return r3.Vec{X: -v.X, Y: v.Y, Z: v.Z} }

func (f frame) mirrored() frame { return frame{mirror(f.org), mirror(f.m), mirror(f.b), mirror(f.o)} }

// addScaled is p + k·d.
func addScaled(p r3.Vec, k float64, d r3.Vec) r3.Vec { return r3.Add(p, r3.Scale(k, d)) }

// sinh and cosh are the hyperbolic functions of arguments near 1, the same bits on
// every processor.
func sinh(x float64) float64 { return (portable.Exp(x) - portable.Exp(-x)) / 2 }
func cosh(x float64) float64 { return (portable.Exp(x) + portable.Exp(-x)) / 2 }
