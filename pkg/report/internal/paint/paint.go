// Package paint holds the colours of pictures.
package paint

import (
	"fmt"
	"math"
)

// RGB is an sRGB colour, each channel from 0 to 1.
type RGB [3]float64

// Hex reads #rrggbb; it is for the constants of this package.
func Hex(s string) (c RGB) {
	var r, g, b uint8
	fmt.Sscanf(s, "#%02x%02x%02x", &r, &g, &b)
	return RGB{float64(r) / 255, float64(g) / 255, float64(b) / 255}
}

func (c RGB) mix(d RGB, t float64) RGB {
	for i := range c {
		c[i] += t * (d[i] - c[i])
	}
	return c
}

// Scale is the colour with every part times f.
func (c RGB) Scale(f float64) RGB { return RGB{c[0] * f, c[1] * f, c[2] * f} }

// Bytes is the colour in parts of 255.
func (c RGB) Bytes() (out [3]uint8) {
	for i, v := range c {
		out[i] = uint8(255*min(1, max(0, v)) + 0.5)
	}
	return out
}

// String writes the colour as CSS does, #rrggbb.
func (c RGB) String() string {
	b := c.Bytes()
	return fmt.Sprintf("#%02x%02x%02x", b[0], b[1], b[2])
}

// MapStops are every seventeenth of the 256 colours of the map viridis by Stéfan
// van der Walt and Nathaniel Smith (2015; CC0), which is perceptually even and
// can be read by colour-blind people and in grey. Between them we mix evenly.
var MapStops = [...]string{"#440154", "#481a6c", "#472f7d", "#414487", "#39568c", "#31688e", "#2a788e", "#23888e",
	"#1f988b", "#22a884", "#35b779", "#54c568", "#7ad151", "#a5db36", "#d2e21b", "#fde725"}

// The other colours, our own. Overlap is vermilion of the set of Okabe & Ito
// (2008, "Color universal design"), distinguished from the map by stripes too.
const (
	ToothColour   = "#ece5d6"
	GumColour     = "#d8c4bb"
	insideColour  = "#8f8a86"
	OverlapColour = "#d55e00"
	MarkColour    = "#161616"
)

// Paints are the colours of pictures.
type Paints struct {
	stops                             [len(MapStops)]RGB
	Tooth, Gum, Inside, Overlap, Mark RGB
}

// New returns the colours.
func New() *Paints {
	p := &Paints{Tooth: Hex(ToothColour), Gum: Hex(GumColour), Inside: Hex(insideColour), Overlap: Hex(OverlapColour), Mark: Hex(MarkColour)}
	for i, s := range MapStops {
		p.stops[i] = Hex(s)
	}
	return p
}

// MapRange is the clearance, in mm, at the far end of the colour map in still
// pictures and files.
const MapRange = 1.0

// OverlapShown is the depth, in mm, from which an overlap is coloured as one.
const OverlapShown = 0.0005

// Ramp is the colour of the map at t from 0 to 1.
func (p *Paints) Ramp(t float64) RGB {
	x := min(1, max(0, t)) * float64(len(p.stops)-1)
	i := min(int(x), len(p.stops)-2)
	return p.stops[i].mix(p.stops[i+1], x-float64(i))
}

// Clearance is the colour of a spot with a clearance (mm) on a surface of
// Hex base, which shows where the clearance is beyond the map.
func (p *Paints) Clearance(mm, limit float64, base RGB) RGB {
	switch {
	case math.IsInf(mm, 1) || mm > limit:
		return base
	case mm < -OverlapShown:
		return p.Overlap
	}
	return p.Ramp(mm / limit)
}
