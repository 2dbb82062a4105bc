package casefile

import (
	"math"
	"path"
	"path/filepath"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

const (
	// same is how far two numbers that must be equal may differ.
	same = 1e-9
	// onLine is the height of a triangle of landmarks, as a share of its base,
	// below which they count as lying on one line. Our choice, the same as the
	// mounting's: on a base of 50 mm it is half a millimetre, where the error of
	// marking a point would turn the plane by tens of degrees.
	onLine = 0.01
	// molarsMin and molarsMax bound the distance of the lower second molars'
	// cusp tips (mm). Means of lower arch widths there are about 52 ± 3; the wide
	// bounds, our choice, are to find points in a wrong unit.
	molarsMin, molarsMax = 15, 120
	// chord is the travel (mm) over which the inclination of a curved path is
	// measured; clinical records are taken at 5 to 6 mm.
	chord = 5
)

// derive sets what follows from other values: the distance of recorded condyles,
// the inclination of a recorded path, and the side shift angle by formula. Where
// the file gives another value for one of the first two, a warning says that it
// is not used.
func (k *checker) derive(c *Case) {
	const distance = "settings.intercondylar_mm"
	if m := c.Mount.Recorded; m != nil {
		d, given := m.Distance(), c.Settings.IntercondylarMM
		limit := fieldRule[Settings]("intercondylar_mm")
		if d >= limit.min && d <= limit.max && math.Abs(d-given) > same {
			if k.given(distance) {
				k.warn(distance, "%g is not used: the recorded condyles are %.6g mm apart", given, d)
			}
			c.Settings.IntercondylarMM = d
		}
	}
	for _, s := range c.Settings.sides() {
		key := s.key + ".condylar_inclination_deg"
		if p := s.Path; p != nil && len(p.PointsMM) > 0 {
			if h := p.InclinationDeg(); math.Abs(h-s.CondylarInclinationDeg) > same {
				if k.given(key) {
					k.warn(key, "%g is not used: the first %d mm of the recorded path have %.4g degrees", s.CondylarInclinationDeg, chord, h)
				}
				s.CondylarInclinationDeg = h
			}
		}
		if s.SideShiftAngleFrom == FromInclination && !k.given(s.key+".side_shift_angle_deg") {
			s.SideShiftAngleDeg = SideShiftFormula(s.CondylarInclinationDeg)
		}
	}
}

// keyed is the settings of a condyle with their key.
type keyed struct {
	key string
	*Side
	// idle is the movement in which this condyle does not advance.
	idle kinematics.Movement
}

func (s *Settings) sides() [2]keyed {
	return [2]keyed{{"settings.right", &s.Right, kinematics.Right}, {"settings.left", &s.Left, kinematics.Left}}
}

// Distance is the distance of the condylar centres (mm).
func (r *Recorded) Distance() float64 {
	return r3.Norm(r3.Sub(r.LeftCondyle.Vec(), r.RightCondyle.Vec()))
}

// curve is the path that the condyle is driven on: through the recorded points, or
// an error where they make none.
func (p *CondylarPath) curve() (kinematics.CondylarPath, error) {
	points := make([]kinematics.PathPoint, len(p.PointsMM))
	for i, q := range p.PointsMM {
		points[i] = kinematics.PathPoint{Forward: q[0], Down: q[1]}
	}
	return kinematics.Recorded(points)
}

// InclinationDeg is the inclination (degrees) of the chord from the closed
// position to the place reached after the first 5 mm along the curve that is driven
// ([kinematics.Recorded]), or to its end. It is 0 without points and where they make
// no path.
func (p *CondylarPath) InclinationDeg() float64 {
	path, err := p.curve()
	if err != nil {
		return 0
	}
	forward, down := path.At(min(chord, path.Length()))
	return math.Atan2(down, forward) * 180 / math.Pi
}

func (k *checker) scans(c *Case) {
	clean := func(p string) string { return path.Clean(filepath.ToSlash(p)) }
	if clean(c.Upper.Scan) == clean(c.Lower.Scan) {
		k.fault("lower.scan", ErrConflict, "%q is the scan of the upper arch too", short(c.Lower.Scan))
	}
	for _, a := range []struct {
		key  string
		arch Arch
	}{{"upper.again", c.Upper}, {"lower.again", c.Lower}} {
		for i, name := range a.arch.Again {
			if p := clean(name); p == clean(c.Upper.Scan) || p == clean(c.Lower.Scan) {
				k.fault(item(a.key, i), ErrConflict, "%q is a scan that is examined; a further scan of the arch is another file", short(name))
			}
		}
	}
}

func (k *checker) mount(c *Case) {
	m := c.Mount
	var set []string
	if m.Average != nil {
		set = append(set, "average")
		k.average(c, m.Average)
	}
	if m.Recorded != nil {
		set = append(set, "recorded")
		k.recorded(c, m.Recorded)
	}
	if m.Matrix != nil {
		set = append(set, "matrix")
		k.rigid(*m.Matrix)
	}
	if len(set) != 1 {
		k.fault("mount", ErrConflict, "%d mountings, must be exactly one of average, recorded or matrix", len(set))
	}
}

func (k *checker) average(c *Case, a *Average) {
	const key = "mount.average"
	points := []struct {
		name string
		p    *Point
	}{{"right_molar", a.RightMolar}, {"left_molar", a.LeftMolar}, {"incisal_point", a.IncisalPoint}}
	given := 0
	for _, p := range points {
		if p.p != nil {
			given++
		}
	}
	for _, p := range points {
		if p.p == nil && given > 0 {
			k.fault(key+"."+p.name, ErrMissing, "the three points must be given together, or none to find them on the labelled arch")
		}
	}
	if given == len(points) {
		width := r3.Norm(r3.Sub(a.LeftMolar.Vec(), a.RightMolar.Vec()))
		if width < molarsMin || width > molarsMax {
			k.fault(key+".left_molar", ErrRange, "%.4g mm from the right molar, must be %g to %g mm; points are in mm "+
				"whatever the unit of the scans", width, float64(molarsMin), float64(molarsMax))
		} else {
			k.triangle(key+".incisal_point", "the molars", *a.RightMolar, *a.LeftMolar, *a.IncisalPoint)
		}
		if l := c.Landmarks.IncisalPoint; l != nil && *l != *a.IncisalPoint {
			k.fault("landmarks.incisal_point", ErrConflict, "%v, but mount.average.incisal_point is %v; leave this one out", *l, *a.IncisalPoint)
		}
	}
	if half := c.Settings.IntercondylarMM / 2; a.CondyleToIncisalMM <= half {
		k.fault(key+".condyle_to_incisal_mm", ErrConflict, "%g, must be more than half the intercondylar distance, %g mm",
			a.CondyleToIncisalMM, half)
	}
	switch plane := c.Settings.ReferencePlane; plane {
	case FrankfortPlane, AxisOrbitalPlane:
		if a.PlaneTiltDeg == 0 {
			k.warn(key+".plane_tilt_deg", "0 makes the occlusal plane horizontal, but settings.reference_plane is %s; the "+
				"occlusal plane is about 12 degrees from Frankfort (Kumar et al. 2013)", plane)
		}
	case OcclusalPlane:
		if a.PlaneTiltDeg != 0 {
			k.warn(key+".plane_tilt_deg", "%g tilts the occlusal plane, but settings.reference_plane is the occlusal plane", a.PlaneTiltDeg)
		}
	}
}

func (k *checker) recorded(c *Case, r *Recorded) {
	const key = "mount.recorded"
	d := r.Distance()
	limit := fieldRule[Settings]("intercondylar_mm")
	if d < limit.min || d > limit.max {
		k.fault(key+".left_condyle", ErrRange,
			"%.4g mm from the right condyle, must be %g to %g mm; points are in mm whatever the unit of the scans", d, limit.min, limit.max)
		return
	}
	k.triangle(key+".reference_point", "the condyles", r.RightCondyle, r.LeftCondyle, r.ReferencePoint)
	if given := c.Settings.IntercondylarMM; math.Abs(given-d) > same {
		k.fault("settings.intercondylar_mm", ErrConflict, "%g, must be the distance of the recorded condyles, %.6g mm", given, d)
	}
}

// triangle checks that the third point is off the line of the first two.
func (k *checker) triangle(key, others string, a, b, p Point) {
	base := r3.Sub(b.Vec(), a.Vec())
	height := r3.Norm(r3.Cross(base, r3.Sub(p.Vec(), a.Vec()))) / r3.Norm(base)
	if !(height > onLine*r3.Norm(base)) {
		k.fault(key, ErrConflict, "%.3g mm off the line through %s, must be more than %.3g mm to span a plane", height,
			others, onLine*r3.Norm(base))
	}
}

// rigid checks that a 4×4 row-major matrix turns and moves only, to within
// 1e-6.
func (k *checker) rigid(m [16]float64) {
	const key, tol = "mount.matrix", 1e-6
	row := func(i int) r3.Vec { return r3.Vec{X: m[4*i], Y: m[4*i+1], Z: m[4*i+2]} }
	if m[12] != 0 || m[13] != 0 || m[14] != 0 || m[15] != 1 {
		k.fault(key, ErrConflict, "the last row is %g %g %g %g, must be 0 0 0 1", m[12], m[13], m[14], m[15])
		return
	}
	for i := range 3 {
		if n := r3.Norm(row(i)); math.Abs(n-1) > tol {
			k.fault(key, ErrConflict, "row %d has the length %.7g, must be 1: the matrix may turn and move but not scale", i+1, n)
			return
		}
		if dot := r3.Dot(row(i), row((i+1)%3)); math.Abs(dot) > tol {
			k.fault(key, ErrConflict, "rows %d and %d are not at right angles (product %.3g): the matrix may turn and move "+
				"but not shear", i+1, (i+1)%3+1, dot)
			return
		}
	}
	if r3.Dot(r3.Cross(row(0), row(1)), row(2)) < 0 {
		k.fault(key, ErrConflict, "it mirrors, must keep left and right")
	}
}

func (k *checker) settings(c *Case) {
	for _, s := range c.Settings.sides() {
		k.side(s.key, s.Side)
	}
}

func (k *checker) side(key string, s *Side) {
	if p := s.Path; p != nil {
		k.path(key, s, p)
	}
	if want := SideShiftFormula(s.CondylarInclinationDeg); s.SideShiftAngleFrom == FromInclination &&
		math.Abs(s.SideShiftAngleDeg-want) > same {
		k.fault(key+".side_shift_angle_deg", ErrConflict,
			"%g, but side_shift_angle_from makes it H/8 + 12 = %g; leave one of the two out", s.SideShiftAngleDeg, want)
	}
}

func (k *checker) path(key string, s *Side, p *CondylarPath) {
	under := key + ".path"
	arc := p.ArcRadiusMM != 0
	if arc == (p.PointsMM != nil) {
		k.fault(under, ErrConflict, "must be exactly one of arc_radius_mm or points_mm")
		return
	}
	if arc {
		// The tangent turns by travel/radius, and a chord has the direction of the
		// tangent at its middle.
		first := s.CondylarInclinationDeg + chord/(2*p.ArcRadiusMM)*180/math.Pi
		if first >= 90 {
			k.fault(under+".arc_radius_mm", ErrConflict, "%g mm with an inclination of %g degrees would begin at %.4g "+
				"degrees, must be below 90; take a larger radius", p.ArcRadiusMM, s.CondylarInclinationDeg, first)
		}
		return
	}
	if p.PointsMM[0] != [2]float64{} {
		k.fault(item(under+".points_mm", 0), ErrConflict, "[%g, %g], must be the closed position [0, 0]", p.PointsMM[0][0], p.PointsMM[0][1])
		return
	}
	for i := 1; i < len(p.PointsMM); i++ {
		if p.PointsMM[i][0] <= p.PointsMM[i-1][0] {
			k.fault(item(under+".points_mm", i), ErrConflict, "%g mm forward after %g, must go forward", p.PointsMM[i][0], p.PointsMM[i-1][0])
			return
		}
	}
	if _, err := p.curve(); err != nil {
		k.fault(under+".points_mm", ErrConflict, "%v", err)
		return
	}
	if h := p.InclinationDeg(); math.Abs(s.CondylarInclinationDeg-h) > same {
		k.fault(key+".condylar_inclination_deg", ErrConflict,
			"%g, must be that of the first %d mm of the recorded path, %.6g degrees", s.CondylarInclinationDeg, chord, h)
	}
}

// excursions checks the excursions against each other and against the paths of
// the condyles that advance in them.
func (k *checker) excursions(c *Case) {
	seen := map[kinematics.Movement]bool{}
	for i, e := range c.Excursions {
		key := item("excursions", i)
		if seen[e.Movement] {
			k.fault(key+".movement", ErrDuplicate, "%s, each movement at most once", e.Movement)
		}
		seen[e.Movement] = true
		if e.StepMM > e.MaxMM {
			k.fault(key+".step_mm", ErrConflict, "%g mm, must be at most the travel of %g mm", e.StepMM, e.MaxMM)
			continue
		}
		// Compared before the number is made whole, which a tiny step overflows.
		if n := e.MaxMM / e.StepMM; n > MaxSamples-1 {
			k.fault(key+".step_mm", ErrRange, "%g mm makes %.4g samples, must be at most %d", e.StepMM, n+1, MaxSamples)
		}
	}
	for _, s := range c.Settings.sides() {
		for i, e := range c.Excursions {
			if end := s.end(); e.Movement != s.idle && e.MaxMM > end {
				k.fault(s.key+".path", ErrConflict, "%.4g mm long, but %s (%s) travels %g mm", end, item("excursions", i), e.Movement, e.MaxMM)
				break
			}
		}
	}
}

// end is how far this condyle can travel (mm): an arc ends where it would turn
// back, recorded points where they end.
func (s *Side) end() float64 {
	switch p := s.Path; {
	case p == nil:
		return math.Inf(1)
	case p.PointsMM != nil:
		path, err := p.curve()
		if err != nil {
			return math.Inf(1) // said where the path is checked
		}
		return path.Length()
	default:
		return p.ArcRadiusMM*(s.CondylarInclinationDeg+90)*math.Pi/180 + chord/2.
	}
}
