package findings

// Arches is what the trade measures on arches, from the landmarks of labelled
// teeth, in the relation in which the casts were settled.
type Arches struct {
	Text     Sentence      `json:"text" jsonschema_description:"the measurements in words"`
	Widths   []ArchWidth   `json:"widths" jsonschema_description:"between the same cusps of both sides"`
	Incisors []ArchOverlap `json:"incisors" jsonschema_description:"how the upper central incisors overlap the lower ones"`
	Spee     []ArchDepth   `json:"spee" jsonschema_description:"deepest buccal cusp of the lower back teeth below the occlusal plane, on each side"`
	Sphere   *ArchSphere   `json:"sphere" jsonschema_description:"sphere fitted to the lower cusp tips; null where they are too few or lie in a plane"`
	Molars   []ArchMolars  `json:"molars" jsonschema_description:"how the first molars stand to each other"`
}

// ArchWidth is a distance across an arch.
type ArchWidth struct {
	Right    Part    `json:"right"`
	Left     Part    `json:"left"`
	Landmark string  `json:"landmark"`
	WidthMM  float64 `json:"width_mm"`
}

// ArchOverlap is the overlap of two central incisors.
type ArchOverlap struct {
	Upper      Part    `json:"upper"`
	Lower      Part    `json:"lower"`
	OverjetMM  float64 `json:"overjet_mm" jsonschema_description:"upper edge in front of the lower one, along the occlusal plane"`
	OverbiteMM float64 `json:"overbite_mm" jsonschema_description:"upper edge below the lower one, across it; below 0 an open bite"`
}

// ArchDepth is the depth of the curve of Spee on one side.
type ArchDepth struct {
	Side     string  `json:"side" jsonschema:"enum=right,enum=left"`
	Tooth    Part    `json:"tooth"`
	Landmark string  `json:"landmark"`
	DepthMM  float64 `json:"depth_mm"`
}

// ArchSphere is the sphere through the lower cusps.
type ArchSphere struct {
	RadiusMM float64 `json:"radius_mm"`
	CentreMM Vec     `json:"centre_mm"`
	RMSMM    float64 `json:"rms_mm" jsonschema_description:"root mean square distance of the cusps from it"`
	Cusps    int     `json:"cusps" jsonschema_description:"how many cusps it was fitted to"`
}

// ArchMolars is the relation of the first molars of one side.
type ArchMolars struct {
	Side     string  `json:"side" jsonschema:"enum=right,enum=left"`
	Upper    Part    `json:"upper"`
	Lower    Part    `json:"lower"`
	MesialMM float64 `json:"mesial_mm" jsonschema_description:"upper mesiobuccal cusp in front of the lower buccal groove; below 0 behind it"`
	Class    string  `json:"class" jsonschema:"enum=I,enum=II,enum=III" jsonschema_description:"Angle's class of this side"`
}
