package casefile

// Thresholds are the borders by which the examination judges what it measures.
// Where no source is named, a border is our choice; so are the possible ranges.
type Thresholds struct {
	// scan uncertainty: standard deviation of a gap between the two scans as they stand; a gap by
	// so much above the border of the foil is undecided
	//
	// Source: default: root-sum-square of two model scans of 15 and a registration of 30; for
	// intraoral scans (25, 25, 50) take 61.2; usual: from the best laboratory scanners (0 to 25:
	// PMC8303663, PMC10812911) to twice the 50 of bite scans (Kakali & Halazonetis 2023, Korean J
	// Orthod 53:254); possible: our choice
	ScanDoubtUm float64 `json:"scan_doubt_um" jsonschema:"minimum=0,maximum=1000" usual:"15,100"`
	// gap up to which foil is held
	//
	// Source: Harper & Setchell 2002, Int J Prosthodont 15:347 (foil of 8); usual (foils of 8 to
	// 12), possible: our choice
	HoldsUm float64 `json:"holds_um" jsonschema:"minimum=0,maximum=200" usual:"4,12"`
	// gap up to which foil drags lightly, not below `holds_um`; beyond, it passes
	//
	// Source: as of `holds_um`
	DragsUm float64 `json:"drags_um" jsonschema:"minimum=0,maximum=200" usual:"6,16"`
	// incline up to which a stop by itself loads a tooth along its axis
	//
	// Source: slopes of unworn cusps 30 to 45, of worn ones 10 to 25 (handbooks); the border: our
	// choice
	StableInclineDeg float64 `json:"stable_incline_deg" jsonschema:"minimum=0,maximum=90" usual:"15,45"`
	// share of the sum of a tooth's contact directions along its axis from which it counts as
	// loaded along it
	//
	// Source: our choice: an angle of 26°, the effective cusp angle of 20 (Hobo & Takayama, from
	// memory) and what the axis of a crown may be off
	AxialShare float64 `json:"axial_share" jsonschema:"minimum=0,maximum=1" usual:"0.7,0.98"`
	// turn of a contact to mesial or distal from which it faces there, as closure stopper or
	// equaliser
	//
	// Source: our choice
	FacingDeg float64 `json:"facing_deg" jsonschema:"minimum=0,maximum=90" usual:"2,20"`
	// gap up to which teeth count as touching in a movement; the thickest of `foils_um` up to it
	// is used, or the thinnest
	//
	// Source: marking paper: Brizuela-Velasco et al. 2015, Int J Prosthodont 28:360; the border:
	// our choice
	TouchUm float64 `json:"touch_um" jsonschema:"exclusiveMinimum=0,maximum=1000" usual:"8,200"`
	// travel from which a movement has left the centric stops behind; posterior teeth that are
	// clear by then disocclude at once
	//
	// Source: our choice
	BegunMM float64 `json:"begun_mm" jsonschema:"minimum=0,maximum=5" usual:"0.1,1"`
	// travel by which posterior teeth should be clear to stay
	//
	// Source: within 2 to 4 in canine-guided persons: Narang et al. 2012, Indian J Dent Res
	// 23:814; possible: our choice
	LateMM float64 `json:"late_mm" jsonschema:"minimum=0,maximum=20" usual:"2,4"`
	// change of the incisal path's inclination from one sample to the next that counts as a kink
	//
	// Source: our choice
	KinkDeg float64 `json:"kink_deg" jsonschema:"minimum=0,maximum=90" usual:"5,30"`
	// leap of the incisal point, beyond what the slopes on both sides explain, that counts as a
	// jump
	//
	// Source: our choice
	JumpMM float64 `json:"jump_mm" jsonschema:"minimum=0,maximum=5" usual:"0.05,0.5"`
}

// DefaultThresholds are the borders of a case that names none.
func DefaultThresholds() Thresholds {
	return Thresholds{
		ScanDoubtUm: 36.7, HoldsUm: 6, DragsUm: 8,
		StableInclineDeg: 30, AxialShare: 0.9, FacingDeg: 5,
		TouchUm: 40, BegunMM: 0.3, LateMM: 3, KinkDeg: 10, JumpMM: 0.1,
	}
}

// thresholds checks the borders against each other.
func (k *checker) thresholds(t *Thresholds) {
	if t.DragsUm < t.HoldsUm {
		k.fault("thresholds.drags_um", ErrConflict, "%g µm, must be at least holds_um, %g µm", t.DragsUm, t.HoldsUm)
	}
}
