package findings

// Restoration is what to heed in restoring a tooth.
type Restoration struct {
	Tooth  Part     `json:"tooth"`
	Text   Sentence `json:"text" jsonschema_description:"the same in words"`
	OnCast bool     `json:"on_cast" jsonschema_description:"the tooth is labelled on its cast; if not, the rest is empty"`
	// Keep and Avoid are today's contacts in intercuspation and in the movements.
	Keep  []RestoreStop `json:"keep" jsonschema_description:"stops to keep: those that are stable"`
	Avoid []RestoreStop `json:"avoid" jsonschema_description:"contacts not to build again: stops that are not stable, and contacts on the nonworking side, of back teeth in protrusion and of lingual cusps on the working side"`
	// Guides has an entry for each movement that front teeth or the working side
	// guide.
	Guides []RestoreGuide `json:"guides" jsonschema_description:"guidance that must stay or could be taken over, for each movement in which the tooth stands on the guiding side"`
	Facets []int          `json:"facets" jsonschema_description:"numbers of the facets on the tooth that a movement explains"`
	// Wear says of every facet whether it must stay.
	Wear []RestoreFacet `json:"wear" jsonschema_description:"what to do about each facet on the tooth"`
	Room []RestoreRoom  `json:"room" jsonschema_description:"least clearance in intercuspation and in every movement"`
}

// RestoreStop is a contact of the tooth.
type RestoreStop struct {
	With       Part       `json:"with" jsonschema_description:"opposing tooth"`
	On         string     `json:"on" jsonschema_description:"where it lies on this tooth; empty where that is not known"`
	Against    string     `json:"against" jsonschema_description:"where it lies on the opposing tooth"`
	Movement   Movement   `json:"movement" jsonschema:"enum=centric,enum=right,enum=left,enum=protrusive"`
	FromMM     float64    `json:"from_mm"`
	ToMM       float64    `json:"to_mm"`
	PointMM    *Vec       `json:"point_mm" jsonschema_description:"where, on the upper surface; null where it has no place"`
	Why        Sentence   `json:"why" jsonschema_description:"why it is kept or not built again"`
	PastEdge   bool       `json:"past_edge" jsonschema_description:"it begins only after the guiding teeth stand edge to edge"`
	Robustness Robustness `json:"robustness,omitzero" jsonschema_description:"of the finding in a movement, as there; absent in intercuspation"`
}

// RestoreGuide is the guidance of a movement seen from a tooth.
type RestoreGuide struct {
	Movement   Movement   `json:"movement" jsonschema:"enum=right,enum=left,enum=protrusive"`
	Guides     bool       `json:"guides" jsonschema_description:"the tooth itself carries: its guidance must stay or be given to others"`
	From       Part       `json:"from" jsonschema_description:"the tooth of the same arch from whose guidance the inclination is: itself, or the nearest that carries"`
	With       Part       `json:"with" jsonschema_description:"what it slides on"`
	ToothDeg   *float64   `json:"tooth_deg" jsonschema_description:"inclination of that guidance; null where it lasts one sample"`
	Robustness Robustness `json:"robustness,omitzero" jsonschema_description:"of the pattern of guidance, as there; absent where none is named"`
}

// RestoreRoom is the room in a movement after it has begun, or in intercuspation.
type RestoreRoom struct {
	Movement Movement `json:"movement" jsonschema:"enum=centric,enum=right,enum=left,enum=protrusive"`
	LeastMM  float64  `json:"least_mm" jsonschema_description:"least clearance to the whole opposing arch"`
	AtMM     float64  `json:"at_mm" jsonschema_description:"travel at which it is least"`
}

// RestoreFacet is what to do about a facet of a tooth that is restored.
type RestoreFacet struct {
	Number   int      `json:"number" jsonschema_description:"number of the facet on the tooth"`
	Do       string   `json:"do" jsonschema:"enum=keep,enum=not_again,enum=open" jsonschema_description:"keep: it must stay or be given to others; not_again: it is not to be copied; open: the casts speak for neither"`
	Movement Movement `json:"movement" jsonschema:"enum=centric,enum=right,enum=left,enum=protrusive,enum=" jsonschema_description:"movement that decides it, or rest; empty for none"`
	With     Part     `json:"with" jsonschema_description:"opposing tooth that decides it; null for none"`
	Why      Sentence `json:"why" jsonschema_description:"the reason"`
}
