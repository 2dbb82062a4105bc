// Package picture draws the still pictures.
package picture

import (
	"context"
	"image"
	"math"
	"slices"

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

// words describes a still picture for those who do not see it.
func (s *still) words(r words.Reader, f *findings.Findings) string {
	if !s.mapped {
		return r.Say("picture.plain", language.With{"title": language.Say(s.title)})
	}
	shown := slices.DeleteFunc(slices.Clone(f.Centric.Contacts), func(c findings.Contact) bool { return !s.shows(c.PointMM.R3()) })
	return r.Say("picture.mapped", language.With{"title": language.Say(s.title), "pairs": language.Commas(words.Pairs(shown))})
}

// still is one of the standard pictures.
type still struct {
	name, title string // title is a key
	toward, up  r3.Vec
	upper       bool    // the arches that are drawn
	lower       bool    //
	mapped      bool    // with clearance as colour
	half        float64 // sign of x of the side that is drawn alone; 0 for both
	from        r3.Vec  // and deep: nothing is drawn that lies farther to the eye than deep from here, mm;
	deep        float64 // 0 for everything
	height      int
	// The teeth whose codes are shown: facing says on which side of the arch.
	facing func(outward, toward r3.Vec) bool
}

func outside(outward, toward r3.Vec) bool { return r3.Dot(outward, toward) > 0.5 }

func inside(outward, toward r3.Vec) bool { return r3.Dot(outward, toward) < 0 }

func all(_, _ r3.Vec) bool { return true }

// layoutWidth is the width of a picture in the units of its layout, in which heights,
// margins and letters are given too.
const layoutWidth = 1000

// stillZoom is the number of pixels of a unit: still pictures are 2,400 pixels wide.
const stillZoom = 2.4

// stillWidthMM is how wide they are in print, mm: at 359 dots an inch.
const stillWidthMM = 170.0

// The occlusal surfaces.
var (
	upperOcclusal = still{name: "upper", title: "picture.upper", toward: r3.Vec{Z: -1}, up: r3.Vec{Y: -1}, upper: true,
		mapped: true, height: 900, facing: all}
	lowerOcclusal = still{name: "lower", title: "picture.lower", toward: r3.Vec{Z: 1}, up: r3.Vec{Y: 1}, lower: true,
		mapped: true, height: 900, facing: all}
)

var stills = [...]still{
	{name: "right", title: "picture.right", toward: r3.Vec{X: -1, Y: -0.3, Z: 0.04}, up: r3.Vec{Z: 1}, upper: true,
		lower: true, height: 620, facing: outside},
	{name: "front", title: "picture.front", toward: r3.Vec{Y: -1, Z: 0.04}, up: r3.Vec{Z: 1}, upper: true, lower: true,
		height: 620, facing: outside},
	{name: "left", title: "picture.left", toward: r3.Vec{X: 1, Y: -0.3, Z: 0.04}, up: r3.Vec{Z: 1}, upper: true,
		lower: true, height: 620, facing: outside},
	upperOcclusal, lowerOcclusal,
	{name: "right-lingual", title: "picture.right_lingual", toward: r3.Vec{X: 0.9, Y: 0.35}, up: r3.Vec{Z: 1},
		upper: true, lower: true, mapped: true, half: -1, height: 620, facing: inside},
	{name: "left-lingual", title: "picture.left_lingual", toward: r3.Vec{X: -0.9, Y: 0.35}, up: r3.Vec{Z: 1},
		upper: true, lower: true, mapped: true, half: 1, height: 620, facing: inside},
}

// file is the file name of a still picture.
func (s *still) file() string { return "picture-" + s.name + ".png" }

// Names lists the file names of the still pictures in their order.
func Names() []string {
	var out []string
	for i := range stills {
		out = append(out, stills[i].file())
	}
	return out
}

// Picture is a still picture as it is written.
type Picture struct {
	Name  string // of its file
	Title string
	Alt   string // for those who do not see it
	// Finding is the number of the finding that it shows, 0 for the closed casts.
	Finding int
	PNG     []byte
	// Small is the same for a page, a third as wide, that of a finding half as wide.
	Small []byte
}

// mark is a contact to be painted on the surfaces, in its own shape.
type mark struct {
	outline display.Outline
	reach   float64 // the farthest, mm
	solid   bool    // held by the thinnest foil; otherwise a ring
}

// The least mean reach of a mark, mm: a smaller one would not be seen. A ring shows round the
// field of a thinner foil.
const (
	fieldLeast = 0.42
	ringLeast  = 0.6
)

func newMark(o display.Outline, solid bool) mark {
	least := ringLeast
	if solid {
		least = fieldLeast
	}
	m := mark{outline: o.Grown(least), solid: solid}
	m.reach = slices.Max(m.outline.Reach[:])
	return m
}

// marksOf lists the marks of contacts, those of thicker foils first, so that
// the others lie over them.
func marksOf(contacts []findings.Contact, outlines []display.Outline) []mark {
	if len(contacts) == 0 {
		return nil
	}
	thinnest := findings.Foil(math.Inf(1))
	for _, c := range contacts {
		thinnest = min(thinnest, c.FoilUm)
	}
	var rings, fields []mark
	for i, c := range contacts {
		if c.FoilUm == thinnest {
			fields = append(fields, newMark(outlines[i], true))
		} else {
			rings = append(rings, newMark(outlines[i], false))
		}
	}
	return append(rings, fields...)
}

// Arch is one surface as it is drawn.
type Arch struct {
	jaw       dentition.Jaw
	vertices  []r3.Vec
	normals   []r3.Vec
	triangles [][3]int32
	teeth     []dentition.ToothID
	clearance []float64
	crown     []float64 // how far each vertex lies within a crown, 0 to 1; the gum begins at 0.5
}

// NewArch places a surface, with the clearances of its vertices if they are known.
func NewArch(jaw dentition.Jaw, s *display.Surface, clearance []float64, pose kinematics.Pose) *Arch {
	a := &Arch{jaw: jaw, teeth: s.Teeth, clearance: clearance}
	for i, v := range s.Mesh.Vertices() {
		a.vertices = append(a.vertices, pose.Apply(v))
		a.normals = append(a.normals, pose.Rotate(s.Normals[i]))
	}
	for _, t := range s.Mesh.Triangles() {
		a.triangles = append(a.triangles, [3]int32{int32(t[0]), int32(t[1]), int32(t[2])})
	}
	return a
}

// crownPasses is how often [crowns] averages: the border of labels runs along triangles, and
// so often makes it a smooth line.
const crownPasses = 5

// crowns are 1 on teeth and 0 beside them, averaged over neighbours, so that the line at which
// they are 0.5 cuts the triangles at the border of the labels smoothly. For display only;
// without labels all is crown.
func crowns(s *display.Surface) []float64 {
	n := s.Mesh.NumVertices()
	crown := make([]float64, n)
	for i := range crown {
		if s.Teeth == nil || s.Teeth[i] != dentition.NoTooth {
			crown[i] = 1
		}
	}
	if s.Teeth == nil {
		return crown
	}
	sum, count := make([]float64, n), make([]float64, n)
	for range crownPasses {
		for i := range sum {
			sum[i], count[i] = crown[i], 1
		}
		for _, t := range s.Mesh.Triangles() {
			for k, v := range t {
				sum[v] += crown[t[(k+1)%3]] + crown[t[(k+2)%3]]
				count[v] += 2
			}
		}
		for i := range crown {
			crown[i] = sum[i] / count[i]
		}
	}
	return crown
}

// Described are the standard pictures of an examination in words, without their images.
func Described(r words.Reader, f *findings.Findings) []Picture {
	out := make([]Picture, len(stills))
	for i := range stills {
		s := &stills[i]
		out[i] = Picture{Name: s.file(), Title: r.Say(s.title), Alt: s.words(r, f)}
	}
	return out
}

// Draw renders the standard pictures of the closed casts.
func Draw(ctx context.Context, r words.Reader, f *findings.Findings, d *display.Display, workers int) ([]Picture, error) {
	pose := PoseOf(f.Settling.Pose, f.Centric.Pose)
	closed := &d.Maps[0]
	arches := []*Arch{
		NewArch(dentition.Upper, &d.Upper, closed.Upper, kinematics.Pose{}),
		NewArch(dentition.Lower, &d.Lower, closed.Lower, pose),
	}
	arches[0].crown, arches[1].crown = crowns(&d.Upper), crowns(&d.Lower)
	face, err := opentype.Parse(gobold.TTF)
	if err != nil {
		return nil, err
	}
	out := make([]Picture, len(stills))
	marks, foils := marksOf(f.Centric.Contacts, d.Outlines.Closed), words.FoilsOf(f)
	err = par.Chunks(ctx, len(stills), 1, workers, func(_, i, _ int) error {
		s := &stills[i]
		img, err := s.draw(r, f.Name, arches, marks, foils, face)
		if err != nil {
			return err
		}
		out[i] = Picture{Name: s.file(), Title: r.Say(s.title), Alt: s.words(r, f)}
		if out[i].PNG, err = encode(img, stillZoom*layoutWidth/stillWidthMM); err != nil {
			return err
		}
		out[i].Small, err = encode(shrunk(img, smaller), 0)
		return err
	})
	return out, err
}

// PoseOf is the motion of the lower arch in a frame: settled, then moved.
func PoseOf(settling, frame findings.Pose) kinematics.Pose { return settling.Then(frame.Pose) }

// shows says whether a point is on a side that is drawn. A half reaches a little
// across the middle.
func (s *still) shows(q r3.Vec) bool {
	return s.half*q.X >= -1 && (s.deep == 0 || r3.Dot(r3.Sub(q, s.from), s.toward) <= s.deep)
}

// view looks at the arches so that they fill the picture; its scale is that of the layout.
func (s *still) view(arches []*Arch) raster.View {
	v := raster.View{Toward: r3.Unit(s.toward)}
	v.Up = r3.Unit(r3.Sub(s.up, r3.Scale(r3.Dot(s.up, v.Toward), v.Toward)))
	right := r3.Cross(v.Up, v.Toward)
	inf := math.Inf(1)
	lo, hi := r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}
	for _, a := range arches {
		for _, q := range a.vertices {
			if !s.shows(q) {
				continue
			}
			x, y, z := r3.Dot(q, right), r3.Dot(q, v.Up), r3.Dot(q, v.Toward)
			lo = r3.Vec{X: min(lo.X, x), Y: min(lo.Y, y), Z: min(lo.Z, z)}
			hi = r3.Vec{X: max(hi.X, x), Y: max(hi.Y, y), Z: max(hi.Z, z)}
		}
	}
	mid := r3.Scale(0.5, r3.Add(lo, hi))
	v.Centre = r3.Add(r3.Scale(mid.X, right), r3.Add(r3.Scale(mid.Y, v.Up), r3.Scale(mid.Z, v.Toward)))
	const margin = 0.86
	v.Scale = margin * min(layoutWidth/max(1, hi.X-lo.X), float64(s.height)/max(1, hi.Y-lo.Y))
	return v
}

