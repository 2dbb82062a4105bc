// Package picture draws the still pictures.
package picture

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/png"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/raster"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"gonum.org/v1/gonum/spatial/r3"
)

// words describes a still picture for those who do not see it.
func (s *still) words(r words.Reader, f *findings.Findings) string {
	if !s.mapped {
		return r.Say("picture.plain", language.With{"title": language.Say(s.title)})
	}
	return r.Say("picture.mapped", language.With{"title": language.Say(s.title), "pairs": language.Commas(words.Pairs(f.Centric.Contacts))})
}

// still is one of the standard pictures.
type still struct {
	name, title string // title is a key
	toward, up  r3.Vec
	upper       bool    // the arches that are drawn
	lower       bool    //
	mapped      bool    // with clearance as colour, and marks
	half        float64 // sign of x of the side that is drawn alone; 0 for both
	height      int
	// The teeth whose codes are shown: facing says on which side of the arch.
	facing func(outward, toward r3.Vec) bool
}

func outside(outward, toward r3.Vec) bool { return r3.Dot(outward, toward) > 0.5 }

func inside(outward, toward r3.Vec) bool { return r3.Dot(outward, toward) < 0 }

func all(_, _ r3.Vec) bool { return true }

// stillWidth is the width of the pictures in pixels: 17 cm at 150 dots an inch.
const stillWidth = 1000

var stills = [...]still{
	{name: "right", title: "picture.right", toward: r3.Vec{X: -1, Y: -0.3, Z: 0.04}, up: r3.Vec{Z: 1}, upper: true,
		lower: true, height: 620, facing: outside},
	{name: "front", title: "picture.front", toward: r3.Vec{Y: -1, Z: 0.04}, up: r3.Vec{Z: 1}, upper: true, lower: true,
		height: 620, facing: outside},
	{name: "left", title: "picture.left", toward: r3.Vec{X: 1, Y: -0.3, Z: 0.04}, up: r3.Vec{Z: 1}, upper: true,
		lower: true, height: 620, facing: outside},
	{name: "upper", title: "picture.upper", toward: r3.Vec{Z: -1}, up: r3.Vec{Y: -1}, upper: true, mapped: true, height: 900, facing: all},
	{name: "lower", title: "picture.lower", toward: r3.Vec{Z: 1}, up: r3.Vec{Y: 1}, lower: true, mapped: true, height: 900, facing: all},
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
	PNG   []byte
}

// mark is a spot to be painted on the surfaces.
type mark struct {
	at     r3.Vec
	radius float64 // mm
	solid  bool    // held by the thinnest foil; otherwise a ring
}

// markRadius is the least radius of a mark, mm: a smaller one would not be seen.
const markRadius = 0.5

// marksOf lists the marks of contacts, those of thicker foils first, so that
// the others lie over them.
func marksOf(contacts []findings.Contact) []mark {
	if len(contacts) == 0 {
		return nil
	}
	thinnest := findings.Foil(math.Inf(1))
	for _, c := range contacts {
		thinnest = min(thinnest, c.FoilUm)
	}
	var rings, discs []mark
	for _, c := range contacts {
		m := mark{at: r3.Vec{X: c.PointMM[0], Y: c.PointMM[1], Z: c.PointMM[2]},
			radius: max(markRadius, math.Sqrt(c.AreaMM2/math.Pi)), solid: c.FoilUm == thinnest}
		if m.solid {
			discs = append(discs, m)
		} else {
			m.radius *= 1.3
			rings = append(rings, m)
		}
	}
	return append(rings, discs...)
}

// Arch is one surface as it is drawn.
type Arch struct {
	jaw       dentition.Jaw
	vertices  []r3.Vec
	normals   []r3.Vec
	triangles [][3]int32
	teeth     []dentition.ToothID
	clearance []float64
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

// isTooth says whether a vertex belongs to a tooth; without labels all may.
func (a *Arch) isTooth(v int32) bool { return a.teeth == nil || a.teeth[v] != dentition.NoTooth }

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
	face, err := opentype.Parse(gobold.TTF)
	if err != nil {
		return nil, err
	}
	out := make([]Picture, len(stills))
	marks, foils := marksOf(f.Centric.Contacts), words.FoilsOf(f)
	err = par.Chunks(ctx, len(stills), 1, workers, func(_, i, _ int) error {
		s := &stills[i]
		img, err := s.draw(r, arches, marks, foils, face)
		if err != nil {
			return err
		}
		var buf bytes.Buffer
		err = (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&buf, img)
		out[i] = Picture{Name: s.file(), Title: r.Say(s.title), Alt: s.words(r, f), PNG: buf.Bytes()}
		return err
	})
	return out, err
}

