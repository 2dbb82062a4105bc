package findings

// Disclusion is how a back tooth comes clear of the opposing arch in a movement.
type Disclusion struct {
	Tooth Part `json:"tooth"`
	// ClearsMM is the travel from which on the tooth stays clear by more than the
	// movement's foil until the guiding teeth stand edge to edge.
	ClearsMM *float64 `json:"clears_mm" jsonschema_description:"travel from which on the tooth stays clear until the guiding teeth stand edge to edge, or to the end; null where it does not"`
	// Immediate is set where it is clear as soon as the movement has begun.
	Immediate   bool               `json:"immediate"`
	ClearanceMM map[string]float64 `json:"clearance_mm" jsonschema_description:"clearance at 1, 2 and 3 mm of travel, at edge (the guiding teeth edge to edge) and at end"`
}

// Smoothness is how even a movement is.
type Smoothness struct {
	Kinks []Kink `json:"kinks" jsonschema_description:"sudden changes of the incisal path's inclination, and jumps"`
	// TurningDegPerMM is the sum of all changes of the incisal path's inclination
	// from sample to sample, over the way of the incisal point: 0 for a straight
	// path, 180/(π·R) for an arc of radius R mm.
	TurningDegPerMM *float64 `json:"turning_deg_per_mm" jsonschema_description:"sum of the changes of the incisal path's inclination over its length; null where the incisal point is not known"`
	// Switches is how often the carrying pair of teeth changes.
	Switches int `json:"switches"`
	// Evenness compares, in protrusion, how long the right and the left front
	// teeth touch: 1 for equally long, 0 where those of one side do not.
	Evenness *float64 `json:"evenness" jsonschema_description:"in protrusion, how long right and left front teeth touch, the shorter over the longer, 0 to 1; null elsewhere"`
}

// Kink is a place where a movement is not smooth.
type Kink struct {
	TravelMM float64 `json:"travel_mm"`
	// ChangeDeg is the change of the incisal path's inclination there; above 0
	// the path gets steeper.
	ChangeDeg float64 `json:"change_deg"`
	// JumpMM is how far the incisal point leaps, down above 0, where the change
	// is a jump and not a bend; 0 for a bend.
	JumpMM float64 `json:"jump_mm"`
	From   Touch   `json:"from" jsonschema_description:"what carries before"`
	To     Touch   `json:"to" jsonschema_description:"what carries after"`
}

// Excursion is one movement.
type Excursion struct {
	Movement Movement `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive"`
	Frames   []Frame  `json:"frames"`
	// Findings are judgements about the movement, most important first.
	Findings   []Finding    `json:"findings"`
	Guidance   *Course      `json:"guidance,omitempty" jsonschema_description:"who carries; absent where the guidance is not by teeth"`
	Disclusion []Disclusion `json:"disclusion" jsonschema_description:"how the back teeth come clear; empty without labels"`
	Smoothness *Smoothness  `json:"smoothness,omitempty"`
	CuspPaths  []CuspPath   `json:"cusp_paths" jsonschema_description:"ways of the supporting cusps over the opposing teeth; empty without labels"`
	// EndedMM and Ended say where and why a movement ended before its last
	// sample: the casts no longer meet.
	EndedMM *float64 `json:"ended_mm,omitempty" jsonschema_description:"travel from which on the casts no longer meet, where the movement ends early"`
	Ended   string   `json:"ended,omitempty"`
}

// Frame is one position of a movement.
type Frame struct {
	TravelMM     float64            `json:"travel_mm"`
	OpeningDeg   float64            `json:"opening_deg"`
	Pose         Pose               `json:"pose"`
	IncisalPoint *Vec               `json:"incisal_point_mm" jsonschema_description:"lower incisal point in this pose; null where it is not known"`
	Contacts     []Contact          `json:"contacts"`
	ClearanceMM  map[string]float64 `json:"clearance_mm" jsonschema_description:"least gap of each tooth to the whole opposing arch, by ISO 3950 code, or by upper and lower without labels"`
	Carrier      *Touch             `json:"carrier,omitempty" jsonschema_description:"the pair that stops the closing; absent where the guidance is not by teeth"`
	Unhindered   *Unhindered        `json:"unhindered,omitempty" jsonschema_description:"how the casts would close if back teeth that should not carry did not; absent where none carries"`
	Interference *Interference      `json:"interference,omitempty" jsonschema_description:"where the guidance is not by teeth and teeth would meet before it"`
}

// Touch is the exact first touch of a closing.
type Touch struct {
	Upper   Part `json:"upper"`
	Lower   Part `json:"lower"`
	PointMM Vec  `json:"point_mm"`
}

// Interference is teeth that meet before the guidance does.
type Interference struct {
	Touch
	OpeningDeg float64 `json:"opening_deg" jsonschema_description:"opening at which the teeth meet"`
	HeightUm   float64 `json:"height_um" jsonschema_description:"way of the touching point between this opening and that of the guidance"`
}

// Contact is a patch of the upper surface within a foil's thickness of the
// lower one.
type Contact struct {
	Upper      Part    `json:"upper"`
	Lower      Part    `json:"lower"`
	PointMM    Vec     `json:"point_mm" jsonschema_description:"where the gap is least, on the upper surface"`
	CentreMM   Vec     `json:"centre_mm" jsonschema_description:"area-weighted middle of the patch"`
	Normal     Vec     `json:"normal" jsonschema_description:"mean unit normal, from the lower to the upper arch"`
	AreaMM2    float64 `json:"area_mm2"`
	GapUm      float64 `json:"gap_um"`
	OverlapUm  float64 `json:"overlap_um,omitempty" jsonschema_description:"how far the upper surface lies behind the lower one, where they overlap"`
	FoilUm     float64 `json:"foil_um"`
	InclineDeg Incline `json:"incline_deg"`
}

// Incline is the angle between the mean outward normal of the patch and the
// tooth's long axis: 0° loads the tooth along its axis, 90° across it. Null
// where there is no tooth.
type Incline struct {
	Upper *float64 `json:"upper"`
	Lower *float64 `json:"lower"`
}

// Unhindered is how the casts would close if back teeth that should not carry could
// pass through each other: those of the nonworking side, and all in protrusion.
type Unhindered struct {
	OpeningDeg   float64 `json:"opening_deg" jsonschema_description:"opening of the frame about the hinge"`
	IncisalPoint *Vec    `json:"incisal_point_mm"`
	HeightUm     float64 `json:"height_um" jsonschema_description:"way of the carrying spot until then"`
}
