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
	Tooth Part   `json:"tooth"`
	Cusp  string `json:"cusp" jsonschema_description:"the supporting cusp"`
	Over  Part   `json:"over" jsonschema_description:"opposing tooth nearest to the tip in intercuspation"`
	// PathMM has a place for each frame of the movement.
	PathMM [][3]float64 `json:"path_mm" jsonschema_description:"for every frame, where the tip is over the opposing tooth: mesial and buccal of its middle, and the tip's distance from the opposing arch"`
	// DirectionDeg is that of the first millimetre.
	DirectionDeg *float64 `json:"direction_deg" jsonschema_description:"direction of the first millimetre on the opposing tooth: 0 to mesial, 90 to buccal, 180 to distal, -90 to lingual; null where the tip does not go so far"`
	Groove       string   `json:"groove" jsonschema_description:"groove of the opposing tooth that runs out where the tip goes, within 1.5 mm of its path, and most nearly along it; empty for none"`
	GrooveDeg    *float64 `json:"groove_deg" jsonschema_description:"angle between the first millimetre and that groove, 0 to 90; null for none"`
	Leaves       *Exit    `json:"leaves" jsonschema_description:"where the tip leaves the row of cusps; null where it does not"`
}

// Exit is where a path crosses the row of opposing cusps and edges.
type Exit struct {
	Between  [2]string `json:"between" jsonschema_description:"the opposing cusps or edges between which the path passes"`
	TravelMM float64   `json:"travel_mm"`
}

// CuspAngle compares the ways of a supporting cusp in the two lateral movements,
// seen from above.
type CuspAngle struct {
	Tooth         Part    `json:"tooth"`
	Cusp          string  `json:"cusp"`
	WorkingDeg    float64 `json:"working_deg" jsonschema_description:"direction of the first millimetre when the jaw goes to the cusp's side, as an angle to the sagittal plane, seen from above"`
	NonworkingDeg float64 `json:"nonworking_deg" jsonschema_description:"the same when the jaw goes to the other side"`
	BetweenDeg    float64 `json:"between_deg" jsonschema_description:"angle between the two"`
	RotationDeg   float64 `json:"rotation_deg" jsonschema_description:"angle between them by the closed form of a pure rotation about the working condyle, without opening and side shift"`
	ShiftDeg      float64 `json:"shift_deg" jsonschema_description:"the same with the progressive side shift of the settings"`
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