// PoseOf is the motion of the lower arch in a frame: settled, then moved.
func PoseOf(settling, frame findings.Pose) kinematics.Pose { return settling.Then(frame.Pose) }

// shows says whether a point is on a side that is drawn. A half reaches a little
// across the middle.
func (s *still) shows(q r3.Vec) bool { return s.half*q.X >= -1 }

// view looks at the arches so that they fill the picture.
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
	v.Scale = margin * min(stillWidth/max(1, hi.X-lo.X), float64(s.height)/max(1, hi.Y-lo.Y))
	return v
}

func (s *still) draw(r words.Reader, arches []*Arch, marks []mark, foils []findings.Foil, face *opentype.Font) (image.Image, error) {
	var shown []*Arch
	for _, a := range arches {
		if (a.jaw == dentition.Upper && s.upper) || (a.jaw == dentition.Lower && s.lower) {
			shown = append(shown, a)
		}
	}
	v := s.view(shown)
	p := raster.New(v, stillWidth, s.height)
	for _, a := range shown {
		p.Draw(s.surface(a, &v, marks))
	}
	img := p.Image(paint.RGB{1, 1, 1})
	letters, err := opentype.NewFace(face, &opentype.FaceOptions{Size: 20, DPI: 72, Hinting: font.HintingFull})
	if err != nil {
		return nil, err
	}
	for _, a := range shown {
		s.codes(r.Notation, img, p, a, &v, letters)
	}
	write(img, letters, r.Say(s.title), 24, 30, 0)
	if s.mapped {
		legend(r, img, letters, foils)
	}
	return img, nil
}

// legend explains the colours and marks along the lower edge.
func legend(r words.Reader, img *image.RGBA, face font.Face, foils []findings.Foil) {
	pal := paint.New()
	fill := func(x0, y0, x1, y1 int, c func(x, y int) paint.RGB) {
		for y := y0; y < y1; y++ {
			for x := x0; x < x1; x++ {
				b := c(x, y).Bytes()
				img.SetRGBA(x, y, color.RGBA{b[0], b[1], b[2], 255})
			}
		}
	}
	base := img.Rect.Max.Y - 24
	fill(0, base-26, img.Rect.Max.X, img.Rect.Max.Y, func(int, int) paint.RGB { return paint.RGB{1, 1, 1} })
	const x0, x1 = 24, 264
	fill(x0, base-12, x1, base+4, func(x, _ int) paint.RGB { return pal.Ramp(float64(x-x0) / float64(x1-x0)) })
	x := write(img, face, r.Say("picture.range", language.With{"um": 1000 * paint.MapRange}), x1+10, float64(base), 0)
	x += 24
	fill(int(x), base-12, int(x)+24, base+4, func(x, y int) paint.RGB {
		if (x+y)%8 < 3 {
			return paint.RGB{1, 1, 1}
		}
		return pal.Overlap
	})
	x = write(img, face, r.Say("picture.overlap"), x+32, float64(base), 0) + 24
	spot := func(solid bool, text string) {
		m := []mark{{at: r3.Vec{X: x + 10, Y: float64(base) - 4}, radius: 10, solid: solid}}
		fill(int(x), base-16, int(x)+22, base+8, func(px, py int) paint.RGB {
			if c, ok := painted(m, r3.Vec{X: float64(px), Y: float64(py)}, pal); ok {
				return c
			}
			return paint.RGB{1, 1, 1}
		})
		x = write(img, face, text, x+28, float64(base), 0) + 20
	}
	for i, foil := range foils {
		spot(i == 0, r.Write(words.Within(foil)))
		if i == 1 {
			break // thicker foils are rings too
		}
	}
}

