package measure

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"gonum.org/v1/gonum/spatial/r3"
)

// Arches measures two arches; nil where neither is labelled.
func Arches(casts *casts.Casts) *findings.Arches {
	if casts.Upper.Teeth == nil && casts.Lower.Teeth == nil {
		return nil
	}
	upper, lower := casts.Upper.Landmarks, casts.Lower.Landmarks
	a := &findings.Arches{Widths: []findings.ArchWidth{}, Incisors: []findings.ArchOverlap{}, Spee: []findings.ArchDepth{}, Molars: []findings.ArchMolars{}}
	for _, l := range [2][]anatomy.Landmark{upper, lower} {
		for _, w := range anatomy.Widths(l) {
			a.Widths = append(a.Widths, findings.ArchWidth{Right: findings.Part(w.Right), Left: findings.Part(w.Left), Landmark: w.Feature.String(), WidthMM: w.MM})
		}
	}
	if plane, ok := anatomy.NewOcclusalPlane(lower, r3.Vec{Z: 1}); ok {
		for _, x := range plane.Overlaps(upper, lower) {
			a.Incisors = append(a.Incisors, findings.ArchOverlap{Upper: findings.Part(x.Upper), Lower: findings.Part(x.Lower), OverjetMM: x.Overjet, OverbiteMM: x.Overbite})
		}
		for _, d := range plane.Spee(lower) {
			a.Spee = append(a.Spee, findings.ArchDepth{Side: d.Side.String(), Tooth: findings.Part(d.Tooth), Landmark: d.Feature.String(), DepthMM: d.MM})
		}
		for _, m := range plane.MolarRelations(upper, lower) {
			a.Molars = append(a.Molars, findings.ArchMolars{Side: m.Side.String(), Upper: findings.Part(m.Upper), Lower: findings.Part(m.Lower), MesialMM: m.MM, Class: m.Class()})
		}
	}
	if s, ok := anatomy.CuspSphere(lower); ok {
		a.Sphere = &findings.ArchSphere{RadiusMM: s.Radius, CentreMM: findings.VecOf(s.Centre), RMSMM: s.RMS, Cusps: s.Points}
	}
	a.Text = describeArches(a)
	return a
}

// described are the widths that the text gives: across canines and first molars.
func described(t findings.Part) bool {
	k := dentition.ToothID(t).Type()
	return k == dentition.Canine || k == dentition.FirstMolar
}

// describeArches tells the measurements in words.
func describeArches(a *findings.Arches) findings.Sentence {
	var out, widths []findings.Sentence
	for _, w := range a.Widths {
		if described(w.Right) {
			widths = append(widths, findings.Say("%s–%s %.1f mm", w.Right, w.Left, w.WidthMM))
		}
	}
	if len(widths) > 0 {
		out = append(out, findings.Say("Widths between cusp tips: %s.", findings.List(", ", widths)))
	}
	for _, x := range a.Incisors {
		s := findings.Say("overbite %.1f mm", x.OverbiteMM)
		if x.OverbiteMM < 0 {
			s = findings.Say("open bite %.1f mm", -x.OverbiteMM)
		}
		out = append(out, findings.Say("%s: overjet %.1f mm, %s.", findings.Pair{Upper: x.Upper, Lower: x.Lower}, x.OverjetMM, s))
	}
	for _, d := range a.Spee {
		out = append(out, findings.Say("Curve of Spee %s %.1f mm deep (%s).", d.Side, d.DepthMM, d.Tooth))
	}
	switch s := a.Sphere; {
	case s == nil:
	case s.RadiusMM > flatMM:
		out = append(out, findings.Say("The lower cusps lie nearly in a plane (a sphere of more than %.0f mm).", flatMM))
	default:
		out = append(out, findings.Say("Sphere over the lower cusps: radius %.0f mm (cusps about %.2f mm off it).", s.RadiusMM, s.RMSMM))
	}
	for i := range a.Molars {
		out = append(out, describeMolars(&a.Molars[i]))
	}
	if len(out) == 0 {
		return findings.Say("The labelled teeth show nothing to measure.")
	}
	return findings.List(" ", out)
}

// flatMM is the radius of the sphere over the lower cusps from which on their table is
// called flat: far beyond the 60 to 140 mm of studies; our choice.
const flatMM = 500.0

// almostMM is how near to the border of a class the next class is named too: what a
// cusp and a groove may be off together; our choice.
const almostMM = 0.5

// describeMolars tells a molar relation in words.
func describeMolars(m *findings.ArchMolars) findings.Sentence {
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
	return findings.Say("Molars %s: class %s, the mesiobuccal cusp of %s %s the buccal groove of %s.", m.Side, class, m.Upper, place, m.Lower)
}
