package judge

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"gonum.org/v1/gonum/spatial/r3"
)

// stepMM is the step, in mm, between neighbouring marginal ridges from which a
// tooth stands out of its row: the step that board examiners begin to mark (Casko
// et al. 1998, Am J Orthod Dentofacial Orthop 114:589-599, from memory).
const stepMM = 0.5

// standing lists how a tooth stands out of its row, and which antagonists of it
// are missing.
func (h *Shape) standing(t dentition.ToothID) []findings.Cause {
	var out []findings.Cause
	if t == dentition.NoTooth {
		return out
	}
	own, other := h.casts.Upper, h.casts.Lower
	if t.Jaw() == dentition.Lower {
		own, other = other, own
	}
	out = append(out, h.tipped(own, t)...)
	out = append(out, casts.Drifted(t, h.inRow(own, t))...)
	out = append(out, own.Spaces(t)...)
	rise, known := step(own, t)
	stands := ""
	switch {
	case rise >= stepMM:
		stands = "cause.step.occlusal"
	case rise <= -stepMM:
		stands = "cause.step.cervical"
	}
	if stands != "" {
		out = append(out, findings.Cause{Cause: "ridge_step", Value: rise, Unit: "mm",
			Text: language.Say(stands, language.With{"tooth": findings.Part(t), "mm": math.Abs(rise)})})
	}
	// A tooth grows out of its row only where nothing holds it any more, or where it shows.
	if missing, all := without(other, t); len(missing) > 0 && (len(missing) == all || !known || rise >= stepMM) {
		lacks := language.With{"tooth": findings.Part(t), "missing": language.Commas(missing)}
		words := language.Say("cause.antagonist.only", lacks)
		switch {
		case len(missing) < all:
			lacks["all"] = all
			words = language.Say("cause.antagonist.one", lacks)
		case all > 1:
			words = language.Say("cause.antagonist.all", lacks)
		}
		out = append(out, findings.Cause{Cause: "missing_antagonist", Value: float64(len(missing)), Unit: "teeth", Text: words})
	}
	return out
}

// Upright teeth lean against their neighbours, and stand above them by their marginal ridges,
// with these standard deviations: half of the 6° of [tippedDeg] and of stepMM. Of twins the one
// that is surely the less likely to be upright, nine times, is the one that is tipped.
const (
	leanSpread = 3.0  // °
	stepSpread = 0.25 // mm
	surely     = 2.2  // ln 9
)

// stance is how a tooth stands among its neighbours: its lean in degrees and the step of its
// marginal ridges in mm, where they are known.
type stance struct {
	lean, step   float64
	leans, steps bool
}

func stanceOf(c *casts.Cast, t dentition.ToothID) (s stance) {
	s.lean, s.leans = c.Tipped(t)
	s.step, s.steps = step(c, t)
	return s
}

// tips is how far a tooth leans, in degrees, and the sentence that tells it, none where its twin
// is the one that leans. It is measured against the twin, 0 where that does not tell; by their
// neighbours it is told which of both is tipped. Without a twin it is measured against the
// neighbours.
func tips(byTwin float64, own, twin stance) (deg float64, told string) {
	if byTwin == 0 {
		if !own.leans {
			return 0, ""
		}
		return own.lean, "cause.tipped"
	}
	odds := 0.0 // logarithm of how much likelier the twin is the upright one
	if own.leans && twin.leans {
		odds += (own.lean*own.lean - twin.lean*twin.lean) / (2 * leanSpread * leanSpread)
	}
	if own.steps && twin.steps {
		odds += (own.step*own.step - twin.step*twin.step) / (2 * stepSpread * stepSpread)
	}
	switch {
	case odds >= surely:
		return byTwin, "cause.tipped.twin"
	case odds <= -surely:
		return byTwin, ""
	}
	return byTwin, "cause.tipped.either"
}

