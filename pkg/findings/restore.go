package findings

// Restoration is what to heed in restoring a tooth.
type Restoration struct {
	// the tooth
	Tooth Part `json:"tooth"`
	// the same in words
	Text Sentence `json:"text"`
	// the tooth is labelled on its cast; if not, the rest is empty
	OnCast bool `json:"on_cast"`
	// stops to keep: those that are stable; where there is none, a stop must be built
	Keep []RestoreStop `json:"keep"`
	// contacts not to reproduce: stops that are not stable, contacts on the nonworking side, of
	// posterior teeth in protrusion and of lingual cusps on the working side
	Avoid []RestoreStop `json:"avoid"`
	// guidance that must stay or could be taken over, for each movement in which the tooth stands
	// on the guiding side: anterior teeth in protrusion, teeth of the working side in lateral
	// movements; pairs whose contact is not to be reproduced do not count
	Guides []RestoreGuide `json:"guides"`
	// numbers of the facets on the tooth that a movement explains
	Facets []int `json:"facets"`
	// what to do about each facet on the tooth
	Wear []RestoreFacet `json:"wear"`
	// least clearance in intercuspation and in every movement, from where it has begun (`begun_mm`
	// of the thresholds)
	Room []RestoreRoom `json:"room"`
}

// RestoreStop is a contact of the tooth.
type RestoreStop struct {
	// the opposing tooth; null off the labelled teeth
	With Part `json:"with"`
	// where it lies on this tooth; empty where that is not known
	On string `json:"on"`
	// where it lies on the opposing tooth; empty where that is not known
	Against string `json:"against"`
	// the movement, or the closing
	Movement Movement `json:"movement" jsonschema:"enum=centric,enum=right,enum=left,enum=protrusive"`
	// travel at which it begins
	FromMM float64 `json:"from_mm"`
	// travel at which it ends
	ToMM float64 `json:"to_mm"`
	// where, on the upper surface; null where it has no place
	PointMM *Vec `json:"point_mm"`
	// why it is kept or not reproduced
	Why Sentence `json:"why"`
	// it begins only after the guiding teeth stand edge to edge
	PastEdge bool `json:"past_edge"`
	// the contact of a movement lies within 1 mm of a stop to be kept: the stop stays, the way
	// out of it is to be freed
	NearStop bool `json:"near_stop,omitempty"`
	// robustness of the finding in a movement; absent in intercuspation
	Robustness Robustness `json:"robustness,omitzero"`
}

// RestoreGuide is the guidance of a movement seen from a tooth.
type RestoreGuide struct {
	// the movement
	Movement Movement `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive"`
	// the tooth itself guides: its guidance must stay or be given to others
	Guides bool `json:"guides"`
	// the tooth of the same arch from whose guidance the inclination is: itself, or the nearest
	// that guides; null for none
	From Part `json:"from"`
	// what it slides on; null for none
	With Part `json:"with"`
	// inclination of that guidance; null where it lasts one sample
	ToothDeg *float64 `json:"tooth_deg"`
	// robustness of the pattern of guidance; absent where none is named
	Robustness Robustness `json:"robustness,omitzero"`
}

// RestoreRoom is the room in a movement after it has begun, or in intercuspation.
type RestoreRoom struct {
	// the movement, or the closing
	Movement Movement `json:"movement" jsonschema:"enum=centric,enum=right,enum=left,enum=protrusive"`
	// least clearance to the whole opposing arch
	LeastMM float64 `json:"least_mm"`
	// travel at which it is least
	AtMM float64 `json:"at_mm"`
}

// RestoreFacet is what to do about a facet of a tooth that is restored.
type RestoreFacet struct {
	// number of the facet on the tooth
	Number int `json:"number"`
	// `keep`: it must stay or be given to others; `not_again`: it is not to be copied, since only
	// contacts that are not to be reproduced lie on it, or only movements would grind it in which
	// the tooth should not touch; `open`: the casts speak for neither, nothing touches it today or
	// no simulated movement explains it
	Do string `json:"do" jsonschema:"enum=keep,enum=not_again,enum=open"`
	// movement that decides it, or the closing; empty for none
	Movement Movement `json:"movement" jsonschema:"enum=centric,enum=right,enum=left,enum=protrusive,enum="`
	// opposing tooth that decides it; null for none
	With Part `json:"with"`
	// the reason
	Why Sentence `json:"why"`
}
