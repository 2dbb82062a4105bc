package casefile

// Thresholds are the borders by which the examination judges what it measures.
// Where no source is named, a border is our choice; so are the possible ranges.
type Thresholds struct {
	// ScanDoubtUm is the standard deviation of a gap between the two scans as
	// they stand (µm).
	//
	// Default: model scans of 15 each and a registration of 30, root-sum-square;
	// intraoral scans of 25 each and a registration of 50 give 61. Usual: from the
	// best laboratory scanners (0 to 25: PMC8303663, PMC10812911) to bite scans
	// with more than 50 at the most (Kakali & Halazonetis 2023, Korean J Orthod
	// 53:254), doubled.
	ScanDoubtUm float64 `json:"scan_doubt_um" jsonschema:"minimum=0,maximum=1000" usual:"15,100" jsonschema_description:"standard deviation of a gap between the two scans (µm)"`
	// HoldsUm and DragsUm are the gaps up to which foil is held and drags lightly
	// (µm), DragsUm not below HoldsUm.
	//
	// Default: foil of 8 µm (Harper & Setchell 2002, Int J Prosthodont 15:347).
	// Usual: with foils of 8 to 12 µm.
	HoldsUm float64 `json:"holds_um" jsonschema:"minimum=0,maximum=200" usual:"4,12" jsonschema_description:"gap up to which foil is held (µm)"`
	DragsUm float64 `json:"drags_um" jsonschema:"minimum=0,maximum=200" usual:"6,16" jsonschema_description:"gap up to which foil drags lightly (µm)"`
	// StableInclineDeg is the incline up to which a stop by itself loads a tooth
	// along its axis (degrees).
	//
	// Default: where the slopes of unworn cusps begin, 30 to 45; worn ones have 10
	// to 25 (handbooks).
	StableInclineDeg float64 `json:"stable_incline_deg" jsonschema:"minimum=0,maximum=90" usual:"15,45" jsonschema_description:"incline up to which a stop by itself loads a tooth along its axis (degrees)"`
	// AxialShare is the share of the sum of a tooth's contact directions along its
	// axis from which the tooth counts as loaded along it, 0 to 1.
	//
	// Default: an angle of 26°, the 20 of effective cusp angles (Hobo & Takayama,
	// from memory) and what the axis of a crown may be off.
	AxialShare float64 `json:"axial_share" jsonschema:"minimum=0,maximum=1" usual:"0.7,0.98" jsonschema_description:"share of the sum of the contact directions along the axis from which a tooth counts as loaded along it"`
	// FacingDeg is the turn of a contact to mesial or distal from which it counts
	// as facing there: as closure stopper or equaliser (degrees).
	FacingDeg float64 `json:"facing_deg" jsonschema:"minimum=0,maximum=90" usual:"2,20" jsonschema_description:"turn of a contact to mesial or distal from which it faces there (degrees)"`
	// TouchUm is the gap up to which teeth count as touching in a movement (µm);
	// the thickest foil of the case up to it is used.
	//
	// Default: marking paper of 40 µm. Usual: as the foils of the case.
	TouchUm float64 `json:"touch_um" jsonschema:"exclusiveMinimum=0,maximum=1000" usual:"8,200" jsonschema_description:"gap up to which teeth count as touching in a movement (µm)"`
	// BegunMM is the travel from which a movement has left the stops of the
	// closing in intercuspation behind (mm); back teeth that are clear by then part at once.
	BegunMM float64 `json:"begun_mm" jsonschema:"minimum=0,maximum=5" usual:"0.1,1" jsonschema_description:"travel from which a movement has left the stops of the closing behind (mm)"`
	// LateMM is the travel by which back teeth should be clear to stay (mm).
	//
	// Default and usual: full disclusion in canine-guided persons was seen within 2
	// to 4 (Narang et al. 2012, Indian J Dent Res 23:814).
	LateMM float64 `json:"late_mm" jsonschema:"minimum=0,maximum=20" usual:"2,4" jsonschema_description:"travel by which back teeth should be clear to stay (mm)"`
	// KinkDeg is the change of the incisal path's inclination from one sample to
	// the next that counts as a kink (degrees).
	KinkDeg float64 `json:"kink_deg" jsonschema:"minimum=0,maximum=90" usual:"5,30" jsonschema_description:"change of the incisal path's inclination that counts as a kink (degrees)"`
	// JumpMM is the change of the incisal point's height, beyond what the
	// neighbouring slopes explain, that counts as a jump (mm).
	JumpMM float64 `json:"jump_mm" jsonschema:"minimum=0,maximum=5" usual:"0.05,0.5" jsonschema_description:"leap of the incisal point that counts as a jump (mm)"`
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
