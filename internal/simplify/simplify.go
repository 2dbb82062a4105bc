// Package simplify thins surfaces for display. It never feeds a measurement.
package simplify

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Cluster thins a surface to about most vertices. It gives the vertices that
// are kept, which stand where they stood, and the triangles between them, as
// numbers into that list. Neighbouring vertices of one kind fall together if
// they lie in one cell of a cubic grid and face the same way; the one that lies
// nearest to the planes of the triangles around all of them stands for them
// (vertex clustering: Rossignac & Borrel 1993; with quadrics: Lindstrom 2000,
// "Out-of-core simplification of large polygonal models", SIGGRAPH).
//
// kind is a number for each vertex, such as that of its tooth, so that borders
// stay sharp; nil takes them as all of one kind. A surface that has no more than
// most vertices is given back whole. The result depends on the input only.
func Cluster(m *mesh.Mesh, kind []uint8, most int) (keep []mesh.VertexID, tris [][3]mesh.VertexID) {
	n := m.NumVertices()
	if n <= most {
		keep = make([]mesh.VertexID, n)
		for i := range keep {
			keep[i] = mesh.VertexID(i)
		}
		return keep, slices.Clone(m.Triangles())
	}
	normals := Normals(m)
	b := m.Bounds()
	size := r3.Norm(r3.Sub(b.Max, b.Min))
	lo, hi := 0.0, size
	var best []int32
	count := 0
	for range 24 {
		mid := (lo + hi) / 2
		if lo == 0 {
			mid = hi / 2
		}
		cluster, k := clusters(m, kind, normals, b.Min, mid)
		if k > most {
			lo = mid
			continue
		}
		hi, best, count = mid, cluster, k
		if k > most*19/20 {
			break
		}
	}
	if best == nil {
		best, count = clusters(m, kind, normals, b.Min, size)
	}
	return join(m, best, count, normals)
}

// Normals is the area-weighted unit normal of every vertex, zero where it has
// no triangle with an area.
func Normals(m *mesh.Mesh) []r3.Vec {
	out := make([]r3.Vec, m.NumVertices())
	for t, corners := range m.Triangles() {
		n := m.AreaVector(mesh.TriID(t))
		for _, v := range corners {
			out[v] = r3.Add(out[v], n)
		}
	}
	for i, n := range out {
		if l := r3.Norm(n); l > 0x1p-1000 {
			out[i] = r3.Scale(1/l, n)
		} else {
			out[i] = r3.Vec{}
		}
	}
	return out
}

// cell is where a vertex lies, which way it faces and of what kind it is.
type cell struct {
	x, y, z int32
	way     uint8 // tells opposite walls apart
	kind    uint8
}

// clusters numbers the clusters of all vertices in the order of their first one.
func clusters(m *mesh.Mesh, kind []uint8, normals []r3.Vec, origin r3.Vec, size float64) ([]int32, int) {
	of := make([]int32, m.NumVertices())
	seen := make(map[cell]int32, m.NumVertices()/2)
	for i, v := range m.Vertices() {
		p := r3.Scale(1/size, r3.Sub(v, origin))
		c := cell{x: int32(p.X), y: int32(p.Y), z: int32(p.Z)}
		c.way = leading(normals[i])
		if kind != nil {
			c.kind = kind[i]
		}
		k, ok := seen[c]
		if !ok {
			k = int32(len(seen))
			seen[c] = k
		}
		of[i] = k
	}
	return of, len(seen)
}

// leading numbers the axis and sign to which a direction is nearest.
func leading(n r3.Vec) uint8 {
	x, y, z := math.Abs(n.X), math.Abs(n.Y), math.Abs(n.Z)
	axis, s := uint8(0), n.X
	if y > x && y >= z {
		axis, s = 1, n.Y
	} else if z > x {
		axis, s = 2, n.Z
	}
	if s < 0 {
		return axis
	}
	return axis + 3
}

// quadric sums squared distances to planes, weighted by area: vᵀAv + 2bᵀv + c.
// The constant is left out: it does not tell points apart.
type quadric struct {
	xx, yy, zz, xy, xz, yz, bx, by, bz float64
}

func (q *quadric) add(n, at r3.Vec) {
	d := -r3.Dot(n, at)
	q.xx += n.X * n.X
	q.yy += n.Y * n.Y
	q.zz += n.Z * n.Z
	q.xy += n.X * n.Y
	q.xz += n.X * n.Z
	q.yz += n.Y * n.Z
	q.bx += d * n.X
	q.by += d * n.Y
	q.bz += d * n.Z
}

func (q *quadric) at(v r3.Vec) float64 {
	return q.xx*v.X*v.X + q.yy*v.Y*v.Y + q.zz*v.Z*v.Z +
		2*(q.xy*v.X*v.Y+q.xz*v.X*v.Z+q.yz*v.Y*v.Z+q.bx*v.X+q.by*v.Y+q.bz*v.Z)
}

// join picks a vertex for each cluster and keeps the triangles whose corners
// lie in three clusters, each once. Slivers that folded over are turned, so that
// they face as the surface did there.
func join(m *mesh.Mesh, of []int32, count int, normals []r3.Vec) ([]mesh.VertexID, [][3]mesh.VertexID) {
	quadrics := make([]quadric, count)
	origin := m.Bounds().Center() // keeps the sums small
	for t, corners := range m.Triangles() {
		n, a := m.AreaVector(mesh.TriID(t)), r3.Sub(m.Vertex(corners[0]), origin)
		for _, v := range corners {
			quadrics[of[v]].add(n, a)
		}
	}
	keep := make([]mesh.VertexID, count)
	least := make([]float64, count)
	for i := range keep {
		keep[i] = -1
	}
	for i, v := range m.Vertices() {
		k := of[i]
		if d := quadrics[k].at(r3.Sub(v, origin)); keep[k] < 0 || d < least[k] {
			keep[k], least[k] = mesh.VertexID(i), d
		}
	}
	var tris [][3]mesh.VertexID
	seen := make(map[[3]mesh.VertexID]bool, 2*count)
	for _, c := range m.Triangles() {
		t := [3]mesh.VertexID{mesh.VertexID(of[c[0]]), mesh.VertexID(of[c[1]]), mesh.VertexID(of[c[2]])}
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
			continue
		}
		key := t
		slices.Sort(key[:])
		if !seen[key] {
			seen[key] = true
			a, b, d := m.Vertex(keep[t[0]]), m.Vertex(keep[t[1]]), m.Vertex(keep[t[2]])
			out := r3.Add(normals[keep[t[0]]], r3.Add(normals[keep[t[1]]], normals[keep[t[2]]]))
			if r3.Dot(r3.Cross(r3.Sub(b, a), r3.Sub(d, a)), out) < 0 {
				t[1], t[2] = t[2], t[1]
			}
			tris = append(tris, t)
		}
	}
	return keep, tris
}
