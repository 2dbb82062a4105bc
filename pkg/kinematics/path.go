package kinematics

import (
	"errors"
	"fmt"
	"math"

	"github.com/golang/geo/s1"
)

// ErrSetting says that a setting is outside its possible range.
var ErrSetting = errors.New("setting out of range")

// CondylarPath is the way of a condylar centre seen in the sagittal plane.
// Travel, forward and down are in mm; travel is the length of the path, so a
// path has unit speed, and travel 0 is the closed position (0, 0). Forward is
// towards anterior and down towards inferior, to the horizontal plane of the
// articulator frame.
type CondylarPath interface {
	// At is the place after a travel of 0 to Length.
	At(travel float64) (forward, down float64)
	// Length is the longest travel; +Inf where the path has no end.
	Length() float64
}

type straight struct{ cos, sin float64 }

// Straight is the straight path of the sagittal condylar inclination h:
// forward t·cos h, down t·sin h. h must lie within −90° and 90°.
func Straight(h s1.Angle) (CondylarPath, error) {
	if err := checkInclination(h); err != nil {
		return nil, err
	}
	sin, cos := math.Sincos(h.Radians())
	return straight{cos, sin}, nil
}

func (p straight) At(t float64) (forward, down float64) { return t * p.cos, t * p.sin }
func (p straight) Length() float64                      { return math.Inf(1) }

// ArcChord is the travel (mm) over which the chord of an [Arc] has the stated
// inclination: condylar inclinations are recorded at 5 to 6 mm of protrusion.
const ArcChord = 5

type arc struct{ radius, start float64 }

// Arc is a circular path of the given radius (mm), convex downwards: steep at
// first and then flatter, as the articular eminence is (textbooks: radius
// about 5 to 20 mm). The chord of its first 5 mm ([ArcChord]) has the
// inclination h. The path must go forward from the start, so h plus half the
// angle of that arc must be below 90°, and it ends where it would turn back.
func Arc(radius float64, h s1.Angle) (CondylarPath, error) {
	if err := checkInclination(h); err != nil {
		return nil, err
	}
	if !(radius > 0) || math.IsInf(radius, 0) {
		return nil, fmt.Errorf("%w: radius of the condylar path is %g mm, must be above 0", ErrSetting, radius)
	}
	// The tangent turns by t/r, and a chord has the direction of the tangent
	// at the middle of its arc.
	start := h.Radians() + ArcChord/(2*radius)
	if !(start < math.Pi/2) {
		return nil, fmt.Errorf("%w: a condylar path of radius %g mm and inclination %.6g° would start at %.1f°, must be "+
			"below 90°; take a larger radius", ErrSetting, radius, h.Degrees(), s1.Angle(start).Degrees())
	}
	return arc{radius, start}, nil
}

func (p arc) At(t float64) (forward, down float64) {
	turn := t / (2 * p.radius)
	chord := 2 * p.radius * math.Sin(turn)
	sin, cos := math.Sincos(p.start - turn)
	return chord * cos, chord * sin
}

func (p arc) Length() float64 { return p.radius * (p.start + math.Pi/2) }

func checkInclination(h s1.Angle) error {
	if !(math.Abs(h.Radians()) < math.Pi/2) {
		return fmt.Errorf("%w: condylar inclination is %.6g°, must lie within −90° and 90°", ErrSetting, h.Degrees())
	}
	return nil
}

type tilted struct {
	path     CondylarPath
	cos, sin float64
}

// Tilt is the path p turned about its closed position to be steeper by an angle
// (less steep where it is negative): a straight or arc path of inclination H
// becomes the one of inclination H + by.
func Tilt(p CondylarPath, by s1.Angle) CondylarPath {
	sin, cos := math.Sincos(by.Radians())
	return tilted{p, cos, sin}
}

func (p tilted) At(t float64) (forward, down float64) {
	f, g := p.path.At(t)
	return f*p.cos - g*p.sin, f*p.sin + g*p.cos
}

func (p tilted) Length() float64 { return p.path.Length() }
