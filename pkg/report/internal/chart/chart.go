// Package chart draws what happens over the travel of a movement.
package chart

import (
	"bytes"
	"fmt"
	"html/template"
	"image/color"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/occlusion"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/palette"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Chart is a drawing with where its data area lies, in shares of its width, so
// that the page can lay a cursor over it.
type Chart struct {
	SVG         template.HTML
	Left, Right float64
	First, Last float64 // travel at both ends, mm
}

const (
	chartWidth  = 17 * vg.Centimeter
	openingHigh = 6.5 * vg.Centimeter
	rowHigh     = 0.36 * vg.Centimeter
)

var (
	ink   = color.RGBA{0x1d, 0x2b, 0x36, 255}
	faint = color.RGBA{0xd5, 0xdb, 0xdf, 255}
)

func newPlot(x, y string) *plot.Plot {
	p := plot.New()
	p.X.Label.Text, p.Y.Label.Text = x, y
	for _, a := range [2]*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Font = sans(10)
		a.Tick.Label.Font = sans(9)
		a.Color, a.Tick.Color, a.Label.TextStyle.Color, a.Tick.Label.Color = ink, ink, ink, ink
	}
	return p
}

func sans(size vg.Length) font.Font {
	return font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
}

// everyMM marks whole millimetres.
func everyMM(lo, hi float64) []plot.Tick {
	var out []plot.Tick
	for v := math.Ceil(lo); v <= hi; v++ {
		out = append(out, plot.Tick{Value: v, Label: fmt.Sprint(v)})
	}
	return out
}

// render draws a plot as SVG that scales with the page.
func render(p *plot.Plot, width, height vg.Length, first, last float64) (Chart, error) {
	c := vgsvg.New(width, height)
	area := draw.New(c)
	p.Draw(area)
	data := p.DataCanvas(area)
	var buf bytes.Buffer
	if _, err := c.WriteTo(&buf); err != nil {
		return Chart{}, err
	}
	s := buf.String()
	s = s[strings.Index(s, "<svg"):] // after the XML prologue, which has no place in a page
	// The cells of a map are an image of one pixel each, which must fill its frame.
	s = strings.ReplaceAll(s, "<image ", `<image preserveAspectRatio="none" style="image-rendering:pixelated" `)
	x0, x1 := float64(data.X(p.X.Norm(first))/width), float64(data.X(p.X.Norm(last))/width)
	return Chart{SVG: template.HTML(s), Left: x0, Right: x1, First: first, Last: last}, nil
}

// Opening draws the opening over the travel, with who carries.
func Opening(n dentition.Notation, x *occlusion.Excursion) (Chart, error) {
	p := newPlot("travel (mm)", "opening (°)")
	p.X.Tick.Marker = plot.TickerFunc(everyMM)
	grid := plotter.NewGrid()
	grid.Vertical.Color, grid.Horizontal.Color = faint, faint
	p.Add(grid)
	xy := make(plotter.XYs, len(x.Frames))
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, f := range x.Frames {
		xy[i] = plotter.XY{X: f.TravelMM, Y: f.OpeningDeg}
		lo, hi = min(lo, f.OpeningDeg), max(hi, f.OpeningDeg)
	}
	line, err := plotter.NewLine(xy)
	if err != nil {
		return Chart{}, err
	}
	line.Color, line.Width = ink, vg.Points(1.6)
	p.Add(line)
	// A point with the pair of teeth where another pair takes over. The labels go
	// up and down in three rows above the curve, so that neighbours do not meet.
	room := max(hi-lo, 0.05)
	var names plotter.XYLabels
	var spots plotter.XYs
	for _, s := range stretches(n, x) {
		f := &x.Frames[s.from]
		spots = append(spots, xy[s.from])
		names.XYs = append(names.XYs, plotter.XY{X: f.TravelMM, Y: hi + room*(0.34-0.11*float64(len(spots)%3))})
		names.Labels = append(names.Labels, s.pair)
	}
	if len(spots) > 0 {
		points, err := plotter.NewScatter(spots)
		if err != nil {
			return Chart{}, err
		}
		points.GlyphStyle = draw.GlyphStyle{Color: ink, Radius: vg.Points(3), Shape: draw.CircleGlyph{}}
		labels, err := plotter.NewLabels(names)
		if err != nil {
			return Chart{}, err
		}
		for i := range labels.TextStyle {
			labels.TextStyle[i].Font, labels.TextStyle[i].Color = sans(8.5), ink
			if first, last := span(x); names.XYs[i].X > first+0.9*(last-first) {
				labels.TextStyle[i].XAlign = draw.XRight // inside the frame
			}
		}
		for i := range spots {
			stem, err := plotter.NewLine(plotter.XYs{spots[i], names.XYs[i]})
			if err != nil {
				return Chart{}, err
			}
			stem.Color, stem.Width = color.RGBA{0x9a, 0xa5, 0xad, 255}, vg.Points(0.6)
			p.Add(stem)
		}
		p.Add(points, labels)
	}
	first, last := span(x)
	p.X.Min, p.X.Max = first, last
	p.Y.Min, p.Y.Max = lo-0.06*room, hi+0.42*room
	return render(p, chartWidth, openingHigh, first, last)
}

func span(x *occlusion.Excursion) (first, last float64) {
	first, last = x.Frames[0].TravelMM, x.Frames[len(x.Frames)-1].TravelMM
	if last == first {
		last += 0.1
	}
	return first, last
}

