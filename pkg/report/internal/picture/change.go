package picture

import (
	"context"
	"image"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/raster"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/paint"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/gonum/spatial/r3"
)

// Change is how far each vertex of the full surfaces lies from where the surface was, mm:
// above 0 where something was added, below where it was removed.
type Change struct{ Upper, Lower []float64 }

// changeColours are those of what was removed and added: vermilion and purple, distinguished by
// colour-blind people too.
var changeColours = [2]paint.RGB{paint.Hex("#d55e00"), paint.Hex("#5e3c99")}

// DrawChange renders both arches from the occlusal side with what was removed or added as
// colour.
func DrawChange(ctx context.Context, r words.Reader, d *display.Display, change Change, workers int) ([]Picture, error) {
	face, err := opentype.Parse(gobold.TTF)
	if err != nil {
		return nil, err
	}
	most := changeRange
	for _, list := range [][]float64{change.Upper, change.Lower} {
		for _, x := range list {
			most = max(most, math.Abs(x))
		}
	}
	out := make([]Picture, 2)
	err = par.Chunks(ctx, 2, 1, workers, func(_, i, _ int) error {
		s, surface, list := &upperOcclusal, &d.Upper, change.Upper
		if i == 1 {
			s, surface, list = &lowerOcclusal, &d.Lower, change.Lower
		}
		thinned := make([]float64, len(surface.Source))
		for v, of := range surface.Source {
			thinned[v] = list[of]
		}
		a := NewArch([]dentition.Jaw{dentition.Upper, dentition.Lower}[i], surface, thinned, kinematics.Pose{})
		a.crown = crowns(surface)
		img, err := s.drawChange(r, a, most, face)
		if err != nil {
			return err
		}
		file, err := encode(img, 0)
		title := r.Say(s.title)
		out[i] = Picture{Name: "change-" + s.name + ".png", Title: title, Alt: r.Say("picture.change",
			language.With{"title": title}), PNG: file, Small: file}
		return err
	})
	return out, err
}

// changeRange is the least change, mm, that has the full colour.
const changeRange = 0.05

func (s *still) drawChange(r words.Reader, a *Arch, most float64, face *opentype.Font) (*image.RGBA, error) {
	v := s.view([]*Arch{a})
	p := raster.New(v, layoutWidth, s.height)
	plain := *s
	plain.mapped = false
	surface := plain.surface(a, &v, nil)
	shade := surface.Shade
	surface.Shade = func(t int, w [3]float64, q, n r3.Vec, back bool) [3]float64 {
		out := shade(t, w, q, n, back)
		c := a.triangles[t]
		x := w[0]*a.clearance[c[0]] + w[1]*a.clearance[c[1]] + w[2]*a.clearance[c[2]]
		if math.Abs(x) < paint.OverlapShown || back {
			return out
		}
		colour := changeColours[0]
		if x > 0 {
			colour = changeColours[1]
		}
		light := max(0.6, r3.Dot(n, v.Toward))
		share := 0.35 + 0.65*min(1, math.Abs(x)/most)
		for i := range out {
			out[i] += share * (light*colour[i] - out[i])
		}
		return out
	}
	p.Draw(surface)
	c, err := newCanvas(p.Image(paint.RGB{1, 1, 1}), face, 1)
	if err != nil {
		return nil, err
	}
	s.codes(r.Notation, c, p, a, &v)
	c.write(r.Say(s.title), 24, 30, 0)
	x, base := 24.0, c.high()-24
	for i, key := range [2]string{"picture.removed", "picture.added"} {
		c.fill(x, base-12, x+160, base+4, func(px, _ float64) paint.RGB {
			ink := paint.RGB{1, 1, 1}
			for k := range ink {
				ink[k] += (0.35 + 0.65*(px-x)/160) * (changeColours[i][k] - 1)
			}
			return ink
		})
		x = c.write(r.Say(key, language.With{"um": 1000 * most}), x+170, base, 0) + 30
	}
	return c.img, nil
}
