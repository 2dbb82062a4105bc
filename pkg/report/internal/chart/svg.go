package chart

import (
	"encoding/base64"
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// Lengths of a drawing, in points of 1/72 inch.
const (
	centimetre  = 72 / 2.54
	chartWidth  = 17 * centimetre
	openingHigh = 5 * centimetre
	rowHigh     = 0.36 * centimetre
	topHigh     = 4.0  // above the data
	bottomHigh  = 34.0 // below it, for ticks, numbers and title
	rightWide   = 7.0  // half of the last number
	plotLeft    = 46.0 // room left of the data, alike in all charts, so that they share their travel axis
	edgeHigh    = 12.0 // above the data, for what marks the edge-to-edge position
	letterWide  = 5.0  // of a digit of 9 points, for what stands left of the data
)

// Colours of a drawing.
const (
	ink   = "#1d2b36"
	faint = "#d5dbdf"
	stem  = "#9aa5ad"
	// spread is that of a band over samples: neutral, below the lines.
	spread = "#e9edf0"
)

// axis is the range of values along a side of the data area.
type axis struct{ lo, hi float64 }

// point is a pair of values.
type point struct{ x, y float64 }

// tick is a marked value.
type tick struct {
	at    float64
	label string
}

// wholes marks whole numbers.
func wholes(a axis) (out []tick) {
	for v := math.Ceil(a.lo); v <= a.hi; v++ {
		out = append(out, tick{v, strconv.FormatFloat(v, 'f', -1, 64)})
	}
	return out
}

// even marks multiples of the smallest 1, 2 or 5 times a power of ten that fits
// at most six times into the axis; none on an axis without length.
func even(a axis) (out []tick) {
	length := a.hi - a.lo
	if !(length > 0) || math.IsInf(length, 0) {
		return nil
	}
	step, decimals := length, 0
search:
	for power := -9; power < 9; power++ {
		for _, m := range [...]string{"1", "2", "5"} {
			step, _ = strconv.ParseFloat(m+"e"+strconv.Itoa(power), 64)
			if length <= 6*step {
				decimals = max(0, -power)
				break search
			}
		}
	}
	for k := math.Ceil(a.lo / step); k*step <= a.hi; k++ {
		out = append(out, tick{k * step, strconv.FormatFloat(k*step+0, 'f', decimals, 64)})
	}
	return out
}

// area is a drawing with a data area whose axes are straight. Its methods add to
// the drawing.
type area struct {
	svg                      strings.Builder
	height                   float64
	left, right, top, bottom float64 // the data area, from the upper left corner
	x, y                     axis
}

// newArea is an empty drawing of a height, with room left of the data.
func newArea(height, room float64, x, y axis) *area {
	return &area{height: height, left: room, right: chartWidth - rightWide, top: topHigh, bottom: height - bottomHigh, x: x, y: y}
}

func (a *area) across(v float64) float64 {
	return a.left + (v-a.x.lo)/(a.x.hi-a.x.lo)*(a.right-a.left)
}

func (a *area) down(v float64) float64 {
	return a.bottom - (v-a.y.lo)/(a.y.hi-a.y.lo)*(a.bottom-a.top)
}

// num writes a length to a hundredth of a point.
func num(v float64) string { return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64) }

// stroke draws through places of the drawing.
func (a *area) stroke(colour string, width float64, xy ...float64) {
	fmt.Fprintf(&a.svg, `<polyline fill="none" stroke="%s" stroke-width="%s" points="`, colour, num(width))
	for i := 0; i+1 < len(xy); i += 2 {
		if i > 0 {
			a.svg.WriteByte(' ')
		}
		a.svg.WriteString(num(xy[i]) + "," + num(xy[i+1]))
	}
	a.svg.WriteString("\"/>\n")
}

// band fills what lies between a lower and an upper line.
func (a *area) band(colour string, low, high []point) {
	fmt.Fprintf(&a.svg, `<polygon fill="%s" points="`, colour)
	for _, p := range low {
		a.svg.WriteString(num(a.across(p.x)) + "," + num(a.down(p.y)) + " ")
	}
	for i := len(high) - 1; i >= 0; i-- {
		a.svg.WriteString(num(a.across(high[i].x)) + "," + num(a.down(high[i].y)) + " ")
	}
	a.svg.WriteString("\"/>\n")
}

// text writes at a place of the drawing; anchor is start, middle or end.
func (a *area) text(x, y float64, anchor, size, s string) {
	fmt.Fprintf(&a.svg, `<text x="%s" y="%s" text-anchor="%s" font-size="%s">%s</text>`+"\n", num(x), num(y), anchor,
		size, html.EscapeString(s))
}

