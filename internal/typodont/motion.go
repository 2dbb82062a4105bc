package typodont

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// settings is the articulator setting the arches are built for.
func (p Params) settings() (kinematics.Settings, error) {
	path, err := kinematics.Straight(p.CondylarInclination)
	if err != nil {
		return kinematics.Settings{}, err
	}
	side := kinematics.Side{Path: path, SideShiftAngle: p.SideShiftAngle}
	s := kinematics.Settings{Intercondylar: p.Intercondylar, Right: side, Left: side}
	return s, s.Validate()
}

// A guide is a point of the lower arch that leads a movement: it keeps to a
// slope, so much down for so much aside.
type guide struct {
	movement kinematics.Movement
	point    r3.Vec
	slope    s1.Angle // against the horizontal plane
}

// aside is how far a point displaced by d has gone in the guide's direction:
// forward in protrusion, to the working side in an excursion.
func (g guide) aside(d r3.Vec) float64 {
	switch g.movement {
	case kinematics.Right:
		return -d.X
	case kinematics.Left:
		return d.X
	}
	return -d.Y
}

// pose is where the lower arch is after a travel (mm) when the guide point
// lies on its slope, and the opening there.
func (g guide) pose(s kinematics.Settings, travel float64) (kinematics.Pose, s1.Angle, error) {
	st, err := s.Station(g.movement, travel)
	if err != nil {
		return kinematics.Pose{}, 0, err
	}
	off := func(a s1.Angle) float64 {
		d := r3.Sub(st.Pose(a).Apply(g.point), g.point)
		return d.Z + math.Tan(g.slope.Radians())*g.aside(d)
	}
	lo, hi := kinematics.OpeningMin, kinematics.OpeningMax
	if off(lo) < 0 || off(hi) > 0 {
		return kinematics.Pose{}, 0, fmt.Errorf("typodont: no opening puts the guide point on a slope of %.3g° after %g mm",
			g.slope.Degrees(), travel)
	}
	for range 60 {
		mid := (lo + hi) / 2
		if off(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return st.Pose(lo), lo, nil
}
