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
	Kind     Kind     `json:"kind" jsonschema:"enum=premature_contact,enum=nonworking_interference,enum=protrusive_interference,enum=working_interference,enum=nonworking_contact,enum=protrusive_contact,enum=working_contact,enum=late_posterior_disocclusion,enum=uneven_protrusion,enum=shallow_guidance,enum=kink,enum=guidance"`
	Severity int      `json:"severity" jsonschema_description:"plain order of importance over all movements, 1 first"`
	Text     Sentence `json:"text" jsonschema_description:"the finding in one sentence"`
	Upper    Part     `json:"upper"`
	Lower    Part     `json:"lower"`
	// Teeth are those of a finding about several, in rising order.
	Teeth   []Part  `json:"teeth" jsonschema_description:"back teeth that do not come clear in time; empty for other findings"`
	UpperAt string  `json:"upper_site,omitempty" jsonschema_description:"where on the upper tooth; absent off its features"`
	LowerAt string  `json:"lower_site,omitempty" jsonschema_description:"where on the lower tooth"`
	FromMM  float64 `json:"from_mm" jsonschema_description:"travel at which it begins"`
	ToMM    float64 `json:"to_mm" jsonschema_description:"travel at which it ends"`
	PointMM *Vec    `json:"point_mm" jsonschema_description:"where, at the travel at_mm; null where it has no place"`
	AtMM    float64 `json:"at_mm" jsonschema_description:"travel of the frame that shows it best"`
	// HeightUm is how much must go at that spot for the desired guidance to take
	// over: the way of the spot when the casts close on without the pairs that
	// interfere.
	HeightUm *float64 `json:"height_um" jsonschema_description:"height to be removed for the desired guidance to take over; null where nothing is held up"`
	// Next is what a premature contact keeps from meeting.
	Next     *Pair    `json:"next" jsonschema_description:"the pair that meets next after a premature contact; null for other findings"`
	Doubtful bool     `json:"doubtful" jsonschema_description:"the height is less than the scans can tell (scan_doubt_um): it counts for no more than a touch"`
	AreaMM2  *float64 `json:"area_mm2" jsonschema_description:"largest area of the contact within the movement's foil; null where it has none"`
	// Value and Unit are the size of what is no contact.
	Value    *float64     `json:"value" jsonschema_description:"size of a finding that is no contact, by kind; null for contacts and where it is not known"`
	Unit     string       `json:"unit,omitempty" jsonschema:"enum=um,enum=mm,enum=deg" jsonschema_description:"unit of the value; absent without one"`
	FoilUm   float64      `json:"foil_um" jsonschema_description:"tolerance within which teeth count as touching"`
	PastEdge bool         `json:"past_edge" jsonschema_description:"it begins only after the guiding teeth stand edge to edge"`
	Causes   []Cause      `json:"causes" jsonschema_description:"geometry that explains it"`
	Pattern  PatternClass `json:"pattern,omitempty" jsonschema_description:"of the guidance, for that kind; absent for others"`
	// Robustness says whether the finding survives a change of the settings.
	Robustness Robustness `json:"robustness" jsonschema_description:"whether it survives other settings"`
}

// Cause is a number of the casts' shape that explains a finding.
type Cause struct {
	Cause string   `json:"cause"`
	Value float64  `json:"value"`
	Unit  string   `json:"unit"`
	Text  Sentence `json:"text"`
}