// line draws through values.
func (a *area) line(colour string, width float64, through ...point) {
	xy := make([]float64, 0, 2*len(through))
	for _, p := range through {
		xy = append(xy, a.across(p.x), a.down(p.y))
	}
	a.stroke(colour, width, xy...)
}

func (a *area) dot(colour string, radius float64, at point) {
	fmt.Fprintf(&a.svg, `<circle cx="%s" cy="%s" r="%s" fill="%s"/>`+"\n", num(a.across(at.x)), num(a.down(at.y)), num(radius), colour)
}

func (a *area) label(at point, anchor, s string) {
	a.text(a.across(at.x), a.down(at.y), anchor, "8.5", s)
}

// grid draws faint lines across the data area.
func (a *area) grid(across, up []tick) {
	for _, t := range across {
		a.stroke(faint, 0.5, a.across(t.at), a.top, a.across(t.at), a.bottom)
	}
	for _, t := range up {
		a.stroke(faint, 0.5, a.left, a.down(t.at), a.right, a.down(t.at))
	}
}

func (a *area) bottomAxis(title string, ticks []tick) {
	y := a.bottom + 4
	a.stroke(ink, 0.5, a.left, y, a.right, y)
	for _, t := range ticks {
		x := a.across(t.at)
		a.stroke(ink, 0.5, x, y, x, y+4)
		a.text(x, y+14, "middle", "9", t.label)
	}
	a.text((a.left+a.right)/2, y+26, "middle", "10", title)
}

func (a *area) leftAxis(title string, ticks []tick) {
	x := a.left - 4
	a.stroke(ink, 0.5, x, a.top, x, a.bottom)
	for _, t := range ticks {
		y := a.down(t.at)
		a.stroke(ink, 0.5, x-4, y, x, y)
		a.text(x-6, y+3, "end", "9", t.label)
	}
	a.svg.WriteString(`<g transform="rotate(-90)">`)
	a.text(-(a.top+a.bottom)/2, 9, "middle", "10", title)
	a.svg.WriteString("</g>\n")
}

// leftNames writes names left of the data area, which moves to make room for them.
func (a *area) leftNames(names []tick) {
	longest := 0
	for _, t := range names {
		longest = max(longest, len([]rune(t.label)))
	}
	a.left = max(plotLeft, float64(longest)*letterWide+9)
	for _, t := range names {
		a.text(a.left-4, a.down(t.at)+3, "end", "9", t.label)
	}
}

// edge marks the travel at which the guiding teeth stand edge to edge, where that is
// reached.
func (a *area) edge(r words.Reader, x *findings.Excursion) {
	if x.Guidance == nil || x.Guidance.EdgeToEdgeMM == nil {
		return
	}
	at := a.across(*x.Guidance.EdgeToEdgeMM)
	a.stroke("#fff", 3, at, a.top, at, a.bottom)
	fmt.Fprintf(&a.svg, `<line x1="%s" y1="%s" x2="%s" y2="%s" stroke="%s" stroke-width="1.2" stroke-dasharray="4 2"/>`+"\n",
		num(at), num(a.top), num(at), num(a.bottom), ink)
	anchor := "start"
	if at > a.left+0.8*(a.right-a.left) {
		anchor = "end" // inside the frame
	}
	a.text(at, a.top-3, anchor, "8.5", r.Say("chart.edge"))
}

// picture fills the data area with a PNG file; its pixels keep their edges.
func (a *area) picture(png []byte) {
	fmt.Fprintf(&a.svg, `<image x="%s" y="%s" width="%s" height="%s" preserveAspectRatio="none" style="image-rendering:pixelated" href="data:image/png;base64,%s"/>`+"\n",
		num(a.left), num(a.top), num(a.right-a.left), num(a.bottom-a.top), base64.StdEncoding.EncodeToString(png))
}

// chart is the finished drawing, which scales with the page.
func (a *area) chart() Chart {
	w, h := num(chartWidth), num(a.height)
	head := `<svg xmlns="http://www.w3.org/2000/svg" width="` + w + `pt" height="` + h + `pt" viewBox="0 0 ` + w + " " + h + `"` +
		` font-family="Liberation Sans, Arial, sans-serif" fill="` + ink + `">` + "\n" +
		`<rect width="` + w + `" height="` + h + `" fill="#fff"/>` + "\n"
	return Chart{
		SVG:  template.HTML(head + a.svg.String() + "</svg>"), // every text in it is escaped, everything else is ours
		Left: a.left / chartWidth, Right: a.right / chartWidth,
		First: a.x.lo, Last: a.x.hi,
	}
}
