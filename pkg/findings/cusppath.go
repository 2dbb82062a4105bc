package findings

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// CuspPath is the way of a supporting cusp's tip over the opposing arch in a
// movement. Directions are seen along the opposing tooth's long axis: 0° to
// mesial, 90° to buccal, 180° to distal, −90° to lingual.
type CuspPath struct {
	// the tooth of the cusp
	Tooth Part `json:"tooth"`
	// the supporting cusp
	Cusp string `json:"cusp"`
	// opposing tooth nearest to the tip in intercuspation
	Over Part `json:"over"`
	// [mesial, buccal, clearance] for every frame: where the tip is, seen along the long axis of
	// the opposing tooth, from the middle of its crown, and the distance of the tip from the
	// opposing arch
	PathMM [][3]float64 `json:"path_mm"`
	// direction of the first millimetre on the opposing tooth: 0 to mesial, 90 to buccal, 180 to
	// distal, -90 to lingual; null where the tip does not go so far
	DirectionDeg *float64 `json:"direction_deg"`
	// groove of the opposing tooth that runs out where the tip goes, within 1.5 mm of its path,
	// and most nearly along it; empty for none
	Groove string `json:"groove"`
	// angle between the first millimetre and that groove, 0 to 90; null for none
	GrooveDeg *float64 `json:"groove_deg"`
	// where the tip leaves the row of cusps; null where it does not
	Leaves *Exit `json:"leaves"`
}

// Exit is where a path crosses the row of opposing cusps and edges.
type Exit struct {
	// the opposing cusps or edges between which the path passes, seen from above
	Between [2]CuspOf `json:"between"`
	// travel of the first frame beyond them
	TravelMM float64 `json:"travel_mm"`
}

// CuspOf is a cusp or edge of a tooth.
type CuspOf struct {
	// the tooth
	Tooth Part `json:"tooth"`
	// the cusp or edge
	Cusp string `json:"cusp"`
}

// CuspAngle compares the ways of a supporting cusp in the two lateral movements,
// seen from above.
type CuspAngle struct {
	// the tooth of the cusp
	Tooth Part `json:"tooth"`
	// the supporting cusp
	Cusp string `json:"cusp"`
	// direction when the jaw goes to the cusp's side
	WorkingDeg float64 `json:"working_deg"`
	// direction when the jaw goes to the other side
	NonworkingDeg float64 `json:"nonworking_deg"`
	// angle between the two paths
	BetweenDeg float64 `json:"between_deg"`
	// angle between them by the closed form of a pure rotation about the working condyle, without
	// opening and side shift
	RotationDeg float64 `json:"rotation_deg"`
	// the same with the progressive side shift of the settings
	ShiftDeg float64 `json:"shift_deg"`
}

// PathOf is where a point goes in a movement: of the lower arch as seen from the
// upper one, or of the upper arch as seen from the lower one. The point is in mm
// in intercuspation in the articulator frame, the lower one as settled; there is a point
// for each frame.
func (x *Excursion) PathOf(q r3.Vec, jaw dentition.Jaw) []r3.Vec {
	poses := make([]kinematics.Pose, len(x.Frames))
	for i := range x.Frames {
		p := x.Frames[i].Pose.Pose
		if jaw == dentition.Upper {
			p = p.Inverse()
		}
		poses[i] = p
	}
	return kinematics.PathOf(q, poses)
}