func (s *still) draw(r words.Reader, name string, arches []*Arch, marks []mark, foils []findings.Foil,
	face *opentype.Font) (*image.RGBA, error) {
	var shown []*Arch
	for _, a := range arches {
		if (a.jaw == dentition.Upper && s.upper) || (a.jaw == dentition.Lower && s.lower) {
			shown = append(shown, a)
		}
	}
	v := s.view(shown)
	bar := 10 * v.Scale
	v.Scale *= stillZoom
	p := raster.NewFine(v, stillZoom*layoutWidth, int(stillZoom*float64(s.height)))
	for _, a := range shown {
		p.Draw(s.surface(a, &v, marks))
	}
	c, err := newCanvas(p.Image(paint.RGB{1, 1, 1}), face, stillZoom)
	if err != nil {
		return nil, err
	}
	for _, a := range shown {
		s.codes(r.Notation, c, p, a, &v)
	}
	title := c.write(r.Say(s.title), 24, 30, 0)
	c.write(c.short(name, layoutWidth-48-title), layoutWidth-24, 30, 1)
	c.legend(r, s.mapped, foils)
	c.bar(r, bar)
	c.sides(r, &v)
	return c.img, nil
}

// surface is an arch with its colours.
func (s *still) surface(a *Arch, v *raster.View, marks []mark) *raster.Surface {
	pal := paint.New()
	right := r3.Cross(v.Up, v.Toward)
	light := r3.Unit(r3.Add(v.Toward, r3.Add(r3.Scale(0.55, v.Up), r3.Scale(-0.45, right))))
	fill := r3.Unit(r3.Add(r3.Scale(0.6, v.Toward), r3.Add(r3.Scale(-0.3, v.Up), r3.Scale(0.9, right))))
	triangles := a.triangles
	if s.half != 0 || s.deep != 0 {
		triangles = nil
		for _, c := range a.triangles {
			if s.shows(a.vertices[c[0]]) && s.shows(a.vertices[c[1]]) && s.shows(a.vertices[c[2]]) {
				triangles = append(triangles, c)
			}
		}
	}
	near, known := make([][]mark, len(triangles)), make([]bool, len(triangles)) // by triangle, as they come up
	return &raster.Surface{Vertices: a.vertices, Normals: a.normals, Triangles: triangles,
		Shade: func(t int, w [3]float64, p, n r3.Vec, back bool) [3]float64 {
			c := triangles[t]
			if back {
				return pal.Inside.Scale(0.5 + 0.4*math.Abs(r3.Dot(n, v.Toward)))
			}
			colour := pal.Gum
			if w[0]*a.crown[c[0]]+w[1]*a.crown[c[1]]+w[2]*a.crown[c[2]] > 0.5 {
				colour = pal.Tooth
			}
			if s.mapped {
				colour = mapped(pal, a, c, w, p, colour)
			}
			if !known[t] {
				near[t], known[t] = nearTriangle(marks, a, c), true
			}
			if m, ok := painted(near[t], p, pal); ok {
				return m
			}
			shade := 0.42 + 0.5*max(0, r3.Dot(n, light)) + 0.14*max(0, r3.Dot(n, fill))
			return colour.Scale(shade)
		}}
}

