// Package peers compares this module with general-purpose geometry libraries:
// its tests compare distances, and the command benchtable compares speed.
package peers

import (
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Condyle is the right condyle of the movement that is compared, in the frame
// of the real case's scans (mm); the left one lies 110 mm to its left.
var Condyle = r3.Vec{X: -2, Y: 105, Z: 99}

// Jaw is the pose of the lower scan, in the frame of the scans, opened about the
// hinge through both condyles and then turned to the right about the vertical
// through the right one.
func Jaw(lateral, opening s1.Angle) kinematics.Pose {
	return About(r3.Vec{X: 1}, Condyle, opening).Then(About(r3.Vec{Z: 1}, Condyle, -lateral))
}

// About is the rotation by a about the line through c along axis.
func About(axis, c r3.Vec, a s1.Angle) kinematics.Pose {
	return kinematics.Translation(r3.Scale(-1, c)).Then(kinematics.Rotation(axis, a)).Then(kinematics.Translation(c))
}

// Sweep is n poses that turn to 6° and open from 0.5° to 3.5°.
func Sweep(n int) []kinematics.Pose {
	out := make([]kinematics.Pose, n)
	for i := range out {
		u := s1.Angle(i) / s1.Angle(n-1)
		out[i] = Jaw(6*u*s1.Degree, (0.5+3*u)*s1.Degree)
	}
	return out
}
