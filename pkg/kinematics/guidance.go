package kinematics

import (
	"errors"
	"fmt"
	"math"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// The range of openings about the hinge in which a guidance is searched. The
// upper end is above the 10° to 13° of terminal hinge rotation (Posselt); the
// lower leaves room for casts that overclose.
const (
	OpeningMin = -8 * s1.Degree
	OpeningMax = 20 * s1.Degree
)

// ErrGuidance says that a guidance gives no opening in the range
// [OpeningMin] to [OpeningMax].
var ErrGuidance = errors.New("no opening satisfies the guidance")

// Guidance gives the opening of the lower jaw at a station. This package has
// [Free] and [IncisalTable]; guidance by teeth needs the surfaces of the casts
// and is made where those are known.
type Guidance interface {
	Opening(Station) (s1.Angle, error)
}

// Free is a fixed opening θ, the same at every station.
type Free s1.Angle

// Opening implements [Guidance]. It fails where the angle is not within
// [OpeningMin] to [OpeningMax].
func (f Free) Opening(Station) (s1.Angle, error) {
	a := s1.Angle(f)
	if !(a >= OpeningMin && a <= OpeningMax) {
		return 0, fmt.Errorf("%w: an opening of %.6g° is outside %.6g° to %.6g°", ErrSetting, a.Degrees(),
			OpeningMin.Degrees(), OpeningMax.Degrees())
	}
	return a, nil
}

// IncisalTable guides the incisal point on a surface that is fixed in the
// articulator frame: z = z₀ − pin − tan γ·(y₀ − y) − tan δ·|x − x₀|, with its
// closed position (x₀, y₀, z₀).
type IncisalTable struct {
	// IncisalPoint is the closed position of the lower incisal point (mm,
	// articulator frame).
	IncisalPoint r3.Vec
	// Inclination is the sagittal inclination γ, within −90° and 90°.
	Inclination s1.Angle
	// Wings is the lateral inclination δ, from 0° to below 90°.
	Wings s1.Angle
	// Pin is the amount by which the pin is raised (mm, 0 or more).
	Pin float64
}

func (g IncisalTable) validate() error {
	switch {
	case !finite(g.IncisalPoint):
		return fmt.Errorf("%w: incisal point is (%g, %g, %g), must be finite", ErrSetting, g.IncisalPoint.X, g.IncisalPoint.Y, g.IncisalPoint.Z)
	case !(math.Abs(g.Inclination.Radians()) < math.Pi/2):
		return fmt.Errorf("%w: inclination of the incisal table is %.6g°, must lie within −90° and 90°", ErrSetting, g.Inclination.Degrees())
	case !(g.Wings >= 0 && g.Wings.Radians() < math.Pi/2):
		return fmt.Errorf("%w: inclination of the wings is %.6g°, must be 0° or more and below 90°", ErrSetting, g.Wings.Degrees())
	case !(g.Pin >= 0) || math.IsInf(g.Pin, 0):
		return fmt.Errorf("%w: the pin is raised by %g mm, must be 0 or more", ErrSetting, g.Pin)
	}
	return nil
}

// Opening implements [Guidance]: the largest opening in the range at which the
// incisal point lies on the table, in closed form.
//
// The table is the lower of two planes, one for each wing, and the point comes
// from below as the jaw closes. So it is stopped by the plane it meets first:
// the answer is the larger of the openings for the two planes, and no wing
// need be chosen beforehand. Errors wrap [ErrSetting] or [ErrGuidance].
func (g IncisalTable) Opening(st Station) (s1.Angle, error) {
	if err := g.validate(); err != nil {
		return 0, err
	}
	best := math.Inf(-1)
	for _, side := range [2]float64{1, -1} {
		o, err := g.meet(st.base, side)
		if err != nil {
			return 0, err
		}
		best = max(best, o)
	}
	if !(best >= OpeningMin.Radians()) {
		return 0, fmt.Errorf("%w: at a travel of %g mm the incisal point does not reach the incisal table at %.6g° or more",
			ErrGuidance, st.Travel, OpeningMin.Degrees())
	}
	return s1.Angle(best), nil
}

// meet is the largest opening up to OpeningMax at which the incisal point lies
// on the plane of one wing, −Inf where there is none. It is an error if the
// point is still above the plane at OpeningMax.
func (g IncisalTable) meet(base Pose, side float64) (float64, error) {
	n := r3.Vec{X: side * math.Tan(g.Wings.Radians()), Y: -math.Tan(g.Inclination.Radians()), Z: 1}
	// Height over the plane: n·(c + Q·Rotₓ(θ)·q − q) + pin with q the rest
	// position. With m = Qᵀn that is A·cos θ + B·sin θ − C.
	q, m := g.IncisalPoint, base.Inverse().Rotate(n)
	a := m.Y*q.Y + m.Z*q.Z
	b := m.Z*q.Y - m.Y*q.Z
	// C − A, which is small near rest, from small terms.
	e := r3.Dot(r3.Sub(n, m), q) - r3.Dot(n, base.t) - g.Pin
	sin, cos := math.Sincos(OpeningMax.Radians())
	if !(a*cos+b*sin <= e+a) {
		return 0, fmt.Errorf("%w: the incisal table would hold the jaw open by more than %.6g°", ErrGuidance, OpeningMax.Degrees())
	}
	// With u = tan(θ/2): (C + A)u² − 2Bu + (C − A) = 0, solved without
	// cancellation.
	disc := b*b - (e+2*a)*e
	if !(disc >= 0) {
		return math.Inf(-1), nil
	}
	p := b + math.Copysign(math.Sqrt(disc), b)
	best := math.Inf(-1)
	for _, u := range [2]float64{e / p, p / (e + 2*a)} {
		if o := 2 * math.Atan(u); o <= OpeningMax.Radians() {
			best = max(best, o)
		}
	}
	return best, nil
}
