package faultkit

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Tipped turns the crown for which own says so about an axis through the point neck. What lies
// within blend (mm) of the crown and is soft turns with it, the less the farther away, so that no
// triangle at the border is torn; everything else stays.
func Tipped(m *mesh.Mesh, neck, axis r3.Vec, by s1.Angle, own, soft func(mesh.VertexID) bool, blend float64) (*mesh.Mesh, error) {
	var crown []r3.Vec
	for v, p := range m.Vertices() {
		if own(mesh.VertexID(v)) {
			crown = append(crown, p)
		}
	}
	turn := func(p r3.Vec, share float64) r3.Vec {
		return r3.Add(neck, kinematics.Rotation(axis, s1.Angle(share)*by).Apply(r3.Sub(p, neck)))
	}
	verts := append([]r3.Vec(nil), m.Vertices()...)
	for v, p := range verts {
		switch id := mesh.VertexID(v); {
		case own(id):
			verts[v] = turn(p, 1)
		case soft(id):
			near := math.Inf(1)
			for _, q := range crown {
				near = min(near, r3.Norm(r3.Sub(p, q)))
			}
			verts[v] = turn(p, step(1-near/blend))
		}
	}
	return mesh.New(verts, m.Triangles())
}
