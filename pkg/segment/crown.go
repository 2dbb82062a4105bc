package segment

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// What a crown is cut out by where the picture shows it. Where no source is named a number is
// our choice, set as those of cut.go.
const (
	// How far beyond a tooth's picture its surface may lie, mm: crowns widen below the edge that the
	// picture shows, by up to a quarter of a molar's 10 mm.
	aside = 2.5
	// By how much more where the picture shows nothing of the usual area, mm: a crown that leans
	// hides up to half of itself.
	asideMore = 3.0
	// Below the picture's heights surface is out of its sight, mm: a pixel's diagonal on a wall of 45°.
	under = 0.7
	// Share from which a pixel inside a tooth's picture is its core, and that where the picture shows
	// less than a third of the usual area and every pixel counts.
	sure      = 0.75
	smallSure = 0.6
	// Weight of a picture that shows the tooth, per mm² and unit of log odds, and of one that shows
	// none: that is weaker, since gingiva and the lingual faces of front teeth look alike.
	belief    = 0.15
	disbelief = 0.03
	// Weight of the usual length of crowns where nothing is seen, per mm² and mm: as pull.
	hidden = 0.04
	// Of a border along the rim of the scan, per mm: as bareCost.
	edgeCost = 0.2
)

// crown is a tooth in the picture, before it is cut out of the scan.
type crown struct {
	tooth  dentition.ToothID
	number int32     // from 1
	top    float64   // height of its top, mm
	length float64   // by handbook, mm
	beyond []float64 // of each pixel: how far it lies from the tooth's picture, mm
	aside  float64   // mm beyond them at which its surface may lie
	sure   float64   // share of tooth from which a pixel is its core
	small  bool      // the picture shows little of it: its outermost pixels are core too
}

// claim gives the pixels of teeth to the crowns of a row: 0 or the crown's number.
func claim(p *picture, l *looks, jaw dentition.Jaw, row []span) ([]*crown, []int32) {
	owner := make([]int32, size*size)
	lengths, widths, depths := &upperLengths, &upperWidths, &upperDepths
	if jaw == dentition.Lower {
		lengths, widths, depths = &lowerLengths, &lowerWidths, &lowerDepths
	}
	crowns := make([]*crown, len(row))
	for i, t := range row {
		n := t.tooth.Position() - 1
		c := &crown{tooth: t.tooth, number: int32(i) + 1, length: lengths[n], top: math.Inf(-1), sure: sure}
		area := 0.0
		for k, b := range l.of {
			if b >= int32(t.start) && b < int32(t.end) {
				owner[k] = c.number
				c.top = max(c.top, p.height[k])
				area += pixel * pixel
			}
		}
		usual := widths[n] * depths[n]
		if area < usual/3 {
			c.small, c.sure = true, smallSure
		}
		c.aside = aside + asideMore*max(0, 1-area/usual)
		crowns[i] = c
	}
	for _, c := range crowns {
		c.beyond = distances(owner, c.number)
	}
	return crowns, owner
}

// distances is how far every pixel lies from those of a crown, mm (two passes of
// a chamfer mask: G. Borgefors, CVGIP 34, 1986, right within 8 %).
func distances(owner []int32, number int32) []float64 {
	const straight, across = pixel, pixel * math.Sqrt2
	d := make([]float64, len(owner))
	for k, o := range owner {
		if o != number {
			d[k] = math.Inf(1)
		}
	}
	relax := func(k, i, j int, by float64) {
		if i >= 0 && i < size && j >= 0 && j < size {
			d[k] = min(d[k], d[i*size+j]+by)
		}
	}
	for k := range d {
		i, j := k/size, k%size
		relax(k, i, j-1, straight)
		relax(k, i-1, j, straight)
		relax(k, i-1, j-1, across)
		relax(k, i-1, j+1, across)
	}
	for k := len(d) - 1; k >= 0; k-- {
		i, j := k/size, k%size
		relax(k, i, j+1, straight)
		relax(k, i+1, j, straight)
		relax(k, i+1, j+1, across)
		relax(k, i+1, j-1, across)
	}
	return d
}

