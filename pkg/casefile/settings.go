package casefile

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
)

// Kinematics returns the settings of the articulator as package kinematics takes
// them. Errors name the key.
func (s *Settings) Kinematics() (kinematics.Settings, error) {
	right, err := s.Right.kinematics()
	if err != nil {
		return kinematics.Settings{}, fmt.Errorf("settings.right: %w", err)
	}
	left, err := s.Left.kinematics()
	if err != nil {
		return kinematics.Settings{}, fmt.Errorf("settings.left: %w", err)
	}
	return kinematics.Settings{Intercondylar: s.IntercondylarMM, Right: right, Left: left}, nil
}

func (s *Side) kinematics() (kinematics.Side, error) {
	path, err := s.condylarPath()
	return kinematics.Side{
		Path:           path,
		SideShiftAngle: degrees(s.SideShiftAngleDeg),
		ImmediateShift: s.ImmediateSideShiftMM, ShiftTravel: s.SideShiftTravelMM,
		WorkingBack: degrees(s.LaterotrusionBackDeg), WorkingUp: degrees(s.LaterotrusionUpDeg),
	}, err
}

func (s *Side) condylarPath() (kinematics.CondylarPath, error) {
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

func degrees(d float64) s1.Angle { return s1.Angle(d) * s1.Degree }
