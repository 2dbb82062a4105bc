package picture

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"

	"github.com/cusptrace/cusptrace/internal/raster"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/gonum/spatial/r3"
)

// canvas is a picture that is written on, in the units of its layout.
type canvas struct {
	img  *image.RGBA
	face font.Face
	zoom float64 // pixels a unit
}

func newCanvas(img *image.RGBA, f *opentype.Font, zoom float64) (*canvas, error) {
	face, err := opentype.NewFace(f, &opentype.FaceOptions{Size: 20 * zoom, DPI: 72, Hinting: font.HintingFull})
	return &canvas{img, face, zoom}, err
}

// wide and high are the size of the picture.
func (c *canvas) wide() float64 { return float64(c.img.Rect.Max.X) / c.zoom }

func (c *canvas) high() float64 { return float64(c.img.Rect.Max.Y) / c.zoom }

// width is that of a text.
func (c *canvas) width(text string) float64 {
	return float64((&font.Drawer{Face: c.face}).MeasureString(text)) / 64 / c.zoom
}

// short is a text that fits a width; what is cut off shows as an ellipsis.
func (c *canvas) short(text string, width float64) string {
	runes := []rune(text)
	for n := len(runes); c.width(text) > width && n > 0; n-- {
		text = string(runes[:n-1]) + "…"
	}
	return text
}

// write puts a text in dark letters with a white rim on the base line y. align
// is the share of its width that lies left of x. It returns where the text ends.
func (c *canvas) write(text string, x, y, align float64) float64 {
	d := font.Drawer{Dst: c.img, Face: c.face}
	x -= align * c.width(text)
	put := func(ink color.Color, dx, dy float64) {
		d.Src = image.NewUniform(ink)
		d.Dot = fixed.P(int(c.zoom*(x+dx)+0.5), int(c.zoom*(y+dy)+0.5))
		d.DrawString(text)
	}
	for dx := -2.0; dx <= 2; dx++ {
		for dy := -2.0; dy <= 2; dy++ {
			put(color.White, dx, dy)
		}
	}
	put(color.RGBA{20, 20, 20, 255}, 0, 0)
	return x + c.width(text)
}

// fill paints a rectangle, each spot as at says.
func (c *canvas) fill(x0, y0, x1, y1 float64, at func(x, y float64) paint.RGB) {
	for py := int(c.zoom * y0); py < int(c.zoom*y1); py++ {
		for px := int(c.zoom * x0); px < int(c.zoom*x1); px++ {
			b := at((float64(px)+0.5)/c.zoom, (float64(py)+0.5)/c.zoom).Bytes()
			c.img.SetRGBA(px, py, color.RGBA{b[0], b[1], b[2], 255})
		}
	}
}

func plain(ink paint.RGB) func(x, y float64) paint.RGB {
	return func(float64, float64) paint.RGB { return ink }
}

// legend explains the marks along the lower edge, and the colours where there are any.
func (c *canvas) legend(r words.Reader, mapped bool, foils []findings.Foil) {
	pal, white := paint.New(), paint.RGB{1, 1, 1}
	base := c.high() - 24
	c.fill(0, base-26, layoutWidth, c.high(), plain(white))
	x := 24.0
	if mapped {
		const x0, x1 = 24, 264
		c.fill(x0, base-12, x1, base+4, func(x, _ float64) paint.RGB { return pal.Ramp((x - x0) / (x1 - x0)) })
		x = c.write(r.Say("picture.range", language.With{"um": 1000 * paint.MapRange}), x1+10, base, 0) + 24
		c.fill(x, base-12, x+24, base+4, func(x, y float64) paint.RGB {
			if math.Mod(x+y, 8) < 3 {
				return white
			}
			return pal.Overlap
		})
		x = c.write(r.Say("picture.overlap"), x+32, base, 0) + 24
	}
	for i, foil := range foils {
		o := display.Outline{Middle: r3.Vec{X: x + 10, Y: base - 4}, Normal: r3.Vec{Z: 1}, Along: r3.Vec{X: 1}}
		for k := range o.Reach {
			o.Reach[k] = 10
		}
		m := []mark{newMark(o, i == 0)}
		c.fill(x, base-16, x+22, base+8, func(px, py float64) paint.RGB {
			if ink, ok := painted(m, r3.Vec{X: px, Y: py}, pal); ok {
				return ink
			}
			return white
		})
		x = c.write(r.Write(words.Within(foil)), x+28, base, 0) + 20
		if i == 1 {
			break // thicker foils are rings too
		}
	}
}