// tippedCause tells a tooth that is tipped, nothing where it is upright.
func tippedCause(t dentition.ToothID, byTwin float64, own, twin stance) []findings.Cause {
	by, told := tips(byTwin, own, twin)
	if by < tippedDeg || told == "" {
		return nil
	}
	return []findings.Cause{{Cause: "tipped_tooth", Value: by, Unit: "deg",
		Text: language.Say(told, language.With{"tooth": findings.Part(t), "twin": findings.Part(t.Mirror()), "deg": by})}}
}

// without lists the usual antagonists of a tooth that a cast does not have, nor the
// deciduous or permanent tooth of the same place, and counts all; none where the cast
// is not labelled.
func without(c *casts.Cast, t dentition.ToothID) (missing []findings.Part, all int) {
	if c.Teeth == nil {
		return nil, 0
	}
	for _, o := range t.Opposing() {
		if o.Type() == dentition.ThirdMolar {
			continue
		}
		all++
		_, ok := c.Frames[o]
		_, other := c.Frames[o.Counterpart()]
		if !ok && !other {
			missing = append(missing, findings.Part(o))
		}
	}
	return missing, all
}

// step is how far the marginal ridges of a tooth stand above those of its
// neighbours, in mm along its axis, at the side where it is most; 0 and not ok where
// it has no neighbour with a ridge. Third molars, which stand as they can, are none.
func step(c *casts.Cast, t dentition.ToothID) (float64, bool) {
	f, ok := c.Frames[t]
	if !ok {
		return 0, false
	}
	most, found := 0.0, false
	for _, side := range [...]struct {
		neighbour dentition.ToothID
		own, its  anatomy.Feature
	}{{t - 1, anatomy.MesialMarginalRidge, anatomy.DistalMarginalRidge}, {t + 1, anatomy.DistalMarginalRidge, anatomy.MesialMarginalRidge}} {
		p, ok1 := casts.Landmark(c, t, side.own)
		q, ok2 := casts.Landmark(c, side.neighbour, side.its)
		if !ok1 || !ok2 || side.neighbour.Quadrant() != t.Quadrant() || side.neighbour.Type() == dentition.ThirdMolar {
			continue
		}
		if d := r3.Dot(r3.Sub(p, q), f.Occlusal); !found || math.Abs(d) > math.Abs(most) {
			most, found = d, true
		}
	}
	return most, found
}

// overlap lists how the anterior teeth overlap and how deep the curve of Spee is:
// what lets the posterior teeth clear, or not. The means are those of adults (overbite:
// Brunelle et al. 1996, J Dent Res 75:706-713; Spee: Marshall et al. 2008, Am J
// Orthod Dentofacial Orthop 134:344-352).
func (h *Shape) overlap() []findings.Cause {
	var out []findings.Cause
	if h.arches == nil {
		return out
	}
	var bite, jet, depth float64
	for _, x := range h.arches.Incisors {
		bite, jet = bite+x.OverbiteMM, jet+x.OverjetMM
	}
	if n := float64(len(h.arches.Incisors)); n > 0 {
		bite, jet = bite/n, jet/n
		words := language.Say("cause.overbite", language.With{"mm": bite})
		if bite < 0 {
			words = language.Say("cause.open", language.With{"mm": -bite})
		}
		out = append(out, findings.Cause{Cause: "overbite", Value: bite, Unit: "mm", Text: words},
			findings.Cause{Cause: "overjet", Value: jet, Unit: "mm", Text: language.Say("cause.overjet", language.With{"mm": jet})})
		if bite > 0 && jet > 0 {
			a := math.Atan2(bite, jet) * 180 / math.Pi
			out = append(out, findings.Cause{Cause: "incisal_guide_angle", Value: a, Unit: "deg",
				Text: language.Say("cause.incisal_angle", language.With{"deg": a})})
		}
	}
	for _, d := range h.arches.Spee {
		depth = max(depth, d.DepthMM)
	}
	if depth > 0 {
		out = append(out, findings.Cause{Cause: "curve_of_spee", Value: depth, Unit: "mm",
			Text: language.Say("cause.spee", language.With{"mm": depth})})
	}
	return out
}
