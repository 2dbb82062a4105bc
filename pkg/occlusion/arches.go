package occlusion

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

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

// measureArches measures two arches; nil where neither is labelled.
func measureArches(casts *Casts) *Arches {
	if casts.Upper.Teeth == nil && casts.Lower.Teeth == nil {
		return nil
	}
	upper, lower := casts.Upper.Landmarks, casts.Lower.Landmarks
	a := &Arches{Widths: []ArchWidth{}, Incisors: []ArchOverlap{}, Spee: []ArchDepth{}, Molars: []ArchMolars{}}
	for _, l := range [2][]anatomy.Landmark{upper, lower} {
		for _, w := range anatomy.Widths(l) {
			a.Widths = append(a.Widths, ArchWidth{Part(w.Right), Part(w.Left), w.Feature.String(), w.MM})
		}
	}
	if plane, ok := anatomy.NewOcclusalPlane(lower, r3.Vec{Z: 1}); ok {
		for _, x := range plane.Overlaps(upper, lower) {
			a.Incisors = append(a.Incisors, ArchOverlap{Part(x.Upper), Part(x.Lower), x.Overjet, x.Overbite})
		}
		for _, d := range plane.Spee(lower) {
			a.Spee = append(a.Spee, ArchDepth{d.Side.String(), Part(d.Tooth), d.Feature.String(), d.MM})
		}
		for _, m := range plane.MolarRelations(upper, lower) {
			a.Molars = append(a.Molars, ArchMolars{m.Side.String(), Part(m.Upper), Part(m.Lower), m.MM, m.Class()})
		}
	}
	if s, ok := anatomy.CuspSphere(lower); ok {
		a.Sphere = &ArchSphere{s.Radius, vec(s.Centre), s.RMS, s.Points}
	}
	a.Text = a.describe()
	return a
}

// described are the widths that the text gives: across canines and first molars.
func described(t Part) bool {
	k := dentition.ToothID(t).Type()
	return k == dentition.Canine || k == dentition.FirstMolar
}

// describe tells the measurements in words.
func (a *Arches) describe() Sentence {
	var out, widths []Sentence
	for _, w := range a.Widths {
		if described(w.Right) {
			widths = append(widths, say("%s–%s %.1f mm", w.Right, w.Left, w.WidthMM))
		}
	}
	if len(widths) > 0 {
		out = append(out, say("Widths between cusp tips: %s.", list(", ", widths)))
	}
	for _, x := range a.Incisors {
		s := say("overbite %.1f mm", x.OverbiteMM)
		if x.OverbiteMM < 0 {
			s = say("open bite %.1f mm", -x.OverbiteMM)
		}
		out = append(out, say("%s: overjet %.1f mm, %s.", pairOf{x.Upper, x.Lower}, x.OverjetMM, s))
	}
	for _, d := range a.Spee {
		out = append(out, say("Curve of Spee %s %.1f mm deep (%s).", d.Side, d.DepthMM, d.Tooth))
	}
	switch s := a.Sphere; {
	case s == nil:
	case s.RadiusMM > flatMM:
		out = append(out, say("The lower cusps lie nearly in a plane (a sphere of more than %.0f mm).", flatMM))
	default:
		out = append(out, say("Sphere over the lower cusps: radius %.0f mm (cusps about %.2f mm off it).", s.RadiusMM, s.RMSMM))
	}
	for i := range a.Molars {
		out = append(out, a.Molars[i].describe())
	}
	if len(out) == 0 {
		return say("The labelled teeth show nothing to measure.")
	}
	return list(" ", out)
}

// flatMM is the radius of the sphere over the lower cusps from which on their table is
// called flat: far beyond the 60 to 140 mm of studies; our choice.
const flatMM = 500.0

// almostMM is how near to the border of a class the next class is named too: what a
// cusp and a groove may be off together; our choice.
const almostMM = 0.5

// describe tells a molar relation in words.
func (m *ArchMolars) describe() Sentence {
	class := m.Class
	if beyond := math.Abs(m.MesialMM) - anatomy.QuarterCusp; math.Abs(beyond) < almostMM {
		next := "I"
		switch {
		case m.Class != "I":
		case m.MesialMM > 0:
			next = "II"
		default:
			next = "III"
		}
		class += " (almost " + next + ")"
	}
	place := "at"
	switch {
	case m.MesialMM >= 0.05:
		place = fmt.Sprintf("%.1f mm in front of", m.MesialMM)
	case m.MesialMM <= -0.05:
		place = fmt.Sprintf("%.1f mm behind", -m.MesialMM)
	}
	return say("Molars %s: class %s, the mesiobuccal cusp of %s %s the buccal groove of %s.", m.Side, class, m.Upper, place, m.Lower)
}
