// Package raster draws shaded surfaces without a display: triangles in parallel
// projection into a depth buffer, with several samples a pixel. It knows nothing
// of what it draws.
package raster

import (
	"image"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// View is a parallel projection.
type View struct {
	// Toward is the unit vector from the scene to the eye, Up the one that is
	// upwards in the picture; they are perpendicular.
	Toward, Up r3.Vec
	// Centre is the point shown in the middle.
	Centre r3.Vec
	// Scale is pixels a unit of length.
	Scale float64
}

// right is the direction to the right in the picture.
func (v *View) right() r3.Vec { return r3.Cross(v.Up, v.Toward) }

// Surface is triangles with a normal at each vertex. Counter-clockwise is
// outside.
type Surface struct {
	Vertices, Normals []r3.Vec
	Triangles         [][3]int32
	// Shade is the colour of a spot, each channel from 0 to 1 (sRGB): of triangle
	// t with weights w of its corners, at point p with the unit normal n turned
	// to the eye. back says that the inside is seen, by the triangle as well as by
	// the normals of its corners. Only what is seen in the end is shaded.
	Shade func(t int, w [3]float64, p, n r3.Vec, back bool) [3]float64
}

// usual is the number of samples along each side of a pixel of [New].
const usual = 2

// Picture collects surfaces seen from one view.
type Picture struct {
	view          View
	width, height int
	side          int // samples along each side of a pixel
	surfaces      []*drawn
	samples       []sample
}

// sample is what is nearest at one of the samples of a pixel.
type sample struct {
	depth    float32 // towards the eye
	surface  int32   // number from 1, 0 for the background
	triangle int32
}

// drawn is a surface with where its vertices are in samples; z is towards the
// eye.
type drawn struct {
	*Surface
	spots []r3.Vec
}

// New is an empty picture of the given size in pixels, each of four samples.
func New(v View, width, height int) *Picture { return newPicture(v, width, height, usual) }

// NewFine is an empty picture whose pixels are so small that one sample does for each.
func NewFine(v View, width, height int) *Picture { return newPicture(v, width, height, 1) }

func newPicture(v View, width, height, side int) *Picture {
	return &Picture{view: v, width: width, height: height, side: side, samples: make([]sample, width*height*side*side)}
}

// Project is the pixel of a point, from the top left corner, and its distance
// from the centre towards the eye.
func (p *Picture) Project(q r3.Vec) (x, y, toward float64) {
	v := &p.view
	d := r3.Sub(q, v.Centre)
	return float64(p.width)/2 + v.Scale*r3.Dot(d, v.right()), float64(p.height)/2 - v.Scale*r3.Dot(d, v.Up), r3.Dot(d, v.Toward)
}

// Draw adds a surface. Where two lie equally near, the first drawn stays.
func (p *Picture) Draw(s *Surface) {
	d := &drawn{Surface: s, spots: make([]r3.Vec, len(s.Vertices))}
	for i, q := range s.Vertices {
		x, y, z := p.Project(q)
		d.spots[i] = r3.Vec{X: x*float64(p.side) - 0.5, Y: y*float64(p.side) - 0.5, Z: z} // whole numbers are sample centres
	}
	p.surfaces = append(p.surfaces, d)
	number := int32(len(p.surfaces))
	w, h := p.width*p.side, p.height*p.side
	for t, c := range s.Triangles {
		f := d.flat(c)
		x0, x1 := span(f.a.X, f.b.X, f.c.X, w)
		y0, y1 := span(f.a.Y, f.b.Y, f.c.Y, h)
		if f.area == 0 || x1 < x0 || y1 < y0 {
			continue
		}
		along, across := (f.b.Y-f.c.Y)/f.area, (f.c.Y-f.a.Y)/f.area // of the weights from one sample to the next
		for y := y0; y <= y1; y++ {
			row := p.samples[y*w : (y+1)*w]
			u0, v0, _ := f.weights(float64(x0), float64(y))
			for x := x0; x <= x1; x++ {
				u, v := u0+along*float64(x-x0), v0+across*float64(x-x0)
				o := 1 - u - v
				if u < inside || v < inside || o < inside {
					continue
				}
				z := u*f.a.Z + v*f.b.Z + o*f.c.Z
				if k := &row[x]; k.surface == 0 || float32(z) > k.depth {
					*k = sample{float32(z), number, int32(t)}
				}
			}
		}
	}
}

// inside is the least weight in a triangle: a little below 0, so that rounding leaves no
// gap where two meet.
const inside = -1e-9

// flat is a triangle in the picture, with twice its area: negative where the
// outside is seen, since y runs downwards.
type flat struct {
	a, b, c r3.Vec
	area    float64
}

func (d *drawn) flat(t [3]int32) flat {
	f := flat{a: d.spots[t[0]], b: d.spots[t[1]], c: d.spots[t[2]]}
	f.area = (f.b.X-f.a.X)*(f.c.Y-f.a.Y) - (f.b.Y-f.a.Y)*(f.c.X-f.a.X)
	return f
}

// weights of the corners at a sample, all at least [inside] in the triangle.
func (f *flat) weights(x, y float64) (u, v, w float64) {
	u = ((f.c.X-f.b.X)*(y-f.b.Y) - (f.c.Y-f.b.Y)*(x-f.b.X)) / f.area
	v = ((f.a.X-f.c.X)*(y-f.c.Y) - (f.a.Y-f.c.Y)*(x-f.c.X)) / f.area
	return u, v, 1 - u - v
}

// shader shades samples one after the other; those of one triangle follow each other.
type shader struct {
	*Picture
	surface, triangle int32 // of the last sample
	flat              flat
}

// shade is the colour of a sample that something covers.
func (p *shader) shade(k sample, x, y int) [3]float64 {
	d := p.surfaces[k.surface-1]
	c := d.Triangles[k.triangle]
	if k.surface != p.surface || k.triangle != p.triangle {
		p.surface, p.triangle, p.flat = k.surface, k.triangle, d.flat(c)
	}
	u, v, o := p.flat.weights(float64(x), float64(y))
	w := [3]float64{u, v, o}
	n, away := mix(d.Normals, c, w), false
	switch l := math.Sqrt(r3.Norm2(n)); { // normals are nowhere near over- or underflow
	case l == 0:
		n, away = p.view.Toward, true
	case r3.Dot(n, p.view.Toward) < 0:
		n, away = r3.Scale(-1/l, n), true
	default:
		n = r3.Scale(1/l, n)
	}
	return d.Shade(int(k.triangle), w, mix(d.Vertices, c, w), n, away && p.flat.area > 0)
}

func span(a, b, c float64, n int) (first, last int) {
	return int(math.Ceil(max(0, min(a, b, c)))), int(math.Floor(min(float64(n-1), max(a, b, c))))
}

func mix(v []r3.Vec, c [3]int32, w [3]float64) r3.Vec {
	return r3.Add(r3.Scale(w[0], v[c[0]]), r3.Add(r3.Scale(w[1], v[c[1]]), r3.Scale(w[2], v[c[2]])))
}

// Image is the picture on a background, sRGB from 0 to 1.
func (p *Picture) Image(background [3]float64) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, p.width, p.height))
	w, n, s := p.width*p.side, float64(p.side*p.side), shader{Picture: p}
	empty := [4]uint8{level(background[0]), level(background[1]), level(background[2]), 255}
	for y := range p.height {
		for x := range p.width {
			var sum [3]float64
			covered := false
			for j := range p.side {
				for i := range p.side {
					sx, sy := x*p.side+i, y*p.side+j
					c := background
					if k := p.samples[sy*w+sx]; k.surface > 0 {
						c, covered = s.shade(k, sx, sy), true
					}
					for m := range sum {
						sum[m] += c[m]
					}
				}
			}
			px := img.Pix[y*img.Stride+4*x:][:4]
			if !covered {
				copy(px, empty[:])
				continue
			}
			px[0], px[1], px[2], px[3] = level(sum[0]/n), level(sum[1]/n), level(sum[2]/n), 255
		}
	}
	return img
}

// level is a channel as a byte.
func level(c float64) uint8 { return uint8(255*min(1, max(0, c)) + 0.5) }
