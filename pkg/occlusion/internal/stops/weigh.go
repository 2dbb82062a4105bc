package stops

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"gonum.org/v1/gonum/spatial/r3"
)

// cuspOf names a cusp or edge of a tooth.
type cuspOf struct {
	tooth   dentition.ToothID
	feature anatomy.Feature
}

// groups is the loads (see [bearing]) of the stops of each supporting cusp and, with
// no feature, of each whole tooth.
type groups map[cuspOf][]r3.Vec

func grouped(stops []spot) groups {
	out := groups{}
	for i := range stops {
		for _, x := range []*bearing{&stops[i].up, &stops[i].lo} {
			whole := cuspOf{tooth: x.Tooth}
			out[whole] = append(out[whole], x.load)
			if x.Role() == anatomy.Supporting {
				k := cuspOf{x.Tooth, x.Feature}
				out[k] = append(out[k], x.load)
			}
		}
	}
	return out
}

// axial is the sum of contact directions and the share of it along the axis, the
// cosine of its angle to the axis. Every stop counts the same: neither area nor
// anything else of a mark tells its force (Carey et al. 2007, PMC2581523). ok is
// false where the directions cancel.
func axial(loads []r3.Vec) (sum r3.Vec, share float64, ok bool) {
	for _, l := range loads {
		sum = r3.Add(sum, l)
	}
	n := r3.Norm(sum)
	if n < 1e-9 {
		return sum, 0, false
	}
	return sum, sum.Z / n, true
}

// seated says whether stops, two at least, together load a tooth along its axis.
func (g groups) seated(k cuspOf, t *casefile.Thresholds) (share float64, ok bool) {
	_, share, ok = axial(g[k])
	return share, ok && len(g[k]) > 1 && share >= t.AxialShare
}

// judge says whether a stop is stable, by its place and its inclines: supporting
// cusps have their place in fossae and on marginal ridges, the upper mesiolingual
// and the lower distobuccal cusps of molars in fossae (textbooks). On a steep incline
// a stop in its place pushes its tooth aside, unless the other stops of that tooth
// oppose it: those of a tooth hold it together, buccal against lingual contacts and
// closure stoppers against equalisers (textbooks). On the inner incline of a cusp a
// stop is stable only so, on both teeth.
func (s *spot) weigh(g groups, t *casefile.Thresholds) (bool, findings.Sentence) {
	of, on := s.sides()
	switch {
	case !s.back():
		return s.weighFront()
	case of.Role() != anatomy.Supporting:
		return false, language.Say("stop.no_cusp")
	}
	for _, x := range []*bearing{of, on} {
		k := cuspOf{x.Tooth, x.Feature}
		if share, ok := g.seated(k, t); ok && x.Role() == anatomy.Supporting {
			return true, language.Say("stop.cusp_seated",
				language.With{"count": len(g[k]), "cusp": x.Feature.String(), "tooth": findings.Part(x.Tooth), "share": 100 * share})
		}
	}
	f := on.Feature
	inner := on.Slope == anatomy.InnerSlope
	unplaced := language.Say("stop.unplaced", language.With{"tooth": findings.Part(on.Tooth)})
	if !inner && !f.Fossa() && !f.MarginalRidge() && !f.Groove() {
		return false, unplaced
	}
	var opposed []findings.Sentence
	for _, x := range []*bearing{&s.up, &s.lo} {
		if !inner && x.incline <= t.StableInclineDeg {
			continue
		}
		share, ok := g.seated(cuspOf{tooth: x.Tooth}, t)
		switch {
		case !ok && inner:
			return false, unplaced
		case !ok:
			return false, language.Say("stop.incline", language.With{"deg": x.incline, "tooth": findings.Part(x.Tooth), "direction": aside(x.load)})
		}
		opposed = append(opposed, language.Say("stop.incline.opposed", language.With{
			"deg": x.incline, "tooth": findings.Part(x.Tooth), "direction": aside(x.load),
			"count": len(g[cuspOf{tooth: x.Tooth}]), "share": 100 * share,
		}))
	}
	if len(opposed) > 0 {
		return true, language.Join(language.Semicolons(opposed))
	}
	key := "stop.placed"
	if f.MarginalRidge() && fossaOnly(of.Site) {
		key = "stop.ridge"
	}
	return true, language.Say(key, language.With{
		"upper": findings.Part(s.up.Tooth), "lower": findings.Part(s.lo.Tooth), "upper_deg": s.up.incline, "lower_deg": s.lo.incline,
	})
}

// fossaOnly says whether a supporting cusp usually rests in a fossa, not on a ridge.
func fossaOnly(s anatomy.Site) bool {
	return s.Tooth.Type().Molar() && (s.Feature == anatomy.MesiolingualCusp || s.Feature == anatomy.DistobuccalCusp)
}

// judgeFront judges by place alone: anterior teeth are loaded at an angle to their
// axis by nature.
func (s *spot) weighFront() (bool, findings.Sentence) {
	switch up := s.up.Feature; {
	case s.lo.Role() != anatomy.Supporting:
		return false, language.Say("stop.front.off", language.With{"tooth": findings.Part(s.lo.Tooth)})
	case up == anatomy.LingualFossa || up == anatomy.Cingulum:
		return true, language.Say("stop.front.placed", language.With{"tooth": findings.Part(s.up.Tooth)})
	case s.up.Tooth.Type().Anterior():
		return false, language.Say("stop.front.edge", language.With{"upper": findings.Part(s.up.Tooth), "lower": findings.Part(s.lo.Tooth)})
	}
	return true, language.Say("stop.front.posterior")
}

// aside names the direction in which a load pushes a tooth across its axis.
func aside(load r3.Vec) findings.Sentence {
	switch {
	case load.X > math.Abs(load.Y):
		return language.Say("direction.mesial")
	case -load.X > math.Abs(load.Y):
		return language.Say("direction.distal")
	case load.Y > 0:
		return language.Say("direction.buccal")
	}
	return language.Say("direction.lingual")
}

// words says what meets what.
func (s *spot) words() findings.Sentence {
	of, on := s.sides()
	key := "stop.on"
	switch {
	case on.Feature.Cusp() && on.Slope == anatomy.OnTip, of.Role() == anatomy.NoRole:
		key = "stop.against"
	case on.Feature.Fossa() || on.Feature.Groove():
		key = "stop.in"
	}
	name := of.Words()
	if of.Role() == anatomy.Supporting {
		name = of.Feature.String() // on which of its sides follows from the other tooth
	}
	border := ""
	if on.beside != 0 {
		border = on.beside.String()
	}
	return language.Say(key, language.With{
		"name": name, "tooth": findings.Part(of.Tooth), "place": on.Words(), "other": findings.Part(on.Tooth), "border": border,
	})
}
