// Package testmesh makes the surfaces that tests measure: bodies whose gaps,
// areas and sides have closed forms, and random triangles of the shapes that
// break code.
//
// Lengths are mm. Fineness is a number of divisions; a finer mesh converges to
// the body. Everything is a function of its arguments, and random things of the
// generator passed in. The functions panic where asked for something that is no
// mesh, which is a mistake of the test.
package testmesh

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// New is mesh.New of what is known to be a mesh; it panics otherwise.
func New(verts []r3.Vec, tris [][3]mesh.VertexID) *mesh.Mesh {
	m, err := mesh.New(verts, tris)
	if err != nil {
		panic("testmesh: " + err.Error())
	}
	return m
}

// Moved is m with f applied to every vertex.
func Moved(m *mesh.Mesh, f func(r3.Vec) r3.Vec) *mesh.Mesh {
	out, err := m.Transform(f)
	if err != nil {
		panic("testmesh: " + err.Error())
	}
	return out
}

// Shifted is m moved by t.
func Shifted(m *mesh.Mesh, t r3.Vec) *mesh.Mesh {
	return Moved(m, func(p r3.Vec) r3.Vec { return r3.Add(p, t) })
}

// Turned is m with its triangles turned over.
func Turned(m *mesh.Mesh) *mesh.Mesh {
	tris := append([][3]mesh.VertexID(nil), m.Triangles()...)
	for i := range tris {
		tris[i][1], tris[i][2] = tris[i][2], tris[i][1]
	}
	return New(m.Vertices(), tris)
}

// Join is several meshes in one, nothing welded, and the number of the mesh
// from which each triangle comes.
func Join(ms ...*mesh.Mesh) (*mesh.Mesh, []int32) {
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	var part []int32
	for k, m := range ms {
		shift := mesh.VertexID(len(verts))
		verts = append(verts, m.Vertices()...)
		for _, t := range m.Triangles() {
			tris = append(tris, [3]mesh.VertexID{t[0] + shift, t[1] + shift, t[2] + shift})
			part = append(part, int32(k))
		}
	}
	return New(verts, tris), part
}

// Sheet is a surface over the unit square, nu by nv cells of two triangles. Its
// normals point along the cross product of the derivatives by u and v.
func Sheet(nu, nv int, at func(u, v float64) r3.Vec) *mesh.Mesh {
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	for j := range nv + 1 {
		for i := range nu + 1 {
			verts = append(verts, at(float64(i)/float64(nu), float64(j)/float64(nv)))
		}
	}
	row := mesh.VertexID(nu + 1)
	for j := range mesh.VertexID(nv) {
		for i := range mesh.VertexID(nu) {
			a := j*row + i
			tris = append(tris, [3]mesh.VertexID{a, a + 1, a + row + 1}, [3]mesh.VertexID{a, a + row + 1, a + row})
		}
	}
	return New(verts, tris)
}

// Plane is a square in z = 0 around the origin, n by n cells, normals up.
func Plane(side float64, n int) *mesh.Mesh {
	return Sheet(n, n, func(u, v float64) r3.Vec { return r3.Vec{X: side * (u - 0.5), Y: side * (v - 0.5)} })
}

// Groove is a V along y, z = |x|/tan half, width wide and long; normals into
// the V. half is the angle between each side and the vertical, in radians.
func Groove(half, width, long float64, n int) *mesh.Mesh {
	return Sheet(2*n, n, func(u, v float64) r3.Vec {
		x := width * (u - 0.5)
		return r3.Vec{X: x, Y: long * (v - 0.5), Z: math.Abs(x) / math.Tan(half)}
	})
}

// Lathe turns a profile of points (r, z) about the z axis, n steps a turn;
// points on the axis become one vertex. Where the profile runs outward and then
// down, normals point outward.
func Lathe(n int, profile ...[2]float64) *mesh.Mesh {
	var verts []r3.Vec
	var tris [][3]mesh.VertexID
	ring := func(p [2]float64) []mesh.VertexID {
		ids := make([]mesh.VertexID, n)
		for i := range ids {
			if i > 0 && p[0] == 0 {
				ids[i] = ids[0]
				continue
			}
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			ids[i] = mesh.VertexID(len(verts))
			verts = append(verts, r3.Vec{X: p[0] * c, Y: p[0] * s, Z: p[1]})
		}
		return ids
	}
	last := ring(profile[0])
	for _, p := range profile[1:] {
		next := ring(p)
		for i := range n {
			j := (i + 1) % n
			if next[i] != next[j] {
				tris = append(tris, [3]mesh.VertexID{last[i], next[i], next[j]})
			}
			if last[i] != last[j] {
				tris = append(tris, [3]mesh.VertexID{last[i], next[j], last[j]})
			}
		}
		last = next
	}
	return New(verts, tris)
}