// stretch is a run of frames that one pair of teeth carries.
type stretch struct {
	from, to int // frames, both included
	pair     string
}

// stretches lists who carries a movement, one after the other; none where the
// guidance is not by teeth.
func stretches(n dentition.Notation, x *occlusion.Excursion) []stretch {
	var out []stretch
	for i := range x.Frames {
		c := x.Frames[i].Carrier
		if c == nil {
			return nil
		}
		name := words.Pair(n, c.Upper, c.Lower)
		if last := len(out) - 1; last >= 0 && out[last].pair == name {
			out[last].to = i
			continue
		}
		out = append(out, stretch{i, i, name})
	}
	return out
}

// ClearanceRange is the clearance, in mm, at the far end of the chart's colours:
// what a tooth clears by in the end is seldom more.
const ClearanceRange = 2.0

// grid is the clearance of parts (rows, from below) over the travel.
type grid struct {
	travels []float64
	rows    [][]float64
}

func (g *grid) Dims() (c, r int) { return len(g.travels), len(g.rows) }

func (g *grid) X(c int) float64 { return g.travels[c] }

func (g *grid) Y(r int) float64 { return float64(r) }

func (g *grid) Z(c, r int) float64 { return g.rows[r][c] }

// colours is the colour map as gonum/plot takes it.
type colours []color.Color

func (c colours) Colors() []color.Color { return c }

func newColours() palette.Palette {
	p := paint.New()
	out := make(colours, 128)
	for i := range out {
		b := p.Ramp(float64(i) / float64(len(out)-1)).Bytes()
		out[i] = color.RGBA{b[0], b[1], b[2], 255}
	}
	return out
}

// Clearance draws the clearance of every tooth over the travel as colour,
// with a dot where it touches.
func Clearance(n dentition.Notation, x *occlusion.Excursion) (Chart, error) {
	parts := archOrder(x)
	first, last := span(x)
	if len(parts) == 0 || len(x.Frames) < 2 {
		return Chart{}, nil
	}
	g := &grid{}
	for i := range x.Frames {
		g.travels = append(g.travels, x.Frames[i].TravelMM)
	}
	var touching plotter.XYs
	var ticks []plot.Tick
	for r := range parts {
		name := parts[len(parts)-1-r]
		label := name
		if t, err := dentition.ParseTooth(name); err == nil {
			label = n.Format(t)
		}
		ticks = append(ticks, plot.Tick{Value: float64(r), Label: label})
		row := make([]float64, len(x.Frames))
		for i := range x.Frames {
			d, ok := x.Frames[i].ClearanceMM[name]
			if !ok {
				d = math.NaN()
			}
			if d < touchingMM {
				touching = append(touching, plotter.XY{X: x.Frames[i].TravelMM, Y: float64(r)})
			}
			row[i] = min(d, ClearanceRange*1.0001)
		}
		g.rows = append(g.rows, row)
	}
	p := newPlot("travel (mm)", "")
	p.X.Tick.Marker = plot.TickerFunc(everyMM)
	h := plotter.NewHeatMap(g, newColours())
	h.Min, h.Max, h.Rasterized = 0, ClearanceRange, true
	h.Overflow, h.NaN = color.RGBA{0xf1, 0xee, 0xe6, 255}, color.White
	p.Add(h)
	if len(touching) > 0 {
		dots, err := plotter.NewScatter(touching)
		if err != nil {
			return Chart{}, err
		}
		dots.GlyphStyle = draw.GlyphStyle{Color: color.White, Radius: vg.Points(1.3), Shape: draw.CircleGlyph{}}
		p.Add(dots)
	}
	p.X.Min, p.X.Max = first, last
	p.Y.Min, p.Y.Max = -0.5, float64(len(parts))-0.5
	p.Y.Tick.Marker = plot.ConstantTicks(ticks)
	p.Y.Tick.Length, p.Y.Width = 0, 0
	return render(p, chartWidth, vg.Length(len(parts))*rowHigh+1.3*vg.Centimeter, first, last)
}

// touchingMM is the clearance, in mm, below which a tooth is said to touch: half
// a micrometre, below what is written.
const touchingMM = 0.0005

// archOrder lists the parts that have a clearance: upper teeth from the right to
// the left, then lower ones.
func archOrder(x *occlusion.Excursion) []string {
	seen := map[string]bool{}
	for i := range x.Frames {
		for name := range x.Frames[i].ClearanceMM {
			seen[name] = true
		}
	}
	names := words.SortedKeys(seen)
	slices.SortStableFunc(names, func(a, b string) int { return Place(a) - Place(b) })
	return names
}

// Place orders parts along the arches as one looks at the patient.
func Place(name string) int {
	t, err := dentition.ParseTooth(name)
	if err != nil {
		if name == dentition.Upper.String() {
			return -1
		}
		return 1000
	}
	n := 2 * t.Position()
	if t.Deciduous() {
		n--
	}
	if t.Side() == dentition.Right {
		n = -n
	}
	if t.Jaw() == dentition.Lower {
		n += 500
	}
	return n
}

// OpeningWords describes the chart for those who do not see it.
func OpeningWords(n dentition.Notation, x *occlusion.Excursion) string {
	f, l := &x.Frames[0], &x.Frames[len(x.Frames)-1]
	s := fmt.Sprintf("Opening over the travel: %.2f° at %.4g mm, %.2f° at %.4g mm.", f.OpeningDeg, f.TravelMM, l.OpeningDeg, l.TravelMM)
	if t := words.Course(n, x); t != "" {
		s += " " + t
	}
	return s
}
