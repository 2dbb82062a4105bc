package mesh

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Remap gives for each vertex of a mesh before welding its number after it.
type Remap []VertexID

// Weld joins vertices that lie in one place and says which became which; the
// triangles stay as many and in their order, also those that shrink to an edge
// or a point. It never changes a coordinate.
//
// With tol 0 (and with a negative or NaN one) vertices are joined whose three
// coordinates are equal, where −0 equals +0. The new vertices are numbered in
// the order in which distinct coordinates first appear among the old ones: for
// STL the corners of the triangles in file order, for PLY and OBJ the vertices
// in file order. Labels rely on this order.
//
// With tol > 0, in mm, each vertex in turn is joined to the first kept vertex
// within tol of it (inclusive), or else is kept itself. So no vertex moves by
// more than tol, and chains of close vertices do not run together.
func Weld(m *Mesh, tol float64) (*Mesh, Remap) {
	verts, remap := weldEqual(m.verts)
	if tol > 0 {
		// What is equal ends up together anyhow, since the first kept vertex
		// near it stays the first; joining it before saves most of the search.
		near, nearRemap := weldNear(verts, tol)
		for i, v := range remap {
			remap[i] = nearRemap[v]
		}
		verts = near
	}
	tris := make([][3]VertexID, len(m.tris))
	for i, t := range m.tris {
		tris[i] = [3]VertexID{remap[t[0]], remap[t[1]], remap[t[2]]}
	}
	return &Mesh{verts: verts, tris: tris}, remap
}

// Coincident is how many vertices welding would take away: those that have the
// coordinates of one before them. Of a welded mesh it is 0.
func Coincident(m *Mesh) int {
	distinct, _ := weldEqual(m.verts)
	return len(m.verts) - len(distinct)
}

// mix is the finishing step of SplitMix64 (Steele et al. 2014): every input bit
// reaches every output bit, as open addressing needs.
func mix(h uint64) uint64 {
	h = (h ^ h>>30) * 0xbf58476d1ce4e5b9
	h = (h ^ h>>27) * 0x94d049bb133111eb
	return h ^ h>>31
}

func hashPoint(v r3.Vec) uint64 {
	// Adding zero turns −0 into +0, so that equal numbers have equal bits.
	x, y, z := math.Float64bits(v.X+0), math.Float64bits(v.Y+0), math.Float64bits(v.Z+0)
	return mix(x*0x9e3779b97f4a7c15 ^ mix(y*0xc2b2ae3d27d4eb4f^z))
}

// tableSize is a power of two at least twice n, so that an open-addressing
// table for up to n entries is at most half full.
func tableSize(n int) int {
	s := 16
	for s < 2*n {
		s *= 2
	}
	return s
}

// weldEqual uses a table that starts small and grows with the distinct
// vertices: of a soup these are a sixth, and a table that fits the cache is
// what makes welding fast.
func weldEqual(old []r3.Vec) ([]r3.Vec, Remap) {
	remap := make(Remap, len(old))
	verts := make([]r3.Vec, 0, len(old)/6+16)
	table := make([]VertexID, tableSize(cap(verts))) // vertex + 1; 0 = free
	insert := func(p r3.Vec) VertexID {
		mask := uint64(len(table) - 1)
		for i := hashPoint(p) & mask; ; i = (i + 1) & mask {
			switch e := table[i]; {
			case e == 0:
				table[i] = VertexID(len(verts)) + 1
				verts = append(verts, p)
				return VertexID(len(verts) - 1)
			case verts[e-1] == p:
				return e - 1
			}
		}
	}
	for i, p := range old {
		remap[i] = insert(p)
		if 2*len(verts) > len(table) {
			table = make([]VertexID, 2*len(table))
			mask := uint64(len(table) - 1)
			for v, q := range verts {
				j := hashPoint(q) & mask
				for table[j] != 0 {
					j = (j + 1) & mask
				}
				table[j] = VertexID(v) + 1
			}
		}
	}
	return verts, remap
}

// weldNear keeps the kept vertices in cubic cells of side at least tol, so that
// what lies within tol of a point is in its own or a neighbouring cell.
func weldNear(old []r3.Vec, tol float64) ([]r3.Vec, Remap) {
	far := 0.0
	for _, p := range old {
		far = max(far, math.Abs(p.X), math.Abs(p.Y), math.Abs(p.Z))
	}
	cell := max(tol, far*0x1p-40) // cell numbers stay exact in float64
	cellOf := func(p r3.Vec) r3.Vec {
		return r3.Vec{X: math.Floor(p.X / cell), Y: math.Floor(p.Y / cell), Z: math.Floor(p.Z / cell)}
	}
	remap := make(Remap, len(old))
	var verts []r3.Vec
	var later []VertexID                           // next kept vertex with the same hash, + 1
	table := make([]VertexID, tableSize(len(old))) // first kept vertex of a hash, + 1
	mask := uint64(len(table) - 1)
	for i, p := range old {
		c := cellOf(p)
		found := VertexID(math.MaxInt32)
		for dx := -1.0; dx <= 1; dx++ {
			for dy := -1.0; dy <= 1; dy++ {
				for dz := -1.0; dz <= 1; dz++ {
					h := hashPoint(r3.Vec{X: c.X + dx, Y: c.Y + dy, Z: c.Z + dz}) & mask
					for e := table[h]; e != 0; e = later[e-1] {
						if e-1 < found && r3.Norm(r3.Sub(verts[e-1], p)) <= tol {
							found = e - 1
						}
					}
				}
			}
		}
		if found == math.MaxInt32 {
			found = VertexID(len(verts))
			verts = append(verts, p)
			h := hashPoint(c) & mask
			later = append(later, table[h])
			table[h] = found + 1
		}
		remap[i] = found
	}
	return verts, remap
}
