package findings

import "github.com/cusptrace/cusptrace/pkg/dentition"

// Disclusion is how a posterior tooth disoccludes in a movement.
type Disclusion struct {
	// the posterior tooth
	Tooth Part `json:"tooth"`
	// travel from which on the tooth stays clear, by more than the movement's foil, until the
	// guiding teeth stand edge to edge, or to the end; null where it does not
	ClearsMM *float64 `json:"clears_mm"`
	// clear as soon as the movement has begun (`begun_mm`)
	Immediate bool `json:"immediate"`
	// clearance at `1`, `2` and `3` mm of travel, at `edge` (the guiding teeth edge to edge) and
	// at `end`
	ClearanceMM map[string]float64 `json:"clearance_mm"`
}

// Smoothness is how even a movement is.
type Smoothness struct {
	// sudden changes of the incisal path's inclination, and jumps
	Kinks []Kink `json:"kinks"`
	// sum of the changes of the incisal path's inclination from sample to sample over its length:
	// 0 for a straight path, 180/(π·R) for an arc of radius R mm; null where the incisal point is
	// not known
	TurningDegPerMM *float64 `json:"turning_deg_per_mm"`
	// how often the guiding pair of teeth changes
	Switches int `json:"switches"`
	// in protrusion, how long right and left anterior teeth touch, the shorter over the longer, 0
	// to 1; null elsewhere
	Evenness *float64 `json:"evenness"`
}

// Kink is a place where a movement is not smooth.
type Kink struct {
	// travel at which it is
	TravelMM float64 `json:"travel_mm"`
	// change of the incisal path's inclination there; above 0 the path gets steeper
	ChangeDeg float64 `json:"change_deg"`
	// how far the incisal point leaps, down above 0, where the change is a jump and not a bend; 0
	// for a bend
	JumpMM float64 `json:"jump_mm"`
	// what guides before
	From Touch `json:"from"`
	// what guides after
	To Touch `json:"to"`
}

// Excursion is one movement.
type Excursion struct {
	// where the jaw goes
	Movement Movement `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive"`
	// one position per sample of travel
	Frames []Frame `json:"frames"`
	// findings about the movement, most important first
	Findings []Finding `json:"findings"`
	// which teeth guide; absent where the guidance is not by teeth
	Guidance *Course `json:"guidance,omitempty"`
	// how the posterior teeth disocclude; empty without labels
	Disclusion []Disclusion `json:"disclusion"`
	// how even the movement is; absent where the guidance is not by teeth
	Smoothness *Smoothness `json:"smoothness,omitempty"`
	// paths of the supporting cusps over the opposing teeth; empty without labels
	CuspPaths []CuspPath `json:"cusp_paths"`
	// how the guidance spreads over the samples; absent where none were taken and where the incisal
	// point is not known
	Spread []PathSpread `json:"spread,omitempty"`
	// travel from which on the casts no longer meet, where the movement ends before its last
	// sample; absent where it does not
	EndedMM *float64 `json:"ended_mm,omitempty"`
	// why it ended early; absent where it did not
	Ended Sentence `json:"ended,omitzero"`
}

// PathSpread is how the guidance spreads over the samples at one travel.
type PathSpread struct {
	// travel of the advancing condyle
	TravelMM float64 `json:"travel_mm"`
	// opening about the hinge
	OpeningDeg Spread `json:"opening_deg"`
	// how far down the lower incisal point lies from where it is closed, mm
	DropMM Spread `json:"drop_mm"`
}

