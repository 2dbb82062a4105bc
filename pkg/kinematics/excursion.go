package kinematics

import (
	"errors"
	"fmt"
	"iter"
	"math"

	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// ErrTravel says that the condyles cannot travel as far as asked.
var ErrTravel = errors.New("travel is not possible")

// Movement is an excursion of the lower jaw. The zero Movement is none.
type Movement int

// The movements. In Right the jaw goes to the patient's right: the right
// condyle is the working one and the left, nonworking one advances.
const (
	Right Movement = iota + 1
	Left
	Protrusive
)

// String is the word that files use: right, left or protrusive.
func (m Movement) String() string {
	switch m {
	case Right:
		return "right"
	case Left:
		return "left"
	case Protrusive:
		return "protrusive"
	}
	return fmt.Sprintf("Movement(%d)", int(m))
}

// ParseMovement reads the words that [Movement.String] writes.
func ParseMovement(s string) (Movement, error) {
	for _, m := range []Movement{Right, Left, Protrusive} {
		if s == m.String() {
			return m, nil
		}
	}
	return 0, fmt.Errorf("%q, must be right, left or protrusive", s)
}

// MarshalText implements encoding.TextMarshaler: the word of [Movement.String], an error for none.
func (m Movement) MarshalText() ([]byte, error) {
	if _, err := ParseMovement(m.String()); err != nil {
		return nil, err
	}
	return []byte(m.String()), nil
}

// UnmarshalText implements encoding.TextUnmarshaler.
func (m *Movement) UnmarshalText(b []byte) (err error) {
	*m, err = ParseMovement(string(b))
	return err
}

// Side holds the condylar settings of one side.
type Side struct {
	// Path is the way of this condyle when it advances.
	Path CondylarPath
	// SideShiftAngle is the progressive side shift (Bennett) angle B of this
	// condyle when it advances, seen in the horizontal plane.
	SideShiftAngle s1.Angle
	// ImmediateShift is the immediate side shift S (mm, at least 0), reached
	// over the first ShiftTravel f₀ (mm, at least 0) of forward travel; for
	// f₀ = 0 it is there as soon as the condyle advances.
	ImmediateShift, ShiftTravel float64
	// WorkingBack and WorkingUp turn the line on which this condyle slides when
	// it is the working one, away from straight outwards: outwards by 1 goes
	// with tan WorkingBack to posterior and tan WorkingUp to superior. Negative
	// angles are forward and down; zero is the hinge axis itself.
	WorkingBack, WorkingUp s1.Angle
}

// Settings are the settings of the articulator.
type Settings struct {
	// Intercondylar is the distance D of the condylar centres (mm).
	Intercondylar float64
	Right, Left   Side
}

// Validate says which setting is outside its possible range; the error wraps
// [ErrSetting].
func (s Settings) Validate() error {
	if !(s.Intercondylar > 0) || math.IsInf(s.Intercondylar, 0) {
		return fmt.Errorf("%w: intercondylar distance is %g mm, must be above 0", ErrSetting, s.Intercondylar)
	}
	if err := s.Right.validate(); err != nil {
		return fmt.Errorf("right side: %w", err)
	}
	if err := s.Left.validate(); err != nil {
		return fmt.Errorf("left side: %w", err)
	}
	return nil
}

func (s *Side) validate() error {
	if s.Path == nil {
		return fmt.Errorf("%w: no condylar path", ErrSetting)
	}
	if !(math.Abs(s.SideShiftAngle.Radians()) < math.Pi/2) {
		return fmt.Errorf("%w: side shift angle is %.6g°, must lie within −90° and 90°", ErrSetting, s.SideShiftAngle.Degrees())
	}
	if !(s.ImmediateShift >= 0) || math.IsInf(s.ImmediateShift, 0) {
		return fmt.Errorf("%w: immediate side shift is %g mm, must be 0 or more", ErrSetting, s.ImmediateShift)
	}
	if !(s.ShiftTravel >= 0) || math.IsInf(s.ShiftTravel, 0) {
		return fmt.Errorf("%w: travel of the immediate side shift is %g mm, must be 0 or more", ErrSetting, s.ShiftTravel)
	}
	for _, a := range [2]s1.Angle{s.WorkingBack, s.WorkingUp} {
		if !(math.Abs(a.Radians()) < math.Pi/2) {
			return fmt.Errorf("%w: direction of the working condyle is turned by %.6g°, must lie within −90° and 90°", ErrSetting, a.Degrees())
		}
	}
	return nil
}

// shift is the side shift m (mm, inwards) after a forward travel f.
func (s *Side) shift(f float64) float64 {
	m := f * math.Tan(s.SideShiftAngle.Radians())
	switch {
	case s.ShiftTravel > 0:
		m += s.ImmediateShift * min(1, f/s.ShiftTravel)
	case f > 0:
		m += s.ImmediateShift
	}
	return m
}

// Station is where the condyles are at one travel of a movement. The lower jaw
// may still open about the line that joins them: the hinge axis is fixed in
// the jaw, so there an opening is always a rotation about x.
type Station struct {
	Movement Movement
	// Travel is the length of the advancing condyle's path in the sagittal
	// plane (mm).
	Travel float64
	// Right and Left are the displaced condylar centres (mm, articulator
	// frame).
	Right, Left r3.Vec
	// SideShift is the displacement m of the advancing condyle to the middle,
	// and WorkingShift the way w of the working condyle on its line, outwards
	// (mm). Both are 0 in protrusion.
	SideShift, WorkingShift float64

	base Pose
}

// Base is the pose at opening 0: q ↦ c + Q·q with the middle c of the
// displaced centres and the smallest rotation Q that takes x to their line.
func (s Station) Base() Pose { return s.base }

// Pose is the pose at the opening θ: q ↦ c + Q·Rotₓ(θ)·q. Positive θ opens:
// points in front of the axis go down.
func (s Station) Pose(opening s1.Angle) Pose { return RotationX(opening).Then(s.base) }

// Station is the place of the condyles at a travel (mm, 0 or more) of a
// movement. At travel 0 it is the closed position, whose base is the identity.
//
// In protrusion both condyles advance by the travel, each on its own path; where
// these differ both slide inwards alike, as far as keeps their distance. In a
// lateral excursion the condyle of the other side advances by the travel and
// shifts to the middle, and the working one slides on its line as far as keeps
// the distance. The sagittal inclination is the same in both (a flat guidance
// plate: Fischer angle 0).
//
// Errors wrap [ErrSetting] for the settings and [ErrTravel] for a travel that
// is negative, longer than the path, or too long to keep the distance.
func (s Settings) Station(m Movement, travel float64) (Station, error) {
	if err := s.Validate(); err != nil {
		return Station{}, err
	}
	st := Station{Movement: m, Travel: travel}
	var err error
	switch m {
	case Protrusive:
		err = s.protrude(&st)
	case Right:
		err = s.swing(&st, &s.Left, &s.Right, 1)
	case Left:
		err = s.swing(&st, &s.Right, &s.Left, -1)
	default:
		err = fmt.Errorf("%w: %v is not a movement", ErrTravel, m)
	}
	if err != nil {
		return Station{}, err
	}
	if st.base, err = s.base(st.Right, st.Left); err != nil {
		return Station{}, err
	}
	return st, nil
}

// Between is the place of the condyles where both have advanced, each by a travel of its own
// (mm, 0 or more): a station between the lateral movements and protrusion. N is the condyle
// that is further forward, W the other one. N's centre moves by its own path and by the side
// shift that belongs to the difference of the forward travels, m = S·min(1, (f_N − f_W)/f₀) +
// (f_N − f_W)·tan B; W's moves by its own path and slides along x so that the distance of the
// centres stays. Where one travel is 0 this is the lateral excursion to its side with the
// working condyle on the hinge axis, where both paths and travels are equal protrusion.
//
// The station's movement is none and its travel that of N. Errors are those of
// [Settings.Station].
func (s Settings) Between(right, left float64) (Station, error) {
	if err := s.Validate(); err != nil {
		return Station{}, err
	}
	fr, gr, err := s.Right.advance(right)
	if err != nil {
		return Station{}, fmt.Errorf("right condyle: %w", err)
	}
	fl, gl, err := s.Left.advance(left)
	if err != nil {
		return Station{}, fmt.Errorf("left condyle: %w", err)
	}
	// sigma is +1 where N is the left condyle; n and w are its and W's forward and down.
	sigma, n, w, of, travel := 1.0, [2]float64{fl, gl}, [2]float64{fr, gr}, &s.Left, left
	if fr > fl {
		sigma, n, w, of, travel = -1, w, n, &s.Right, right
	}
	d, m := s.Intercondylar, of.shift(n[0]-w[0])
	dy, dz := n[0]-w[0], n[1]-w[1]
	apart := dy*dy + dz*dz
	if !(apart < d*d) {
		return Station{}, s.tooFar(travel)
	}
	x := sigma * (d/2 - m)
	forward := r3.Vec{X: x, Y: -n[0], Z: -n[1]}
	back := r3.Vec{X: x - sigma*math.Sqrt(d*d-apart), Y: -w[0], Z: -w[1]}
	st := Station{Travel: travel, SideShift: m, WorkingShift: sigma * (-sigma*d/2 - back.X)}
	st.Right, st.Left = back, forward
	if sigma < 0 {
		st.Right, st.Left = forward, back
	}
	st.base, err = s.base(st.Right, st.Left)
	return st, err
}

// Stations yields the stations of a movement at the given travels (mm), in their
// order. An error, of [Settings.Station], comes as the last. Nothing is
// allocated per station.
func (s Settings) Stations(m Movement, travels []float64) iter.Seq2[Station, error] {
	return func(yield func(Station, error) bool) {
		for _, t := range travels {
			st, err := s.Station(m, t)
			if !yield(st, err) || err != nil {
				return
			}
		}
	}
}

func (s *Settings) protrude(st *Station) error {
	fr, gr, err := s.Right.advance(st.Travel)
	if err != nil {
		return fmt.Errorf("right condyle: %w", err)
	}
	fl, gl, err := s.Left.advance(st.Travel)
	if err != nil {
		return fmt.Errorf("left condyle: %w", err)
	}
	d, dy, dz := s.Intercondylar, fl-fr, gl-gr
	apart := dy*dy + dz*dz
	if !(apart < d*d) {
		return s.tooFar(st.Travel)
	}
	// (D − √(D² − e))/2 without cancellation.
	inwards := apart / (2 * (d + math.Sqrt(d*d-apart)))
	st.Right = r3.Vec{X: -d/2 + inwards, Y: -fr, Z: -gr}
	st.Left = r3.Vec{X: d/2 - inwards, Y: -fl, Z: -gl}
	return nil
}

// swing is the lateral excursion in which the nonworking condyle advances;
// sigma is +1 where that is the left one.
func (s *Settings) swing(st *Station, nonworking, working *Side, sigma float64) error {
	f, g, err := nonworking.advance(st.Travel)
	if err != nil {
		return fmt.Errorf("nonworking condyle: %w", err)
	}
	d, m := s.Intercondylar, nonworking.shift(f)
	out := r3.Unit(r3.Vec{X: -sigma, Y: math.Tan(working.WorkingBack.Radians()), Z: math.Tan(working.WorkingUp.Radians())})
	// With v from the working centre in intercuspation to the displaced nonworking one,
	// |v − w·out| = D gives w² − 2bw − q = 0, b = v·out, q = D² − v². For out
	// along the axis this is w = m − D + √(D² − f² − g²). The root that starts
	// at 0, without cancellation:
	v := r3.Vec{X: sigma * (d - m), Y: -f, Z: -g}
	b, q := r3.Dot(v, out), 2*d*m-m*m-f*f-g*g
	root := b*b + q
	if !(root >= 0) || !(b < 0) {
		return s.tooFar(st.Travel)
	}
	w := q / (math.Sqrt(root) - b)
	n := r3.Vec{X: sigma * (d/2 - m), Y: -f, Z: -g}
	c := r3.Add(r3.Vec{X: -sigma * d / 2}, r3.Scale(w, out))
	st.SideShift, st.WorkingShift = m, w
	if sigma > 0 {
		st.Right, st.Left = c, n
	} else {
		st.Right, st.Left = n, c
	}
	return nil
}

// advance is the path's place after a travel, checked.
func (s *Side) advance(travel float64) (forward, down float64, err error) {
	if !(travel >= 0) {
		return 0, 0, fmt.Errorf("%w: travel is %g mm, must be 0 or more", ErrTravel, travel)
	}
	if end := s.Path.Length(); !(travel <= end) {
		return 0, 0, fmt.Errorf("%w: travel is %g mm, but the condylar path is %.4g mm long", ErrTravel, travel, end)
	}
	forward, down = s.Path.At(travel)
	if !(forward >= 0) || math.IsNaN(down) || math.IsInf(forward, 0) || math.IsInf(down, 0) {
		return 0, 0, fmt.Errorf("%w: after %g mm the condylar path is %g mm forward and %g mm down, must go forward",
			ErrTravel, travel, forward, down)
	}
	return forward, down, nil
}

func (s *Settings) tooFar(travel float64) error {
	return fmt.Errorf("%w: at a travel of %g mm the condyles cannot keep their distance of %g mm", ErrTravel, travel, s.Intercondylar)
}

// base is c + Q·q for the displaced centres. Q = I + [v]ₓ + [v]ₓ²/(1 + x·a)
// with v = x × a is the smallest rotation from x to a, in closed form.
func (s *Settings) base(right, left r3.Vec) (Pose, error) {
	axis := r3.Sub(left, right)
	y, z := axis.Y/s.Intercondylar, axis.Z/s.Intercondylar
	if !(axis.X > 0) {
		return Pose{}, fmt.Errorf("%w: the condyles would change sides", ErrTravel)
	}
	// a has unit length but for rounding; x from y and z makes Q a rotation to
	// the last bit.
	k := 1 / (1 + math.Sqrt(max(0, 1-y*y-z*z)))
	return Pose{
		d: [3]r3.Vec{
			{X: -k * (y*y + z*z), Y: -y, Z: -z},
			{X: y, Y: -k * y * y, Z: -k * y * z},
			{X: z, Y: -k * y * z, Z: -k * z * z},
		},
		t: r3.Scale(0.5, r3.Add(right, left)),
	}, nil
}
