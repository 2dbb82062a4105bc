package sampling

import (
	"math"

	"github.com/cusptrace/cusptrace/internal/drift"
	"github.com/cusptrace/cusptrace/internal/portable"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// The factors of a sample, each a standard normal number, those that matter most first: in
// a Sobol sequence the first coordinates are the most even. Their places never change, so
// that runs that are compared draw the same errors.
const (
	zRight = iota // condylar inclination
	zLeft
	zRoll // registration
	zPitch
	zAxisY
	zAxisZ
	zShiftRight
	zShiftLeft
	zPlane
	zPressX
	zPressY
	zRegX
	zRegY
	zRegZ
	zImmediateRight
	zImmediateLeft
	zIntercondylar
	zScans  // upper and lower in turn
	factors = zScans + 2*drift.Factors
)

// Sides go together: the condylar inclinations so that 36 % of persons have more than 6°
// between them at a standard deviation of 8.5°, the side shift angles so that 26 % have at 4°
// (13iags-177411): the difference has the variance 2σ²(1 − r).
const (
	inclinationTogether = 0.7
	shiftTogether       = 0.1
)

// immediateMost is the largest immediate side shift, mm, that is drawn (Taylor et al. 2016).
const immediateMost = 1.75

// Sources are what may be wrong with a case, with the sizes as used.
type Sources struct {
	set                      kinematics.Settings
	inclination              [2]float64 // degrees, right and left
	shift                    float64    // degrees
	immediate, intercondylar float64    // mm
	axis, plane              float64    // mm, degrees
	registration             float64    // mm
	registrationTurn         float64    // degrees
	press                    float64    // mm; 0 where the casts were not pressed
	upperDrift, lowerDrift   float64    // rad/√mm
	listed                   []findings.DoubtedSource
}

// NewSources takes the sizes from the case, and those that it leaves out from how it was
// made.
func NewSources(c *casefile.Case, set kinematics.Settings, settling *findings.Settling, measured Drifts) *Sources {
	s := &Sources{set: set}
	d := &c.Doubt
	pick := func(given *float64, otherwise float64, how findings.DoubtFrom) (float64, findings.DoubtFrom) {
		if given != nil {
			return *given, findings.FromCase
		}
		return otherwise, how
	}
	list := func(of findings.DoubtSource, size float64, unit string, from findings.DoubtFrom) {
		s.listed = append(s.listed, findings.DoubtedSource{Source: of, Size: size, Unit: unit, From: from})
	}
	for i, side := range [2]*casefile.Side{&c.Settings.Right, &c.Settings.Left} {
		size, how := 8.5, findings.FromMean
		if side.Path != nil && len(side.Path.PointsMM) > 0 {
			size, how = 2, findings.FromRecord
		}
		size, how = pick(d.CondylarInclinationDeg, size, how)
		s.inclination[i] = size
		list([2]findings.DoubtSource{findings.DoubtInclinationRight, findings.DoubtInclinationLeft}[i], size, "deg", how)
	}
	var how findings.DoubtFrom
	s.shift, how = pick(d.SideShiftAngleDeg, 4, findings.FromMean)
	list(findings.DoubtShiftRight, s.shift, "deg", how)
	list(findings.DoubtShiftLeft, s.shift, "deg", how)
	s.immediate, _ = pick(d.ImmediateSideShiftMM, 0.3, findings.FromMean)
	apart, axis, mounted := 6.0, 5.0, findings.FromMean
	if c.Mount.Recorded != nil {
		apart, axis, mounted = 3, 1, findings.FromRecord
	}
	s.intercondylar, how = pick(d.IntercondylarMM, apart, mounted)
	list(findings.DoubtIntercondylar, s.intercondylar, "mm", how)
	s.axis, how = pick(d.AxisMM, axis, mounted)
	list(findings.DoubtAxis, s.axis, "mm", how)
	s.plane, how = pick(d.PlaneDeg, 3, mounted)
	list(findings.DoubtPlane, s.plane, "deg", how)
	scale, by := 1.0, findings.FromUsual
	if usual := casefile.Default().Settle.DoubtUm; c.Settle.DoubtUm > usual {
		scale, by = c.Settle.DoubtUm/usual, findings.FromHand
	}
	s.registrationTurn, _ = pick(d.RegistrationDeg, 0.08*scale, by)
	um, how := pick(d.RegistrationUm, 25*scale, by)
	s.registration = um / 1000
	list(findings.DoubtRegistration, um, "um", how)
	for i, x := range [2]struct {
		given *float64
		of    findings.DoubtSource
		into  *float64
	}{{d.UpperDriftUm, findings.DoubtUpperScan, &s.upperDrift}, {d.LowerDriftUm, findings.DoubtLowerScan, &s.lowerDrift}} {
		usual, from := drift.StitchingEndUm, findings.FromUsual
		if measured[i] != nil {
			usual, from = *measured[i], findings.FromScans
		}
		um, how := pick(x.given, usual, from)
		*x.into = drift.Sigma(um)
		list(x.of, um, "um", how)
	}
	if settling.Seat != nil && settling.Seat.Taken {
		s.press, how = pick(d.PressMM, 5, findings.FromUsual)
		list(findings.DoubtSeating, s.press, "mm", how)
	}
	return s
}

// sources are what may be wrong, each with its factors.
var sources = []struct {
	source findings.DoubtSource
	at     []int
}{
	{findings.DoubtInclinationRight, []int{zRight}}, {findings.DoubtInclinationLeft, []int{zLeft}},
	{findings.DoubtShiftRight, []int{zShiftRight, zImmediateRight}}, {findings.DoubtShiftLeft, []int{zShiftLeft, zImmediateLeft}},
	{findings.DoubtIntercondylar, []int{zIntercondylar}}, {findings.DoubtAxis, []int{zAxisY, zAxisZ}},
	{findings.DoubtPlane, []int{zPlane}}, {findings.DoubtRegistration, []int{zRegX, zRegY, zRegZ, zRoll, zPitch}},
	{findings.DoubtUpperScan, scanFactors(0)}, {findings.DoubtLowerScan, scanFactors(1)},
	{findings.DoubtSeating, []int{zPressX, zPressY}},
}

// scanFactors are the places of the factors of the upper (0) or the lower (1) scan.
func scanFactors(arch int) []int {
	out := make([]int, drift.Factors)
	for i := range out {
		out[i] = zScans + 2*i + arch
	}
	return out
}

// draw is one sample of what may be wrong.
type draw struct {
	z   [factors]float64 // deviations, those of sides that go together already together
	set kinematics.Settings
	// hinge takes the casts to the articulator frame of the sample.
	hinge kinematics.Pose
	// axis is where the hinge axis lies in the frame of the casts, mm.
	axis r3.Vec
	// shift and turn (rotation vector) are how the lower scan stands off, about the middle of
	// its table, before it is seated.
	shift, turn r3.Vec
	press       r3.Vec // of the pressing force, mm
	scans       [2][drift.Factors]float64
}

// draw makes a sample of a point of the unit cube.
func (s *Sources) draw(u *[factors]float64) *draw {
	d := &draw{set: s.set}
	for i, x := range u {
		d.z[i] = portable.NormalQuantile(x)
	}
	together := func(a, b int, r float64) { d.z[b] = r*d.z[a] + math.Sqrt(1-r*r)*d.z[b] }
	together(zRight, zLeft, inclinationTogether)
	together(zShiftRight, zShiftLeft, shiftTogether)
	for _, x := range [2]struct {
		side                         *kinematics.Side
		tilt, inclination, shift, at float64
	}{
		{&d.set.Right, d.z[zRight], s.inclination[0], d.z[zShiftRight], d.z[zImmediateRight]},
		{&d.set.Left, d.z[zLeft], s.inclination[1], d.z[zShiftLeft], d.z[zImmediateLeft]},
	} {
		x.side.Path = kinematics.Tilt(x.side.Path, degrees(clip(x.tilt*x.inclination, s.inclinationMost(x.side))))
		x.side.SideShiftAngle = max(0, x.side.SideShiftAngle+degrees(x.shift*s.shift))
		x.side.ImmediateShift = min(max(0, x.side.ImmediateShift+x.at*s.immediate), max(immediateMost, x.side.ImmediateShift))
	}
	d.set.Intercondylar += clip(d.z[zIntercondylar]*s.intercondylar, 3*s.intercondylar)
	d.axis = r3.Vec{Y: d.z[zAxisY] * s.axis, Z: d.z[zAxisZ] * s.axis}
	d.hinge = kinematics.Translation(r3.Scale(-1, d.axis)).Then(kinematics.RotationX(degrees(d.z[zPlane] * s.plane)))
	d.shift = r3.Scale(s.registration, r3.Vec{X: d.z[zRegX], Y: d.z[zRegY], Z: d.z[zRegZ]})
	d.turn = r3.Scale(degrees(s.registrationTurn).Radians(), r3.Vec{X: d.z[zPitch], Y: d.z[zRoll]})
	d.press = r3.Scale(s.press, r3.Vec{X: d.z[zPressX], Y: d.z[zPressY]})
	for i := range drift.Factors {
		d.scans[0][i], d.scans[1][i] = d.z[zScans+2*i], d.z[zScans+2*i+1]
	}
	return d
}

// steepMost is the inclination, in degrees, up to which paths are drawn, and from which down
// they do not fall (persons have 26 to 62, J Prosthodont 2013; the border is our choice).
const (
	steepMost = 75.0
	flatMost  = 5.0
)

// inclinationMost is how far a path may be turned without leaving what persons have.
func (s *Sources) inclinationMost(side *kinematics.Side) float64 {
	f, g := side.Path.At(min(5, side.Path.Length()))
	deg := math.Atan2(g, f) * 180 / math.Pi
	return max(0, min(steepMost-deg, deg-flatMost))
}

func clip(x, most float64) float64 { return max(-most, min(most, x)) }

func degrees(d float64) s1.Angle { return s1.Angle(d) * s1.Degree }
