package occlusion

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// tippedDeg is the angle, in degrees, between a tooth's long axis and the mean of
// its neighbours' from which it counts as tipped. Neighbours differ by up to 6°
// in the published inclinations of posterior crowns (Andrews 1972, AJO 62:296-309;
// figures from memory).
const tippedDeg = 12.0

// causes lists what in the casts' shape explains an interference.
func (m *movement) causes(e *examination, f *Finding) []Cause {
	var out []Cause
	i := nearestFrame(m.x.Frames, f.AtMM)
	if i < 1 || f.PointMM == nil {
		return out
	}
	// The incline on which the lower tooth slides against the way that it goes:
	// an incline steeper than the way is met (closed form of parallel inclines).
	if path, ok := m.pathAngle(i, *f.PointMM); ok {
		if incline, ok := m.contactIncline(i, f); ok {
			out = append(out, Cause{"path_angle", path, "deg", fmt.Sprintf("the lower tooth goes down at %.0f° to the horizontal plane there, on an incline of %.0f°", path, incline)},
				Cause{"contact_incline", incline, "deg", fmt.Sprintf("the touching surface is inclined by %.0f° to the horizontal plane", incline)})
		}
	}
	for _, t := range []dentition.ToothID{dentition.ToothID(f.Upper), dentition.ToothID(f.Lower)} {
		cast := e.casts.Upper
		if t != dentition.NoTooth && t.Jaw() == dentition.Lower {
			cast = e.casts.Lower
		}
		if a, ok := tipped(cast, t); ok && a >= tippedDeg {
			out = append(out, Cause{"tipped_tooth", a, "deg", fmt.Sprintf("%v stands tipped by %.0f° against its neighbours", t, a)})
		}
	}
	return out
}

// pathAngle is the angle to the horizontal plane of the way that a point of the
// lower arch goes into frame i, in degrees, above 0 downwards.
func (m *movement) pathAngle(i int, p Vec) (float64, bool) {
	now, err1 := kinematics.FromMatrix(m.x.Frames[i].Pose)
	before, err2 := kinematics.FromMatrix(m.x.Frames[i-1].Pose)
	if err1 != nil || err2 != nil {
		return 0, false
	}
	at := r3.Vec{X: p[0], Y: p[1], Z: p[2]}
	d := r3.Sub(at, before.Apply(now.Inverse().Apply(at)))
	flat := math.Hypot(d.X, d.Y)
	if flat == 0 {
		return 0, false
	}
	return math.Atan2(-d.Z, flat) * 180 / math.Pi, true
}

// contactIncline is the angle of a finding's contact to the horizontal plane.
func (m *movement) contactIncline(i int, f *Finding) (float64, bool) {
	_, contacts := m.touching(&m.x.Frames[i])
	for _, c := range contacts {
		if c.Upper == f.Upper && c.Lower == f.Lower {
			return math.Atan2(math.Hypot(c.Normal[0], c.Normal[1]), math.Abs(c.Normal[2])) * 180 / math.Pi, true
		}
	}
	return 0, false
}

// tipped is the angle between a tooth's long axis and the mean of those of its
// neighbours on the same side.
func tipped(c *Cast, t dentition.ToothID) (float64, bool) {
	f, ok := c.Frames[t]
	if !ok {
		return 0, false
	}
	var sum r3.Vec
	n := 0
	for _, k := range []dentition.ToothID{t - 1, t + 1} {
		if g, ok := c.Frames[k]; ok && k.Quadrant() == t.Quadrant() && k.Type().Anterior() == t.Type().Anterior() {
			sum = r3.Add(sum, g.Occlusal)
			n++
		}
	}
	if n == 0 {
		return 0, false
	}
	return math.Atan2(r3.Norm(r3.Cross(sum, f.Occlusal)), r3.Dot(sum, f.Occlusal)) * 180 / math.Pi, true
}
