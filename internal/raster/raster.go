// Package raster draws shaded surfaces without a display: triangles in parallel
// projection into a depth buffer, with several samples a pixel. It knows nothing
// of what it draws.
package raster

import (
	"image"
	"image/color"
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
	// Near cuts away what lies more than this before Centre, towards the eye;
	// 0 cuts nothing.
	Near float64
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
	// to the eye. back says that the inside is seen.
	Shade func(t int, w [3]float64, p, n r3.Vec, back bool) [3]float64
}

// samples is the number of samples along each side of a pixel.
const samples = 2

// Picture collects surfaces seen from one view.
type Picture struct {
	view          View
	width, height int
	depth         []float64 // of every sample, towards the eye
	colour        [][3]float64
	covered       []bool
}

// New is an empty picture of the given size in pixels.
func New(v View, width, height int) *Picture {
	n := width * height * samples * samples
	p := &Picture{view: v, width: width, height: height, depth: make([]float64, n), colour: make([][3]float64, n), covered: make([]bool, n)}
	for i := range p.depth {
		p.depth[i] = math.Inf(-1)
	}
	return p
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
	type spot struct{ x, y, z float64 }
	spots := make([]spot, len(s.Vertices))
	for i, q := range s.Vertices {
		x, y, z := p.Project(q)
		spots[i] = spot{x*samples - 0.5, y*samples - 0.5, z} // whole numbers are sample centres
	}
	w, h := p.width*samples, p.height*samples
	for t, c := range s.Triangles {
		a, b, d := spots[c[0]], spots[c[1]], spots[c[2]]
		area := (b.x-a.x)*(d.y-a.y) - (b.y-a.y)*(d.x-a.x)
		if area == 0 {
			continue
		}
		x0, x1 := span(a.x, b.x, d.x, w)
		y0, y1 := span(a.y, b.y, d.y, h)
		for y := y0; y <= y1; y++ {
			for x := x0; x <= x1; x++ {
				fx, fy := float64(x), float64(y)
				u := ((d.x-b.x)*(fy-b.y) - (d.y-b.y)*(fx-b.x)) / area
				v := ((a.x-d.x)*(fy-d.y) - (a.y-d.y)*(fx-d.x)) / area
				o := 1 - u - v
				if u < 0 || v < 0 || o < 0 {
					continue
				}
				z := u*a.z + v*b.z + o*d.z
				i := y*w + x
				if z <= p.depth[i] || (p.view.Near != 0 && z > p.view.Near) {
					continue
				}
				p.depth[i], p.covered[i] = z, true
				weights := [3]float64{u, v, o}
				// y runs downwards, so outside is clockwise here.
				p.colour[i] = s.Shade(t, weights, mix(s.Vertices, c, weights), p.normal(s.Normals, c, weights), area > 0)
			}
		}
	}
}

func span(a, b, c float64, n int) (first, last int) {
	return int(math.Ceil(max(0, min(a, b, c)))), int(math.Floor(min(float64(n-1), max(a, b, c))))
}

func mix(v []r3.Vec, c [3]int32, w [3]float64) r3.Vec {
	return r3.Add(r3.Scale(w[0], v[c[0]]), r3.Add(r3.Scale(w[1], v[c[1]]), r3.Scale(w[2], v[c[2]])))
}

func (p *Picture) normal(normals []r3.Vec, c [3]int32, w [3]float64) r3.Vec {
	n := mix(normals, c, w)
	l := r3.Norm(n)
	if l == 0 {
		return p.view.Toward
	}
	if r3.Dot(n, p.view.Toward) < 0 {
		l = -l
	}
	return r3.Scale(1/l, n)
}

// Image is the picture on a background, sRGB from 0 to 1.
func (p *Picture) Image(background [3]float64) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, p.width, p.height))
	w := p.width * samples
	for y := range p.height {
		for x := range p.width {
			var sum [3]float64
			for j := range samples {
				for i := range samples {
					k := (y*samples+j)*w + x*samples + i
					c := background
					if p.covered[k] {
						c = p.colour[k]
					}
					for m := range sum {
						sum[m] += c[m]
					}
				}
			}
			img.SetRGBA(x, y, color.RGBA{level(sum[0]), level(sum[1]), level(sum[2]), 255})
		}
	}
	return img
}

// level is a summed channel as a byte.
func level(sum float64) uint8 {
	return uint8(255*min(1, max(0, sum/(samples*samples))) + 0.5)
}
