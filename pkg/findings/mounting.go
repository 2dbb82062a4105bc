package findings

// Mount is where the casts stand.
type Mount struct {
	ScanToArticulator Pose   `json:"scan_to_articulator" jsonschema_description:"rigid motion from the scans' frame to the articulator's, mm"`
	How               string `json:"how" jsonschema:"enum=average,enum=recorded,enum=matrix"`
	PointsFound       bool   `json:"points_found" jsonschema_description:"the mounting points were found on the labelled arch, not given"`
	IncisalPointMM    *Vec   `json:"incisal_point_mm" jsonschema_description:"lower incisal point in intercuspation; null where it is not known"`
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
// front teeth (common practice, no source). Of an area without known opposing teeth
// the casts tell nothing.
type Mounting struct {
	Verdict Verdict    `json:"verdict" jsonschema:"enum=acceptable,enum=remount,enum=undecided"`
	Reasons []Sentence `json:"reasons" jsonschema_description:"what the verdict rests on, in sentences"`
	Areas   []Area     `json:"areas" jsonschema_description:"right molars, front teeth, left molars"`
	Tilt    *Tilt      `json:"tilt" jsonschema_description:"the small tilt of the lower arch that would bring the areas into contact alike; null where the casts do not tell"`
}

// Area is one of the places where a mounting must have contact.
type Area struct {
	Area  string    `json:"area" jsonschema:"enum=right molars,enum=front teeth,enum=left molars"`
	Class HoldClass `json:"class" jsonschema:"enum=holds,enum=light_drag,enum=undecided,enum=passes"`
	GapUm float64   `json:"gap_um" jsonschema_description:"least gap of the teeth of the area"`
	Upper Part      `json:"upper" jsonschema_description:"the pair of teeth with the least gap"`
	Lower Part      `json:"lower"`
}

// Tilt turns the lower arch so that it closes where it is open. A turn about the
// hinge axis is no part of it: the closing takes that up.
type Tilt struct {
	RollDeg  float64  `json:"roll_deg" jsonschema_description:"turn about the long axis of the body through the middle of the areas; above 0 the left side rises"`
	PitchDeg float64  `json:"pitch_deg" jsonschema_description:"turn about the transverse axis through the middle of the areas, beside what closing on the hinge does; above 0 the front rises"`
	Text     Sentence `json:"text" jsonschema_description:"the tilt as a sentence"`
}
