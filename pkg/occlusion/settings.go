package occlusion

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
)

// degrees is an angle of d degrees.
func degrees(d float64) s1.Angle { return s1.Angle(d) * s1.Degree }

// settings turns the settings of a case into those of package kinematics.
func settings(s *casefile.Settings) (kinematics.Settings, error) {
	right, err := side(&s.Right)
	if err != nil {
		return kinematics.Settings{}, fmt.Errorf("settings.right: %w", err)
	}
	left, err := side(&s.Left)
	if err != nil {
		return kinematics.Settings{}, fmt.Errorf("settings.left: %w", err)
	}
	return kinematics.Settings{Intercondylar: s.IntercondylarMM, Right: right, Left: left}, nil
}

func side(s *casefile.Side) (kinematics.Side, error) {
	path, err := condylarPath(s)
	return kinematics.Side{
		Path:           path,
		SideShiftAngle: degrees(s.SideShiftAngleDeg),
		ImmediateShift: s.ImmediateSideShiftMM, ShiftTravel: s.SideShiftTravelMM,
		WorkingBack: degrees(s.LaterotrusionBackDeg), WorkingUp: degrees(s.LaterotrusionUpDeg),
	}, err
}

func condylarPath(s *casefile.Side) (kinematics.CondylarPath, error) {
	h := degrees(s.CondylarInclinationDeg)
	switch p := s.Path; {
	case p == nil:
		return kinematics.Straight(h)
	case p.PointsMM != nil:
		points := make([]kinematics.PathPoint, len(p.PointsMM))
		for i, q := range p.PointsMM {
			points[i] = kinematics.PathPoint{Forward: q[0], Down: q[1]}
		}
		return kinematics.Recorded(points)
	default:
		return kinematics.Arc(p.ArcRadiusMM, h)
	}
}
