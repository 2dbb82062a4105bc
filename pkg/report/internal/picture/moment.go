package picture

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/raster"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/gonum/spatial/r3"
)

// Moment is a finding at the travel that shows it best, and from where it is looked at.
type Moment struct {
	Number   int // in the list of findings, from 1
	Finding  *findings.Finding
	movement findings.Movement // empty in intercuspation
	at       r3.Vec            // where, in the articulator frame at that travel
	toward   r3.Vec            // to the eye that looks from the side, horizontal
	lingual  bool              // it looks from the lingual
}

// momentsMost is the number of findings, the most important ones, that have a picture.
const momentsMost = 12

// Moments lists the findings that have a place, in their order.
func Moments(f *findings.Findings, d *display.Display) []Moment {
	of := map[*findings.Finding]findings.Movement{}
	for i := range f.Excursions {
		for k := range f.Excursions[i].Findings {
			of[&f.Excursions[i].Findings[k]] = f.Excursions[i].Movement
		}
	}
	upper := ToothSpots(NewArch(dentition.Upper, &d.Upper, nil, kinematics.Pose{}))
	lower := ToothSpots(NewArch(dentition.Lower, &d.Lower, nil, PoseOf(f.Settling.Pose, f.Centric.Pose)))
	var out []Moment
	for i, g := range words.BySeverity(f) {
		m := Moment{Number: i + 1, Finding: g, movement: of[g]}
		if len(out) < momentsMost && m.look(slices.Concat(upper, lower)) {
			out = append(out, m)
		}
	}
	return out
}

// look finds where the finding is and from which side it shows; not ok where nothing says.
func (m *Moment) look(teeth []ToothSpot) bool {
	g := m.Finding
	var tooth *ToothSpot
	for _, t := range slices.Concat([]findings.Part{g.Upper, g.Lower}, g.Teeth) {
		i := slices.IndexFunc(teeth, func(s ToothSpot) bool { return t != 0 && s.Tooth == t.Tooth() })
		if tooth == nil && i >= 0 {
			tooth = &teeth[i]
		}
	}
	switch {
	case tooth == nil:
		return false
	case g.PointMM != nil:
		m.at = g.PointMM.R3()
	default:
		m.at = tooth.Centre
	}
	// What lies to the lingual of the middle of its crown shows from there, behind anterior
	// teeth too.
	inside := r3.Dot(r3.Sub(m.at, tooth.Centre), tooth.Outward)
	m.lingual = inside < -1 && tooth.Tooth.Position() > 3
	m.toward = tooth.Outward
	if m.lingual {
		m.toward = r3.Scale(-1, m.toward)
	}
	return true
}

// file is the name of the picture: the number, the kind, the teeth and the movement.
func (m *Moment) file() string {
	parts := []string{fmt.Sprint("finding-", m.Number), strings.ReplaceAll(string(m.Finding.Kind), "_", "-")}
	for _, t := range slices.Concat([]findings.Part{m.Finding.Upper, m.Finding.Lower}, m.Finding.Teeth) {
		if t != 0 {
			parts = append(parts, t.Tooth().String())
		}
	}
	if m.movement != "" {
		parts = append(parts, string(m.movement))
	}
	return strings.Join(parts, "-") + ".png"
}

// The layout of a picture of a finding: three panels side by side between a title and a
// legend. momentField is what a panel shows, mm; momentDepth how far towards the eye
// something may lie in a view from the lingual, mm, so that the other side is not in the way.
const (
	panelWidth  = 332.5
	panelHeight = 360
	momentHead  = 45
	momentFoot  = 50
	momentField = 24.0
	momentDepth = 12.0
)

// DescribedMoments is the pictures of findings without their files.
func DescribedMoments(r words.Reader, list []Moment) []Picture {
	out := make([]Picture, len(list))
	for i := range list {
		m := &list[i]
		title, side := m.title(r), "picture.moment.buccal"
		if m.lingual {
			side = "picture.moment.lingual"
		}
		out[i] = Picture{Name: m.file(), Title: title, Finding: m.Number,
			Alt: r.Say("picture.moment.alt", language.With{"title": title, "side": language.Say(side)})}
	}
	return out
}

