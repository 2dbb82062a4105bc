package findings

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
)

// Agreement counts how often the mouth and the casts say the same. What the casts
// leave open is counted apart and taken for neither.
type Agreement struct {
	// how often mouth and casts say the same
	Agree int `json:"agree"`
	// how often only the mouth shows contact
	OnlyMouth int `json:"only_mouth"`
	// how often only the casts do
	OnlyCasts int `json:"only_casts"`
	// how often the casts cannot tell
	Undecided int `json:"undecided"`
	// how often the casts do not show the tooth, or not by name
	NotOnCasts int `json:"not_on_casts"`
	// share that agrees of what could be decided; null where nothing could
	Share *float64 `json:"share"`
	// lower end of the 95 % interval of the share (Wilson 1927, J Am Stat Assoc 22:209-212); null
	// without a share
	From *float64 `json:"from"`
	// upper end of that interval; null without a share
	To *float64 `json:"to"`
	// agreement beyond chance (Cohen 1960, Educ Psychol Meas 20:37-46), 1 for full and 0 for none;
	// null for marks, where pairs that nobody marked are not counted, and where it has no meaning
	// since mouth or casts say the same of all teeth
	Kappa *float64 `json:"kappa"`
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
	// the comparison in words
	Text Sentence `json:"text"`
	// thickness of the foil that was used in the mouth
	FoilUm Foil `json:"foil_um"`
	// the teeth that were tried with foil
	Teeth []RecordTooth `json:"teeth"`
	// how well mouth and casts agree on the teeth that hold foil
	Agreement Agreement `json:"agreement"`
	// the movements after which a person looked for marks
	Marks []RecordMarks `json:"marks"`
	// notes of the record; absent for none
	Notes string `json:"notes,omitempty"`
}

// RecordTooth is a tooth that was tried with foil.
type RecordTooth struct {
	// the tooth
	Tooth Part `json:"tooth"`
	// what the foil did in the mouth
	Mouth casefile.Hold `json:"mouth" jsonschema:"enum=holds,enum=light_drag,enum=passes"`
	// what it would do on the casts; null where they do not show the tooth. The classes are
	// published for foil of 8 µm; another one is taken to differ by its thickness
	Casts *HoldClass `json:"casts"`
	// gap of the tooth on the casts; null where they do not show it
	GapUm *float64 `json:"gap_um"`
	// how mouth and casts stand to each other; a light drag counts as contact
	Match Match `json:"match"`
	// gap of the casts less the foil, where they differ from the mouth: above 0 too far apart,
	// below 0 too near by at least as much; null elsewhere
	OffUm *float64 `json:"off_um"`
	// closing force from which the tooth carries on the casts when the teeth yield, where only the
	// mouth holds the foil; null elsewhere
	YieldsFromN *float64 `json:"yields_from_n"`
}

// RecordMarks are the marks of one movement.
type RecordMarks struct {
	// the movement, or the closing
	Movement Movement `json:"movement" jsonschema:"enum=centric,enum=right,enum=left,enum=protrusive"`
	// gap up to which teeth of the casts count as marked: the thickest foil of the case up to
	// `touch_um`
	FoilUm Foil `json:"foil_um"`
	// the marks of the mouth and the touching pairs of the casts
	Pairs []RecordMark `json:"pairs"`
	// how well they agree
	Agreement Agreement `json:"agreement"`
}

// Marked says whether the mouth showed a mark of closing on a tooth.
func (r *Record) Marked(tooth Part) bool {
	for i := range r.Marks {
		for _, p := range r.Marks[i].Pairs {
			if r.Marks[i].Movement == Closed && p.Match != OnlyCasts && (p.Upper == tooth || p.Lower == tooth) {
				return true
			}
		}
	}
	return false
}

// RecordMark is a mark, in the mouth, on the casts or on both.
type RecordMark struct {
	// the upper tooth; null where only the lower one was named
	Upper Part `json:"upper"`
	// the lower tooth; null where only the upper one was named
	Lower Part `json:"lower"`
	// how mouth and casts stand to each other
	Match Match `json:"match"`
	// travel at which the casts touch there first, or come nearest; null in intercuspation and
	// where they do not show the teeth
	AtMM *float64 `json:"at_mm"`
	// least gap of the pair on the casts less the foil, where only the mouth shows the mark; null
	// elsewhere
	OffUm *float64 `json:"off_um"`
}
