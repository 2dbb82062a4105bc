package occlusion

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Support is how a tooth gives in its socket, along its axis and across it: softly
// up to the end of the free phase, then firmly. Stiffnesses are N/mm, free phases
// mm.
type Support struct {
	AxialSoft   float64 `json:"axial_soft_n_per_mm"`
	AxialFirm   float64 `json:"axial_firm_n_per_mm"`
	AxialFree   float64 `json:"axial_free_mm"`
	LateralSoft float64 `json:"lateral_soft_n_per_mm"`
	LateralFirm float64 `json:"lateral_firm_n_per_mm"`
	LateralFree float64 `json:"lateral_free_mm"`
	AxialFrom   string  `json:"axial_from" jsonschema_description:"source and status of the axial values"`
	LateralFrom string  `json:"lateral_from" jsonschema_description:"source and status of the lateral values"`
}

// Where the values come from. Measured are the end of the free phase and the
// ranges of the displacements; how they spread over the types of teeth is our
// choice within these ranges, after the areas of the roots.
const (
	axialFrom   = "free phase to 3 to 4 N (Picton 1963, Arch Oral Biol 8:109-118); 10 to 30 µm in it, 25 to 100 µm under bite (Parfitt 1960 and textbooks, from memory); by tooth type: our choice in these ranges"
	lateralFrom = "crown mobility of 50 to 150 µm at 5 N (Mühlemann 1960, from memory); by tooth type and phase: our choice in this range"
)

// axialFreeForce is the force, in N, at the end of the axial free phase, and
// lateralFreeForce that of the lateral one.
const (
	axialFreeForce   = 3.5
	lateralFreeForce = 1.0
)

// DefaultSupport is the support of a healthy tooth of a type.
func DefaultSupport(t dentition.Type) Support {
	// Displacement in the axial free phase, firm axial stiffness, lateral
	// displacement at 1 N and at 5 N.
	free, firm, one, five := 0.015, 1500.0, 0.025, 0.05
	switch {
	case t.Incisor():
		free, firm, one, five = 0.028, 600, 0.07, 0.13
	case t == dentition.Canine:
		free, firm, one, five = 0.022, 900, 0.05, 0.09
	case t.Premolar():
		free, firm, one, five = 0.02, 900, 0.045, 0.085
	}
	return Support{
		AxialSoft: axialFreeForce / free, AxialFirm: firm, AxialFree: free,
		LateralSoft: lateralFreeForce / one, LateralFirm: (5 - lateralFreeForce) / (five - one), LateralFree: one,
		AxialFrom: axialFrom, LateralFrom: lateralFrom,
	}
}

// soft and firm stiffness and free phase of the three axes of a tooth, the long
// one first.
func (s *Support) axes() [3][3]float64 {
	l := [3]float64{s.LateralSoft, s.LateralFirm, s.LateralFree}
	return [3][3]float64{{s.AxialSoft, s.AxialFirm, s.AxialFree}, l, l}
}
