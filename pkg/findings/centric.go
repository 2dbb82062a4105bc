package findings

// Centric is the casts closed on the hinge, with the condyles in their closed position.
type Centric struct {
	OpeningDeg float64        `json:"opening_deg" jsonschema_description:"opening at first touch; above 0 a premature spot or overlap holds the casts open"`
	Pose       Pose           `json:"pose"`
	Contacts   []Contact      `json:"contacts"`
	Staircase  []Step         `json:"staircase" jsonschema_description:"the pairs of teeth in the order in which they meet as the examined casts close; empty without labels on both arches"`
	Findings   []Finding      `json:"findings" jsonschema_description:"premature contacts of the given relation, the highest first"`
	Teeth      []CentricTooth `json:"teeth"`
	// Stops are the contacts of the thinnest foil between labelled teeth.
	Stops     []Stop       `json:"stops" jsonschema_description:"where labelled teeth touch within the thinnest foil; empty without labels on both arches"`
	Support   []ToothStops `json:"support" jsonschema_description:"how the stops hold each labelled tooth"`
	StopsText Sentence     `json:"stops_text" jsonschema_description:"the stops in words"`
	FoilText  Sentence     `json:"foil_text" jsonschema_description:"what thin foil does at each tooth and supporting cusp, in words"`
	Mounting  Mounting     `json:"mounting" jsonschema_description:"whether the mounting can be trusted"`
}

// CentricTooth is how near a tooth comes to the opposing arch in centric.
type CentricTooth struct {
	Tooth Part              `json:"tooth"`
	GapUm float64           `json:"gap_um"`
	Class HoldClass         `json:"class" jsonschema:"enum=holds,enum=light_drag,enum=undecided,enum=passes" jsonschema_description:"what thin foil would do, as far as the scans can tell"`
	Foil  map[string]string `json:"foil" jsonschema_description:"holds or free, by foil thickness in micrometres"`
}

// HoldClass is what a foil would do between a tooth and its opponents.
type HoldClass string

// The classes. Undecided is a tooth that the casts show to be just out of
// contact, by no more than the scans can tell.
const (
	ClassHolds     HoldClass = "holds"
	ClassDrags     HoldClass = "light_drag"
	ClassUndecided HoldClass = "undecided"
	ClassPasses    HoldClass = "passes"
)

// Stop is a place where labelled teeth touch when the casts are closed, within
// the thinnest foil of the case.
type Stop struct {
	Upper   Part     `json:"upper"`
	Lower   Part     `json:"lower"`
	Text    Sentence `json:"text" jsonschema_description:"what meets what"`
	PointMM Vec      `json:"point_mm" jsonschema_description:"where the gap is least, on the upper surface"`
	OnUpper StopSite `json:"on_upper" jsonschema_description:"where it lies on the upper tooth and how it loads it"`
	OnLower StopSite `json:"on_lower" jsonschema_description:"where it lies on the lower tooth and how it loads it"`
	// Across and Along are known for back teeth only.
	Across Across   `json:"across" jsonschema:"enum=A,enum=B,enum=C,enum=" jsonschema_description:"kind of contact across the tooth; empty for front teeth and for contacts that face neither cheek nor tongue"`
	Along  Along    `json:"along" jsonschema:"enum=closure_stopper,enum=equaliser,enum=" jsonschema_description:"kind of contact along the arch; empty for front teeth and for contacts that face neither mesial nor distal"`
	Stable bool     `json:"stable"`
	Reason Sentence `json:"reason" jsonschema_description:"why it is stable or not"`
}

