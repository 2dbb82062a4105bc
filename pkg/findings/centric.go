package findings

// Centric is the casts closed on the hinge, with the condyles in their closed position.
type Centric struct {
	// opening at first touch; above 0 a premature spot or overlap holds the casts open
	OpeningDeg float64 `json:"opening_deg"`
	// position of the lower arch: the rigid motion, mm, that takes a point of the closed lower
	// arch to where it is
	Pose Pose `json:"pose"`
	// contacts at every foil of the case
	Contacts []Contact `json:"contacts"`
	// the pairs of teeth in the order in which they meet as the examined casts close: up to 28,
	// down to a millimetre of closing; empty without labels on both arches
	Staircase []Step `json:"staircase"`
	// premature contacts of the given relation, the highest first, like the findings of movements
	Findings []Finding `json:"findings"`
	// how near every labelled tooth comes to the opposing arch
	Teeth []CentricTooth `json:"teeth"`
	// centric stops: where labelled teeth touch within the thinnest foil; empty without labels on
	// both arches
	Stops []Stop `json:"stops"`
	// how the stops hold each labelled tooth; empty without labels on both arches
	Support []ToothStops `json:"support"`
	// the stops in words
	StopsText Sentence `json:"stops_text"`
	// what thin foil does at each tooth and supporting cusp, in words
	FoilText Sentence `json:"foil_text"`
	// whether the mounting can be trusted
	Mounting Mounting `json:"mounting"`
}

// CentricTooth is how near a tooth comes to the opposing arch in centric.
type CentricTooth struct {
	// the tooth; null for an arch without labels
	Tooth Part `json:"tooth"`
	// exact least distance of the surfaces, 0 where they cross
	GapUm float64 `json:"gap_um"`
	// what thin foil would do by the thresholds of the case: `holds` up to `holds_um`,
	// `light_drag` up to `drags_um`, `undecided` up to `scan_doubt_um` beyond that, where the
	// scans cannot tell, else `passes`. What touches on the casts counts as held: closed casts
	// meet somewhere
	Class HoldClass `json:"class"`
	// `holds` or `free`, by foil thickness in micrometres
	Foil map[Foil]FoilResult `json:"foil"`
	// share of the samples in which the tooth holds foil (a gap up to `holds_um`); null where none
	// were taken
	HoldsShare *float64 `json:"holds_share"`
}

// FoilResult says whether a tooth comes within the thickness of a foil.
type FoilResult string

// The results.
const (
	FoilHolds FoilResult = "holds"
	FoilFree  FoilResult = "free"
)

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
	// the upper tooth
	Upper Part `json:"upper"`
	// the lower tooth
	Lower Part `json:"lower"`
	// what meets what
	Text Sentence `json:"text"`
	// where the gap is least, on the upper surface
	PointMM Vec `json:"point_mm"`
	// where it lies on the upper tooth and how it loads it
	OnUpper StopSite `json:"on_upper"`
	// where it lies on the lower tooth and how it loads it
	OnLower StopSite `json:"on_lower"`
	// kind of contact across a posterior tooth: `A` between buccal cusps, `B` between the inner
	// inclines of the upper lingual and the lower buccal cusp, `C` between lingual cusps
	// (textbooks); empty for anterior teeth and where it faces neither cheek nor tongue by
	// `facing_deg`
	Across Across `json:"across" jsonschema:"enum=A,enum=B,enum=C,enum="`
	// kind of contact along the arch: `closure_stopper` where the upper tooth faces distally and
	// the lower one mesially by `facing_deg`, `equaliser` the reverse (textbooks); empty for
	// anterior teeth and for neither
	Along Along `json:"along" jsonschema:"enum=closure_stopper,enum=equaliser,enum="`
	// position and incline are stable
	Stable bool `json:"stable"`
	// why it is stable or not
	Reason Sentence `json:"reason"`
}

// StopSite is one tooth's side of a stop.
type StopSite struct {
	// cusp, fossa, ridge, edge or groove, in words; empty for the outer faces
	Feature string `json:"feature"`
	// the other feature on whose border it lies, as far as landmarks can tell (within 0.3 mm);
	// empty where there is none
	Beside string `json:"beside"`
	// side of the cusp; empty on its tip and off cusps
	Incline string `json:"incline"`
	// fossa to which that side goes down; empty where there is none
	Toward string `json:"toward"`
	// what the cusp or edge is for; empty for neither
	Role string `json:"role" jsonschema:"enum=supporting,enum=guiding,enum="`
	// unit vector in which the stop pushes the tooth: to mesial, to buccal, into the socket
	Load Vec `json:"load"`
	// angle of that direction to the long axis
	InclineDeg float64 `json:"incline_deg"`
	// confidence of the landmark, 0 to 1; below about 0.5 its place follows more from the handbook
	// than from the scan
	Confidence float64 `json:"confidence"`
}

// Across tells contacts across a posterior tooth apart: A between buccal cusps, B
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
	// the tooth
	Tooth Part `json:"tooth"`
	// the same in words
	Text Sentence `json:"text"`
	// how many stops it has
	Stops int `json:"stops"`
	// sum of the unit vectors in which the stops push the tooth: to mesial, to buccal, into the
	// socket
	Load Vec `json:"load"`
	// share of that sum along the long axis, the cosine of its angle to it; null without stops
	AxialShare *float64 `json:"axial_share"`
	// that share is at least `axial_share` of the case; null without stops
	Axial *bool `json:"axial"`
	// kinds of contact across a posterior tooth, such as `AB`; empty for none
	Across string `json:"across"`
	// there is a B contact and an A or C contact against it (textbooks); null for anterior teeth
	// and without stops
	AcrossStable *bool `json:"across_stable"`
	// how many stops are closure stoppers
	Stoppers int `json:"closure_stoppers"`
	// how many stops are equalisers
	Equalisers int `json:"equalisers"`
	// the supporting cusps of a posterior tooth
	Cusps []CuspStops `json:"cusps"`
}

// CuspStops is how one supporting cusp is held.
type CuspStops struct {
	// the supporting cusp
	Cusp string `json:"cusp"`
	// how many on this cusp
	Stops int `json:"stops"`
	// how they stand around the cusp: `tripod` are three or more that push towards each other from
	// all sides, `one_sided` three or more that do not
	Points Points `json:"points"`
	// share of the sum of their directions along the long axis of the tooth; null without stops
	AxialShare *float64 `json:"axial_share"`
	// least gap of the surface within 1.5 mm of the tip, which a narrow strip of foil tries; null
	// where the tip has no surface
	GapUm *float64 `json:"gap_um"`
	// what the strip would do, in the classes of whole teeth; null where the tip has no surface
	Class *HoldClass `json:"class"`
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
