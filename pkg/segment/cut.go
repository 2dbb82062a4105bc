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

// What a crown is cut out by. Where no source is named a number is our choice, set on casts of
// package typodont and on the real scans of persons 1 to 30; docs/finding-teeth.md shows what a
// fifth more or less of each does on others.
const (
	// Of the crown's length: surface within it from the top is surely crown. It ends above the
	// papillae, which begin at 1 − papilla of the length.
	seedShare = 0.45
	// Of the crown's width left out at each side there: borders between teeth are found to within
	// a quarter of a crown.
	seedWidth = 0.25
	// Beyond the crown's handbook length surface is surely gingiva, mm: recession of more is rare.
	farBelow = 3.0
	// Of the crown's width beyond its borders: less than half, where the neighbour's middle begins.
	farAside = 0.45
	// Of the usual length, per mm² and mm off it. It is weak: 10 mm² that lie 1 mm off weigh as
	// much as 0.4 mm of border over even surface, so that it decides where no valley does.
	pull = 0.04
	// Relief below which surface is likely gingiva, 1/mm: about noCrown, below which columns show
	// no crown.
	smoothRelief = 0.12
	// From the crowns' middles, mm: half the breadth of the broadest crown, an upper first molar's
	// 11 mm (handbook, from memory), and a little.
	coreAside = 6.0
	// Against surface without relief, per mm²: six times pull, since gingiva beside molars is broad.
	smoothPush = 0.25
	// The least that a border costs, per mm: of valleys as deep the shortest is taken.
	flatFloor = 0.02
	// By how much the cost of a border falls with curvature, as an exponent: where the surface is as
	// concave as [valley] it costs a twentieth.
	sharpness = 3.0
	// Curvature from which the floor of a valley is no tooth, 1/mm: more than [valley], since fissures
	// are valleys too.
	webBend = 0.45
	// Of a border along the rim of the scan, per mm: less than over even surface, since scans are
	// trimmed along the margin; and by how much more, of itself, for every mm below the usual margin.
	rimCost = 0.6
	rimRise = 1.5
	// Below the usual margin a rim is surely that of gingiva, mm: scans show some of it.
	rimBelow = 2.5
	// Of the rim where the scan shows no gingiva, per mm: it is the margin then.
	bareCost = 0.2
	// Of the crown's length: how far gingiva rises between teeth. Papillae of upper front teeth fill
	// about 40 % (S. Chu et al., Int J Periodontics Restorative Dent 29, 2009; from memory).
	papilla = 0.45
	// How much dearer a border is over a ridge of the curvature of [valley]: it belongs in valleys.
	convexCost = 1.5
	// Unit of the network's capacities, mm: below the cost of any edge of a scan.
	quantum = 1e-4
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
	furrowShare = 0.1  // between the two ranges
	neckFrom    = 0.5  // of the crown's length: the half nearer to the neck
	neckInside  = 0.2  // of the crown's width left out at each side: the valleys between teeth
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
	return s.divide(func(v int) bool { // within reach of the crown
		return c.beside(b.station[v]) < farAside*w && c.top-b.height[v] < c.length+farBelow && b.aside(v) < reachOut
	}, func(v int) (in, out float64) {
		depth := c.top - b.height[v]
		beyond := depth - c.margin(b.station[v])
		switch {
		case c.core(s, b, v):
			return math.Inf(1), 0
		case !bare && s.rim[v] > 0 && beyond > rimBelow,
			i > 0 && crowns[i-1].core(s, b, v), i+1 < len(crowns) && crowns[i+1].core(s, b, v):
			return 0, math.Inf(1)
		}
		in = pull * s.area[v] * max(0, 0.6*c.length-depth)
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
		return in, pull*s.area[v]*max(0, depth-c.length) + rim*s.rim[v] + smoothPush*s.area[v]*smooth
	})
}

// divide lists the vertices of a crown: those of the surface in question that lie on its side
// of the cheapest border. in and out are what speaks for a vertex to belong to it and against
// it, mm, infinite where that is sure; nothing beyond the surface in question belongs to it.
func (s *surface) divide(asked func(v int) bool, pull func(v int) (in, out float64)) []int32 {
	local := make([]int32, len(s.area))
	var verts []int32
	for v := range local {
		local[v] = -1
		if asked(v) {
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
	capacity := func(mm float64) int32 {
		if math.IsInf(mm, 1) {
			return mincut.Endless
		}
		return int32(mm / quantum)
	}
	g := mincut.NewNetwork(len(verts), edges)
	for k, v := range verts {
		in, out := pull(int(v))
		g.FromSource(int32(k), capacity(in))
		g.ToSink(int32(k), capacity(out))
	}
	for _, e := range s.edges {
		a, b := local[e.V[0]], local[e.V[1]]
		switch {
		case a < 0 && b < 0:
		case a < 0:
			g.ToSink(b, mincut.Endless) // at the rim of the surface in question
		case b < 0:
			g.ToSink(a, mincut.Endless)
		default:
			g.Join(a, b, int32(s.borderCost(e.V[0], e.V[1])/quantum))
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
