package occlusion

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/spatial/r3"
)

// cuspOf names a cusp or edge of a tooth.
type cuspOf struct {
	tooth   dentition.ToothID
	feature dentition.Feature
}

// groups is the loads (see [bearing]) of the stops of each supporting cusp.
type groups map[cuspOf][]r3.Vec

func grouped(stops []stop) groups {
	out := groups{}
	for i := range stops {
		for _, x := range []*bearing{&stops[i].up, &stops[i].lo} {
			if x.Role() == dentition.Supporting {
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

// seated says whether the stops of a supporting cusp, two at least, together load
// its tooth along the axis.
func (g groups) seated(x *bearing, t *casefile.Thresholds) (share float64, ok bool) {
	if x.Role() != dentition.Supporting {
		return 0, false
	}
	loads := g[cuspOf{x.Tooth, x.Feature}]
	_, share, ok = axial(loads)
	return share, ok && len(loads) > 1 && share >= t.AxialShare
}

// judge says whether a stop is stable, by its place and its inclines: supporting
// cusps have their place in fossae and on marginal ridges, the upper mesiolingual
// and the lower distobuccal cusps of molars in fossae only (textbooks).
func (s *stop) judge(g groups, t *casefile.Thresholds) (bool, Sentence) {
	of, on := s.sides()
	switch {
	case !s.back():
		return s.judgeFront()
	case of.Role() != dentition.Supporting:
		return false, say("no supporting cusp takes part")
	}
	for _, x := range []*bearing{of, on} {
		if share, ok := g.seated(x, t); ok {
			return true, say("the %d stops of the %s of %s together load it along its axis (%.0f %%)", len(g[cuspOf{x.Tooth, x.Feature}]), x.Feature.String(), Part(x.Tooth), 100*share)
		}
	}
	switch f := on.Feature; {
	case f.MarginalRidge() && fossaOnly(of.Site):
		return false, say("the place of the %s of %s is a fossa, not a marginal ridge", of.Feature.String(), Part(of.Tooth))
	case !(f.Fossa() || f.MarginalRidge() || f.Groove()):
		return false, say("neither in a fossa nor on a marginal ridge of %s, and unopposed", Part(on.Tooth))
	}
	worst := of
	if on.incline > of.incline {
		worst = on
	}
	if worst.incline > t.StableInclineDeg {
		return false, say("an incline of %.0f° pushes %s to %s, unopposed", worst.incline, Part(worst.Tooth), aside(worst.load))
	}
	return true, say("in its place, loading %s and %s nearly along their axes (%.0f° and %.0f°)", Part(s.up.Tooth), Part(s.lo.Tooth), s.up.incline, s.lo.incline)
}

// fossaOnly says whether a supporting cusp rests in fossae only.
func fossaOnly(s dentition.Site) bool {
	return s.Tooth.Type().Molar() && (s.Feature == dentition.MesiolingualCusp || s.Feature == dentition.DistobuccalCusp)
}

// judgeFront judges by place alone: front teeth are loaded at an angle to their
// axis by nature.
func (s *stop) judgeFront() (bool, Sentence) {
	switch up := s.up.Feature; {
	case s.lo.Role() != dentition.Supporting:
		return false, say("%s does not stop on its edge or on a supporting cusp", Part(s.lo.Tooth))
	case up == dentition.LingualFossa || up == dentition.Cingulum:
		return true, say("in its place on the lingual face of %s; front teeth are loaded at an angle by nature", Part(s.up.Tooth))
	case s.up.Tooth.Type().Anterior():
		return false, say("%s and %s meet edge to edge or on outer faces", Part(s.up.Tooth), Part(s.lo.Tooth))
	}
	return true, say("a front tooth on a back tooth; front teeth are loaded at an angle by nature")
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
func (s *stop) words() Sentence {
	of, on := s.sides()
	where := "on"
	switch {
	case on.Feature.Cusp() && on.Slope == dentition.OnTip, of.Role() == dentition.NoRole:
		where = "against"
	case on.Feature.Fossa() || on.Feature.Groove():
		where = "in"
	}
	name := of.Words()
	if of.Role() == dentition.Supporting {
		name = of.Feature.String() // on which of its sides follows from the other tooth
	}
	return say(fmt.Sprintf("%s of %%s %s the %s of %%s", name, where, on.Words()), Part(of.Tooth), Part(on.Tooth))
}