// bar draws a length of 10 mm above the right end of the legend; long is how long that is.
func (c *canvas) bar(r words.Reader, long float64) {
	const right, thick = layoutWidth - 24, 4
	y := c.high() - 66
	c.fill(right-long-2, y-6, right+2, y+8, plain(paint.RGB{1, 1, 1}))
	ink := plain(paint.RGB{0.08, 0.08, 0.08})
	c.fill(right-long, y, right, y+thick, ink)
	for _, x := range []float64{right - long, right - thick/2} {
		c.fill(x, y-4, x+thick/2, y+thick+2, ink)
	}
	c.write(r.Say("picture.bar"), right-long/2, y-10, 0.5)
}

// sides writes which side of the picture is which of the patient's, where it shows both.
func (c *canvas) sides(r words.Reader, v *raster.View) {
	left := r3.Cross(v.Up, v.Toward).X // what of the patient's left is to the right of the picture
	if math.Abs(left) < 0.5 {
		return
	}
	names := [2]string{r.Say("plan.right"), r.Say("plan.left")}
	if left < 0 {
		names[0], names[1] = names[1], names[0]
	}
	y := c.high()/2 + 7
	c.write(names[0], 24, y, 0)
	c.write(names[1], layoutWidth-24, y, 1)
}

// shrunk is a picture a part as wide and as high, each pixel the mean of those it stands for.
func shrunk(img *image.RGBA, part int) *image.RGBA {
	out := image.NewRGBA(image.Rect(0, 0, img.Rect.Dx()/part, img.Rect.Dy()/part))
	n := part * part
	for y := range out.Rect.Max.Y {
		for x := range out.Rect.Max.X {
			var sum [3]int
			for k := range n {
				at := img.PixOffset(part*x+k%part, part*y+k/part)
				for j := range sum {
					sum[j] += int(img.Pix[at+j])
				}
			}
			out.SetRGBA(x, y, color.RGBA{uint8((sum[0] + n/2) / n), uint8((sum[1] + n/2) / n), uint8((sum[2] + n/2) / n), 255})
		}
	}
	return out
}

// smaller is how many times narrower a picture in a page is.
const smaller = 3

// Small is a still picture a third as wide, for a page.
func Small(still []byte) ([]byte, error) {
	img, err := png.Decode(bytes.NewReader(still))
	if err != nil {
		return nil, err
	}
	full, ok := img.(*image.RGBA)
	if !ok {
		full = image.NewRGBA(img.Bounds())
		for y := range full.Rect.Max.Y {
			for x := range full.Rect.Max.X {
				full.Set(x, y, img.At(x, y))
			}
		}
	}
	return encode(shrunk(full, smaller), 0)
}

// encode writes a PNG file. It says how many pixels there are in a millimetre, unless that
// is 0: in the chunk pHYs, which package png does not write (PNG 3rd edition, 11.3.4.3).
func encode(img image.Image, perMM float64) ([]byte, error) {
	var buf bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&buf, img); err != nil || perMM == 0 {
		return buf.Bytes(), err
	}
	const header = 8 + 25 // the signature and the chunk IHDR
	chunk := []byte("pHYs")
	for range 2 {
		chunk = binary.BigEndian.AppendUint32(chunk, uint32(1000*perMM+0.5))
	}
	chunk = append(chunk, 1) // a metre
	out := append([]byte(nil), buf.Bytes()[:header]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(chunk)-4))
	out = append(out, chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	return append(out, buf.Bytes()[header:]...), nil
}
