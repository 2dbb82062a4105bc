package picture

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/internal/raster"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

func empty(t *testing.T, width, height int, zoom float64) *canvas {
	face, err := opentype.Parse(gobold.TTF)
	require.NoError(t, err)
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	c, err := newCanvas(img, face, zoom)
	require.NoError(t, err)
	return c
}

// dark says whether anything dark is in a rectangle of the layout.
func dark(c *canvas, x0, y0, x1, y1 float64) bool {
	for y := int(c.zoom * y0); y < int(c.zoom*y1); y++ {
		for x := int(c.zoom * x0); x < int(c.zoom*x1); x++ {
			if c.img.RGBAAt(x, y).G < 60 {
				return true
			}
		}
	}
	return false
}

// The chunk that says the resolution stands behind the header, whole, and the picture
// reads back.
func TestPicturesSayTheirResolution(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 6, 3))
	img.SetRGBA(4, 1, color.RGBA{1, 2, 3, 255})
	file, err := encode(img, 14.118)
	require.NoError(t, err)
	chunk := file[33 : 33+21]
	require.Equal(t, uint32(9), binary.BigEndian.Uint32(chunk))
	require.Equal(t, "pHYs", string(chunk[4:8]))
	require.Equal(t, uint32(14118), binary.BigEndian.Uint32(chunk[8:]))
	require.Equal(t, uint32(14118), binary.BigEndian.Uint32(chunk[12:]))
	require.Equal(t, byte(1), chunk[16])
	require.Equal(t, crc32.ChecksumIEEE(chunk[4:17]), binary.BigEndian.Uint32(chunk[17:]))
	back, err := png.Decode(bytes.NewReader(file))
	require.NoError(t, err)
	require.Equal(t, color.RGBA{1, 2, 3, 255}, color.RGBAModel.Convert(back.At(4, 1)))
	small, err := Small(file)
	require.NoError(t, err)
	back, err = png.Decode(bytes.NewReader(small))
	require.NoError(t, err)
	require.Equal(t, image.Rect(0, 0, 2, 1), back.Bounds())
}

// The bar is as long as it says, from end to end.
func TestBarIsTenMillimetres(t *testing.T) {
	c := empty(t, 2400, 720, 2.4)
	c.bar(words.Reader{Language: language.English()}, 155)
	y := int(2.4 * (c.high() - 64))
	first, last := -1, -1
	for x := range 2400 {
		if c.img.RGBAAt(x, y).G < 60 {
			if first < 0 {
				first = x
			}
			last = x
		}
	}
	require.InDelta(t, 155*2.4, last-first+1, 1.5)
}

// The patient's right is on the left where one looks at the front, and on neither side
// where one looks from the right.
func TestSidesAreThePatients(t *testing.T) {
	r := words.Reader{Language: language.English()}
	for _, s := range []struct {
		toward, up  r3.Vec
		left, right bool
	}{
		{r3.Vec{Y: -1}, r3.Vec{Z: 1}, true, true},
		{r3.Vec{Z: -1}, r3.Vec{Y: -1}, true, true},
		{r3.Vec{X: -1}, r3.Vec{Z: 1}, false, false},
	} {
		c := empty(t, 1000, 300, 1)
		c.sides(r, &raster.View{Toward: s.toward, Up: s.up})
		require.Equal(t, s.left, dark(c, 0, 100, 100, 200))
		require.Equal(t, s.right, dark(c, 900, 100, 1000, 200))
	}
	c := empty(t, 1000, 300, 1)
	c.sides(r, &raster.View{Toward: r3.Vec{Y: -1}, Up: r3.Vec{Z: 1}})
	front := c.img
	c = empty(t, 1000, 300, 1)
	c.sides(r, &raster.View{Toward: r3.Vec{Y: 1}, Up: r3.Vec{Z: 1}})
	require.NotEqual(t, front.Pix, c.img.Pix, "from behind the sides change")
}

func TestNamesAreCutToFit(t *testing.T) {
	c := empty(t, 1000, 300, 1)
	require.Equal(t, "Demo", c.short("Demo", 400))
	long := c.short("A name that is much too long to stand beside the title of a picture", 200)
	require.LessOrEqual(t, c.width(long), 200.0)
	require.Regexp(t, `^A name .*…$`, long)
	require.Equal(t, "…", c.short("wide", 1))
}
