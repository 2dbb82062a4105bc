package segment

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/internal/mincut"
	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Handbook crown lengths, mm, of the teeth 1 to 8 of a quadrant.
var (
	upperLengths = [8]float64{10.5, 9, 10, 8.5, 8.5, 7.5, 7, 6.5}
	lowerLengths = [8]float64{9, 9.5, 11, 8.5, 8, 7.5, 7, 7}
)

const (
	seedShare    = 0.45 // of the crown's length: surface within it from the top is taken for crown
	seedWidth    = 0.25 // of the crown's width left out at each side there
	farBelow     = 3.0  // beyond the crown's length: surely gingiva, mm
	farAside     = 0.45 // of the crown's width beyond its borders: surely another tooth's or gingiva
	pull         = 0.04 // of the expected border, per mm² and mm
	smoothRelief = 0.12 // relief below which surface is likely gingiva, 1/mm
	coreAside    = 6.0  // from the crowns' middles: half the breadth of the largest and a little, mm
	smoothPush   = 0.25 // of such surface, per mm², where it has none
	flatFloor    = 0.02 // least cost of a border, per mm
	sharpness    = 3.0  // how much less a border costs per [valley] of curvature
	webBend      = 0.45 // curvature from which the floor of a valley is no tooth, 1/mm
	rimCost      = 0.6  // of a border along the rim of the scan, per mm
	rimRise      = 1.5  // by how much more, of itself, for every mm that it lies below the usual margin
	rimBelow     = 2.5  // below the usual margin a rim is surely that of gingiva, mm
	bareCost     = 0.2  // of the rim where the scan shows no gingiva: less than over even surface
	papilla      = 0.45 // of the crown's length: how far the gingiva rises between teeth
	convexCost   = 1.5  // how much more over a ridge of that curvature
	quantum      = 1e-4 // unit of the network's capacities, mm
)

// crownPlace is what is known of a crown before it is cut out.
type crownPlace struct {
	span
	top    float64 // height of its top, mm
	length float64 // by handbook, mm
	lo, hi float64 // stations of its borders
}

// cutOut finds the vertices of every crown of a row: for each the cheapest
// closed line around it, by a minimum cut. A line is cheap where the surface is
// concave (the minima rule), so that it lies in the valleys to the gingiva and
// the neighbours; it may run along the rim of a scan that ends on the crown.
// Crowns are cut one by one; what two of them claim goes to the one whose side of
// the border it is on.
func cutOut(ctx context.Context, s *surface, b *band, jaw dentition.Jaw, found []span) ([]dentition.ToothID, error) {
	crowns := make([]crownPlace, len(found))
	for i, f := range found {
		crowns[i] = b.place(f, jaw)
	}
	bare, alone := s.bare(b, crowns), s.alone(b, crowns)
	claims := make([][]int32, len(crowns))
	if err := par.Chunks(ctx, len(crowns), 1, 0, func(_, lo, hi int) error {
		for i := lo; i < hi; i++ {
			claims[i] = s.cutCrown(b, crowns, i, bare)
		}
		return nil
	}); err != nil {
		return nil, err
	}
	labels := make([]dentition.ToothID, len(b.station))
	owner := make([]int32, len(labels))
	for i := range claims {
		for _, v := range claims[i] {
			if o := owner[v]; o > 0 && crowns[o-1].beside(b.station[v]) <= crowns[i].beside(b.station[v]) {
				continue
			}
			owner[v] = int32(i) + 1
			labels[v] = crowns[i].tooth
		}
	}
	s.peel(labels)
	for v, k := range s.piece {
		if s.part[v] && alone[k] > 0 {
			labels[v] = crowns[alone[k]-1].tooth
		}
	}
	return labels, nil
}

// Gingiva shows as the furrow in which it meets the crowns. Of the surface around the
// necks, away from the neighbours, more than a tenth is furrow in scans with gingiva (11
// to 20 % of synthetic and real ones), less in scans without (2 to 9 %).
const (
	furrowBend  = -0.1 // mean curvature of a furrow, 1/mm
	furrowShare = 0.1
	neckFrom    = 0.5 // of the crown's length: where the surface around the neck begins
	neckInside  = 0.2 // of the crown's width left out at each side
)

// bare reports whether a scan shows crowns only, without gingiva.
func (s *surface) bare(b *band, crowns []crownPlace) bool {
	furrow, all := 0.0, 0.0
	for i := range crowns {
		c := &crowns[i]
		for v := range b.station {
			depth := c.top - b.height[v]
			if !s.part[v] || depth < neckFrom*c.length || depth > c.length+farBelow ||
				c.beside(b.station[v]) > -neckInside*(c.hi-c.lo) || b.aside(v) > reachOut {
				continue
			}
			all += s.area[v]
			if s.bend[v] < furrowBend {
				furrow += s.area[v]
			}
		}
	}
	return furrow < furrowShare*all
}

// alone gives, by the pieces of the scan, the number (from 1) of the crown that a piece is
// nothing but: it shows the core of that crown only and reaches no farther than a crown.
// Such are crowns that were cut out one by one.
func (s *surface) alone(b *band, crowns []crownPlace) map[int32]int {
	out := map[int32]int{}
	for i := range crowns {
		for v, k := range s.piece {
			if s.part[v] && crowns[i].core(s, b, v) {
				if o := out[k]; o != 0 && o != i+1 {
					out[k] = -1
				} else {
					out[k] = i + 1
				}
			}
		}
	}
	for v, k := range s.piece {
		if o := out[k]; s.part[v] && o > 0 {
			if c := &crowns[o-1]; c.beside(b.station[v]) > farAside*(c.hi-c.lo) || c.top-b.height[v] > c.length+farBelow || b.aside(v) > reachOut {
				out[k] = -1
			}
		}
	}
	return out
}