// surface is an arch with its colours.
func (s *still) surface(a *Arch, v *raster.View, marks []mark) *raster.Surface {
	pal := paint.New()
	base := make([]paint.RGB, len(a.vertices))
	for i := range base {
		base[i] = pal.Gum
		if a.isTooth(int32(i)) {
			base[i] = pal.Tooth
		}
	}
	right := r3.Cross(v.Up, v.Toward)
	light := r3.Unit(r3.Add(v.Toward, r3.Add(r3.Scale(0.55, v.Up), r3.Scale(-0.45, right))))
	fill := r3.Unit(r3.Add(r3.Scale(0.6, v.Toward), r3.Add(r3.Scale(-0.3, v.Up), r3.Scale(0.9, right))))
	triangles := a.triangles
	if s.half != 0 {
		triangles = nil
		for _, c := range a.triangles {
			if s.shows(a.vertices[c[0]]) && s.shows(a.vertices[c[1]]) && s.shows(a.vertices[c[2]]) {
				triangles = append(triangles, c)
			}
		}
	}
	last := -1
	var near []mark
	return &raster.Surface{Vertices: a.vertices, Normals: a.normals, Triangles: triangles,
		Shade: func(t int, w [3]float64, p, n r3.Vec, back bool) [3]float64 {
			c := triangles[t]
			if back {
				return pal.Inside.Scale(0.5 + 0.4*math.Abs(r3.Dot(n, v.Toward)))
			}
			colour := base[c[0]].Scale(w[0])
			for i := range colour {
				colour[i] += w[1]*base[c[1]][i] + w[2]*base[c[2]][i]
			}
			if s.mapped {
				colour = mapped(pal, a, c, w, p, colour)
				if t != last {
					last, near = t, nearTriangle(near[:0], marks, a, c)
				}
				if m, ok := painted(near, p, pal); ok {
					return m
				}
			}
			shade := 0.42 + 0.5*max(0, r3.Dot(n, light)) + 0.14*max(0, r3.Dot(n, fill))
			return colour.Scale(shade)
		}}
}

// mapped is the colour of a spot by its clearance: stripes in an overlap, none
// where a corner of the triangle is beyond the map.
func mapped(pal *paint.Paints, a *Arch, c [3]int32, w [3]float64, p r3.Vec, base paint.RGB) paint.RGB {
	d := w[0]*a.clearance[c[0]] + w[1]*a.clearance[c[1]] + w[2]*a.clearance[c[2]]
	if d < -paint.OverlapShown && math.Mod(math.Abs(p.X+p.Y+p.Z), 0.5) < 0.17 {
		return paint.RGB{1, 1, 1}
	}
	return pal.Clearance(d, paint.MapRange, base)
}

func nearTriangle(dst, marks []mark, a *Arch, c [3]int32) []mark {
	for _, m := range marks {
		for _, v := range c {
			if r3.Norm(r3.Sub(a.vertices[v], m.at)) < m.radius+1.5 {
				dst = append(dst, m)
				break
			}
		}
	}
	return dst
}

// painted is the colour of a mark at p, if one covers it: a black disc with a
// white rim, or a black ring between white ones.
func painted(marks []mark, p r3.Vec, pal *paint.Paints) (c paint.RGB, ok bool) {
	for _, m := range marks {
		r := r3.Norm(r3.Sub(p, m.at)) / m.radius
		switch {
		case r > 1 || (!m.solid && r < 0.5):
		case r > 0.85 || (!m.solid && r < 0.62):
			c, ok = paint.RGB{1, 1, 1}, true
		default:
			c, ok = pal.Mark, true
		}
	}
	return c, ok
}

// codes writes the tooth codes beside the teeth.
func (s *still) codes(n dentition.Notation, img *image.RGBA, p *raster.Picture, a *Arch, v *raster.View, face font.Face) {
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
		write(img, face, n.Format(t.Tooth), x, y+7, 0.5)
	}
}

// write puts a text in dark letters with a white rim on the base line y. align
// is the share of its width that lies left of x. It returns where the text ends.
func write(img *image.RGBA, face font.Face, text string, x, y, align float64) float64 {
	d := font.Drawer{Dst: img, Face: face}
	width := float64(d.MeasureString(text)) / 64
	x -= align * width
	put := func(c color.Color, dx, dy int) {
		d.Src = image.NewUniform(c)
		d.Dot = fixed.P(int(x+0.5)+dx, int(y+0.5)+dy)
		d.DrawString(text)
	}
	for dx := -2; dx <= 2; dx++ {
		for dy := -2; dy <= 2; dy++ {
			put(color.White, dx, dy)
		}
	}
	put(color.RGBA{20, 20, 20, 255}, 0, 0)
	return x + width
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