// Cone is a pit with its apex at the origin, opening upward, n steps a turn
// and as many up; normals into the pit. half is the angle between its side and
// the axis, in radians. It is inscribed in the true cone.
func Cone(half, high float64, n int) *mesh.Mesh {
	profile := make([][2]float64, n+1)
	for i := range profile {
		z := high * float64(i) / float64(n)
		profile[i] = [2]float64{z * math.Tan(half), z}
	}
	return Lathe(n, profile...)
}

// Cylinder is closed, about the z axis, from z = −long/2 to long/2. It is
// inscribed in the true cylinder: its flats lie radius·cos(π/n) from the axis.
func Cylinder(radius, long float64, n int) *mesh.Mesh {
	return Lathe(n, [2]float64{0, long / 2}, [2]float64{radius, long / 2}, [2]float64{radius, -long / 2}, [2]float64{0, -long / 2})
}

// Sphere is closed, around the origin, an octahedron with its sides divided by
// n and its vertices put on the sphere. The poles are vertices.
func Sphere(radius float64, n int) *mesh.Mesh {
	verts := map[[3]int]mesh.VertexID{}
	var at []r3.Vec
	var tris [][3]mesh.VertexID
	vertex := func(k [3]int) mesh.VertexID {
		id, ok := verts[k]
		if !ok {
			id = mesh.VertexID(len(at))
			verts[k] = id
			// The angle grows evenly along a side of the octahedron.
			v := r3.Vec{X: bend(k[0], n), Y: bend(k[1], n), Z: bend(k[2], n)}
			at = append(at, r3.Scale(radius/r3.Norm(v), v))
		}
		return id
	}
	for octant := range 8 {
		sx, sy, sz := 1-2*(octant&1), 1-(octant&2), 1-(octant&4)/2
		corner := func(i, j int) mesh.VertexID { return vertex([3]int{sx * i, sy * j, sz * (n - i - j)}) }
		add := func(a, b, c mesh.VertexID) {
			if sx*sy*sz < 0 {
				b, c = c, b
			}
			tris = append(tris, [3]mesh.VertexID{a, b, c})
		}
		for i := range n {
			for j := range n - i {
				add(corner(i, j), corner(i+1, j), corner(i, j+1))
				if i+j+1 < n {
					add(corner(i+1, j), corner(i+1, j+1), corner(i, j+1))
				}
			}
		}
	}
	return New(at, tris)
}

func bend(k, n int) float64 { return math.Sin(math.Pi / 2 * float64(k) / float64(n)) }

// Box is closed, around a centre, with half sides h and n by n cells a side.
func Box(c, h r3.Vec, n int) *mesh.Mesh {
	type side struct{ u, v, w r3.Vec } // w = u × v points outward
	x, y, z := r3.Vec{X: h.X}, r3.Vec{Y: h.Y}, r3.Vec{Z: h.Z}
	neg := func(a r3.Vec) r3.Vec { return r3.Scale(-1, a) }
	var parts []*mesh.Mesh
	for _, s := range []side{{x, y, z}, {y, x, neg(z)}, {y, z, x}, {z, y, neg(x)}, {z, x, y}, {x, z, neg(y)}} {
		parts = append(parts, Sheet(n, n, func(u, v float64) r3.Vec {
			return r3.Add(r3.Add(c, s.w), r3.Add(r3.Scale(2*u-1, s.u), r3.Scale(2*v-1, s.v)))
		}))
	}
	m, _ := Join(parts...)
	m, _ = mesh.Weld(m, 0)
	return m
}

// Arch is count boxes, 6 by 6 by high, along a parabola open to +y as teeth
// stand in a jaw 60 mm wide and 45 mm deep, their tops in z = 0 for high < 0 and their
// bottoms for high > 0, and for each triangle the number of its box, from 1.
func Arch(count int, high float64, n int) (*mesh.Mesh, []int32) {
	boxes := make([]*mesh.Mesh, count)
	for i := range boxes {
		x := -1 + 2*(float64(i)+0.5)/float64(count)
		boxes[i] = Box(r3.Vec{X: 30 * x, Y: -75 + 45*x*x, Z: high / 2}, r3.Vec{X: 3, Y: 3, Z: math.Abs(high) / 2}, n)
	}
	m, part := Join(boxes...)
	for i := range part {
		part[i]++
	}
	return m, part
}
