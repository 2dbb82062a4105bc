package findings

// Course says which teeth carry a movement: which pair stops the closing at
// each travel.
type Course struct {
	// which pair of teeth guides, one after the other
	Stretches []Stretch `json:"stretches"`
	// pairs of teeth that guide up to the edge-to-edge position, by how long they do
	Guides []Guide `json:"guides"`
	// the pattern of guidance at distances of the incisal point from intercuspation
	Patterns []Pattern `json:"patterns"`
	// travel at which the guiding teeth stand edge to edge: where the incisal point is lowest
	// before it rises again; null where that is not reached
	EdgeToEdgeMM *float64 `json:"edge_to_edge_mm"`
}

// Stretch is a part of a movement that one pair of teeth carries.
type Stretch struct {
	// the upper tooth; null off the labelled teeth
	Upper Part `json:"upper"`
	// the lower tooth; null off the labelled teeth
	Lower Part `json:"lower"`
	// travel at which it begins
	FromMM float64 `json:"from_mm"`
	// travel at which it ends
	ToMM float64 `json:"to_mm"`
	// inclination of the incisal point's path to the horizontal plane; null for a stretch of one
	// sample or an unknown point
	InclinationDeg *float64 `json:"inclination_deg"`
	// inclination of the path of the lower tooth, at its touching point, in the frontal plane for
	// lateral movements and the sagittal plane for protrusion; null for a stretch of one sample
	ToothDeg *float64 `json:"tooth_deg"`
	// it lies past the edge-to-edge position, where stretches are divided
	PastEdge bool `json:"past_edge"`
}

// Guide is a pair of teeth and how it carries a movement up to the edge-to-edge
// position.
type Guide struct {
	// the upper tooth; null off the labelled teeth
	Upper Part `json:"upper"`
	// the lower tooth; null off the labelled teeth
	Lower Part `json:"lower"`
	// travel over which it guides up to the edge-to-edge position, samples standing for half a
	// step to both sides
	CarryMM float64 `json:"carry_mm"`
	// inclination of the lower tooth's path, mean over its stretches; null where they have one
	// sample
	ToothDeg *float64 `json:"tooth_deg"`
}

// Pattern names the guidance at one distance, by what touches within a foil.
type Pattern struct {
	// distance of the incisal point from intercuspation in the horizontal plane
	AtMM float64 `json:"at_mm"`
	// travel of the sample at that distance
	TravelMM float64 `json:"travel_mm"`
	// inclination of the path of the guiding lower tooth there, over a step to both sides; null
	// where it does not move
	ToothDeg *float64 `json:"tooth_deg"`
	// tolerance within which teeth count as touching
	FoilUm Foil `json:"foil_um"`
	// what guides, in the terms of the trade
	Pattern PatternClass `json:"pattern"`
	// touching pairs, upper/lower
	Pairs []Sentence `json:"pairs"`
	// it lies past the edge-to-edge position
	PastEdge bool `json:"past_edge"`
}

// PatternClass is a name of the trade for what guides. The names follow the
// Glossary of Prosthodontic Terms (9th edition 2017, J Prosthet Dent 117:e1-e105;
// wording from memory): canine guidance, where the canines part the posterior teeth;
// group function, where several teeth of the working side touch at once; anterior
// guidance, by anterior teeth; balanced, where both sides touch at once.
type PatternClass string

// The patterns.
const (
	CanineGuidance    PatternClass = "canine guidance"
	GroupFunction     PatternClass = "group function"
	AnteriorGuidance  PatternClass = "anterior guidance"
	Balanced          PatternClass = "balanced"
	NonworkingOnly    PatternClass = "nonworking contact only"
	PosteriorGuidance PatternClass = "posterior guidance"
	Mixed             PatternClass = "mixed"
	NoContact         PatternClass = "no contact"
	NotLabelled       PatternClass = "not labelled"
)
