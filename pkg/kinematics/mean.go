package kinematics

import (
	"math"

	"github.com/golang/geo/s1"
)

// Mean values for a mounting without measurements of the person. Single
// persons differ from them by more than any tooth shows: vary them by the given
// ranges before a finding is believed.
const (
	// MeanCondyleToIncisal is the side of the Bonwill triangle, from a condylar
	// centre to the lower incisal point (mm): the Central European teaching
	// value (glossary of the Swiss society SSO, "Bonwill-Dreieck"). Bonwill gave
	// 4 in = 101.6 in 1858; 40 dry mandibles measure 97.8 and 98.6 on average.
	MeanCondyleToIncisal = 105.0
	// MeanBalkwill is the angle between the occlusal plane and the plane of the
	// Bonwill triangle. Mean mountings use 17° to 25° (Morneburg and Pröschel
	// 2002, Int J Prosthodont 15:358), Balkwill measured 22° to 30°, on average
	// about 26° (1866), later averages are 20° to 22° (both from memory).
	MeanBalkwill s1.Angle = 22 * s1.Degree
	// MeanIntercondylar is the distance of the condylar centres (mm) that
	// semi-adjustable articulators take as average: common practice, no source.
	// Dry mandibles measure 93 to 101.
	MeanIntercondylar = 110.0
	// MeanCondylarInclination is the mean sagittal condylar inclination to
	// Camper's plane; to the Frankfort plane it is 40° to 45° (Thieme,
	// "Unterkieferbewegungen in der Sagittalebene"). 103 persons measured with
	// tracing styli have 31.5° and 32°; persons spread by about 12°.
	MeanCondylarInclination s1.Angle = 33 * s1.Degree
	// MeanSideShift is the progressive side shift (Bennett) angle: our choice
	// between measured means of 7.3° to 9° (47 persons, IADR abstract
	// 13iags-177411) and the 15° of textbooks, which give 7° to 30°.
	MeanSideShift s1.Angle = 10 * s1.Degree
	// MeanShiftTravel is the forward travel (mm) over which an immediate side
	// shift is reached: our choice. The mean immediate side shift is none.
	MeanShiftTravel = 0.5
)

// MeanSettings are the condylar settings of the mean values: straight paths,
// both sides alike, no immediate side shift.
func MeanSettings() Settings {
	sin, cos := math.Sincos(MeanCondylarInclination.Radians())
	side := Side{Path: straight{cos, sin}, SideShiftAngle: MeanSideShift, ShiftTravel: MeanShiftTravel}
	return Settings{Intercondylar: MeanIntercondylar, Right: side, Left: side}
}