// DrawMoments renders findings, each at its travel on the casts of an examination: from the
// side, and both occlusal surfaces about it.
func DrawMoments(ctx context.Context, r words.Reader, list []Moment, f *findings.Findings, d *display.Display,
	workers int) ([]Picture, error) {
	return drawMoments(ctx, r, list, f, d, workers, func(p *Picture, img *image.RGBA) (err error) {
		if p.PNG, err = encode(img, stillZoom*layoutWidth/stillWidthMM); err != nil {
			return err
		}
		p.Small, err = encode(shrunk(img, smaller), 0)
		return err
	})
}

// DrawSmallMoments renders findings as [DrawMoments] does, but only as a page holds them.
func DrawSmallMoments(ctx context.Context, r words.Reader, list []Moment, f *findings.Findings, d *display.Display,
	workers int) ([]Picture, error) {
	return drawMoments(ctx, r, list, f, d, workers, func(p *Picture, img *image.RGBA) (err error) {
		p.Small, err = encode(shrunk(img, smaller), 0)
		return err
	})
}

func drawMoments(ctx context.Context, r words.Reader, list []Moment, f *findings.Findings, d *display.Display,
	workers int, keep func(*Picture, *image.RGBA) error) ([]Picture, error) {
	face, err := opentype.Parse(gobold.TTF)
	if err != nil {
		return nil, err
	}
	out := DescribedMoments(r, list)
	upper, lower := crowns(&d.Upper), crowns(&d.Lower)
	err = par.Chunks(ctx, len(list), 1, workers, func(_, i, _ int) error {
		m := &list[i]
		arches, marks, travel := m.stand(f, d)
		arches[0].crown, arches[1].crown = upper, lower
		img, err := m.draw(r, arches, marks, travel, words.FoilsOf(f), face)
		if err != nil {
			return err
		}
		return keep(&out[i], img)
	})
	return out, err
}

// title is the finding in a few words.
func (m *Moment) title(r words.Reader) string {
	pair := ""
	if g := m.Finding; g.Upper != 0 || g.Lower != 0 {
		pair = findings.PairIn(r.Notation, g.Upper, g.Lower) + " "
	}
	return fmt.Sprintf("%d  %s%s", m.Number, pair, r.Write(words.Brief(m.Finding, m.movement)))
}

// stand puts the arches as they stand at the moment, with the marks and the travel there.
func (m *Moment) stand(f *findings.Findings, d *display.Display) (arches []*Arch, marks []mark, travel float64) {
	pose, contacts, outlines := f.Centric.Pose, f.Centric.Contacts, d.Outlines.Closed
	for i := range f.Excursions {
		x := &f.Excursions[i]
		if x.Movement != m.movement {
			continue
		}
		best := math.Inf(1)
		for k := range x.Frames {
			if away := math.Abs(x.Frames[k].TravelMM - m.Finding.AtMM); away < best {
				best = away
				pose, travel = x.Frames[k].Pose, x.Frames[k].TravelMM
				contacts, outlines = x.Frames[k].Contacts, d.Outlines.Moving[i][k]
			}
		}
	}
	return []*Arch{
		NewArch(dentition.Upper, &d.Upper, nil, kinematics.Pose{}),
		NewArch(dentition.Lower, &d.Lower, nil, PoseOf(f.Settling.Pose, pose)),
	}, marksOf(contacts, outlines), travel
}