// mapped is the colour of a spot by its clearance: stripes in an overlap, none
// where a corner of the triangle is beyond the map.
func mapped(pal *paint.Paints, a *Arch, c [3]int32, w [3]float64, p r3.Vec, base paint.RGB) paint.RGB {
	for _, v := range c {
		if math.IsInf(a.clearance[v], 1) { // weights may be 0 or, on the triangle's rim, a rounding below
			return base
		}
	}
	d := w[0]*a.clearance[c[0]] + w[1]*a.clearance[c[1]] + w[2]*a.clearance[c[2]]
	if d < -paint.OverlapShown && math.Mod(math.Abs(p.X+p.Y+p.Z), 0.5) < 0.17 {
		return paint.RGB{1, 1, 1}
	}
	return pal.Clearance(d, paint.MapRange, base)
}

// nearTriangle lists the marks that may cover some of a triangle.
func nearTriangle(marks []mark, a *Arch, c [3]int32) (near []mark) {
	for _, m := range marks {
		for _, v := range c {
			d, far := r3.Sub(a.vertices[v], m.outline.Middle), m.reach+1.5
			if r3.Dot(d, d) < far*far {
				near = append(near, m)
				break
			}
		}
	}
	return near
}

// painted is the colour of a mark at p, if one covers it: a black field with a white rim, or
// a black ring between white ones.
func painted(marks []mark, p r3.Vec, pal *paint.Paints) (c paint.RGB, ok bool) {
	for i := range marks {
		m := &marks[i]
		if d := r3.Sub(p, m.outline.Middle); r3.Dot(d, d) > m.reach*m.reach {
			continue
		}
		r := m.outline.Share(p)
		switch {
		case r > 1 || (!m.solid && r < 0.56):
		case r > 0.87 || (!m.solid && r < 0.66):
			c, ok = paint.RGB{1, 1, 1}, true
		default:
			c, ok = pal.Mark, true
		}
	}
	return c, ok
}

