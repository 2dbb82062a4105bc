package kinematics

import (
	"math"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Laterals are the directions, as angles to the sagittal plane in the horizontal
// one, in which a point of the lower jaw sets out in the two lateral excursions:
// Working when the jaw goes to the point's own side (laterotrusive, outwards),
// Nonworking when it goes to the other one (mediotrusive, inwards).
type Laterals struct{ Working, Nonworking s1.Angle }

// Between is the angle between the two paths.
func (l Laterals) Between() s1.Angle { return l.Working + l.Nonworking }

// LateralsOf is the closed form for the point q (mm, in intercuspation in the articulator
// frame) and an intercondylar distance (mm), while the jaw does not open. By a
// forward step f of the advancing condyle the jaw turns by f/D about the working
// one and shifts sideways by f·tan B, B being the progressive side shift angle:
// with x the distance of q in front of the axis and y from the midline,
// tan Working = (x + D·tan B)/(D/2 − y), tan Nonworking = (x + D·tan B)/(D/2 + y).
// So the angle between the paths is wider with more distance from the rotating
// condyle, from the midline and with more side shift, and narrower with a larger
// intercondylar distance (the horizontal determinants of the handbooks). For B = 0
// it is pure rotation: atan2(D·x, D²/4 − x² − y²).
func LateralsOf(q r3.Vec, intercondylar float64, sideShift s1.Angle) Laterals {
	aside := -q.Y + intercondylar*math.Tan(sideShift.Radians())
	y := math.Abs(q.X)
	return Laterals{
		Working:    s1.Angle(math.Atan2(aside, intercondylar/2-y)),
		Nonworking: s1.Angle(math.Atan2(aside, intercondylar/2+y)),
	}
}
