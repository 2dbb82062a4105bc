package plan

import (
	"fmt"
	"html"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"gonum.org/v1/gonum/spatial/r3"
)

// back takes a point of a frame to where it lies on the closed lower arch.
func (c *chart) back(fr *findings.Frame, p r3.Vec) r3.Vec {
	return fr.Pose.Inverse().Then(c.f.Centric.Pose.Pose).Apply(p)
}

// lines draws what contacts within the thinnest foil leave on the teeth in the
// movements.
func (c *chart) lines() {
	foils := words.FoilsOf(c.f)
	if len(foils) == 0 {
		return
	}
	for i := range c.f.Excursions {
		x := &c.f.Excursions[i]
		for _, t := range tracks(x, foils[0], c.back) {
			for _, side := range [...]struct {
				tooth findings.Part
				jaw   dentition.Jaw
				way   []place
			}{{t.pair.Upper, dentition.Upper, t.upper}, {t.pair.Lower, dentition.Lower, t.lower}} {
				if side.tooth == 0 || len(side.way) < 2 {
					continue
				}
				var points []string
				for _, p := range side.way {
					x, y := c.of(side.jaw).on(p)
					points = append(points, x+","+y)
				}
				fmt.Fprintf(&c.svg, `<polyline class="way %s" points="%s"/>`+"\n", UseOf(x.Movement, dentition.ToothID(side.tooth)),
					strings.Join(points, " "))
			}
		}
	}
}

// stops draws the contacts of the closed casts on both arches, those of the thickest foil
// first: in their own shape, but not too small to be seen.
func (c *chart) stops() {
	foils := words.FoilsOf(c.f)
	slices.Reverse(foils)
	for i, foil := range foils {
		kind := "foil"
		if i == len(foils)-1 {
			kind = "stop"
		}
		for k := range c.f.Centric.Contacts {
			x := &c.f.Centric.Contacts[k]
			if x.FoilUm != foil {
				continue
			}
			o := c.outlines[k].Grown(0.55)
			for j, tooth := range [...]findings.Part{x.Upper, x.Lower} {
				if tooth == 0 {
					continue
				}
				a := &c.arches[j]
				var rim []string
				for _, p := range o.Rim() {
					px, py := a.on(seen(a.jaw, p))
					rim = append(rim, px+" "+py)
				}
				fmt.Fprintf(&c.svg, `<path class="%s" d="M%sZ"/>`+"\n", kind, strings.Join(rim, "L"))
			}
		}
	}
}

// sign draws the number of a finding on both of its teeth, on a shape that says its
// weight.
func (c *chart) sign(s *Sign) {
	if s.Finding.PointMM == nil {
		return
	}
	up, lo := s.Finding.PointMM.R3(), s.Finding.PointMM.R3()
	for i := range c.f.Excursions {
		x := &c.f.Excursions[i]
		if x.Movement != s.Movement {
			continue
		}
		for k := range x.Frames {
			if x.Frames[k].TravelMM == s.Finding.AtMM {
				lo = c.back(&x.Frames[k], lo)
			}
		}
	}
	for j, tooth := range [...]findings.Part{s.Finding.Upper, s.Finding.Lower} {
		if tooth == 0 {
			continue
		}
		a := &c.arches[j]
		spot := a.drawn(seen(a.jaw, [...]r3.Vec{up, lo}[j]))
		at := c.free(spot)
		fmt.Fprintf(&c.svg, `<path class="lead" d="M%s %sL%s %s"/><g class="sign %s" transform="translate(%s %s) scale(%s)">%s`+
			"<title>%s</title></g>\n",
			num(spot.x), num(spot.y), num(at.x), num(at.y), s.Weight, num(at.x), num(at.y), num(signScale),
			Shape(s.Weight, s.Number), html.EscapeString(c.r.Write(s.Finding.Text)))
	}
}

// signScale is the size of signs in the drawing, and signRoom the distance of their
// middles, in its units.
const (
	signScale = 0.85
	signRoom  = 26.0
)

// free is the nearest place about a spot, but not on it, where no sign, no code and no
// crown is, and takes it.
func (c *chart) free(spot place) place {
	best := place{spot.x, spot.y - signRoom}
search:
	for ring := 1.0; ring <= 12; ring++ {
		for k := range 16 {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / 16)
			at := place{spot.x + 0.6*ring*signRoom*cos, spot.y + 0.6*ring*signRoom*sin}
			inside := min(at.x, at.y, c.size.x-at.x, c.size.y-at.y) > signRoom/2
			if inside && !c.covered(at) && !slices.ContainsFunc(c.taken, func(p place) bool { return p.far(at) < signRoom }) {
				best = at
				break search
			}
		}
	}
	c.taken = append(c.taken, best)
	return best
}

// covered says whether a crown is drawn at a place.
func (c *chart) covered(at place) bool {
	for i := range c.arches {
		a := &c.arches[i]
		for _, t := range a.teeth {
			in := false
			for k, p := range t.rim {
				p, q := a.drawn(p), a.drawn(t.rim[(k+1)%len(t.rim)])
				if (p.y > at.y) != (q.y > at.y) && at.x < p.x+(at.y-p.y)/(q.y-p.y)*(q.x-p.x) {
					in = !in
				}
			}
			if in {
				return true
			}
		}
	}
	return false
}

// Shape is the shape of a weight with a number in it, about the origin: a triangle, a
// diamond or a disc.
func Shape(w Weight, number int) string {
	d := map[Weight]string{Heavy: "M0 -15L15 11H-15Z", Light: "M0 -14L14 0 0 14 -14 0Z", Note: "M-11 0A11 11 0 0 1 11 0A11 11 0 0 1 -11 0Z"}[w]
	down := 4.5
	if w == Heavy {
		down = 8
	}
	return fmt.Sprintf(`<path d="%s"/><text y="%s">%d</text>`, d, num(down), number)
}
