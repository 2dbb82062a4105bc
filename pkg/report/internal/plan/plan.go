// Package plan draws the occlusal chart: both arches in plan, with the marks and lines
// that contacts leave on this case's own teeth, and what was found there.
package plan

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/display"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
	"gonum.org/v1/gonum/spatial/r3"
)

// Sign marks a finding, numbered as in the list beside the chart.
type Sign struct {
	Number  int
	Weight  Weight
	Finding *findings.Finding
	// Movement is that of the finding, empty for the closing.
	Movement findings.Movement
}

// Weight is how much a finding matters; each has a shape of its own, so that it shows
// without colours.
type Weight string

// The weights: what acts on the closing or the movement; what touches where it should not
// without acting on it, within the scan uncertainty or beyond edge-to-edge only; and what
// is to be known.
const (
	Heavy Weight = "interference"
	Light Weight = "contact"
	Note  Weight = "note"
)

// WeightOf is the weight of a finding.
func WeightOf(g *findings.Finding) Weight {
	switch g.Kind {
	case findings.KindPremature, findings.KindNonworkingInterference, findings.KindProtrusiveInterference, findings.KindWorkingInterference:
		if g.Doubtful || g.PastEdge {
			return Light
		}
		return Heavy
	case findings.KindNonworkingContact, findings.KindProtrusiveContact, findings.KindWorkingContact, findings.KindLateDisclusion:
		return Light
	}
	return Note
}

// scale is the number of units of the drawing for a millimetre.
const scale = 6

// chart is a drawing in the making.
type chart struct {
	r        words.Reader
	f        *findings.Findings
	arches   [2]arch
	outlines []display.Outline // of the contacts of the closed casts
	restored map[dentition.ToothID]bool
	size     place   // of the drawing
	taken    []place // of the drawing, where codes and signs stand
	svg      strings.Builder
}

// arch is one arch of a drawing.
type arch struct {
	jaw    dentition.Jaw
	teeth  []outlined
	lo, hi place
	down   float64 // added to y, so that the lower arch lies under the upper one
}

// Draw draws the chart; empty where no tooth is labelled.
func Draw(r words.Reader, f *findings.Findings, d *display.Display, signs []Sign) template.HTML {
	c := &chart{r: r, f: f, outlines: d.Outlines.Closed, restored: map[dentition.ToothID]bool{}}
	for i := range f.Restore {
		c.restored[dentition.ToothID(f.Restore[i].Tooth)] = true
	}
	closed := f.Settling.Pose.Then(f.Centric.Pose.Pose)
	stay := func(p r3.Vec) r3.Vec { return p }
	c.arches = [2]arch{{jaw: dentition.Upper, teeth: outlines(dentition.Upper, &d.Upper, stay)},
		{jaw: dentition.Lower, teeth: outlines(dentition.Lower, &d.Lower, closed.Apply)}}
	if len(c.arches[0].teeth)+len(c.arches[1].teeth) == 0 {
		return ""
	}
	width, height := c.layOut()
	c.size = place{width, height}
	for i := range c.arches {
		c.crowns(&c.arches[i])
		c.missing(&c.arches[i])
	}
	c.lines()
	c.stops()
	for i := range c.arches {
		c.codes(&c.arches[i])
	}
	c.sides(width)
	for i := range signs {
		c.sign(&signs[i])
	}
	head := fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" class="plan" viewBox="0 0 %s %s" role="group" aria-label="%s">`+"\n",
		num(width), num(height), html.EscapeString(r.Say("plan.label")))
	return template.HTML(head + c.svg.String() + "</svg>") // every text in it is escaped, everything else is ours
}

// margin is the room round the arches, mm: for the codes.
const margin = 7.0

// layOut puts both arches under each other and gives the size of the drawing.
func (c *chart) layOut() (width, height float64) {
	left, right := math.Inf(1), math.Inf(-1)
	for i := range c.arches {
		a := &c.arches[i]
		a.lo, a.hi = place{math.Inf(1), math.Inf(1)}, place{math.Inf(-1), math.Inf(-1)}
		for _, t := range a.teeth {
			for _, p := range t.rim {
				a.lo, a.hi = place{min(a.lo.x, p.x), min(a.lo.y, p.y)}, place{max(a.hi.x, p.x), max(a.hi.y, p.y)}
			}
		}
		if len(a.teeth) > 0 {
			left, right = min(left, a.lo.x), max(right, a.hi.x)
		}
	}
	at := margin
	for i := range c.arches {
		a := &c.arches[i]
		if len(a.teeth) == 0 {
			continue
		}
		a.down = at - a.lo.y
		at += a.hi.y - a.lo.y + 3
	}
	for i := range c.arches {
		c.arches[i].lo.x = left - margin
	}
	return scale * (right - left + 2*margin), scale * (at - 3 + margin)
}

// on is where a place of an arch is in the drawing.
func (a *arch) on(p place) (x, y string) {
	q := a.drawn(p)
	return num(q.x), num(q.y)
}

// drawn is the same in numbers.
func (a *arch) drawn(p place) place { return place{scale * (p.x - a.lo.x), scale * (p.y + a.down)} }

// of is the arch of a jaw.
func (c *chart) of(j dentition.Jaw) *arch { return &c.arches[int(j)-1] }

// num writes a length to a tenth of a unit.
func num(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64) }

