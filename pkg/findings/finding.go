package findings

// Kind is what a finding is about. Kinds are stable; new ones may join them.
type Kind string

// The kinds, most important first: findings are listed in this order.
const (
	KindPremature              Kind = "premature_contact"           // a pair that meets first in intercuspation
	KindNonworkingInterference Kind = "nonworking_interference"     // the working side is separated
	KindProtrusiveInterference Kind = "protrusive_interference"     // posterior teeth separate the anterior ones
	KindWorkingInterference    Kind = "working_interference"        // lingual cusps separate the guiding teeth
	KindNonworkingContact      Kind = "nonworking_contact"          // contact without interference
	KindProtrusiveContact      Kind = "protrusive_contact"          //
	KindWorkingContact         Kind = "working_contact"             //
	KindLateDisclusion         Kind = "late_posterior_disocclusion" // a posterior tooth that stays in contact
	KindUneven                 Kind = "uneven_protrusion"           // anterior contact on one side only
	KindShallow                Kind = "shallow_guidance"            // one side guides less far down than the other
	KindKink                   Kind = "kink"                        // an abrupt change of the guidance
	KindGuidance               Kind = "guidance"                    // who guides, for orientation
)

// Finding is one judgement about a movement.
type Finding struct {
	// what it is about, a stable word
	Kind Kind `json:"kind"`
	// plain order of importance over all movements, 1 first
	Severity int `json:"severity"`
	// the finding in one sentence
	Text Sentence `json:"text"`
	// the upper tooth; null for none
	Upper Part `json:"upper"`
	// the lower tooth; null for none
	Lower Part `json:"lower"`
	// the posterior teeth that do not disocclude in time, for `late_posterior_disocclusion`, in
	// rising order; empty for others
	Teeth []Part `json:"teeth"`
	// where on the upper tooth; absent off its features
	UpperAt string `json:"upper_site,omitempty"`
	// where on the lower tooth; absent off its features
	LowerAt string `json:"lower_site,omitempty"`
	// travel at which it begins
	FromMM float64 `json:"from_mm"`
	// travel at which it ends
	ToMM float64 `json:"to_mm"`
	// where, at the travel `at_mm`; null where it has no place
	PointMM *Vec `json:"point_mm"`
	// travel of the frame that shows it best
	AtMM float64 `json:"at_mm"`
	// height in the way of the intended guidance: how far the casts would close on at that spot,
	// at `at_mm` where it is most, if posterior teeth that interfere could pass through each other
	// (this is not a reduction depth); of a premature contact, to the next pair of other teeth;
	// null where nothing is held up
	HeightUm *float64 `json:"height_um"`
	// the pair that meets next after a premature contact; null for other findings
	Next *Pair `json:"next"`
	// pairs that meet in the same movement because this guidance is shallow; absent for others
	Explains []Pair `json:"explains,omitempty"`
	// the height is below the scan uncertainty (`scan_doubt_um`): the finding counts for no more
	// than a touch
	Doubtful bool `json:"doubtful"`
	// largest area of the contact within the movement's foil; null where it has none
	AreaMM2 *float64 `json:"area_mm2"`
	// size of what is no contact: for `uneven_protrusion` how far the anterior teeth of the other
	// side stay apart at least, for `shallow_guidance` how much less far down the incisal point
	// goes, for `kink` the change of inclination or the jump, for `late_posterior_disocclusion`
	// the travel at which the last posterior tooth disoccludes (null where one does not), for
	// `guidance` the inclination of the guiding tooth's path; null for others
	Value *float64 `json:"value"`
	// unit of the value; absent without one
	Unit string `json:"unit,omitempty" jsonschema:"enum=um,enum=mm,enum=deg"`
	// tolerance within which teeth count as touching
	FoilUm Foil `json:"foil_um"`
	// it begins only after the guiding teeth stand edge to edge
	PastEdge bool `json:"past_edge"`
	// what the same contact does on beyond the edge-to-edge position, where it goes on over it: one
	// spot is one finding; absent where it does not
	Beyond *Beyond `json:"beyond,omitempty"`
	// geometry that explains it
	Causes []Cause `json:"causes"`
	// pattern of guidance, for a finding of kind `guidance`; absent for others
	Pattern PatternClass `json:"pattern,omitempty"`
	// whether it survives other settings
	Robustness Robustness `json:"robustness"`
	// how likely it is; null where no samples were taken, and for what a sample does not look for
	Probability *Probability `json:"probability"`
}

// Beyond is what a contact does on beyond the edge-to-edge position.
type Beyond struct {
	// travel at which it begins there
	FromMM float64 `json:"from_mm"`
	// travel at which it ends
	ToMM float64 `json:"to_mm"`
	// it carries there; else it only touches
	Interferes bool `json:"interferes"`
}

// Cause is a number of the casts' shape that explains a finding.
type Cause struct {
	// what explains it, a stable word
	Cause string `json:"cause"`
	// its size
	Value float64 `json:"value"`
	// unit of the value
	Unit string `json:"unit"`
	// the same in words
	Text Sentence `json:"text"`
}