// StopSite is one tooth's side of a stop.
type StopSite struct {
	Feature string `json:"feature" jsonschema_description:"cusp, fossa, ridge, edge or groove; empty for the outer faces"`
	Beside  string `json:"beside" jsonschema_description:"other feature on whose border it lies, within 0.3 mm; empty where there is none"`
	Incline string `json:"incline" jsonschema_description:"side of the cusp; empty on its tip and off cusps"`
	Toward  string `json:"toward" jsonschema_description:"fossa to which the side of the cusp goes down; empty where there is none"`
	Role    string `json:"role" jsonschema:"enum=supporting,enum=guiding,enum=" jsonschema_description:"what the cusp or edge is for"`
	// Load is a unit vector.
	Load       Vec     `json:"load" jsonschema_description:"direction in which the stop pushes the tooth: to mesial, to buccal, into the socket"`
	InclineDeg float64 `json:"incline_deg" jsonschema_description:"angle of that direction to the long axis"`
	Confidence float64 `json:"confidence" jsonschema_description:"of the landmark, 0 to 1; below about 0.5 its place follows more from the handbook than from the scan"`
}

// Across tells contacts across a back tooth apart: A between buccal cusps, B
// between the inner inclines of the upper lingual and the lower buccal cusp, C
// between lingual cusps (textbooks).
type Across string

// Along tells contacts along the arch apart: where the upper tooth faces distally
// and the lower one mesially, the contact stops the closure of the jaw, the
// reverse equalises that (textbooks).
type Along string

// The kinds of contact.
const (
	ContactA Across = "A"
	ContactB Across = "B"
	ContactC Across = "C"

	ClosureStopper Along = "closure_stopper"
	Equaliser      Along = "equaliser"
)

// ToothStops is how the stops hold one tooth.
type ToothStops struct {
	Tooth Part     `json:"tooth"`
	Text  Sentence `json:"text" jsonschema_description:"the same in words"`
	Stops int      `json:"stops" jsonschema_description:"how many"`
	// Load is not of unit length: each stop adds a unit vector.
	Load       Vec      `json:"load" jsonschema_description:"sum of the directions in which the stops push the tooth, each of length 1: to mesial, to buccal, into the socket"`
	AxialShare *float64 `json:"axial_share" jsonschema_description:"share of that sum along the long axis, the cosine of its angle to it; null without stops"`
	Axial      *bool    `json:"axial" jsonschema_description:"it is at least axial_share of the case; null without stops"`
	// Across is the letters of the contacts of a back tooth.
	Across       string `json:"across" jsonschema_description:"kinds of contact across a back tooth, such as AB"`
	AcrossStable *bool  `json:"across_stable" jsonschema_description:"there is a B contact and an A or C contact against it (textbooks); null for front teeth and without stops"`
	Stoppers     int    `json:"closure_stoppers" jsonschema_description:"how many stops are closure stoppers"`
	Equalisers   int    `json:"equalisers" jsonschema_description:"how many are equalisers"`
	// Cusps are the supporting cusps of back teeth.
	Cusps []CuspStops `json:"cusps" jsonschema_description:"the supporting cusps of a back tooth"`
}

// CuspStops is how one supporting cusp is held.
type CuspStops struct {
	Cusp       string   `json:"cusp"`
	Stops      int      `json:"stops" jsonschema_description:"how many"`
	Points     Points   `json:"points" jsonschema:"enum=none,enum=single,enum=two_point,enum=tripod,enum=one_sided" jsonschema_description:"how they stand around the cusp: three or more that push towards each other from all sides are a tripod, else one-sided"`
	AxialShare *float64 `json:"axial_share" jsonschema_description:"share of the sum of their directions along the long axis of the tooth; null without stops"`
	// GapUm and Class are what a narrow strip of foil over this cusp alone finds.
	GapUm *float64   `json:"gap_um" jsonschema_description:"least gap of the surface within 1.5 mm of the tip, which a narrow strip of foil tries; null where the tip has none"`
	Class *HoldClass `json:"class" jsonschema:"enum=holds,enum=light_drag,enum=undecided,enum=passes" jsonschema_description:"what the strip would do, as far as the scans can tell; null where the tip has no surface"`
}

// Points is how the stops of a cusp stand around it.
type Points string

// The ways to stand.
const (
	NoPoint  Points = "none"
	Single   Points = "single"
	TwoPoint Points = "two_point"
	Tripod   Points = "tripod"
	OneSided Points = "one_sided"
)
