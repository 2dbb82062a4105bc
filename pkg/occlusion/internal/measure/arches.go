package measure

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"gonum.org/v1/gonum/spatial/r3"
)

// Arches measures two arches; nil where neither is labelled.
func Arches(casts *casts.Casts) *findings.Arches {
	if casts.Upper.Teeth == nil && casts.Lower.Teeth == nil {
		return nil
	}
	upper, lower := casts.Upper.Landmarks, casts.Lower.Landmarks
	a := &findings.Arches{Widths: []findings.ArchWidth{}, Incisors: []findings.ArchOverlap{},
		Spee: []findings.ArchDepth{}, Molars: []findings.ArchMolars{}}
	for _, l := range [2][]anatomy.Landmark{upper, lower} {
		for _, w := range anatomy.Widths(l) {
			a.Widths = append(a.Widths, findings.ArchWidth{Right: findings.Part(w.Right), Left: findings.Part(w.Left),
				Landmark: w.Feature.String(), WidthMM: w.MM})
		}
	}
	if plane, ok := anatomy.NewOcclusalPlane(lower, r3.Vec{Z: 1}); ok {
		for _, x := range plane.Overlaps(upper, lower) {
			a.Incisors = append(a.Incisors, findings.ArchOverlap{Upper: findings.Part(x.Upper), Lower: findings.Part(x.Lower),
				OverjetMM: x.Overjet, OverbiteMM: x.Overbite})
		}
		for _, d := range plane.Spee(lower) {
			a.Spee = append(a.Spee, findings.ArchDepth{Side: d.Side.String(), Tooth: findings.Part(d.Tooth),
				Landmark: d.Feature.String(), DepthMM: d.MM})
		}
		for _, m := range plane.MolarRelations(upper, lower) {
			a.Molars = append(a.Molars, findings.ArchMolars{Side: m.Side.String(), Upper: findings.Part(m.Upper),
				Lower: findings.Part(m.Lower), MesialMM: m.MM, Class: m.Class()})
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
	k := t.Tooth().Type()
	return k == dentition.Canine || k == dentition.FirstMolar
}

// describeArches tells the measurements in words.
func describeArches(a *findings.Arches) findings.Sentence {
	var out, widths []findings.Sentence
	for _, w := range a.Widths {
		if described(w.Right) {
			widths = append(widths, language.Say("arch.width", language.With{"right": w.Right, "left": w.Left, "mm": w.WidthMM}))
		}
	}
	if len(widths) > 0 {
		out = append(out, language.Say("arch.widths", language.With{"widths": language.Commas(widths)}))
	}
	for _, x := range a.Incisors {
		with := language.With{"pair": findings.Pair{Upper: x.Upper, Lower: x.Lower}, "jet": x.OverjetMM, "bite": math.Abs(x.OverbiteMM)}
		if x.OverbiteMM < 0 {
			out = append(out, language.Say("arch.incisors.open", with))
		} else {
			out = append(out, language.Say("arch.incisors", with))
		}
	}
	for _, d := range a.Spee {
		out = append(out, language.Say("arch.spee."+d.Side, language.With{"mm": d.DepthMM, "tooth": d.Tooth}))
	}
	switch s := a.Sphere; {
	case s == nil:
	case s.RadiusMM > flatMM:
		out = append(out, language.Say("arch.flat", language.With{"mm": flatMM}))
	default:
		out = append(out, language.Say("arch.sphere", language.With{"radius": s.RadiusMM, "off": s.RMSMM}))
	}
	for i := range a.Molars {
		out = append(out, describeMolars(&a.Molars[i]))
	}
	if len(out) == 0 {
		return language.Say("arch.nothing")
	}
	return language.Join(language.Text(out))
}

// flatMM is the radius of the sphere over the lower cusps from which on their table is
// called flat: far beyond the 60 to 140 mm of studies; our choice.
const flatMM = 500.0

// almostMM is how near to the border of a class the next class is named too: what a
// cusp and a groove may be off together; our choice.
const almostMM = 0.5

// describeMolars tells a molar relation in words.
func describeMolars(m *findings.ArchMolars) findings.Sentence {
	with := language.With{"upper": m.Upper, "lower": m.Lower, "class": m.Class, "mm": math.Abs(m.MesialMM)}
	if beyond := math.Abs(m.MesialMM) - anatomy.QuarterCusp; math.Abs(beyond) < almostMM {
		next := "I"
		switch {
		case m.Class != "I":
		case m.MesialMM > 0:
			next = "II"
		default:
			next = "III"
		}
		with["next"] = next
	}
	switch {
	case m.MesialMM >= 0.05:
		return language.Say("arch.molars.mesial", with)
	case m.MesialMM <= -0.05:
		return language.Say("arch.molars.distal", with)
	}
	return language.Say("arch.molars.at", with)
}
