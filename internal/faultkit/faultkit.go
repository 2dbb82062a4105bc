// Package faultkit builds known faults into scans with a few small rigid or smooth
// changes of their vertices. It knows nothing of how internal/typodont makes its
// arches or its disturbances, so that what it makes is truth of another source: any
// pair of meshes will do.
//
// Lengths are mm unless a name ends in Um, points are in the frame of the mesh. Every
// change leaves the numbers of vertices and triangles as they are, so that labels
// keep their meaning; package defects of scans that cannot (T-junctions, corners of
// their own) say from which old vertex each new one comes.
package faultkit

import (
	"math"
	"math/rand/v2"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Closing is the unit direction in which the point q of the lower arch, in the
// articulator frame, moves when the jaw closes on the hinge axis x. A point of the
// upper arch is raised towards the lower one by the opposite direction.
func Closing(q r3.Vec) r3.Vec { return r3.Unit(r3.Vec{Y: q.Z, Z: -q.Y}) }

// step is the smooth step from 0 at u ≤ 0 to 1 at u ≥ 1 with two level derivatives
// at its ends.
func step(u float64) float64 {
	u = min(max(u, 0), 1)
	return u * u * u * (u*(6*u-15) + 10)
}

// bumpCore is the share of a bump's radius within which it has its full height, so
// that a touch between vertices near its middle is raised by all of it.
const bumpCore = 1.0 / 3

// Bump raises the surface of m around a point by heightUm in the direction along (of
// any length), full within a third of the radius and smoothly down to nothing at the
// radius. Vertices for which own says no stay; nil takes all.
func Bump(m *mesh.Mesh, at, along r3.Vec, heightUm, radius float64, own func(mesh.VertexID) bool) (*mesh.Mesh, error) {
	return BumpWithin(m, at, along, heightUm, radius, func(v mesh.VertexID, _ r3.Vec) float64 {
		if own == nil || own(v) {
			return math.Inf(1)
		}
		return 0
	})
}

// BumpWithin is Bump where no vertex rises by more µm than most says of it and its place.
func BumpWithin(m *mesh.Mesh, at, along r3.Vec, heightUm, radius float64, most func(mesh.VertexID, r3.Vec) float64) (*mesh.Mesh, error) {
	way := r3.Unit(along)
	verts := append([]r3.Vec(nil), m.Vertices()...)
	for v, p := range verts {
		r := r3.Norm(r3.Sub(p, at)) / radius
		if r < 1 {
			by := min(heightUm*(1-step((r-bumpCore)/(1-bumpCore))), most(mesh.VertexID(v), p))
			verts[v] = r3.Add(p, r3.Scale(by/1000, way))
		}
	}
	return mesh.New(verts, m.Triangles())
}

// Motion is a rigid motion of a cast: turns about axes through a point, then a shift.
// Roll turns about the long axis of the body, above 0 the left side rises; pitch
// about the transverse axis, above 0 the front rises; yaw about the vertical one,
// above 0 the front goes to the left.
type Motion struct {
	Roll, Pitch, Yaw s1.Angle
	About, Shift     r3.Vec
}

// Pose is the motion as a pose: roll, then pitch, then yaw.
func (t Motion) Pose() kinematics.Pose {
	turn := kinematics.Rotation(r3.Vec{Y: -1}, t.Roll).
		Then(kinematics.Rotation(r3.Vec{X: -1}, t.Pitch)).
		Then(kinematics.Rotation(r3.Vec{Z: 1}, t.Yaw))
	return kinematics.Translation(r3.Scale(-1, t.About)).Then(turn).Then(kinematics.Translation(r3.Add(t.About, t.Shift)))
}

// Moved is m under a rigid motion.
func Moved(m *mesh.Mesh, t Motion) (*mesh.Mesh, error) { return m.Transform(t.Pose().Apply) }

// MovedPart moves only the vertices for which own says so: a tooth that drifted,
// tipped or turned. Triangles to its surroundings are stretched.
func MovedPart(m *mesh.Mesh, pose kinematics.Pose, own func(mesh.VertexID) bool) (*mesh.Mesh, error) {
	verts := append([]r3.Vec(nil), m.Vertices()...)
	for v, p := range verts {
		if own(mesh.VertexID(v)) {
			verts[v] = pose.Apply(p)
		}
	}
	return mesh.New(verts, m.Triangles())
}

// Ground is m with what stands out over a plane ground off within a radius of the
// point on: vertices over the plane that contains on and has the outward unit normal
// n are projected into it, by at most deep.
func Ground(m *mesh.Mesh, on, n r3.Vec, radius, deep float64) (*mesh.Mesh, error) {
	n = r3.Unit(n)
	verts := append([]r3.Vec(nil), m.Vertices()...)
	for v, p := range verts {
		d := r3.Sub(p, on)
		h := r3.Dot(d, n)
		if h > 0 && h <= deep && r3.Norm(r3.Sub(d, r3.Scale(h, n))) <= radius {
			verts[v] = r3.Sub(p, r3.Scale(h, n))
		}
	}
	return mesh.New(verts, m.Triangles())
}

// Noisy moves every vertex along its normal by independent Gaussian noise of the
// given standard deviation, from a seed.
func Noisy(m *mesh.Mesh, rmsUm float64, seed uint64) (*mesh.Mesh, error) {
	rng := rand.New(rand.NewPCG(seed, 0x6e6f697365))
	normals := make([]r3.Vec, m.NumVertices())
	for t, c := range m.All() {
		a := m.AreaVector(t)
		for _, v := range c {
			normals[v] = r3.Add(normals[v], a)
		}
	}
	verts := append([]r3.Vec(nil), m.Vertices()...)
	for v, n := range normals {
		by := rmsUm / 1000 * rng.NormFloat64()
		if l := r3.Norm(n); l > 0 {
			verts[v] = r3.Add(verts[v], r3.Scale(by/l, n))
		}
	}
	return mesh.New(verts, m.Triangles())
}

// Warped bends m smoothly: heights change by heightUm times the square of the
// distance from the middle across the arch over half its width, as a scan that was
// stitched along the arch drifts.
func Warped(m *mesh.Mesh, heightUm float64) (*mesh.Mesh, error) {
	box := m.Bounds()
	mid, half := box.Center().X, box.Size().X/2
	return m.Transform(func(p r3.Vec) r3.Vec {
		u := (p.X - mid) / math.Max(half, 1e-9)
		p.Z += heightUm / 1000 * u * u
		return p
	})
}
