package findings

// Step is one step of the staircase of closing: an opposing pair of teeth, and how far the
// casts close until that pair meets when no other does.
type Step struct {
	Upper      Part    `json:"upper"`
	Lower      Part    `json:"lower"`
	OpeningDeg float64 `json:"opening_deg" jsonschema_description:"opening about the hinge at which the pair alone meets"`
	// HeightUm is the chord of the spot's arc about the hinge, from this step to the next.
	HeightUm *float64 `json:"height_um" jsonschema_description:"how far the spot travels when the casts close on to the next step: by how much it is high against it; null for the last step"`
	PointMM  Vec      `json:"point_mm" jsonschema_description:"where the pair meets"`
}

// Given is what the casts showed in the relation in which they were given, before anything
// was settled: the first touch of closing on the hinge, and what would meet next.
type Given struct {
	Text       Sentence `json:"text" jsonschema_description:"the same in words"`
	OpeningDeg float64  `json:"opening_deg" jsonschema_description:"opening at the first touch"`
	Upper      Part     `json:"upper" jsonschema_description:"the pair that meets first"`
	Lower      Part     `json:"lower"`
	HeightUm   *float64 `json:"height_um" jsonschema_description:"by how much it is high against the next pair; null where no other meets"`
	// Shape says what the staircase looks like.
	Shape     Shape  `json:"shape" jsonschema:"enum=level,enum=high,enum=tilted,enum=uneven,enum=unknown" jsonschema_description:"level: most teeth meet together; high: single pairs stand above a level of many; tilted: a small turn of the lower cast explains the steps; uneven: none of these; unknown: too few teeth"`
	Staircase []Step `json:"staircase" jsonschema_description:"the pairs in the order in which they meet as the casts close"`
	// Turn is nil where a level needs none.
	Turn *SmallTurn `json:"turn" jsonschema_description:"the turn of the lower cast that explains the steps; null where a level needs none"`
	// ResidualUm is what the shape leaves unexplained.
	ResidualUm *float64 `json:"residual_um" jsonschema_description:"median distance of the lower teeth from that level or turn; null where it is not known"`
	Within     int      `json:"within" jsonschema_description:"lower teeth that lie within the scan uncertainty of it"`
	Teeth      int      `json:"teeth" jsonschema_description:"lower teeth that meet within a millimetre"`
}

// SmallTurn is how a lower cast stands against how it should, beside what closing on the
// hinge takes up.
type SmallTurn struct {
	RollDeg  float64 `json:"roll_deg" jsonschema_description:"about the long axis of the body, above 0 where the left side stands too high"`
	PitchDeg float64 `json:"pitch_deg" jsonschema_description:"about the transverse axis, above 0 where the front stands too high"`
}

// Shape is what a staircase looks like.
type Shape string

// The shapes.
const (
	ShapeLevel   Shape = "level"
	ShapeHigh    Shape = "high"
	ShapeTilted  Shape = "tilted"
	ShapeUneven  Shape = "uneven"
	ShapeUnknown Shape = "unknown"
)