// codes writes the tooth codes beside the teeth.
func (s *still) codes(n dentition.Notation, on *canvas, p *raster.Picture, a *Arch, v *raster.View) {
	occlusal := r3.Vec{Z: -1}
	if a.jaw == dentition.Lower {
		occlusal.Z = 1
	}
	for _, t := range ToothSpots(a) {
		if !s.shows(t.Centre) || !s.facing(t.Outward, v.Toward) {
			continue
		}
		at := r3.Add(t.Centre, r3.Scale(-6.5, occlusal))
		if math.Abs(v.Toward.Z) > 0.9 {
			at = r3.Add(t.Centre, r3.Scale(t.Reach+2.2, t.Outward))
		}
		x, y, _ := p.Project(at)
		x, y = x/on.zoom, y/on.zoom
		if x < 14 || x > on.wide()-14 || y < 14 || y > on.high()-34 {
			continue // it would be cut off
		}
		on.write(n.Format(t.Tooth), x, y+7, 0.5)
	}
}

// ToothSpot is where the code of a tooth may stand.
type ToothSpot struct {
	Tooth   dentition.ToothID
	Centre  r3.Vec
	Outward r3.Vec  // unit vector, horizontal, away from the middle of the arch
	Reach   float64 // mm, how far the tooth reaches outwards from its centre
}

