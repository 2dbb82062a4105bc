package kinematics

import (
	"math"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// ToAxes is the rotation that takes a direction (made perpendicular to z) to x and
// z to z.
func ToAxes(x, z r3.Vec) Pose {
	z = r3.Unit(z)
	x = r3.Unit(r3.Sub(x, r3.Scale(r3.Dot(x, z), z)))
	y := r3.Cross(z, x)
	p, err := FromMatrix([16]float64{x.X, x.Y, x.Z, 0, y.X, y.Y, y.Z, 0, z.X, z.Y, z.Z, 0, 0, 0, 0, 1})
	if err != nil {
		return Pose{} // unit vectors that stand on each other are rigid
	}
	return p
}

// Mirrored is a point or direction seen in the midsagittal plane.
func Mirrored(p r3.Vec) r3.Vec { return r3.Vec{X: -p.X, Y: p.Y, Z: p.Z} }

// Turning is the rotation that takes the perpendicular unit vectors x and z to
// others, z by the shortest way.
func Turning(x, z, toX, toZ r3.Vec) Pose {
	a := r3.Cross(z, toZ)
	up := Rotation(a, s1.Angle(math.Atan2(r3.Norm(a), r3.Dot(z, toZ))))
	x = up.Rotate(x)
	return up.Then(Rotation(toZ, s1.Angle(math.Atan2(r3.Dot(r3.Cross(x, toX), toZ), r3.Dot(x, toX)))))
}
