package findings

// Mount is where the casts stand.
type Mount struct {
	// rigid motion from the scans' frame to the articulator's, mm
	ScanToArticulator Pose `json:"scan_to_articulator"`
	// by what the casts were mounted
	How string `json:"how" jsonschema:"enum=average,enum=recorded,enum=matrix"`
	// the mounting points were found on the labelled arch, not given
	PointsFound bool `json:"points_found"`
	// lower incisal point in intercuspation; null where it is not known
	IncisalPointMM *Vec `json:"incisal_point_mm"`
}

// Verdict says whether a mounting can be trusted.
type Verdict string

// The verdicts.
const (
	Acceptable Verdict = "acceptable"
	Remount    Verdict = "remount"
	Undecided  Verdict = "undecided"
)

// Mounting is the judgement of the mounting: it is acceptable when there is
// contact in the molar area on both sides and between at least two opposing
// anterior teeth (common practice, no source). Of an area without known opposing teeth
// the casts tell nothing.
type Mounting struct {
	// `undecided` where the scans cannot tell or no opposing teeth of an area are known
	Verdict Verdict `json:"verdict"`
	// what the verdict rests on, in sentences
	Reasons []Sentence `json:"reasons"`
	// right molars, anterior teeth, left molars, each where opposing teeth of it are known
	Areas []Area `json:"areas"`
	// the small tilt of the lower arch that would bring the areas into contact alike; null where
	// the casts do not tell, it moves no area by more than `scan_doubt_um`, or an area is open by
	// more than 1 mm
	Tilt *Tilt `json:"tilt"`
	// share of the samples in which the areas of contact alone find the mounting acceptable; null
	// where none were taken
	AcceptableShare *float64 `json:"share_acceptable"`
}

// Area is one of the places where a mounting must have contact.
type Area struct {
	// which area
	Area string `json:"area" jsonschema:"enum=right molars,enum=anterior teeth,enum=left molars"`
	// `holds` up to `holds_um`, `light_drag` up to `drags_um`, `undecided` where the scans cannot
	// tell, else `passes`
	Class HoldClass `json:"class"`
	// least gap of the teeth of the area
	GapUm float64 `json:"gap_um"`
	// upper tooth of the pair with the least gap
	Upper Part `json:"upper"`
	// lower tooth of that pair
	Lower Part `json:"lower"`
}

// Tilt turns the lower arch so that it closes where it is open. A turn about the
// hinge axis is no part of it: the closing takes that up.
type Tilt struct {
	// turn about the long axis of the body through the middle of the areas; above 0 the left side
	// rises
	RollDeg float64 `json:"roll_deg"`
	// turn about the transverse axis through the middle of the areas; above 0 the front rises. A
	// turn about the hinge axis is no part of it: the closing takes that up
	PitchDeg float64 `json:"pitch_deg"`
	// the tilt as a sentence
	Text Sentence `json:"text"`
}
