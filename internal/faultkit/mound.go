package faultkit

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// spokes is how many triangles go around a mound.
const spokes = 24

// Mound is a round lump of tissue, or of anything else, as a surface of its own: a
// paraboloid cap of the given radius and height (mm) whose top is at the point top,
// outwards along up (of any length), in n rings.
func Mound(top, up r3.Vec, radius, height float64, n int) (*mesh.Mesh, error) {
	up = r3.Unit(up)
	side := r3.Vec{X: 1}
	if math.Abs(up.X) > 0.9 {
		side = r3.Vec{Y: 1}
	}
	e1 := r3.Unit(r3.Cross(up, side))
	e2 := r3.Cross(up, e1)
	verts := []r3.Vec{top}
	var tris [][3]mesh.VertexID
	for ring := 1; ring <= n; ring++ {
		u := float64(ring) / float64(n)
		for k := range spokes {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / spokes)
			p := r3.Add(top, r3.Scale(-height*u*u, up))
			p = r3.Add(p, r3.Add(r3.Scale(radius*u*cos, e1), r3.Scale(radius*u*sin, e2)))
			verts = append(verts, p)
			next := (k + 1) % spokes
			id := func(ring, k int) mesh.VertexID { return mesh.VertexID(1 + (ring-1)*spokes + k) }
			if ring == 1 {
				tris = append(tris, [3]mesh.VertexID{0, id(1, k), id(1, next)})
				continue
			}
			tris = append(tris,
				[3]mesh.VertexID{id(ring-1, k), id(ring, k), id(ring, next)},
				[3]mesh.VertexID{id(ring-1, k), id(ring, next), id(ring-1, next)})
		}
	}
	return mesh.New(verts, tris)
}