// ToothSpots lists the teeth of an arch in rising order.
func ToothSpots(a *Arch) []ToothSpot {
	var sum [256]r3.Vec
	var count [256]float64
	for i, t := range a.teeth {
		if t != dentition.NoTooth {
			sum[t] = r3.Add(sum[t], a.vertices[i])
			count[t]++
		}
	}
	var out []ToothSpot
	lo, hi := r3.Vec{X: math.Inf(1), Y: math.Inf(1)}, r3.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for t := range sum {
		if count[t] == 0 {
			continue
		}
		c := r3.Scale(1/count[t], sum[t])
		out = append(out, ToothSpot{Tooth: dentition.ToothID(t), Centre: c})
		lo.X, hi.X = min(lo.X, c.X), max(hi.X, c.X)
		lo.Y, hi.Y = min(lo.Y, c.Y), max(hi.Y, c.Y)
	}
	// Outwards is away from a line along the middle of the arch that ends behind
	// the anterior teeth.
	for i := range out {
		t := &out[i]
		from := r3.Vec{X: (lo.X + hi.X) / 2, Y: max(t.Centre.Y, lo.Y+0.4*(hi.Y-lo.Y))}
		d := r3.Vec{X: t.Centre.X - from.X, Y: t.Centre.Y - from.Y}
		if l := r3.Norm(d); l > 0 {
			t.Outward = r3.Scale(1/l, d)
		}
	}
	for i := range out {
		t := &out[i]
		for v, tooth := range a.teeth {
			if tooth == t.Tooth {
				t.Reach = max(t.Reach, r3.Dot(r3.Sub(a.vertices[v], t.Centre), t.Outward))
			}
		}
	}
	return out
}
