package chart

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/findings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// ClearanceRange is the clearance, in mm, at the far end of the chart's colours:
// what a tooth clears by in the end is seldom more.
const ClearanceRange = 2.0

// touchingMM is the clearance, in mm, below which a tooth is said to touch: half
// a micrometre, below what is written.
const touchingMM = 0.0005

// Clearance draws the clearance of every tooth over the travel as colour, with a
// dot where it touches. It is empty where no clearance is known, or at one travel
// only.
func Clearance(r words.Reader, x *findings.Excursion) (Chart, error) {
	parts := parted(archOrder(x))
	if len(parts) == 0 || len(x.Frames) < 2 {
		return Chart{}, nil
	}
	first, last := span(x)
	rows := float64(len(parts))
	// The first part is the topmost row; the middle of row r is at rows-1-r.
	a := newArea(rows*rowHigh+bottomHigh+topHigh, 0, axis{first, last}, axis{-0.5, rows - 0.5})
	var names []tick
	for k, name := range parts {
		label := name
		if t, err := dentition.ParseTooth(name); err == nil {
			label = r.Notation.Format(t)
		}
		names = append(names, tick{rows - 1 - float64(k), label})
	}
	a.height += edgeHigh
	a.top, a.bottom = a.top+edgeHigh, a.bottom+edgeHigh
	a.leftNames(names)
	a.bottomAxis(r.Say("chart.travel"), wholes(a.x))
	var picture bytes.Buffer
	if err := png.Encode(&picture, clearanceMap(parts, x)); err != nil {
		return Chart{}, err
	}
	a.picture(picture.Bytes())
	for k, name := range parts {
		for i := range x.Frames {
			if d, ok := x.Frames[i].ClearanceMM[name]; ok && d < touchingMM {
				a.dot("#fff", 1.3, point{x.Frames[i].TravelMM, rows - 1 - float64(k)})
			}
		}
	}
	a.edge(r, x)
	return a.chart(), nil
}

// parted puts an empty row between the upper and the lower teeth.
func parted(names []string) []string {
	for i := 1; i < len(names); i++ {
		if Place(names[i-1]) < firstLower && Place(names[i]) >= firstLower {
			return slices.Insert(slices.Clone(names), i, "")
		}
	}
	return names
}

// firstLower is the least place of a lower tooth.
const firstLower = 450

// mostColumns bounds the size of the picture behind a chart of clearance.
const mostColumns = 2000

// clearanceMap is a picture from the first to the last travel with a row for each
// part; its columns are as wide as the smallest step between two frames, and show
// the nearest frame.
func clearanceMap(parts []string, x *findings.Excursion) image.Image {
	first, last := span(x)
	step := last - first
	for i := 1; i < len(x.Frames); i++ {
		if d := x.Frames[i].TravelMM - x.Frames[i-1].TravelMM; d > 0 {
			step = min(step, d)
		}
	}
	// Two columns a step: half of the first and of the last frame's column lie
	// outside.
	columns := int(min(mostColumns, math.Ceil(2*(last-first)/step-1e-6)))
	p := paint.New()
	beyond, unknown := color.RGBA{0xf1, 0xee, 0xe6, 255}, color.RGBA{255, 255, 255, 255}
	out := image.NewRGBA(image.Rect(0, 0, columns, len(parts)))
	nearest := 0
	for c := range columns {
		travel := first + (float64(c)+0.5)*(last-first)/float64(columns)
		for nearest+1 < len(x.Frames) && x.Frames[nearest+1].TravelMM-travel < travel-x.Frames[nearest].TravelMM {
			nearest++
		}
		for r, name := range parts {
			d, ok := x.Frames[nearest].ClearanceMM[name]
			switch {
			case !ok:
				out.SetRGBA(c, r, unknown)
			case d > ClearanceRange:
				out.SetRGBA(c, r, beyond)
			default:
				b := p.Ramp(d / ClearanceRange).Bytes()
				out.SetRGBA(c, r, color.RGBA{b[0], b[1], b[2], 255})
			}
		}
	}
	return out
}

// archOrder lists the parts that have a clearance: upper teeth from the right to
// the left, then lower ones.
func archOrder(x *findings.Excursion) []string {
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