func (m *Moment) draw(r words.Reader, arches []*Arch, marks []mark, travel float64, foils []findings.Foil,
	face *opentype.Font) (*image.RGBA, error) {
	side := still{title: "picture.moment.buccal", toward: m.toward, up: r3.Vec{Z: 1}, upper: true, lower: true, facing: outside}
	if m.lingual {
		side.title, side.facing, side.from, side.deep = "picture.moment.lingual", inside, m.at, momentDepth
	}
	panels := []still{side, upperOcclusal, lowerOcclusal}
	const height = momentHead + panelHeight + momentFoot
	whole := image.NewRGBA(image.Rect(0, 0, stillZoom*layoutWidth, stillZoom*height))
	draw.Draw(whole, whole.Rect, image.White, image.Point{}, draw.Src)
	for i := range panels {
		s := &panels[i]
		s.mapped, s.height = false, panelHeight
		img, err := m.panel(r, s, arches, marks, face)
		if err != nil {
			return nil, err
		}
		at := image.Pt(int(stillZoom*float64(i)*layoutWidth/3), stillZoom*momentHead)
		draw.Draw(whole, img.Rect.Add(at), img, image.Point{}, draw.Src)
	}
	c, err := newCanvas(whole, face, stillZoom)
	if err != nil {
		return nil, err
	}
	where := r.Say("label.closed")
	if m.movement != "" {
		where = r.Write(findings.Span(travel, travel))
	}
	c.write(c.short(m.title(r), layoutWidth-24), 12, 30, 0)
	c.legend(r, false, foils)
	c.write(where, layoutWidth-12, height-24, 1)
	return c.img, nil
}

// panel draws the arches of a view about the finding, with a ring round its place.
func (m *Moment) panel(r words.Reader, s *still, arches []*Arch, marks []mark, face *opentype.Font) (*image.RGBA, error) {
	v := raster.View{Toward: r3.Unit(s.toward), Centre: m.at, Scale: stillZoom * panelWidth / momentField}
	v.Up = r3.Unit(r3.Sub(s.up, r3.Scale(r3.Dot(s.up, v.Toward), v.Toward)))
	p := raster.NewFine(v, stillZoom*panelWidth, stillZoom*panelHeight)
	var shown []*Arch
	for _, a := range arches {
		if (a.jaw == dentition.Upper && s.upper) || (a.jaw == dentition.Lower && s.lower) {
			shown = append(shown, a)
			p.Draw(s.surface(a, &v, marks))
		}
	}
	c, err := newCanvas(p.Image(paint.RGB{0.96, 0.96, 0.96}), face, stillZoom)
	if err != nil {
		return nil, err
	}
	c.ring(panelWidth/2, panelHeight/2, 34)
	for _, a := range shown {
		s.codes(r.Notation, c, p, a, &v)
	}
	c.write(r.Say(s.title), 8, panelHeight-12, 0)
	if s.upper != s.lower {
		return c.img, nil
	}
	const bar = 5 * panelWidth / momentField
	c.fill(panelWidth-12-bar, panelHeight-14, panelWidth-12, panelHeight-10, plain(paint.RGB{0.08, 0.08, 0.08}))
	c.write(r.Say("picture.bar.5"), panelWidth-12-bar/2, panelHeight-20, 0.5)
	return c.img, nil
}

// ring draws a ring with light borders about a spot.
func (c *canvas) ring(x, y, radius float64) {
	warn := paint.Hex(paint.OverlapColour).Bytes()
	const half, rim = 2.0, 1.2
	for py := int(c.zoom * (y - radius - 4)); py <= int(c.zoom*(y+radius+4)); py++ {
		for px := int(c.zoom * (x - radius - 4)); px <= int(c.zoom*(x+radius+4)); px++ {
			away := math.Abs(math.Hypot((float64(px)+0.5)/c.zoom-x, (float64(py)+0.5)/c.zoom-y) - radius)
			switch {
			case away < half:
				c.img.SetRGBA(px, py, color.RGBA{warn[0], warn[1], warn[2], 255})
			case away < half+rim:
				c.img.SetRGBA(px, py, color.RGBA{255, 255, 255, 255})
			}
		}
	}
}
