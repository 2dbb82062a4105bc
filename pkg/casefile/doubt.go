package casefile

// Doubt says how far what an examination rests on may be wrong: standard deviations of
// normal distributions. What is left out follows from how the case was made: by mean values,
// by a record, by hand. It feeds the probabilities of the findings.
type Doubt struct {
	// condylar inclination of each side; the sides go together with a correlation of 0.7
	//
	// Default: 8.5 with mean values; 2 on a side with a recorded path; say 5 for a protrusive
	// record
	//
	// Source: persons: 41.9 with 8.5 right and 9.2 left (n 32, J Prosthodont 2013, "Sagittal
	// condylar angle and gender"); the correlation is fitted to 36 % of persons with more than 6
	// between the sides (13iags-177411); protrusive record: Donegan & Christensen 1991, from memory;
	// tracing, possible: our choice
	CondylarInclinationDeg *float64 `json:"condylar_inclination_deg,omitempty" jsonschema:"minimum=0,maximum=30" usual:"1,12"`
	// side shift angle of each side, never below 0; the sides go together with a correlation of
	// 0.1
	//
	// Default: 4
	//
	// Source: 26 % of persons have more than 6 between the sides (13iags-177411), from which the
	// correlation; possible: our choice
	SideShiftAngleDeg *float64 `json:"side_shift_angle_deg,omitempty" jsonschema:"minimum=0,maximum=15" usual:"1,8"`
	// immediate side shift of each side, never below 0: where the setting is 0, half of the
	// samples have none
	//
	// Default: 0.3
	//
	// Source: Taylor et al. 2016, J Prosthet Dent (23 studies); the shape: our choice
	ImmediateSideShiftMM *float64 `json:"immediate_side_shift_mm,omitempty" jsonschema:"minimum=0,maximum=2" usual:"0.1,1"`
	// distance of the condylar centres
	//
	// Default: 6; 3 with a recorded axis
	//
	// Source: dry mandibles 93.4 to 97.4 against the instruments' 110 (Kochenborger et al.); the
	// size, possible: our choice
	IntercondylarMM *float64 `json:"intercondylar_mm,omitempty" jsonschema:"minimum=0,maximum=20" usual:"1,10"`
	// hinge axis, in each direction of the sagittal plane
	//
	// Default: 5; 1 with a recorded axis
	//
	// Source: error of arbitrary axes that the studies quote; located axis: our choice
	AxisMM *float64 `json:"axis_mm,omitempty" jsonschema:"minimum=0,maximum=15" usual:"0.5,8"`
	// tilt of the casts to the plane of the condylar settings
	//
	// Default: 3
	//
	// Source: facebows, 2 to 6.5 too flat on the average: O'Malley & Milosevic 2000, Br J Oral
	// Maxillofac Surg 38:185; the bias is left out; possible: our choice
	PlaneDeg *float64 `json:"plane_deg,omitempty" jsonschema:"minimum=0,maximum=15" usual:"1,6"`
	// shift, in each direction, of the two scans to each other
	//
	// Default: 25, times `settle.doubt_um` over its default of 150: casts put together by hand
	// carry more
	//
	// Source: median 20 to 42: J Oral Sci 2024;66:111; possible: our choice
	RegistrationUm *float64 `json:"registration_um,omitempty" jsonschema:"minimum=0,maximum=1000" usual:"10,100"`
	// turn of the two scans to each other, about the long and about the transverse axis of the
	// body
	//
	// Default: 0.08, times the same
	//
	// Source: Kakali & Halazonetis 2023, Korean J Orthod 53:254; possible: our choice
	RegistrationDeg *float64 `json:"registration_deg,omitempty" jsonschema:"minimum=0,maximum=2" usual:"0.03,0.3"`
	// distortion of the upper scan: average shift of the one end of the arch where scans are
	// aligned at the other
	//
	// Default: 178
	//
	// Source: scans of whole arches 122 to 287 in vitro, 305 in vivo, casts from impressions 174
	// to 257: BMC Oral Health 2020, 10.1186/s12903-020-01090-x; possible: our choice
	UpperDriftUm *float64 `json:"upper_drift_um,omitempty" jsonschema:"minimum=0,maximum=1000" usual:"20,400"`
	// distortion of the lower scan
	//
	// Default: 178
	//
	// Source: as of `upper_drift_um`
	LowerDriftUm *float64 `json:"lower_drift_um,omitempty" jsonschema:"minimum=0,maximum=1000" usual:"20,400"`
	// shift, to the side and along the arch, of the force that presses the casts together: a force
	// off the middle lets them rock to that side
	//
	// Default: 5
	//
	// Source: our choice
	PressMM *float64 `json:"press_mm,omitempty" jsonschema:"minimum=0,maximum=20" usual:"1,10"`
	// number that tells one draw of samples from another, whole and not below 0; runs that are
	// compared keep the same
	//
	// Default: 0
	Seed float64 `json:"seed,omitempty" jsonschema:"minimum=0,maximum=1000000"`
}
