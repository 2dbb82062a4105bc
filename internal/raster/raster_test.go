package raster_test

import (
	"image/color"
	"math"
	"testing"

	"github.com/cusptrace/cusptrace/internal/raster"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

var above = raster.View{Toward: r3.Vec{Z: 1}, Up: r3.Vec{Y: 1}, Scale: 10}

func plain(c [3]float64, corners ...r3.Vec) *raster.Surface {
	s := &raster.Surface{Vertices: corners, Normals: make([]r3.Vec, len(corners))}
	for i := range s.Normals {
		s.Normals[i] = r3.Vec{Z: 1}
	}
	for i := 2; i < len(corners); i++ {
		s.Triangles = append(s.Triangles, [3]int32{0, int32(i - 1), int32(i)})
	}
	s.Shade = func(int, [3]float64, r3.Vec, r3.Vec, bool) [3]float64 { return c }
	return s
}

func square(half, z float64) []r3.Vec {
	return []r3.Vec{{X: -half, Y: -half, Z: z}, {X: half, Y: -half, Z: z}, {X: half, Y: half, Z: z}, {X: -half, Y: half, Z: z}}
}

// A square of 4 × 4 mm at 10 pixels a mm covers exactly 40 × 40 pixels, with no
// gap where its two triangles meet.
func TestSquareCoversItsPixels(t *testing.T) {
	p := raster.New(above, 100, 80)
	p.Draw(plain([3]float64{1, 0, 0}, square(2, 0)...))
	img := p.Image([3]float64{0, 0, 1})
	for y := range 80 {
		for x := range 100 {
			want := color.RGBA{0, 0, 255, 255}
			if x >= 30 && x < 70 && y >= 20 && y < 60 {
				want = color.RGBA{255, 0, 0, 255}
			}
			require.Equal(t, want, img.RGBAAt(x, y), "pixel %d, %d", x, y)
		}
	}
}

func TestNearestIsSeen(t *testing.T) {
	for _, order := range [][2]float64{{1, 2}, {2, 1}} {
		p := raster.New(above, 20, 20)
		for _, z := range order {
			p.Draw(plain([3]float64{z / 2, 0, 0}, square(2, z)...))
		}
		require.EqualValues(t, 255, p.Image([3]float64{}).RGBAAt(10, 10).R)
	}
}

// The point that Shade is told projects back to the pixel, and the side is
// right.
func TestShadeKnowsWhere(t *testing.T) {
	v := raster.View{Toward: r3.Unit(r3.Vec{X: 1, Y: 2, Z: 2}), Centre: r3.Vec{X: 3, Y: 1, Z: 2}, Scale: 8}
	v.Up = r3.Unit(r3.Cross(v.Toward, r3.Vec{X: 1}))
	p := raster.New(v, 60, 60)
	right := r3.Cross(v.Up, v.Toward)
	corner := func(a, b, c float64) r3.Vec {
		return r3.Add(v.Centre, r3.Add(r3.Scale(a, right), r3.Add(r3.Scale(b, v.Up), r3.Scale(c, v.Toward))))
	}
	corners := []r3.Vec{corner(-3, -3, 0), corner(3, -3, 1), corner(0, 3, -1)}
	s := plain([3]float64{}, corners...)
	n := 0
	plane := r3.Cross(r3.Sub(corners[1], corners[0]), r3.Sub(corners[2], corners[0]))
	s.Shade = func(_ int, w [3]float64, q, _ r3.Vec, back bool) [3]float64 {
		n++
		require.False(t, back)
		require.InDelta(t, 1, w[0]+w[1]+w[2], 1e-12)
		require.InDelta(t, 0, r3.Dot(plane, r3.Sub(q, corners[0])), 1e-9)
		x, y, _ := p.Project(q)
		_, fx := math.Modf(2 * x)
		_, fy := math.Modf(2 * y)
		require.InDelta(t, 0.5, fx, 1e-9)
		require.InDelta(t, 0.5, fy, 1e-9)
		return [3]float64{}
	}
	p.Draw(s)
	p.Image([3]float64{})
	require.InDelta(t, 18*64*4, n, 100, "samples: an area of 18 mm², 64 pixels a mm², 4 samples a pixel")
	s.Triangles[0] = [3]int32{0, 2, 1}
	s.Shade = func(_ int, _ [3]float64, _, _ r3.Vec, back bool) [3]float64 {
		n++
		require.True(t, back)
		return [3]float64{}
	}
	for i := range s.Normals {
		s.Normals[i] = r3.Scale(-1, v.Toward)
	}
	n = 0
	p = raster.New(v, 60, 60)
	p.Draw(s)
	p.Image([3]float64{})
	require.Positive(t, n)
}

func TestNothingToDraw(t *testing.T) {
	p := raster.New(above, 2, 1)
	p.Draw(&raster.Surface{})
	p.Draw(plain([3]float64{}, r3.Vec{}, r3.Vec{}, r3.Vec{})) // no area
	p.Draw(plain([3]float64{}, square(1, 0)[0], r3.Vec{X: 1e9}, r3.Vec{X: 1e9, Y: 1}))
	require.Equal(t, color.RGBA{255, 255, 255, 255}, p.Image([3]float64{1, 1, 1}).RGBAAt(0, 0))
}
