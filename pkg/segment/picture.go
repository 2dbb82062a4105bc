package segment

import (
	"context"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/internal/archnet"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

const (
	size  = archnet.Size
	pixel = archnet.Pixel
)

// view is a frame in which an arch is looked at: z points towards the viewer, who
// looks at the occlusal surfaces, y backwards in the mouth, x to the right of y seen so.
// The origin lies in the middle of the picture, on the occlusal plane.
type view struct{ origin, x, y, z r3.Vec }

// at is a point of the scan in the view, mm.
func (f *view) at(p r3.Vec) r3.Vec {
	d := r3.Sub(p, f.origin)
	return r3.Vec{X: r3.Dot(d, f.x), Y: r3.Dot(d, f.y), Z: r3.Dot(d, f.z)}
}

// picture is the heights of an arch in a view, row by row of y, and what the network
// makes of them.
type picture struct {
	view
	height []float64
	seen   []bool
	*archnet.Reading
}

// index is the number of the pixel that holds a point of the plan, -1 outside.
func index(x, y float64) int {
	i, j := int(math.Floor(y/pixel))+size/2, int(math.Floor(x/pixel))+size/2
	if i < 0 || i >= size || j < 0 || j >= size {
		return -1
	}
	return i*size + j
}

// center is the middle of a pixel in the plan, mm.
func center(k int) r2.Vec {
	return r2.Vec{X: (float64(k%size-size/2) + 0.5) * pixel, Y: (float64(k/size-size/2) + 0.5) * pixel}
}

// tooth is the share of a pixel that is any tooth.
func (p *picture) tooth(k int) float64 {
	if !p.seen[k] {
		return 0
	}
	return float64(1 - p.Kind[k][0])
}

// kind is the share of a pixel that is a tooth of a position, 1 to 8, in either jaw.
func (p *picture) kind(k, position int) float64 {
	return float64(p.Kind[k][position] + p.Kind[k][position+8])
}

// upper is how much more speaks for an upper arch than for a lower one, from -1 to 1.
func (p *picture) upper() float64 {
	up, all := 0.0, 0.0
	for k, s := range p.seen {
		if !s {
			continue
		}
		for c := 1; c <= 8; c++ {
			up += float64(p.Kind[k][c] - p.Kind[k][c+8])
			all += float64(p.Kind[k][c] + p.Kind[k][c+8])
		}
	}
	return up / max(all, 1e-9)
}

// draw fills a picture with the highest points of a surface over the middles of its
// pixels.
func draw(m *mesh.Mesh, f view, part []bool) *picture {
	p := &picture{view: f, height: make([]float64, size*size), seen: make([]bool, size*size)}
	moved := make([]r3.Vec, m.NumVertices())
	for v, q := range m.Vertices() {
		moved[v] = f.at(q)
	}
	for _, c := range m.All() {
		if part[c[0]] {
			p.fill(moved[c[0]], moved[c[1]], moved[c[2]])
		}
	}
	return p
}

// fill draws a triangle.
func (p *picture) fill(a, b, c r3.Vec) {
	double := (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
	if double == 0 {
		return
	}
	grid := func(v float64) float64 { return v/pixel + size/2 - 0.5 }
	i0, i1 := math.Ceil(grid(min(a.Y, b.Y, c.Y))), math.Floor(grid(max(a.Y, b.Y, c.Y)))
	j0, j1 := math.Ceil(grid(min(a.X, b.X, c.X))), math.Floor(grid(max(a.X, b.X, c.X)))
	for i := int(max(0, i0)); i <= int(min(size-1, i1)); i++ {
		for j := int(max(0, j0)); j <= int(min(size-1, j1)); j++ {
			k := i*size + j
			q := center(k)
			u := ((b.X-q.X)*(c.Y-q.Y) - (b.Y-q.Y)*(c.X-q.X)) / double
			v := ((c.X-q.X)*(a.Y-q.Y) - (c.Y-q.Y)*(a.X-q.X)) / double
			w := 1 - u - v
			if u < 0 || v < 0 || w < 0 {
				continue
			}
			if z := u*a.Z + v*b.Z + w*c.Z; !p.seen[k] || z > p.height[k] {
				p.height[k], p.seen[k] = z, true
			}
		}
	}
}

// rounds is how often a view is bettered by what is seen in it.
const rounds = 2

// look finds the view along the occlusal direction: the first one by the direction into
// which the whole surface faces, later ones by the teeth that the network sees in it.
func look(ctx context.Context, s *surface, net *archnet.Net, facing r3.Vec) (*picture, error) {
	f := s.firstView(facing)
	for i := 0; ; i++ {
		p := draw(s.mesh, f, s.part)
		var err error
		if p.Reading, err = net.Read(ctx, p.height, p.seen, 0); err != nil {
			return nil, fmt.Errorf("finding the teeth: %w", err)
		}
		next, ok := p.better()
		if i == rounds || !ok {
			return p, p.both(ctx, net)
		}
		s.frame(&next)
		f = next
	}
}

// both makes of what was read the mean with what is read of the mirror image: right and left
// teeth look alike, and what the network takes for another tooth on one side only averages out.
func (p *picture) both(ctx context.Context, net *archnet.Net) error {
	flipped := func(k int) int { return k - k%size + size - 1 - k%size }
	height, seen := make([]float64, size*size), make([]bool, size*size)
	for k := range height {
		height[k], seen[k] = p.height[flipped(k)], p.seen[flipped(k)]
	}
	r, err := net.Read(ctx, height, seen, 0)
	if err != nil {
		return fmt.Errorf("finding the teeth: %w", err)
	}
	for k := range height {
		a, b := &p.Kind[k], &r.Kind[flipped(k)]
		for i := range a {
			a[i] = (a[i] + b[i]) / 2
		}
		o, q := &p.Offset[k], r.Offset[flipped(k)]
		o[0], o[1] = (o[0]-q[0])/2, (o[1]+q[1])/2
	}
	return nil
}

// firstView looks against a direction, from over the middle of the surface, its longer side
// across.
func (s *surface) firstView(z r3.Vec) view {
	var middle r3.Vec
	all := 0.0
	for v, p := range s.mesh.Vertices() {
		if s.part[v] {
			middle = r3.Add(middle, r3.Scale(s.area[v], p))
			all += s.area[v]
		}
	}
	middle = r3.Scale(1/max(all, 1e-9), middle)
	side := r3.Vec{X: 1}
	if math.Abs(z.X) > 0.9 {
		side = r3.Vec{Y: 1}
	}
	x := r3.Unit(r3.Sub(side, r3.Scale(r3.Dot(side, z), z)))
	y := r3.Cross(z, x)
	var xx, xy, yy float64
	for v, p := range s.mesh.Vertices() {
		if s.part[v] {
			d := r3.Sub(p, middle)
			a, b := r3.Dot(d, x), r3.Dot(d, y)
			xx, xy, yy = xx+s.area[v]*a*a, xy+s.area[v]*a*b, yy+s.area[v]*b*b
		}
	}
	sin, cos := math.Sincos(math.Atan2(2*xy, xx-yy) / 2)
	x = r3.Add(r3.Scale(cos, x), r3.Scale(sin, y))
	top := math.Inf(-1)
	for v, p := range s.mesh.Vertices() {
		if s.part[v] {
			top = max(top, r3.Dot(r3.Sub(p, middle), z))
		}
	}
	return view{r3.Add(middle, r3.Scale(top, z)), x, r3.Cross(z, x), z}
}

// frame moves a view by as little as brings the whole surface into the picture, along each
// side on which it has room.
func (s *surface) frame(f *view) {
	low, high := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for v, p := range s.mesh.Vertices() {
		if s.part[v] {
			q := f.at(p)
			low = r2.Vec{X: min(low.X, q.X), Y: min(low.Y, q.Y)}
			high = r2.Vec{X: max(high.X, q.X), Y: max(high.Y, q.Y)}
		}
	}
	const half = size * pixel / 2
	by := func(low, high float64) float64 {
		switch {
		case high-low > 2*half:
			return 0
		case low < -half:
			return low + half
		}
		return max(0, high-half)
	}
	f.origin = r3.Add(f.origin, r3.Add(r3.Scale(by(low.X, high.X), f.x), r3.Scale(by(low.Y, high.Y), f.y)))
}

const (
	toothly   = 0.6  // share from which a pixel shows a tooth for sure
	fewPixels = 200  // of those, 50 mm², from which a view can be bettered
	highest   = 0.8  // mm below the highest of their surroundings that tops reach
	around    = 7    // pixels that count as surroundings
	planeBend = 0.8  // mm from the plane at which a top counts half
	steepView = 0.30 // tangent of the most that one look turns the plane
)

// better is the view in which the teeth seen in p lie level, with the anterior teeth in front
// and their whole in the middle; false where too few are seen.
func (p *picture) better() (view, bool) {
	var tops []r3.Vec
	var front, back r2.Vec
	var inFront, inBack float64
	low, high := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	n := 0
	for k := range p.seen {
		if p.tooth(k) <= toothly {
			continue
		}
		n++
		q := center(k)
		f, b := p.kind(k, 1)+p.kind(k, 2)+p.kind(k, 3), p.kind(k, 6)+p.kind(k, 7)+p.kind(k, 8)
		front, back = r2.Add(front, r2.Scale(f, q)), r2.Add(back, r2.Scale(b, q))
		inFront, inBack = inFront+f, inBack+b
		low = r2.Vec{X: min(low.X, q.X), Y: min(low.Y, q.Y)}
		high = r2.Vec{X: max(high.X, q.X), Y: max(high.Y, q.Y)}
		if p.height[k] > p.highestAround(k)-highest {
			tops = append(tops, r3.Vec{X: q.X, Y: q.Y, Z: p.height[k]})
		}
	}
	if n < fewPixels || inFront < 30 || inBack < 30 {
		return p.view, false
	}
	a, b, c := levelPlane(tops)
	if t := math.Hypot(a, b); t > steepView {
		a, b = a*steepView/t, b*steepView/t
	}
	z := r3.Unit(r3.Vec{X: -a, Y: -b, Z: 1})
	way := r2.Sub(r2.Scale(1/inBack, back), r2.Scale(1/inFront, front))
	y := r3.Vec{X: way.X, Y: way.Y}
	y = r3.Unit(r3.Sub(y, r3.Scale(r3.Dot(y, z), z)))
	middle := r2.Scale(0.5, r2.Add(low, high))
	o := r3.Vec{X: middle.X, Y: middle.Y, Z: a*middle.X + b*middle.Y + c}
	back3 := func(v r3.Vec) r3.Vec {
		return r3.Add(r3.Add(r3.Scale(v.X, p.x), r3.Scale(v.Y, p.y)), r3.Scale(v.Z, p.z))
	}
	return view{r3.Add(p.origin, back3(o)), back3(r3.Cross(y, z)), back3(y), back3(z)}, true
}

func (p *picture) highestAround(k int) float64 {
	top := math.Inf(-1)
	i, j := k/size, k%size
	for r := max(0, i-around); r <= min(size-1, i+around); r++ {
		for c := max(0, j-around); c <= min(size-1, j+around); c++ {
			if n := r*size + c; p.seen[n] && p.tooth(n) > toothly {
				top = max(top, p.height[n])
			}
		}
	}
	return top
}

// levelPlane fits z = a·x + b·y + c by least squares, points far off counting less
// (iterated with Cauchy's weights).
func levelPlane(pts []r3.Vec) (a, b, c float64) {
	const rounds = 15
	for range rounds {
		var m [3][4]float64
		for _, p := range pts {
			r := (p.Z - a*p.X - b*p.Y - c) / planeBend
			w := 1 / (1 + r*r)
			row := [4]float64{p.X, p.Y, 1, p.Z}
			for i := range 3 {
				for j := range 4 {
					m[i][j] += w * row[i] * row[j]
				}
			}
		}
		a, b, c = solve3(m, a, b, c)
	}
	return a, b, c
}

// solve3 solves three equations by Cramer's rule; where they have no one solution it
// returns what it was given.
func solve3(m [3][4]float64, a, b, c float64) (x, y, z float64) {
	det := func(i, j, k int) float64 {
		return m[0][i]*(m[1][j]*m[2][k]-m[2][j]*m[1][k]) - m[1][i]*(m[0][j]*m[2][k]-m[2][j]*m[0][k]) + m[2][i]*(m[0][j]*m[1][k]-m[1][j]*m[0][k])
	}
	d := det(0, 1, 2)
	if math.Abs(d) < 1e-9 {
		return a, b, c
	}
	return det(3, 1, 2) / d, det(0, 3, 2) / d, det(0, 1, 3) / d
}
