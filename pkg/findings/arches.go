package findings

// Arches is what the trade measures on arches, from the landmarks of labelled
// teeth, in the relation in which the casts were settled.
type Arches struct {
	// the measurements in words
	Text Sentence `json:"text"`
	// transverse widths between the same cusps of both sides
	Widths []ArchWidth `json:"widths"`
	// how the upper central incisors overlap the lower ones
	Incisors []ArchOverlap `json:"incisors"`
	// curve of Spee, a depth for each side
	Spee []ArchDepth `json:"spee"`
	// sphere fitted by least squares to the lower cusp tips that were clearly seen, third molars
	// left out; null where they are too few or lie in a plane
	Sphere *ArchSphere `json:"sphere"`
	// how the first molars of each side stand to each other
	Molars []ArchMolars `json:"molars"`
	// teeth that are tipped, of twins that lean differently one entry; absent where none is
	Tipped []ArchTipped `json:"tipped,omitempty"`
}

// ArchWidth is a distance across an arch.
type ArchWidth struct {
	// the tooth of the right side
	Right Part `json:"right"`
	// the same tooth of the left side
	Left Part `json:"left"`
	// between what: the cusp of canines, the buccal cusp of premolars, the mesiobuccal cusp of
	// molars
	Landmark string `json:"landmark"`
	// distance of the two
	WidthMM float64 `json:"width_mm"`
}

// ArchOverlap is the overlap of two central incisors.
type ArchOverlap struct {
	// the upper incisor
	Upper Part `json:"upper"`
	// the lower incisor
	Lower Part `json:"lower"`
	// middle of the upper edge in front of that of the lower one, along the occlusal plane; below
	// 0 behind it
	OverjetMM float64 `json:"overjet_mm"`
	// middle of the upper edge below that of the lower one, across the occlusal plane; below 0 an
	// open bite
	OverbiteMM float64 `json:"overbite_mm"`
}

// ArchDepth is the depth of the curve of Spee on one side.
type ArchDepth struct {
	// side of the mouth
	Side string `json:"side" jsonschema:"enum=right,enum=left"`
	// the posterior tooth whose buccal cusp is deepest
	Tooth Part `json:"tooth"`
	// that cusp
	Landmark string `json:"landmark"`
	// its depth below the occlusal plane
	DepthMM float64 `json:"depth_mm"`
}

// ArchSphere is the sphere through the lower cusps.
type ArchSphere struct {
	// radius
	RadiusMM float64 `json:"radius_mm"`
	// centre
	CentreMM Vec `json:"centre_mm"`
	// root mean square distance of the cusp tips from it
	RMSMM float64 `json:"rms_mm"`
	// how many cusp tips it was fitted to
	Cusps int `json:"cusps"`
}

// ArchTipped is a tooth that is tipped.
type ArchTipped struct {
	// the tooth; where the casts do not tell which of twins is tipped, that of the right side
	Tooth Part `json:"tooth"`
	// how far it leans against its twin, or against its neighbours where it has none
	AngleDeg float64 `json:"angle_deg"`
	// the same in words
	Text Sentence `json:"text"`
}

// ArchMolars is the relation of the first molars of one side.
type ArchMolars struct {
	// side of the mouth
	Side string `json:"side" jsonschema:"enum=right,enum=left"`
	// the upper first molar
	Upper Part `json:"upper"`
	// the lower first molar
	Lower Part `json:"lower"`
	// upper mesiobuccal cusp in front of the lower buccal groove; below 0 behind it
	MesialMM float64 `json:"mesial_mm"`
	// Angle's class of this side: I within a quarter of a premolar's width (1.75 mm, our choice),
	// II in front of that and III behind
	Class string `json:"class" jsonschema:"enum=I,enum=II,enum=III"`
}
