package findings

// Step is one step of the staircase of closing: an opposing pair of teeth, and how far the
// casts close until that pair meets when no other does.
type Step struct {
	// the upper tooth
	Upper Part `json:"upper"`
	// the lower tooth
	Lower Part `json:"lower"`
	// opening about the hinge at which the pair alone meets
	OpeningDeg float64 `json:"opening_deg"`
	// how far the spot travels, by the chord of its arc about the hinge, when the casts close on
	// to the next step: by how much it is high against it; null for the last step
	HeightUm *float64 `json:"height_um"`
	// where the pair meets
	PointMM Vec `json:"point_mm"`
	// share of the samples in which this pair meets first; null where none were taken
	FirstShare *float64 `json:"first_share"`
}

// Given is what the casts showed in the relation in which they were given, before anything
// was settled: the first touch of closing on the hinge, and what would meet next.
type Given struct {
	// the same in words
	Text Sentence `json:"text"`
	// opening at the first touch
	OpeningDeg float64 `json:"opening_deg"`
	// upper tooth of the pair that meets first
	Upper Part `json:"upper"`
	// lower tooth of that pair
	Lower Part `json:"lower"`
	// by how much it is high against the next pair; null where no other meets
	HeightUm *float64 `json:"height_um"`
	// what the staircase looks like: `level`: most teeth meet together; `high`: single pairs stand
	// above a level of many; `tilted`: a small turn of the lower cast explains the steps;
	// `shifted`: a shift of it does; `uneven`: none of these; `unknown`: fewer than seven lower teeth, or fewer than two of a
	// side
	Shape Shape `json:"shape"`
	// the pairs in the order in which they meet as the casts close
	Staircase []Step `json:"staircase"`
	// the small turn of the lower cast that explains the steps; null where a level needs none
	Turn *SmallTurn `json:"turn"`
	// how the lower cast stood off the place in which the casts lock, where that explains the steps;
	// null where it does not
	Displaced *Displacement `json:"displaced"`
	// median distance of the lower teeth from that level or turn; null where it is not known
	ResidualUm *float64 `json:"residual_um"`
	// lower teeth within the scan uncertainty of it
	Within int `json:"within"`
	// lower teeth that meet within a millimetre
	Teeth int `json:"teeth"`
}

// SmallTurn is how a lower cast stands against how it should, beside what closing on the
// hinge takes up.
type SmallTurn struct {
	// turn about the long axis of the body, above 0 where the left side stands too high
	RollDeg float64 `json:"roll_deg"`
	// turn about the transverse axis, above 0 where the front stands too high
	PitchDeg float64 `json:"pitch_deg"`
}

// Displacement is how a lower cast as given stands off the place in which the casts lock
// when they are pressed together.
type Displacement struct {
	// the same in words
	Text Sentence `json:"text"`
	// of the middle of the occlusal table
	ShiftMM Vec `json:"shift_mm"`
	// turn about the long axis of the body, above 0 where the left side stands too high
	RollDeg float64 `json:"roll_deg"`
	// turn about the transverse axis, above 0 where the front stands too high
	PitchDeg float64 `json:"pitch_deg"`
	// turn about the vertical axis, above 0 where the front stands too far to the left
	YawDeg float64 `json:"yaw_deg"`
}

// Shape is what a staircase looks like.
type Shape string

// The shapes.
const (
	ShapeLevel   Shape = "level"
	ShapeHigh    Shape = "high"
	ShapeTilted  Shape = "tilted"
	ShapeShifted Shape = "shifted"
	ShapeUneven  Shape = "uneven"
	ShapeUnknown Shape = "unknown"
)
