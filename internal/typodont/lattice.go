package typodont

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/par"
	"gonum.org/v1/gonum/spatial/r3"
)

// A surface is triangles over numbered vertices, outward side counter-clockwise.
type surface struct {
	verts []r3.Vec
	tris  [][3]int32
}

// isosurface meshes the zero set of f within a box by marching tetrahedra on a
// body-centred cubic lattice whose points are moved onto the surface where they
// lie close to it (Labelle and Shewchuk 2007), so that triangles are well
// shaped and the result is a manifold. Vertices lie on the zero set. The spacing
// h is the lattice's cube edge in mm; f must change by at most lip times the
// distance.
func isosurface(ctx context.Context, f func(r3.Vec) float64, lo, hi r3.Vec, h, lip float64) (*surface, error) {
	l := &lattice{org: lo, h: h}
	cells, err := l.band(ctx, f, hi, lip)
	if err != nil {
		return nil, err
	}
	l.collect(cells)
	l.link()
	if err := l.evaluate(ctx, f); err != nil {
		return nil, err
	}
	if err := l.cutEdges(ctx, f); err != nil {
		return nil, err
	}
	l.warp()
	return l.triangles(), nil
}

// site is a lattice point: integer coordinates in units of h/2, all even or all
// odd, packed in 21 bits each.
type site uint64

func pack(x, y, z int) site { return site(x)<<42 | site(y)<<21 | site(z) }

func (s site) unpack() (x, y, z int) {
	return int(s >> 42), int(s>>21) & (1<<21 - 1), int(s) & (1<<21 - 1)
}

const offset = 8 // keeps coordinates positive

type lattice struct {
	org   r3.Vec
	h     float64
	sites []site
	val   []float64
	pos   []r3.Vec
	next  [14][]int32 // each site's neighbours, −1 where there is none
	edges []edge
	cut   [][7]int32 // each site's cuts towards its later neighbours: edge number + 1
}

// An edge of the lattice that the surface cuts.
type edge struct {
	site int32 // its first end
	way  int8  // which of the neighbours is the other
	t    float64
	at   r3.Vec // where the surface cuts it
}

func (l *lattice) point(s site) r3.Vec {
	x, y, z := s.unpack()
	k := l.h / 2
	return r3.Vec{X: l.org.X + k*float64(x-offset), Y: l.org.Y + k*float64(y-offset), Z: l.org.Z + k*float64(z-offset)}
}

// cell is a cube of the search tree, in multiples of its size.
type cell struct{ x, y, z int32 }

