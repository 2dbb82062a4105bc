package typodont

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// A tooth is a crown that stands somewhere. Code is its ISO 3950 number.
type tooth struct {
	code  int
	crown *crown
	frame
	home   frame   // where it stood when the arches were fitted to each other
	moved  bool    // displaced since
	gone   bool    // only its gingiva is there
	centre r3.Vec  // middle of the crown
	reach  float64 // beyond this distance from the middle it has no influence
	neck   neck
	// How far the gingiva rises at the tooth's mesial and distal side, mm.
	mesialPapilla, distalPapilla float64
}

// neck is the outline of a crown at its cervical line.
type neck struct{ a, c, mid float64 }

// An arch is the teeth of one jaw, from the patient's right to the left, in
// their gingiva. Its solid is where [arch.value] is negative.
type arch struct {
	upper bool
	teeth []tooth
	base  float64 // height (z) of the cut below the gingiva
}

// settle fills what follows from a tooth's crown and frame.
func (t *tooth) settle() {
	c := t.crown
	t.centre = t.world(0, 0, -c.length/2)
	t.reach = math.Sqrt(c.md*c.md+c.bl*c.bl+c.length*c.length)/2 + 1
	switch w := c.wall.(type) {
	case *oval:
		yb, yl := w.buccal.at(0), w.lingual.at(0)
		t.neck = neck{w.mesial.at(0), (yb - yl) / 2, (yb + yl) / 2}
	case *blade:
		yb, yl := w.buccal.at(0), w.lingual.at(0)
		t.neck = neck{w.half.at(0), (yb - yl) / 2, (yb + yl) / 2}
	}
}

// value is about the distance from the tooth's surface, negative inside.
func (t *tooth) value(p r3.Vec) float64 {
	m, b, o := t.local(p)
	return t.crown.value(m, b, o)
}

// Widths over which surfaces are rounded into each other, mm.
const (
	contactRound = 0.9  // crown and crown
	sulcusRound  = 0.25 // crown and gingiva
	gumRound     = 2.2  // gingiva of one tooth and of the next
)

// gum is the gingiva around one tooth: a collar that thickens away from its
// margin. The margin runs along the cervical line on the buccal and lingual
// side and rises to the papillae between the teeth.
func (t *tooth) gum(m, b, o float64) float64 {
	if t.gone {
		return t.ridge(m, b, o)
	}
	n := t.neck
	y := b - n.mid
	X, Y := m/n.a, y/n.c
	X2, Y2 := X*X, Y*Y
	sum := X2 + Y2
	rho := math.Sqrt(math.Sqrt(X2*X2 + Y2*Y2 + 1.4*X2*Y2))
	side, wall := 0.0, -min(n.a, n.c)
	if rho > 0.05 {
		side, wall = X2/sum, math.Sqrt(m*m+y*y)*(1-1/rho)
	}
	papilla := t.mesialPapilla
	if m < 0 {
		papilla = t.distalPapilla
	}
	margin := -t.crown.length + papilla*side*side
	thick := 0.32 + 0.5*side*side + thickening(margin-o)
	return smax(wall-thick, o-margin, 0.7)
}

// thickening is how much thicker the gingiva is at a depth below its margin, mm.
func thickening(deep float64) float64 {
	deep = max(deep, 0)
	return 1.5 * deep / (deep + 3.2)
}

const (
	ridgeLoss    = 0.5  // how far a healed ridge lies below the cervical line, mm
	ridgeWidth   = 0.85 // its width as a share of the neck's
	ridgeReach   = 0.8  // how far it runs on below the neighbours, mm
	ridgeRound   = 3.5  // width over which its crest is rounded into its sides
	ridgePapilla = 0.3  // what stays of a neighbour's papilla beside it, as a share
)

// ridge is the healed ridge where a tooth is gone: it runs from neighbour to
// neighbour with a broad round crest.
func (t *tooth) ridge(m, b, o float64) float64 {
	top := -t.crown.length - ridgeLoss
	thick := 0.32 + thickening(top-o)
	side := math.Abs(b-t.neck.mid) - ridgeWidth*t.neck.c - thick
	end := math.Abs(m) - t.crown.md/2 - ridgeReach - thick
	return smax(smax(side, end, 3), o-top, ridgeRound)
}

// lose takes a tooth out; its neighbours' papillae beside the gap go down.
func (a *arch) lose(code int) {
	for i := range a.teeth {
		t := &a.teeth[i]
		if t.code != code {
			continue
		}
		t.gone, t.moved = true, true
		for _, k := range []int{i - 1, i + 1} {
			if k < 0 || k >= len(a.teeth) {
				continue
			}
			n := &a.teeth[k]
			if m, _, _ := n.local(t.centre); m > 0 {
				n.mesialPapilla = ridgePapilla * n.crown.papilla
			} else {
				n.distalPapilla = ridgePapilla * n.crown.papilla
			}
		}
	}
}

// far is the value where no tooth is near.
const far = 6.0

// gumReach is how far beyond a crown its gingiva matters, mm.
const gumReach = 9.0

// value is about the distance from the arch's surface in mm, negative inside,
// and whose surface it is: an index into teeth, or −1 for gingiva.
func (a *arch) value(p r3.Vec) (float64, int) {
	crowns, gums, best, who := far, far, far, -1
	for i := range a.teeth {
		t := &a.teeth[i]
		d := r3.Sub(p, t.centre)
		d2 := r3.Dot(d, d)
		if d2 > (t.reach+gumReach)*(t.reach+gumReach) {
			continue
		}
		m, b, o := t.local(p)
		if t.gone {
			// no crown
		} else if d2 >= t.reach*t.reach {
			crowns = min(crowns, math.Sqrt(d2)-t.reach+0.8)
		} else {
			f := t.crown.value(m, b, o)
			if f < best {
				best, who = f, i
			}
			crowns = smin(crowns, f, contactRound)
		}
		if o < 2.5-t.crown.length+t.crown.papilla {
			gums = smin(gums, t.gum(m, b, o), gumRound)
		} else {
			gums = smin(gums, o+t.crown.length-t.crown.papilla, gumRound)
		}
	}
	if gums < best {
		who = -1
	}
	return smin(crowns, gums, sulcusRound), who
}

// bounds is a box around everything that matters of the arch.
func (a *arch) bounds() (lo, hi r3.Vec) {
	inf := math.Inf(1)
	lo, hi = r3.Vec{X: inf, Y: inf, Z: inf}, r3.Vec{X: -inf, Y: -inf, Z: -inf}
	for i := range a.teeth {
		t := &a.teeth[i]
		r := t.reach + 5
		at := t.home.world(0, 0, -t.crown.length/2) // the lattice stays where it is when teeth are displaced
		lo = r3.Vec{X: min(lo.X, at.X-r), Y: min(lo.Y, at.Y-r), Z: min(lo.Z, at.Z-r)}
		hi = r3.Vec{X: max(hi.X, at.X+r), Y: max(hi.Y, at.Y+r), Z: max(hi.Z, at.Z+r)}
	}
	if a.upper {
		hi.Z = a.base
	} else {
		lo.Z = a.base
	}
	return lo, hi
}
