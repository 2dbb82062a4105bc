package typodont

import (
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// marcher turns tetrahedra into triangles.
type marcher struct {
	l    *lattice
	site []int32 // the vertex at a site on the surface
	edge []int32 // the vertex on a cut edge
	out  *surface
	flat map[[3]int32]int // triangles with all corners on sites, to the place in tris
	drop []int
}

// tetrahedron adds the part of the surface inside one tetrahedron with positive
// volume (corners 1, 2, 3 counter-clockwise seen from corner 0).
func (m *marcher) tetrahedron(t [4]int32) {
	var neg, zero, pos []int32
	var buf [12]int32
	neg, zero, pos = buf[0:0:4], buf[4:4:8], buf[8:8:12]
	for _, s := range t {
		switch v := m.l.val[s]; {
		case v < 0:
			neg = append(neg, s)
		case v > 0:
			pos = append(pos, s)
		default:
			zero = append(zero, s)
		}
	}
	if len(neg) == 0 || len(pos)+len(zero) == 0 {
		return
	}
	var ring [4]int32
	n := 0
	put := func(v int32) { ring[n] = v; n++ }
	switch {
	case len(pos) == 0:
		if len(zero) < 3 {
			return
		}
		put(m.site[zero[0]])
		put(m.site[zero[1]])
		put(m.site[zero[2]])
	case len(neg) == 2 && len(pos) == 2:
		put(m.between(neg[0], pos[0]))
		put(m.between(neg[0], pos[1]))
		put(m.between(neg[1], pos[1]))
		put(m.between(neg[1], pos[0]))
	default:
		for _, z := range zero {
			put(m.site[z])
		}
		for _, a := range neg {
			for _, b := range pos {
				put(m.between(a, b))
			}
		}
	}
	// Orient outwards: away from an inside corner.
	in := m.l.pos[neg[0]]
	a, b, c := m.out.verts[ring[0]], m.out.verts[ring[1]], m.out.verts[ring[2]]
	if r3.Dot(r3.Cross(r3.Sub(b, a), r3.Sub(c, a)), r3.Sub(in, a)) > 0 {
		slices.Reverse(ring[:n])
	}
	if len(pos) == 0 {
		key := [3]int32{ring[0], ring[1], ring[2]}
		slices.Sort(key[:])
		if i, ok := m.flat[key]; ok { // inside on both sides: no surface
			m.drop = append(m.drop, i, len(m.out.tris))
		}
		m.flat[key] = len(m.out.tris)
	}
	m.out.tris = append(m.out.tris, [3]int32{ring[0], ring[1], ring[2]})
	if n == 4 {
		m.out.tris = append(m.out.tris, [3]int32{ring[0], ring[2], ring[3]})
	}
}

// between is the vertex on the edge between an inside and an outside site.
func (m *marcher) between(a, b int32) int32 {
	for w := range 7 {
		if m.l.next[w][a] == b {
			return m.edge[m.l.cut[a][w]-1]
		}
		if m.l.next[w][b] == a {
			return m.edge[m.l.cut[b][w]-1]
		}
	}
	panic("typodont: tetrahedron with an edge that is not of the lattice")
}

// dropSheets takes out the pairs of triangles with inside on both sides.
func (m *marcher) dropSheets() {
	if len(m.drop) == 0 {
		return
	}
	slices.Sort(m.drop)
	kept := m.out.tris[:0]
	for i, t := range m.out.tris {
		if _, found := slices.BinarySearch(m.drop, i); !found {
			kept = append(kept, t)
		}
	}
	m.out.tris = kept
}

// compacted is the surface without unused vertices, numbered by first use.
func (s *surface) compacted() *surface {
	number := make([]int32, len(s.verts))
	for i := range number {
		number[i] = -1
	}
	out := &surface{tris: make([][3]int32, len(s.tris))}
	for i, t := range s.tris {
		for k, v := range t {
			if number[v] < 0 {
				number[v] = int32(len(out.verts))
				out.verts = append(out.verts, s.verts[v])
			}
			out.tris[i][k] = number[v]
		}
	}
	return out
}

// largest is the surface's largest piece: cavities enclosed in the gingiva
// between two teeth are left out.
func (s *surface) largest() *surface {
	root := make([]int32, len(s.verts))
	for i := range root {
		root[i] = int32(i)
	}
	find := func(v int32) int32 {
		for root[v] != v {
			root[v] = root[root[v]]
			v = root[v]
		}
		return v
	}
	for _, t := range s.tris {
		a := find(t[0])
		root[find(t[1])] = a
		root[find(t[2])] = a
	}
	count := make([]int, len(s.verts))
	best := int32(0)
	for _, t := range s.tris {
		r := find(t[0])
		count[r]++
		if count[r] > count[best] {
			best = r
		}
	}
	out := &surface{verts: s.verts}
	for _, t := range s.tris {
		if find(t[0]) == best {
			out.tris = append(out.tris, t)
		}
	}
	return out.compacted()
}
