package findings

// Course says which teeth carry a movement: which pair stops the closing at
// each travel.
type Course struct {
	Stretches []Stretch `json:"stretches" jsonschema_description:"which pair of teeth carries, one after the other"`
	Guides    []Guide   `json:"guides" jsonschema_description:"pairs of teeth that carry up to the edge-to-edge position, by how long they do"`
	Patterns  []Pattern `json:"patterns" jsonschema_description:"the pattern of guidance at distances of the incisal point from rest"`
	// EdgeToEdgeMM is the travel at which the guiding teeth stand edge to edge:
	// where the incisal point is lowest before it rises again.
	EdgeToEdgeMM *float64 `json:"edge_to_edge_mm" jsonschema_description:"travel at which the guiding teeth stand edge to edge; null where that is not reached"`
}

// Stretch is a part of a movement that one pair of teeth carries.
type Stretch struct {
	Upper  Part    `json:"upper"`
	Lower  Part    `json:"lower"`
	FromMM float64 `json:"from_mm"`
	ToMM   float64 `json:"to_mm"`
	// InclinationDeg is the inclination of the incisal point's path over the
	// stretch to the horizontal plane.
	InclinationDeg *float64 `json:"inclination_deg" jsonschema_description:"inclination of the incisal point's path to the horizontal plane; null for a stretch of one sample or an unknown point"`
	ToothDeg       *float64 `json:"tooth_deg" jsonschema_description:"inclination of the way of the lower tooth, at its touching point, in the frontal plane for lateral movements and the sagittal plane for protrusion; null for a stretch of one sample"`
	PastEdge       bool     `json:"past_edge" jsonschema_description:"it lies past the edge-to-edge position, where stretches are divided"`
}

// Guide is a pair of teeth and how it carries a movement up to the edge-to-edge
// position.
type Guide struct {
	Upper    Part     `json:"upper"`
	Lower    Part     `json:"lower"`
	CarryMM  float64  `json:"carry_mm" jsonschema_description:"travel over which it carries, samples standing for half a step to both sides"`
	ToothDeg *float64 `json:"tooth_deg" jsonschema_description:"inclination of the lower tooth's way, mean over its stretches; null where they have one sample"`
}

// Pattern names the guidance at one distance, by what touches within a foil.
type Pattern struct {
	AtMM     float64      `json:"at_mm" jsonschema_description:"distance of the incisal point from rest in the horizontal plane"`
	TravelMM float64      `json:"travel_mm" jsonschema_description:"travel of the sample at that distance"`
	ToothDeg *float64     `json:"tooth_deg" jsonschema_description:"inclination of the way of the carrying lower tooth there, over a step to both sides; null where it does not move"`
	FoilUm   float64      `json:"foil_um" jsonschema_description:"tolerance within which teeth count as touching"`
	Pattern  PatternClass `json:"pattern"`
	Pairs    []Sentence   `json:"pairs" jsonschema_description:"touching pairs, upper/lower"`
	PastEdge bool         `json:"past_edge" jsonschema_description:"it lies past the edge-to-edge position"`
}

// PatternClass is a name of the trade for what guides. The names follow the
// Glossary of Prosthodontic Terms (9th edition 2017, J Prosthet Dent 117:e1-e105;
// wording from memory): canine guidance, where the canines part the back teeth;
// group function, where several teeth of the working side touch at once; anterior
// guidance, by front teeth; balanced, where both sides touch at once.
type PatternClass string

// The patterns.
const (
	CanineGuidance   PatternClass = "canine guidance"
	GroupFunction    PatternClass = "group function"
	AnteriorGuidance PatternClass = "anterior guidance"
	Balanced         PatternClass = "balanced"
	NonworkingOnly   PatternClass = "nonworking contact only"
	BackTeeth        PatternClass = "back teeth"
	Mixed            PatternClass = "mixed"
	NoContact        PatternClass = "no contact"
	NotLabelled      PatternClass = "not labelled"
)
