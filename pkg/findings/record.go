package findings

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
)

// Agreement counts how often the mouth and the casts say the same. What the casts
// leave open is counted apart and taken for neither.
type Agreement struct {
	Agree      int `json:"agree"`
	OnlyMouth  int `json:"only_mouth"`
	OnlyCasts  int `json:"only_casts"`
	Undecided  int `json:"undecided"`
	NotOnCasts int `json:"not_on_casts"`
	// Share is Agree over all that was decided.
	Share *float64 `json:"share" jsonschema_description:"share that agrees of what could be decided; null where nothing could"`
	// From and To are its 95 % interval.
	From *float64 `json:"from" jsonschema_description:"lower end of the 95 % interval of the share (Wilson's score interval)"`
	To   *float64 `json:"to" jsonschema_description:"upper end"`
	// Kappa is the agreement beyond chance.
	Kappa *float64 `json:"kappa" jsonschema_description:"agreement beyond chance (Cohen's kappa), 1 for full and 0 for none; null where it has no meaning: for marks, and where mouth or casts say the same of all teeth and agree by that alone"`
}

// Match is how the mouth and the casts stand to each other at a tooth or a pair
// of teeth.
type Match string

// The matches. Undecided are the casts where they are apart by no more than the
// scans can tell, whatever the mouth shows.
const (
	Agree      Match = "agree"
	OnlyMouth  Match = "only_mouth"
	OnlyCasts  Match = "only_casts"
	Unsure     Match = "undecided"
	NotOnCasts Match = "not_on_casts" // a tooth that the casts do not show, or not by name
)

// Record is the mouth's record beside what the casts show.
type Record struct {
	Text      Sentence      `json:"text" jsonschema_description:"the comparison in words"`
	FoilUm    float64       `json:"foil_um" jsonschema_description:"thickness of the foil that was used in the mouth"`
	Teeth     []RecordTooth `json:"teeth" jsonschema_description:"the teeth that were tried with foil"`
	Agreement Agreement     `json:"agreement" jsonschema_description:"how well mouth and casts agree on the teeth that hold foil"`
	Marks     []RecordMarks `json:"marks" jsonschema_description:"the movements after which somebody looked for marks"`
	Notes     string        `json:"notes,omitempty" jsonschema_description:"notes of the record"`
}

// RecordTooth is a tooth that was tried with foil.
type RecordTooth struct {
	Tooth Part          `json:"tooth"`
	Mouth casefile.Hold `json:"mouth" jsonschema:"enum=holds,enum=light_drag,enum=passes" jsonschema_description:"what the foil did in the mouth"`
	Casts *HoldClass    `json:"casts" jsonschema:"enum=holds,enum=light_drag,enum=undecided,enum=passes" jsonschema_description:"what it would do on the casts; null where they do not show the tooth"`
	GapUm *float64      `json:"gap_um" jsonschema_description:"gap of the tooth on the casts; null where they do not show it"`
	Match Match         `json:"match" jsonschema:"enum=agree,enum=only_mouth,enum=only_casts,enum=undecided,enum=not_on_casts"`
	// OffUm is the gap beyond the foil: above 0 the casts are too far apart, below
	// 0 they are too near, by at least as much.
	OffUm *float64 `json:"off_um" jsonschema_description:"gap of the casts less the foil, where they differ from the mouth: above 0 too far apart, below 0 too near by at least as much; null elsewhere"`
	// YieldsFromN is set where the teeth that yield explain the mouth's contact.
	YieldsFromN *float64 `json:"yields_from_n" jsonschema_description:"closing force from which the tooth carries on the casts when the teeth yield, where only the mouth holds the foil; null elsewhere"`
}

// RecordMarks are the marks of one movement.
type RecordMarks struct {
	Movement  Movement     `json:"movement" jsonschema:"enum=centric,enum=right,enum=left,enum=protrusive"`
	FoilUm    float64      `json:"foil_um" jsonschema_description:"gap up to which teeth of the casts count as marked"`
	Pairs     []RecordMark `json:"pairs"`
	Agreement Agreement    `json:"agreement"`
}

// RecordMark is a mark, in the mouth, on the casts or on both.
type RecordMark struct {
	Upper Part     `json:"upper" jsonschema_description:"null where only the lower tooth was named"`
	Lower Part     `json:"lower" jsonschema_description:"null where only the upper tooth was named"`
	Match Match    `json:"match" jsonschema:"enum=agree,enum=only_mouth,enum=only_casts,enum=undecided,enum=not_on_casts"`
	AtMM  *float64 `json:"at_mm" jsonschema_description:"travel at which the casts touch there first, or come nearest; null in intercuspation and where they do not show the teeth"`
	OffUm *float64 `json:"off_um" jsonschema_description:"where only the mouth shows the mark: least gap of the casts there less the foil; null elsewhere"`
}
