package stops

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
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
		return false, findings.Say("no supporting cusp takes part")
	}
	for _, x := range []*bearing{of, on} {
		k := cuspOf{x.Tooth, x.Feature}
		if share, ok := g.seated(k, t); ok && x.Role() == anatomy.Supporting {
			return true, findings.Say("the %d stops of the %s of %s together load it along its axis (%.0f %%)", len(g[k]), x.Feature.String(), findings.Part(x.Tooth), 100*share)
		}
	}
	f := on.Feature
	inner := on.Slope == anatomy.InnerSlope
	unplaced := findings.Say("neither in a fossa nor on a marginal ridge of %s, and unopposed", findings.Part(on.Tooth))
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
			return false, findings.Say("on an incline of %.0f° that pushes %s to %s, unopposed", x.incline, findings.Part(x.Tooth), aside(x.load))
		}
		opposed = append(opposed, findings.Say("on an incline of %.0f° that pushes %s to %s, but its %d stops together load it along its axis (%.0f %%)",
			x.incline, findings.Part(x.Tooth), aside(x.load), len(g[cuspOf{tooth: x.Tooth}]), 100*share))
	}
	if len(opposed) > 0 {
		return true, findings.List("; ", opposed)
	}
	where := "in its place,"
	if f.MarginalRidge() && fossaOnly(of.Site) {
		where = "on a marginal ridge where a fossa is usual, but"
	}
	return true, findings.Say(where+" loading %s and %s nearly along their axes (%.0f° and %.0f°)", findings.Part(s.up.Tooth), findings.Part(s.lo.Tooth), s.up.incline, s.lo.incline)
}

// fossaOnly says whether a supporting cusp usually rests in a fossa, not on a ridge.
func fossaOnly(s anatomy.Site) bool {
	return s.Tooth.Type().Molar() && (s.Feature == anatomy.MesiolingualCusp || s.Feature == anatomy.DistobuccalCusp)
}

// judgeFront judges by place alone: front teeth are loaded at an angle to their
// axis by nature.
func (s *spot) weighFront() (bool, findings.Sentence) {
	switch up := s.up.Feature; {
	case s.lo.Role() != anatomy.Supporting:
		return false, findings.Say("%s does not stop on its edge or on a supporting cusp", findings.Part(s.lo.Tooth))
	case up == anatomy.LingualFossa || up == anatomy.Cingulum:
		return true, findings.Say("in its place on the lingual face of %s; front teeth are loaded at an angle by nature", findings.Part(s.up.Tooth))
	case s.up.Tooth.Type().Anterior():
		return false, findings.Say("%s and %s meet edge to edge or on outer faces", findings.Part(s.up.Tooth), findings.Part(s.lo.Tooth))
	}
	return true, findings.Say("a front tooth on a back tooth; front teeth are loaded at an angle by nature")
}

// aside names the direction in which a load pushes a tooth across its axis.
func aside(load r3.Vec) string {
	switch {
	case math.Abs(load.X) > math.Abs(load.Y) && load.X > 0:
		return "mesial"
	case math.Abs(load.X) > math.Abs(load.Y):
		return "distal"
	case load.Y > 0:
		return "buccal"
	}
	return "lingual"
}

// words says what meets what.
func (s *spot) words() findings.Sentence {
	of, on := s.sides()
	where := "on"
	switch {
	case on.Feature.Cusp() && on.Slope == anatomy.OnTip, of.Role() == anatomy.NoRole:
		where = "against"
	case on.Feature.Fossa() || on.Feature.Groove():
		where = "in"
	}
	name := of.Words()
	if of.Role() == anatomy.Supporting {
		name = of.Feature.String() // on which of its sides follows from the other tooth
	}
	border := ""
	if on.beside != 0 {
		border = fmt.Sprintf(", at the border of its %v", on.beside)
	}
	return findings.Say(fmt.Sprintf("%s of %%s %s the %s of %%s%s", name, where, on.Words(), border), findings.Part(of.Tooth), findings.Part(on.Tooth))
}
