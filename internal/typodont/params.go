// Package typodont makes synthetic pairs of dental arches with known truth (a
// typodont is the trade's word for a model set of teeth): every cusp, fossa,
// stop, guiding surface and disturbance is known from the construction.
//
// Crowns are implicit functions built from cusps, ridges, fossae and grooves on
// handbook sizes. They stand on catenary arches on Monson's sphere in a
// scalloped gingiva. The upper arch is carved by the lower one in intercuspation and along
// its movements, so that centric stops touch, the canines and incisors guide,
// and everything else clears. The surface is a function of position: a finer
// mesh converges to it.
//
// Lengths are mm. All points are in the articulator frame (DEVELOPERS.md), in
// which the casts are written; the average mounting leads to it exactly.
// Persons and names in cases made here are invented.
package typodont

import (
	"errors"
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/golang/geo/s1"
)

// ErrParams says that a parameter is outside its range.
var ErrParams = errors.New("typodont: parameter out of range")

// Params say what to make. The zero value gives the default of every field.
type Params struct {
	// Triangles is about how many triangles each arch gets: 20 000 to
	// 1 000 000, default 50 000.
	Triangles int
	// ThirdMolars adds the four third molars.
	ThirdMolars bool
	// Overjet is how far the upper incisal edges stand in front of the lower
	// ones (mm, 2 to 3, default 2.4), Overbite how far they reach below them (2.4
	// to 3.6, default 2.8). Not every pair fits: a deep bite needs overjet.
	Overjet, Overbite float64
	// Intercondylar is the distance of the condylar centres (mm, default 110),
	// CondyleToIncisal the side of the Bonwill triangle (default 105), Balkwill
	// its angle to the occlusal plane (default 22°).
	Intercondylar, CondyleToIncisal float64
	Balkwill                        s1.Angle
	// CondylarInclination (default 33°) and SideShiftAngle (default 10°) are the
	// condylar settings, both sides alike, paths straight, no immediate side
	// shift.
	CondylarInclination, SideShiftAngle s1.Angle
	// CanineGuidance (default 48°) is the slope of the lower canine's way in
	// its own excursion, seen from in front; IncisalGuidance that of the incisal
	// point's in protrusion, seen from the side (default atan of overbite by
	// overjet). Both against the horizontal plane.
	CanineGuidance, IncisalGuidance s1.Angle
	// Disturbances are applied to the finished pair, in order.
	Disturbances []Disturbance
	// Seed starts everything random (scan noise); the same seed gives the same
	// bytes.
	Seed uint64
	// Name is the case's name; default "Invented person".
	Name string
	// Travel is how far the excursions of the case go (mm), default that of cases.
	// Record and Restore are what it says about the mouth and about teeth to be
	// restored.
	Travel  float64
	Record  *casefile.Record
	Restore []dentition.ToothID
	// Trial is the steps of a trial treatment that the case file names.
	Trial []casefile.TrialStep
}

// withDefaults fills in defaults and checks ranges.
func (p Params) withDefaults() (Params, error) {
	def := func(v *float64, d float64) {
		if *v == 0 {
			*v = d
		}
	}
	angle := func(v *s1.Angle, degrees float64) {
		if *v == 0 {
			*v = s1.Angle(degrees) * s1.Degree
		}
	}
	if p.Triangles == 0 {
		p.Triangles = 50000
	}
	def(&p.Overjet, 2.4)
	def(&p.Overbite, 2.8)
	def(&p.Intercondylar, 110)
	def(&p.CondyleToIncisal, 105)
	angle(&p.Balkwill, 22)
	angle(&p.CondylarInclination, 33)
	angle(&p.SideShiftAngle, 10)
	angle(&p.CanineGuidance, 48)
	angle(&p.IncisalGuidance, math.Atan2(p.Overbite, p.Overjet)*180/math.Pi)
	if p.Name == "" {
		p.Name = "Invented person"
	}
	if p.Triangles < 20000 || p.Triangles > 1000000 {
		return p, fmt.Errorf("%w: %d triangles, must be 20000 to 1000000", ErrParams, p.Triangles)
	}
	for _, c := range []struct {
		name      string
		v, lo, hi float64
		unit      string
	}{
		{"overjet", p.Overjet, 2, 3, "mm"},
		{"overbite", p.Overbite, 2.4, 3.6, "mm"},
		{"intercondylar distance", p.Intercondylar, 90, 140, "mm"},
		{"condyle to incisal point", p.CondyleToIncisal, 90, 130, "mm"},
		{"Balkwill angle", p.Balkwill.Degrees(), 10, 35, "°"},
		{"condylar inclination", p.CondylarInclination.Degrees(), 25, 60, "°"},
		{"side shift angle", p.SideShiftAngle.Degrees(), 0, 20, "°"},
		{"canine guidance", p.CanineGuidance.Degrees(), 38, 60, "°"},
		{"incisal guidance", p.IncisalGuidance.Degrees(), 38, 62, "°"},
	} {
		if !(c.v >= c.lo && c.v <= c.hi) {
			return p, fmt.Errorf("%w: %s is %.6g %s, must be %g to %g", ErrParams, c.name, c.v, c.unit, c.lo, c.hi)
		}
	}
	places := 7
	if p.ThirdMolars {
		places = 8
	}
	list := make([]Disturbance, len(p.Disturbances))
	for i, d := range p.Disturbances {
		var err error
		if list[i], err = d.withDefaults(places); err != nil {
			return p, err
		}
	}
	p.Disturbances = list
	return p, nil
}