// spot is where a vertex lies in the picture.
type spot struct {
	pixel   int // -1 outside
	height  float64
	visible bool
}

// spots looks up all vertices.
func (s *surface) spots(p *picture) []spot {
	out := make([]spot, s.mesh.NumVertices())
	for v, q := range s.mesh.Vertices() {
		at := p.at(q)
		k := index(at.X, at.Y)
		out[v] = spot{k, at.Z, k >= 0 && p.seen[k] && at.Z > p.height[k]-under}
	}
	return out
}

// carve finds the vertices of every crown: for each the cheapest closed line around it, by a
// minimum cut. What the picture shows pulls a vertex in or out, surface out of its sight
// follows by the usual length of crowns; a line is cheap where the surface is concave (the
// minima rule: D. Hoffman, W. Richards, Cognition 18, 1984), so that it lies in the valleys to
// the gingiva and the neighbours. What two crowns claim goes to the one whose picture is nearer.
func carve(ctx context.Context, s *surface, p *picture, crowns []*crown, owner []int32, spots []spot) ([]dentition.ToothID, error) {
	claims := make([][]int32, len(crowns))
	if err := par.Chunks(ctx, len(crowns), 1, 0, func(_, lo, hi int) error {
		for i := lo; i < hi; i++ {
			claims[i] = s.carveCrown(p, crowns[i], owner, spots)
		}
		return nil
	}); err != nil {
		return nil, err
	}
	labels := make([]dentition.ToothID, len(spots))
	held := make([]*crown, len(labels))
	for i, c := range crowns {
		for _, v := range claims[i] {
			if o := held[v]; o != nil && o.beyond[spots[v].pixel] <= c.beyond[spots[v].pixel] {
				continue
			}
			held[v], labels[v] = c, c.tooth
		}
	}
	s.peel(labels)
	return labels, nil
}

// carveCrown lists the vertices of one crown.
func (s *surface) carveCrown(p *picture, c *crown, owner []int32, spots []spot) []int32 {
	return s.divide(func(v int) bool { // within reach of the crown
		q := spots[v]
		return s.part[v] && q.pixel >= 0 && c.beyond[q.pixel] < c.aside && c.top-q.height < c.length+farBelow
	}, func(v int) (in, out float64) {
		in, out = s.pull(p, c, owner, v, spots[v])
		return in, out + edgeCost*s.rim[v]
	})
}

// pull is how much speaks for a vertex to belong to a crown and against it, mm; in is
// infinite in the crown's core.
func (s *surface) pull(p *picture, c *crown, owner []int32, v int, q spot) (in, out float64) {
	depth := c.top - q.height
	if !q.visible {
		return hidden * s.area[v] * max(0, 0.6*c.length-depth), hidden * s.area[v] * max(0, depth-0.9*c.length)
	}
	t := p.tooth(q.pixel)
	switch o := owner[q.pixel]; {
	case o == c.number && t > c.sure && (c.small || inside(owner, q.pixel)):
		return math.Inf(1), 0
	case o == c.number:
	case o != 0:
		t = min(t, 1-t) // another tooth's
		if t > 0.2 {
			t = 0.2
		}
	}
	t = max(0.02, min(0.98, t))
	odds := portable.Log(t / (1 - t))
	if odds > 0 {
		return belief * s.area[v] * odds, 0
	}
	if owner[q.pixel] != 0 {
		return 0, -belief * s.area[v] * odds
	}
	return 0, -disbelief * s.area[v] * odds
}

// inside reports whether a pixel's four neighbours belong to the same crown.
func inside(owner []int32, k int) bool {
	i, j := k/size, k%size
	return i > 0 && i < size-1 && j > 0 && j < size-1 &&
		owner[k-1] == owner[k] && owner[k+1] == owner[k] && owner[k-size] == owner[k] && owner[k+size] == owner[k]
}