// crowns draws the outlines, each a link to the card of its tooth.
func (c *chart) crowns(a *arch) {
	for _, t := range a.teeth {
		kind := "crown"
		if c.restored[t.tooth] {
			kind += " restored"
		}
		fmt.Fprintf(&c.svg, `<a href="#tooth-%s" class="tooth" aria-label="%s"><path class="%s" d="`, t.tooth,
			html.EscapeString(c.r.Say("plan.tooth", words.Named(c.r, t.tooth))), kind)
		// A smooth line through the middles of the sides.
		for i, p := range t.rim {
			q := t.rim[(i+1)%len(t.rim)]
			mx, my := a.on(p.to(q, 0.5))
			if i == 0 {
				fmt.Fprintf(&c.svg, "M%s %s", mx, my)
				continue
			}
			px, py := a.on(p)
			fmt.Fprintf(&c.svg, "Q%s %s %s %s", px, py, mx, my)
		}
		px, py := a.on(t.rim[0])
		mx, my := a.on(t.rim[0].to(t.rim[1], 0.5))
		fmt.Fprintf(&c.svg, "Q%s %s %s %sZ\"/></a>\n", px, py, mx, my)
	}
}

// Missing lists the permanent teeth from the central incisor to the second molar that a
// labelled arch lacks between teeth that it has, in rising order.
func Missing(present []dentition.ToothID) []dentition.ToothID {
	var out []dentition.ToothID
	for t := range dentition.All {
		if t.Deciduous() || t.Position() > 7 || slices.Contains(present, t) || slices.Contains(present, t.Counterpart()) {
			continue
		}
		behind, ok := false, false
		for _, p := range present {
			behind = behind || p.Quadrant() == t.Quadrant() && p.Position() > t.Position()
			ok = ok || p.Jaw() == t.Jaw()
		}
		if ok && behind {
			out = append(out, t)
		}
	}
	return out
}

// missing draws a dashed place where a tooth is missing between two others.
func (c *chart) missing(a *arch) {
	var present []dentition.ToothID
	for _, t := range a.teeth {
		present = append(present, t.tooth)
	}
	for _, m := range Missing(present) {
		before, after := neighbour(a.teeth, m, -1), neighbour(a.teeth, m, 1)
		if before == nil || after == nil {
			continue
		}
		share := float64(m.Position()-before.tooth.Position()) / float64(after.tooth.Position()-before.tooth.Position())
		x, y := a.on(before.centre.to(after.centre, share))
		fmt.Fprintf(&c.svg, `<circle class="missing" cx="%s" cy="%s" r="%d"/><text class="gone" x="%s" y="%s">%s</text>`+"\n", x, y, 3*scale,
			x, y, html.EscapeString(c.r.Notation.Format(m)))
	}
}

// neighbour is the next tooth of a quadrant that is there, to mesial (-1) or distal (1).
func neighbour(teeth []outlined, t dentition.ToothID, way int) *outlined {
	for p := t.Position() + way; p >= 1 && p <= 8; p += way {
		for i := range teeth {
			if teeth[i].tooth.Quadrant() == t.Quadrant() && teeth[i].tooth.Position() == p {
				return &teeth[i]
			}
		}
	}
	return nil
}

// codes writes the code of each tooth outside its arch.
func (c *chart) codes(a *arch) {
	for i := range a.teeth {
		t := &a.teeth[i]
		way, ok := a.outward(t)
		if !ok {
			continue
		}
		// Beyond the farthest corner of the crown along the way out.
		out := 0.0
		for _, p := range t.rim {
			out = max(out, (p.x-t.centre.x)*way.x+(p.y-t.centre.y)*way.y)
		}
		at := place{t.centre.x + (out+2.8)*way.x, t.centre.y + (out+2.8)*way.y}
		c.taken = append(c.taken, a.drawn(at))
		x, y := a.on(at)
		fmt.Fprintf(&c.svg, `<text class="code" x="%s" y="%s" aria-hidden="true">%s</text>`+"\n", x, y,
			html.EscapeString(c.r.Notation.Format(t.tooth)))
	}
}

// outward is the direction, of length 1, across the row of teeth and out of the arch at a
// tooth; not ok where it stands alone.
func (a *arch) outward(t *outlined) (way place, ok bool) {
	var middle place
	for _, u := range a.teeth {
		middle = place{middle.x + u.centre.x/float64(len(a.teeth)), middle.y + u.centre.y/float64(len(a.teeth))}
	}
	mesial, distal := t, t
	if n := neighbour(a.teeth, t.tooth, -1); n != nil {
		mesial = n
	} else if n = neighbour(a.teeth, t.tooth.Mirror()-t.tooth.Mirror()%10, 1); n != nil {
		mesial = n // the first tooth beyond the midline
	}
	if n := neighbour(a.teeth, t.tooth, 1); n != nil {
		distal = n
	}
	long := mesial.centre.far(distal.centre)
	if long == 0 {
		return place{}, false
	}
	way = place{(distal.centre.y - mesial.centre.y) / long, (mesial.centre.x - distal.centre.x) / long}
	if (t.centre.x-middle.x)*way.x+(t.centre.y-middle.y)*way.y < 0 {
		way = place{-way.x, -way.y}
	}
	return way, true
}

// sides writes which side of the chart is which of the patient's.
func (c *chart) sides(width float64) {
	var y float64
	for i := range c.arches {
		if a := &c.arches[i]; len(a.teeth) > 0 {
			y = max(y, scale*(a.lo.y+a.down)) // between the arches
		}
	}
	for _, s := range [...]struct {
		key string
		x   float64
	}{{"plan.right", 8}, {"plan.left", width - 8}} {
		c.taken = append(c.taken, place{s.x, y - 1.5*scale})
		fmt.Fprintf(&c.svg, `<text class="side" x="%s" y="%s">%s</text>`+"\n", num(s.x), num(y-1.5*scale), html.EscapeString(c.r.Say(s.key)))
	}
}
