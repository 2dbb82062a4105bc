package report

import (
	"fmt"
	"math"
)

// rgb is an sRGB colour, each channel from 0 to 1.
type rgb [3]float64

// colour reads #rrggbb; it is for the constants of this package.
func colour(s string) (c rgb) {
	var r, g, b uint8
	fmt.Sscanf(s, "#%02x%02x%02x", &r, &g, &b)
	return rgb{float64(r) / 255, float64(g) / 255, float64(b) / 255}
}

func (c rgb) mix(d rgb, t float64) rgb {
	for i := range c {
		c[i] += t * (d[i] - c[i])
	}
	return c
}

func (c rgb) scale(f float64) rgb { return rgb{c[0] * f, c[1] * f, c[2] * f} }

func (c rgb) bytes() (out [3]uint8) {
	for i, v := range c {
		out[i] = uint8(255*min(1, max(0, v)) + 0.5)
	}
	return out
}

func (c rgb) String() string {
	b := c.bytes()
	return fmt.Sprintf("#%02x%02x%02x", b[0], b[1], b[2])
}

// mapStops are every seventeenth of the 256 colours of the map viridis by Stéfan
// van der Walt and Nathaniel Smith (2015; CC0), which is perceptually even and
// can be read by colour-blind people and in grey. Between them we mix evenly.
var mapStops = [...]string{"#440154", "#481a6c", "#472f7d", "#414487", "#39568c", "#31688e", "#2a788e", "#23888e",
	"#1f988b", "#22a884", "#35b779", "#54c568", "#7ad151", "#a5db36", "#d2e21b", "#fde725"}

// The other colours, our own. Overlap is vermilion of the set of Okabe & Ito
// (2008, "Color universal design"), told apart from the map by stripes too.
const (
	toothColour   = "#ece5d6"
	gumColour     = "#d8c4bb"
	insideColour  = "#8f8a86"
	overlapColour = "#d55e00"
	markColour    = "#161616"
)

// paints are the colours of pictures.
type paints struct {
	stops                           [len(mapStops)]rgb
	tooth, gum, inside, overlap, mk rgb
}

func newPaints() *paints {
	p := &paints{tooth: colour(toothColour), gum: colour(gumColour), inside: colour(insideColour), overlap: colour(overlapColour), mk: colour(markColour)}
	for i, s := range mapStops {
		p.stops[i] = colour(s)
	}
	return p
}

// mapRange is the clearance, in mm, at the far end of the colour map in still
// pictures and files.
const mapRange = 1.0

// overlapShown is the depth, in mm, from which an overlap is coloured as one.
const overlapShown = 0.0005

// ramp is the colour of the map at t from 0 to 1.
func (p *paints) ramp(t float64) rgb {
	x := min(1, max(0, t)) * float64(len(p.stops)-1)
	i := min(int(x), len(p.stops)-2)
	return p.stops[i].mix(p.stops[i+1], x-float64(i))
}

// clearance is the colour of a spot with a clearance (mm) on a surface of
// colour base, which shows where the clearance is beyond the map.
func (p *paints) clearance(mm, limit float64, base rgb) rgb {
	switch {
	case math.IsInf(mm, 1) || mm > limit:
		return base
	case mm < -overlapShown:
		return p.overlap
	}
	return p.ramp(mm / limit)
}
