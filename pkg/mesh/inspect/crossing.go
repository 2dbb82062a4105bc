package inspect

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/internal/geom"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// mostCells bounds the cells of the grid that one triangle is entered in; the few triangles
// of a scan that are larger, such as those of a base, are not looked at.
const mostCells = 64

// cell is a cube of the grid, and a triangle whose box meets it.
type cell struct {
	key uint64
	tri mesh.TriID
}

// selfCrossings counts the pairs of triangles without a common corner of which an edge of
// one passes through the inside of the other. Triangles that only touch do not count.
func selfCrossings(m *mesh.Mesh, t *mesh.Topology) (count int) {
	side := gridSide(t)
	if !(side > 0) {
		return 0
	}
	low := surfaceBox(m).Min
	box := func(i mesh.TriID) mesh.Box {
		b := mesh.EmptyBox()
		p, q, r := m.Corners(i)
		return b.Include(p).Include(q).Include(r)
	}
	at := func(x, from float64) uint64 { return uint64(min(max((x-from)/side, 0), 1<<20)) }
	var cells []cell
	for i := range mesh.TriID(m.NumTriangles()) {
		b := box(i)
		x0, y0, z0 := at(b.Min.X, low.X), at(b.Min.Y, low.Y), at(b.Min.Z, low.Z)
		x1, y1, z1 := at(b.Max.X, low.X), at(b.Max.Y, low.Y), at(b.Max.Z, low.Z)
		if (x1-x0+1)*(y1-y0+1)*(z1-z0+1) > mostCells {
			continue
		}
		for x := x0; x <= x1; x++ {
			for y := y0; y <= y1; y++ {
				for z := z0; z <= z1; z++ {
					cells = append(cells, cell{x<<42 | y<<21 | z, i})
				}
			}
		}
	}
	slices.SortFunc(cells, func(a, b cell) int {
		switch {
		case a.key < b.key:
			return -1
		case a.key > b.key:
			return 1
		}
		return int(a.tri - b.tri)
	})
	for i := range cells {
		a := box(cells[i].tri)
		for j := i + 1; j < len(cells) && cells[j].key == cells[i].key && j-i < mostCells; j++ {
			b := box(cells[j].tri)
			lo := r3.Vec{X: max(a.Min.X, b.Min.X), Y: max(a.Min.Y, b.Min.Y), Z: max(a.Min.Z, b.Min.Z)}
			hi := r3.Vec{X: min(a.Max.X, b.Max.X), Y: min(a.Max.Y, b.Max.Y), Z: min(a.Max.Z, b.Max.Z)}
			if lo.X > hi.X || lo.Y > hi.Y || lo.Z > hi.Z {
				continue
			}
			// A pair that shares several cells counts in that of the corner of its common box.
			if at(lo.X, low.X)<<42|at(lo.Y, low.Y)<<21|at(lo.Z, low.Z) == cells[i].key && crosses(m, cells[i].tri, cells[j].tri) {
				count++
			}
		}
	}
	return count
}

// gridSide is twice the root mean square length of an edge, in mm.
func gridSide(t *mesh.Topology) float64 {
	var sum float64
	for i := range t.Edges() {
		l := t.EdgeLength(mesh.EdgeID(i))
		sum += l * l
	}
	if len(t.Edges()) == 0 {
		return 0
	}
	return 2 * math.Sqrt(sum/float64(len(t.Edges())))
}

// crosses reports whether an edge of one triangle passes through the inside of the other.
func crosses(m *mesh.Mesh, a, b mesh.TriID) bool {
	other := m.Triangle(b)
	for _, v := range m.Triangle(a) {
		if slices.Contains(other[:], v) {
			return false
		}
	}
	return pierces(m, a, b) || pierces(m, b, a)
}

func pierces(m *mesh.Mesh, edges, face mesh.TriID) bool {
	const end = 1e-6 // of the edge: what ends at the face only touches it
	p, q, r := m.Corners(face)
	a, b, c := m.Corners(edges)
	for _, e := range [3][2]r3.Vec{{a, b}, {b, c}, {c, a}} {
		if t, ok := geom.RayTriangle(e[0], r3.Sub(e[1], e[0]), p, q, r); ok && t > end && t < 1-end {
			return true
		}
	}
	return false
}