// peel takes off the labels' rims as far as they lie on the floor of a valley:
// gingiva, or the web that scanning spans between teeth that touch. Neither is
// surface of a tooth.
func (s *surface) peel(labels []dentition.ToothID) {
	for {
		var off []mesh.VertexID
		for _, e := range s.edges {
			a, b := labels[e.V[0]], labels[e.V[1]]
			if a == b {
				continue
			}
			for _, v := range e.V {
				if labels[v] != dentition.NoTooth && s.bend[v] < -webBend {
					off = append(off, v)
				}
			}
		}
		if len(off) == 0 {
			return
		}
		for _, v := range off {
			labels[v] = dentition.NoTooth
		}
	}
}

// place looks up height and size of a crown.
func (b *band) place(f span, jaw dentition.Jaw) crownPlace {
	lengths := &upperLengths
	if jaw == dentition.Lower {
		lengths = &lowerLengths
	}
	c := crownPlace{span: f, length: lengths[f.tooth.Position()-1], top: math.Inf(-1),
		lo: b.first + float64(f.start)*pace, hi: b.first + float64(f.end)*pace}
	for i := f.start; i < f.end; i++ {
		c.top = max(c.top, b.top[i])
	}
	return c
}

// beside is how far a station lies beyond a crown's borders, negative inside.
func (c *crownPlace) beside(station float64) float64 { return max(c.lo-station, station-c.hi) }

// margin is how far below the crown's top the gingiva usually begins at a station, mm:
// at the neck in the middle, higher at the sides.
func (c *crownPlace) margin(station float64) float64 {
	t := min(1, math.Abs(2*station-c.lo-c.hi)/(c.hi-c.lo))
	return c.length * (1 - papilla*t*t)
}

// core says whether a vertex surely belongs to the crown.
func (c *crownPlace) core(s *surface, b *band, v int) bool {
	if s.relief[v] < smoothRelief || b.aside(v) > coreAside {
		return false
	}
	w := c.hi - c.lo
	return c.beside(b.station[v]) < -seedWidth*w && c.top-b.height[v] < seedShare*c.length
}

// aside is how far a vertex stands from the crowns' middle line.
func (b *band) aside(v int) float64 {
	i := b.column(b.station[v])
	if i < 0 || i >= len(b.middle) {
		return math.Inf(1)
	}
	return math.Abs(b.outside[v] - b.middle[i])
}

// cutCrown lists the vertices of one crown; bare says that the scan shows no gingiva.
func (s *surface) cutCrown(b *band, crowns []crownPlace, i int, bare bool) []int32 {
	c := &crowns[i]
	w := c.hi - c.lo
	// The surface in question: within reach of the crown.
	local := make([]int32, len(b.station))
	var verts []int32
	for v := range local {
		local[v] = -1
		if c.beside(b.station[v]) < farAside*w && c.top-b.height[v] < c.length+farBelow && b.aside(v) < reachOut {
			local[v] = int32(len(verts))
			verts = append(verts, int32(v))
		}
	}
	edges := 0
	for _, e := range s.edges {
		if local[e.V[0]] >= 0 && local[e.V[1]] >= 0 {
			edges++
		}
	}
	g := mincut.NewNetwork(len(verts), edges)
	for k, v := range verts {
		depth := c.top - b.height[v]
		beyond := depth - c.margin(b.station[v])
		switch {
		case c.core(s, b, int(v)):
			g.FromSource(int32(k), mincut.Endless)
		case !bare && s.rim[v] > 0 && beyond > rimBelow,
			i > 0 && crowns[i-1].core(s, b, int(v)), i+1 < len(crowns) && crowns[i+1].core(s, b, int(v)):
			g.ToSink(int32(k), mincut.Endless)
		default:
			in := pull * s.area[v] * max(0, 0.6*c.length-depth)
			smooth := 0.0
			if c.tooth.Position() >= 6 { // anterior teeth have large smooth faces
				smooth = max(0, (smoothRelief-s.relief[v])/smoothRelief)
			}
			if smooth > 0 {
				in = 0
			}
			rim := bareCost
			if !bare {
				rim = rimCost * (1 + rimRise*max(0, beyond))
			}
			out := pull*s.area[v]*max(0, depth-c.length) + rim*s.rim[v] + smoothPush*s.area[v]*smooth
			g.FromSource(int32(k), int32(in/quantum))
			g.ToSink(int32(k), int32(out/quantum))
		}
	}
	for _, e := range s.edges {
		p, q := local[e.V[0]], local[e.V[1]]
		switch {
		case p < 0 && q < 0:
		case p < 0:
			g.ToSink(q, mincut.Endless) // at the rim of the surface in question
		case q < 0:
			g.ToSink(p, mincut.Endless)
		default:
			g.Join(p, q, int32(s.borderCost(e.V[0], e.V[1])/quantum))
		}
	}
	side := g.Cut()
	var out []int32
	for k, in := range side {
		if in {
			out = append(out, verts[k])
		}
	}
	return out
}

// borderCost is the cost of a border across the edge between two vertices, mm.
func (s *surface) borderCost(a, b mesh.VertexID) float64 {
	bend := (s.bend[a] + s.bend[b]) / 2 / valley
	l := r3.Norm(r3.Sub(s.mesh.Vertices()[a], s.mesh.Vertices()[b]))
	if bend < 0 {
		return l * max(flatFloor, portable.Exp(sharpness*bend))
	}
	return l * (1 + convexCost*min(bend, 2))
}
