package kinematics_test

import (
	"math"
	"testing"

	"github.com/golang/geo/s1"
	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/spatial/r3"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// Casts opened by a record about the true axis and closed about one that is off
// by E end off by (I − R(−θ))E, the same at every tooth.
func TestHingeAxisError(t *testing.T) {
	aboutWrong := func(e r3.Vec, theta float64) kinematics.Pose {
		return kinematics.Translation(r3.Scale(-1, e)).Then(kinematics.RotationX(s1.Angle(theta))).Then(kinematics.Translation(e))
	}
	molar := anteriorLeftUp(45, 28, incisor22.Z)
	e := anteriorLeftUp(3, 0, -4)
	theta := 0.05
	there := kinematics.RotationX(s1.Angle(theta)).Then(aboutWrong(e, -theta))
	for _, q := range []r3.Vec{molar, incisor22} {
		miss := r3.Sub(there.Apply(q), q)
		assert.InDelta(t, 0, r3.Norm(r3.Sub(miss, r3.Sub(e, kinematics.RotationX(s1.Angle(-theta)).Rotate(e)))), 1e-13)
		assert.InDelta(t, 2*math.Sin(theta/2)*5, r3.Norm(miss), 1e-13)
	}

	// Closed until the second molar touches on its level: how far forward of
	// its place it ends. The record's thickness is the chord at the molar or at
	// the incisal point. This brackets the classic 0.2 mm of a 5 mm axis error
	// with a 3 mm record (Weinberg 1959), and doubling the record doubles the
	// error (Morneburg & Pröschel 2002, Int J Prosthodont 15:358-364).
	for _, c := range []struct {
		anterior, superior, record float64
		at                         r3.Vec
		forward                    float64
	}{
		{5, 0, 3, molar, 0.2290}, {-5, 0, 3, molar, -0.1841}, {0, 5, 3, molar, 0.2628}, {0, -5, 3, molar, -0.2643},
		{5, 0, 3, incisor22, 0.1435}, {-5, 0, 3, incisor22, -0.1151}, {0, 5, 3, incisor22, 0.1680}, {0, -5, 3, incisor22, -0.1686},
		{5, 0, 2, molar, 0.1510}, {5, 0, 4, molar, 0.3085},
	} {
		e := anteriorLeftUp(c.anterior, 0, c.superior)
		radius := math.Hypot(c.at.Y, c.at.Z)
		open := kinematics.RotationX(s1.Angle(2 * math.Asin(c.record/2/radius))).Apply(molar)
		lo, hi := 0.0, 0.2
		for range 100 {
			if mid := (lo + hi) / 2; aboutWrong(e, -mid).Apply(open).Z < molar.Z {
				lo = mid
			} else {
				hi = mid
			}
		}
		assert.InDelta(t, c.forward, molar.Y-aboutWrong(e, -lo).Apply(open).Y, digits(4), "%+v", c)
	}
}

// A roll of 0.1° lifts a molar 25 mm from the midline by about 40 µm (Kakali &
// Halazonetis 2023, Korean J Orthod 53:254-263).
func TestRollAtTheMolar(t *testing.T) {
	lift := kinematics.Rotation(anteriorLeftUp(1, 0, 0), deg(0.1)).Apply(anteriorLeftUp(45, 25, 0)).Z
	assert.InDelta(t, 0.0436, lift, digits(4))
}
