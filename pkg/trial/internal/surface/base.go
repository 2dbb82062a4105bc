package surface

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Closed returns the surface with its borders closed, ready to be printed: the longest
// border gets walls down to a plane below and a floor there, the others, holes of the scan,
// are closed by a fan about their middle. down is the direction of the base, deep how far
// below the lowest point of the surface it lies, mm. Vertices and triangles keep their
// numbers, new ones follow. What is not manifold before stays so.
func Closed(m *mesh.Mesh, down r3.Vec, deep float64) (*mesh.Mesh, error) {
	verts := append([]r3.Vec(nil), m.Vertices()...)
	tris := append([][3]mesh.VertexID(nil), m.Triangles()...)
	loops := mesh.BuildTopology(m).Loops()
	longest := -1
	for i := range loops {
		if loops[i].Closed && (longest < 0 || loops[i].Length > loops[longest].Length) {
			longest = i
		}
	}
	down = r3.Unit(down)
	floor := math.Inf(-1)
	for _, p := range m.Vertices() {
		floor = max(floor, r3.Dot(p, down))
	}
	floor += deep
	for i, l := range loops {
		rim := l.Vertices
		if !l.Closed {
			continue
		}
		if i == longest {
			below := make([]mesh.VertexID, len(rim))
			for k, v := range rim {
				below[k] = mesh.VertexID(len(verts))
				p := verts[v]
				verts = append(verts, r3.Add(p, r3.Scale(floor-r3.Dot(p, down), down)))
			}
			for k := range rim {
				n := (k + 1) % len(rim)
				// The surface lies to the left of the border, the wall to its right.
				tris = append(tris, [3]mesh.VertexID{rim[n], rim[k], below[k]}, [3]mesh.VertexID{rim[n], below[k], below[n]})
			}
			tris = append(tris, polygon(verts, below, down)...)
			continue
		}
		var sum r3.Vec
		for _, v := range rim {
			sum = r3.Add(sum, verts[v])
		}
		middle := mesh.VertexID(len(verts))
		verts = append(verts, r3.Scale(1/float64(len(rim)), sum))
		for k := range rim {
			tris = append(tris, [3]mesh.VertexID{rim[(k+1)%len(rim)], rim[k], middle})
		}
	}
	return mesh.Adopt(verts, tris)
}

// polygon fills a flat polygon, which runs as a border does, by cutting off ears (Meisters
// 1975, Am Math Mon 82:648): corners that turn outwards with no other corner in their
// triangle. Where a rim that crosses itself leaves no ear the next corner is cut off.
func polygon(verts []r3.Vec, ring []mesh.VertexID, normal r3.Vec) [][3]mesh.VertexID {
	// Seen from outside, along normal, the floor turns the other way than its ring.
	left := append([]mesh.VertexID(nil), ring...)
	for i, j := 0, len(left)-1; i < j; i, j = i+1, j-1 {
		left[i], left[j] = left[j], left[i]
	}
	var out [][3]mesh.VertexID
	turn := func(a, b, c mesh.VertexID) float64 {
		return r3.Dot(normal, r3.Cross(r3.Sub(verts[b], verts[a]), r3.Sub(verts[c], verts[a])))
	}
	for len(left) > 3 {
		at := -1
		for i := range left {
			n := len(left)
			a, b, c := left[(i+n-1)%n], left[i], left[(i+1)%n]
			if turn(a, b, c) <= 0 {
				continue
			}
			free := true
			for _, v := range left {
				if v != a && v != b && v != c && turn(a, b, v) >= 0 && turn(b, c, v) >= 0 && turn(c, a, v) >= 0 {
					free = false
					break
				}
			}
			if free {
				at = i
				break
			}
		}
		at = max(at, 0)
		n := len(left)
		out = append(out, [3]mesh.VertexID{left[(at+n-1)%n], left[at], left[(at+1)%n]})
		left = append(left[:at], left[at+1:]...)
	}
	return append(out, [3]mesh.VertexID{left[0], left[1], left[2]})
}