// Frame is one position of a movement.
type Frame struct {
	// length of the advancing condyle's path in the sagittal plane
	TravelMM float64 `json:"travel_mm"`
	// opening about the hinge; above 0 the incisors are lower than in intercuspation
	OpeningDeg float64 `json:"opening_deg"`
	// position of the lower arch: the rigid motion, mm, that takes a point of the closed lower
	// arch to where it is
	Pose Pose `json:"pose"`
	// lower incisal point in this pose; null where it is not known
	IncisalPoint *Vec `json:"incisal_point_mm"`
	// contacts at every foil of the case
	Contacts []Contact `json:"contacts"`
	// least gap of each tooth to the whole opposing arch, by ISO 3950 code, or by `upper` and
	// `lower` without labels
	ClearanceMM map[string]float64 `json:"clearance_mm"`
	// the pair that stops the closing; absent where the guidance is not by teeth
	Carrier *Touch `json:"carrier,omitempty"`
	// how the casts would close if posterior teeth that should not touch (those of the nonworking
	// side, all in protrusion) did not; absent where none does
	Unhindered *Unhindered `json:"unhindered,omitempty"`
	// teeth that would meet before the guidance, where that is not by teeth; absent where none
	// would
	Interference *Interference `json:"interference,omitempty"`
}

// Clearance is the least gap of a tooth to the opposing arch, mm; ok is false where it was not
// measured.
func (f *Frame) Clearance(t dentition.ToothID) (mm float64, ok bool) {
	mm, ok = f.ClearanceMM[t.String()]
	return mm, ok
}

// Touch is the exact first touch of a closing.
type Touch struct {
	// the upper tooth; null off the labelled teeth
	Upper Part `json:"upper"`
	// the lower tooth; null off the labelled teeth
	Lower Part `json:"lower"`
	// where they touch
	PointMM Vec `json:"point_mm"`
}

// Pair returns the teeth that touch.
func (t *Touch) Pair() Pair { return Pair{t.Upper, t.Lower} }

// Interference is teeth that meet before the guidance does.
type Interference struct {
	Touch
	// opening at which the teeth meet
	OpeningDeg float64 `json:"opening_deg"`
	// way of the touching point between this opening and that of the guidance
	HeightUm float64 `json:"height_um"`
}

// Contact is a patch of the upper surface within a foil's thickness of the
// lower one.
type Contact struct {
	// the upper tooth; null off the labelled teeth
	Upper Part `json:"upper"`
	// the lower tooth; null off the labelled teeth
	Lower Part `json:"lower"`
	// where the gap is least, on the upper surface
	PointMM Vec `json:"point_mm"`
	// area-weighted middle of the patch
	CentreMM Vec `json:"centre_mm"`
	// mean unit normal, from the lower to the upper arch
	Normal Vec `json:"normal"`
	// area of the patch on the upper surface
	AreaMM2 float64 `json:"area_mm2"`
	// exact least distance of the surfaces, 0 where they cross
	GapUm float64 `json:"gap_um"`
	// how far the upper surface lies behind the lower one; absent where they do not overlap
	OverlapUm float64 `json:"overlap_um,omitempty"`
	// foil thickness at which the patch was taken
	FoilUm Foil `json:"foil_um"`
	// angle between the mean outward normal of the patch and the long axis of each tooth
	InclineDeg Incline `json:"incline_deg"`
}

// Pair returns the teeth that are in contact.
func (c *Contact) Pair() Pair { return Pair{c.Upper, c.Lower} }

// Incline is the angle between the mean outward normal of the patch and the
// tooth's long axis: 0° loads the tooth along its axis, 90° across it. Null
// where there is no tooth.
type Incline struct {
	// angle to the axis of the upper tooth: 0 loads the tooth along it, 90 across it; null where
	// there is no tooth
	Upper *float64 `json:"upper"`
	// angle to the axis of the lower tooth; null where there is no tooth
	Lower *float64 `json:"lower"`
}

// Unhindered is how the casts would close if posterior teeth that should not carry could
// pass through each other: those of the nonworking side, and all in protrusion.
type Unhindered struct {
	// opening about the hinge
	OpeningDeg float64 `json:"opening_deg"`
	// lower incisal point; null where it is not known
	IncisalPoint *Vec `json:"incisal_point_mm"`
	// way of the spot that stopped the closing until then
	HeightUm float64 `json:"height_um"`
}
