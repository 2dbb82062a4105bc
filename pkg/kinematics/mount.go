package kinematics

import (
	"errors"
	"fmt"
	"math"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrMounting says that the points or numbers given for a mounting do not fix
// a position in the articulator.
var ErrMounting = errors.New("mounting is not determined")

// onLine is the height of a triangle of landmarks, as a share of its base,
// below which they count as lying on one line. Our choice: on a base of 50 mm
// it is half a millimetre, where the error of marking a point would turn the
// plane by tens of degrees.
const onLine = 0.01

// Mounting says where the scans stand in the articulator.
type Mounting interface {
	// Mount is the rigid motion from the scan frame to the articulator frame.
	// Errors wrap [ErrMounting] or [ErrNotRigid].
	Mount() (articulatorFromScan Pose, err error)
}

// RecordedAxis mounts by a recorded hinge axis (a facebow): the condylar
// centres and a third point in front of the axis, in the scan frame (mm). The
// x axis runs from the right centre to the left, the horizontal plane holds
// the axis and the third point, the origin is the middle of the centres. As
// the third point is the front one, the three also say which side is up.
type RecordedAxis struct {
	RightCondyle, LeftCondyle r3.Vec
	// Reference is the third point, such as orbitale or subnasale. It must lie
	// in front of the axis.
	Reference r3.Vec
	// Up is any direction that points more to the upper arch than away from
	// it. It guards against exchanged points; zero means not checked.
	Up r3.Vec
}

// Intercondylar is the distance of the recorded centres (mm), which is the
// intercondylar distance D to use with this mounting.
func (m RecordedAxis) Intercondylar() float64 {
	return r3.Norm(r3.Sub(m.LeftCondyle, m.RightCondyle))
}

// Mount implements [Mounting]. It fails where the centres coincide, where the
// third point lies on the axis, and where Up contradicts the points.
func (m RecordedAxis) Mount() (Pose, error) {
	f, err := levelFrame(m.RightCondyle, m.LeftCondyle, m.Reference, m.Up, "right condyle", "left condyle", "reference point")
	if err != nil {
		return Pose{}, err
	}
	middle := r3.Scale(0.5, r3.Add(m.RightCondyle, m.LeftCondyle))
	f.t = r3.Scale(-1, f.Rotate(middle))
	return f, nil
}

// Average mounts by mean values: the occlusal plane of the lower arch is set
// to the axis by the Bonwill triangle and the Balkwill angle. The points are
// in the scan frame (mm).
type Average struct {
	// IncisalPoint is the middle of the mesio-incisal edges of 31 and 41.
	IncisalPoint r3.Vec
	// RightMolar and LeftMolar are the disto-buccal cusp tips of the lower
	// second molars, or of the most posterior erupted molars.
	RightMolar, LeftMolar r3.Vec
	// Up is any direction that points more to the upper arch than away from
	// it. It guards against exchanged points; zero means not checked, and the
	// upper side is then told by the incisal point being in front.
	Up r3.Vec
	// Intercondylar is the distance D of the condylar centres (mm).
	Intercondylar float64
	// CondyleToIncisal is the side a of the Bonwill triangle (mm), from a
	// condylar centre to the incisal point; more than D/2.
	CondyleToIncisal float64
	// Balkwill is the angle β between the occlusal plane and the plane of the
	// Bonwill triangle.
	Balkwill s1.Angle
	// PlaneTilt is the angle τ of the occlusal plane to the reference plane of
	// the condylar settings; positive where its front is lower than its back.
	PlaneTilt s1.Angle
}

// Mount implements [Mounting]. The incisal point comes to
// (0, −h·cos(β+τ), −h·sin(β+τ)) with h = √(a² − D²/4). It fails where the
// points lie on one line, where a is at most D/2, where an angle is not within
// ±90°, and where Up contradicts the points.
func (m Average) Mount() (Pose, error) {
	if !(m.Intercondylar > 0) || math.IsInf(m.Intercondylar, 0) {
		return Pose{}, fmt.Errorf("%w: intercondylar distance is %g mm, must be above 0", ErrMounting, m.Intercondylar)
	}
	a, half := m.CondyleToIncisal, m.Intercondylar/2
	if !(a > half) || math.IsInf(a, 0) {
		return Pose{}, fmt.Errorf("%w: condyle to incisal point is %g mm, must be above half the intercondylar "+
			"distance, %g mm", ErrMounting, a, half)
	}
	for _, angle := range []struct {
		name string
		a    s1.Angle
	}{{"Balkwill angle", m.Balkwill}, {"tilt of the occlusal plane", m.PlaneTilt},
		{"Balkwill angle and tilt together", m.Balkwill + m.PlaneTilt}} {
		if !(math.Abs(angle.a.Radians()) < math.Pi/2) {
			return Pose{}, fmt.Errorf("%w: %s is %.6g°, must lie within −90° and 90°", ErrMounting, angle.name, angle.a.Degrees())
		}
	}
	f, err := levelFrame(m.RightMolar, m.LeftMolar, m.IncisalPoint, m.Up, "right molar", "left molar", "incisal point")
	if err != nil {
		return Pose{}, err
	}
	f = f.Then(RotationX(m.PlaneTilt))
	// (a − D/2)(a + D/2) keeps its digits where the two are close.
	h := math.Sqrt((a - half) * (a + half))
	sin, cos := math.Sincos((m.Balkwill + m.PlaneTilt).Radians())
	goal := r3.Vec{Y: -h * cos, Z: -h * sin}
	f.t = r3.Sub(goal, f.Rotate(m.IncisalPoint))
	return f, nil
}

// Matrix mounts by a given 4×4 row-major matrix, scan → articulator.
type Matrix [16]float64

// Mount implements [Mounting] by [FromMatrix].
func (m Matrix) Mount() (Pose, error) { return FromMatrix(m) }

// levelFrame is the rotation into a frame with x along right → left, the plane
// of the three points horizontal and front in front (at negative y).
func levelFrame(right, left, front, up r3.Vec, rightName, leftName, frontName string) (Pose, error) {
	for _, p := range []struct {
		name string
		v    r3.Vec
	}{{rightName, right}, {leftName, left}, {frontName, front}, {"up direction", up}} {
		if !finite(p.v) {
			return Pose{}, fmt.Errorf("%w: %s is (%g, %g, %g), must be finite", ErrMounting, p.name, p.v.X, p.v.Y, p.v.Z)
		}
	}
	base := r3.Sub(left, right)
	width := r3.Norm(base)
	if !(width > 0) || math.IsInf(width, 0) {
		return Pose{}, fmt.Errorf("%w: %s and %s are the same point", ErrMounting, rightName, leftName)
	}
	x := r3.Scale(1/width, base)
	ahead := r3.Sub(front, right)
	z := r3.Cross(ahead, x)
	height := r3.Norm(z)
	if !(height > onLine*width) || math.IsInf(height, 0) {
		return Pose{}, fmt.Errorf("%w: %s, %s and %s lie on one line (the last is %.3g mm off the line of the others, "+
			"%.3g mm apart)", ErrMounting, rightName, leftName, frontName, height, width)
	}
	z = r3.Scale(1/height, z)
	if r3.Dot(z, up) < 0 {
		return Pose{}, fmt.Errorf("%w: by %s, %s and %s the upper side is the one away from the upper arch; right and "+
			"left may be exchanged", ErrMounting, rightName, leftName, frontName)
	}
	y := r3.Cross(z, x)
	return Pose{d: [3]r3.Vec{
		{X: x.X - 1, Y: x.Y, Z: x.Z},
		{X: y.X, Y: y.Y - 1, Z: y.Z},
		{X: z.X, Y: z.Y, Z: z.Z - 1},
	}}, nil
}

func finite(v r3.Vec) bool {
	s := v.X - v.X + (v.Y - v.Y) + (v.Z - v.Z)
	return s == 0
}