// band finds the cubes of edge h that the surface may pass, by halving.
func (l *lattice) band(ctx context.Context, f func(r3.Vec) float64, hi r3.Vec, lip float64) ([]cell, error) {
	level := 0
	for l.h*float64(int(1)<<level) < 1.5 {
		level++
	}
	size := l.h * float64(int(1)<<level)
	n := func(d float64) int32 { return int32(math.Ceil(d/size)) + 1 }
	nx, ny, nz := n(hi.X-l.org.X), n(hi.Y-l.org.Y), n(hi.Z-l.org.Z)
	var cells []cell
	for x := range nx {
		for y := range ny {
			for z := range nz {
				cells = append(cells, cell{x, y, z})
			}
		}
	}
	for {
		keep := make([]bool, len(cells))
		half := size / 2
		r := lip * half * math.Sqrt(3)
		if level == 0 {
			r += lip * l.h * 0.6 // tetrahedra reach into the neighbouring cubes
		}
		err := par.Chunks(ctx, len(cells), 512, 0, func(_, from, to int) error {
			for i := from; i < to; i++ {
				c := cells[i]
				p := r3.Vec{X: l.org.X + size*float64(c.x) + half, Y: l.org.Y + size*float64(c.y) + half, Z: l.org.Z + size*float64(c.z) + half}
				keep[i] = math.Abs(f(p)) <= r
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
		var next []cell
		for i, c := range cells {
			if !keep[i] {
				continue
			}
			if level == 0 {
				next = append(next, c)
				continue
			}
			for k := range int32(8) {
				next = append(next, cell{2*c.x + k>>2, 2*c.y + k>>1&1, 2*c.z + k&1})
			}
		}
		cells = next
		if level == 0 {
			return cells, nil
		}
		level--
		size /= 2
	}
}

// collect lists the corners and centres of the cubes and of their neighbours'
// centres, in order.
func (l *lattice) collect(cells []cell) {
	sites := make([]site, 0, 4*len(cells))
	for _, c := range cells {
		x, y, z := 2*int(c.x)+offset, 2*int(c.y)+offset, 2*int(c.z)+offset
		for k := range 8 {
			sites = append(sites, pack(x+2*(k>>2), y+2*(k>>1&1), z+2*(k&1)))
		}
		sites = append(sites, pack(x+1, y+1, z+1))
	}
	slices.Sort(sites)
	l.sites = slices.Compact(sites)
}

func (l *lattice) evaluate(ctx context.Context, f func(r3.Vec) float64) error {
	n := len(l.sites)
	l.val, l.pos = make([]float64, n), make([]r3.Vec, n)
	return par.Chunks(ctx, n, 512, 0, func(_, from, to int) error {
		for i := from; i < to; i++ {
			l.pos[i] = l.point(l.sites[i])
			l.val[i] = f(l.pos[i])
			if l.val[i] == 0 {
				l.val[i] = 1e-12
			}
		}
		return nil
	})
}

// around lists the 14 neighbours of a site: first the seven that come later in
// order, then their opposites.
var around = [14][3]int{
	{2, 0, 0}, {0, 2, 0}, {0, 0, 2}, {1, 1, 1}, {1, 1, -1}, {1, -1, 1}, {1, -1, -1},
	{-2, 0, 0}, {0, -2, 0}, {0, 0, -2}, {-1, -1, -1}, {-1, -1, 1}, {-1, 1, -1}, {-1, 1, 1},
}

// beside says which of the 14 neighbours are neighbours of each other.
var beside = func() (m [14]uint16) {
	for i, p := range around {
		for j, q := range around {
			d := [3]int{q[0] - p[0], q[1] - p[1], q[2] - p[2]}
			if slices.Contains(around[:], d) {
				m[i] |= 1 << j
			}
		}
	}
	return m
}()

// link finds every site's neighbours. As sites are in order, so are their
// neighbours in one direction, and one pass finds them.
func (l *lattice) link() {
	n := len(l.sites)
	for w := range l.next {
		l.next[w] = make([]int32, n)
	}
	for w := range 7 {
		d := around[w]
		shift := int64(d[0])<<42 + int64(d[1])<<21 + int64(d[2])
		later, earlier := l.next[w], l.next[w+7]
		for i := range earlier {
			earlier[i] = -1
		}
		j := 0
		for i, s := range l.sites {
			want := site(int64(s) + shift)
			for j < n && l.sites[j] < want {
				j++
			}
			if j < n && l.sites[j] == want {
				later[i], earlier[j] = int32(j), int32(i)
			} else {
				later[i] = -1
			}
		}
	}
}

// cutEdges finds where the surface crosses the lattice's edges.
func (l *lattice) cutEdges(ctx context.Context, f func(r3.Vec) float64) error {
	const size = 2048
	n := len(l.sites)
	parts := make([][]edge, (n+size-1)/size)
	err := par.Chunks(ctx, n, size, 0, func(_, from, to int) error {
		var out []edge
		for i := from; i < to; i++ {
			for w := range 7 {
				j := l.next[w][i]
				if j < 0 || (l.val[i] < 0) == (l.val[j] < 0) {
					continue
				}
				t := root(f, l.pos[i], l.pos[j], l.val[i], l.val[j])
				out = append(out, edge{site: int32(i), way: int8(w), t: t, at: along(l.pos[i], l.pos[j], t)})
			}
		}
		parts[from/size] = out
		return nil
	})
	l.edges = slices.Concat(parts...)
	l.cut = make([][7]int32, n)
	for k, e := range l.edges {
		l.cut[e.site][e.way] = int32(k) + 1
	}
	return err
}

func along(p, q r3.Vec, t float64) r3.Vec { return r3.Add(p, r3.Scale(t, r3.Sub(q, p))) }

// root is where f vanishes between p and q, as a share of the way, by the
// Illinois form of false position; fp and fq have different signs.
func root(f func(r3.Vec) float64, p, q r3.Vec, fp, fq float64) float64 {
	a, b := 0.0, 1.0
	side := 0
	t := 0.5
	for range 40 {
		t = (a*fq - b*fp) / (fq - fp)
		v := f(along(p, q, t))
		if math.Abs(v) < 1e-7 || b-a < 1e-9 {
			break
		}
		if (v < 0) == (fp < 0) {
			a, fp = t, v
			if side == -1 {
				fq /= 2
			}
			side = -1
		} else {
			b, fq = t, v
			if side == 1 {
				fp /= 2
			}
			side = 1
		}
	}
	return t
}

// warp moves sites that the surface passes closely onto it. The limits are
// those of the authors for good angles. A site stays where moving it would
// pinch the surface.
func (l *lattice) warp() {
	const long, short = 0.24999, 0.41189
	type best struct {
		t  float64
		at r3.Vec
	}
	near := make([]best, len(l.sites))
	for i := range near {
		near[i].t = math.Inf(1)
	}
	for _, e := range l.edges {
		limit := short
		if e.way < 3 {
			limit = long
		}
		if e.t < limit && e.t < near[e.site].t {
			near[e.site] = best{e.t, e.at}
		}
		if o := l.next[e.way][e.site]; 1-e.t < limit && 1-e.t < near[o].t {
			near[o] = best{1 - e.t, e.at}
		}
	}
	for i := range near {
		if near[i].t > 1 {
			continue
		}
		old := l.val[i]
		l.val[i] = 0
		ok := l.simple(i)
		for w := 0; w < 14 && ok; w++ {
			if j := l.next[w][i]; j >= 0 && l.val[j] == 0 {
				ok = l.simple(int(j))
			}
		}
		if ok {
			l.pos[i] = near[i].at
		} else {
			l.val[i] = old
		}
	}
}

// simple says whether the inside neighbours of a site on the surface hang
// together, and the outside ones as well, so that the surface is a disc there.
func (l *lattice) simple(i int) bool {
	var neg, pos uint16
	for w := range l.next {
		j := l.next[w][i]
		if j < 0 {
			return false
		}
		if v := l.val[j]; v < 0 {
			neg |= 1 << w
		} else if v > 0 {
			pos |= 1 << w
		}
	}
	return whole(neg) && whole(pos)
}

// whole says whether a set of neighbours is one piece.
func whole(set uint16) bool {
	if set == 0 {
		return false
	}
	seen := set & -set
	for {
		grown := seen
		for w := range 14 {
			if seen>>w&1 != 0 {
				grown |= beside[w] & set
			}
		}
		if grown == seen {
			return seen == set
		}
		seen = grown
	}
}

// rings gives, for a long edge along each axis, the four directions to the
// sites around it, in turn.
var rings = [3][4]int{{3, 4, 6, 5}, {3, 4, 12, 13}, {3, 5, 11, 13}}

// triangles is the boundary of the inside part of every tetrahedron.
func (l *lattice) triangles() *surface {
	m := &marcher{l: l, site: make([]int32, len(l.sites)), edge: make([]int32, len(l.edges)), out: &surface{}, flat: map[[3]int32]int{}}
	for i, v := range l.val {
		if v == 0 {
			m.site[i] = int32(len(m.out.verts))
			m.out.verts = append(m.out.verts, l.pos[i])
		}
	}
	for k, e := range l.edges {
		if l.val[e.site] != 0 && l.val[l.next[e.way][e.site]] != 0 {
			m.edge[k] = int32(len(m.out.verts))
			m.out.verts = append(m.out.verts, e.at)
		}
	}
	for i, s := range l.sites {
		if s&1 != 0 {
			continue
		}
		for axis, ring := range rings {
			j := l.next[axis][i]
			if j < 0 {
				continue
			}
			for r := range 4 {
				a, b := l.next[ring[r]][i], l.next[ring[(r+1)%4]][i]
				if a >= 0 && b >= 0 {
					m.tetrahedron([4]int32{int32(i), j, a, b})
				}
			}
		}
	}
	m.dropSheets()
	return m.out.compacted()
}
