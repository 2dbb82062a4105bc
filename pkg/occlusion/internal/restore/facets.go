package restore

import (
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"gonum.org/v1/gonum/spatial/r3"
)

// What to do about a facet.
const (
	doKeep = "keep"
	doNot  = "not_again"
	doOpen = "open"
)

// Of a facet that is taken for the disc of its area: how much farther it reaches,
// as a share, since facets are longer than wide, and how far from its plane, mm, a
// contact still lies on it. Both are our choice.
const (
	facetLong  = 1.5
	facetDepth = 0.15
)

// onFace says whether a point of the cast in intercuspation lies on the facet.
func onFace(f *findings.WearFacet, p r3.Vec) bool {
	d := r3.Sub(p, f.CentreMM.R3())
	off := r3.Dot(d, f.Normal.R3())
	return math.Abs(off) <= facetDepth && r3.Norm2(d)-off*off <= facetLong*facetLong*f.AreaMM2/math.Pi
}

// facetsToHeed says for every facet of a tooth whether it must stay: a stable stop
// lies on it, or the tooth guides or works on it in a movement; or is not to be copied:
// only contacts that are not built again lie on it, or only movements would grind it in
// which the tooth should not touch.
func facetsToHeed(r *findings.Restoration, f *findings.Findings, movements []judge.Movement) []findings.RestoreFacet {
	out := []findings.RestoreFacet{}
	for i := range f.Facets {
		if w := &f.Facets[i]; w.Tooth == r.Tooth {
			out = append(out, facetToHeed(w, f, movements))
		}
	}
	return out
}

func facetToHeed(w *findings.WearFacet, f *findings.Findings, movements []judge.Movement) findings.RestoreFacet {
	out := findings.RestoreFacet{Number: w.Number, Do: doKeep}
	for i := range f.Centric.Stops {
		if s := &f.Centric.Stops[i]; s.Stable && (s.Upper == w.Tooth || s.Lower == w.Tooth) && bearsIn(w, s.PointMM, f.Centric.Pose.Pose) {
			out.Movement, out.With = findings.Closed, facetOpponent(w, s.Upper, s.Lower)
			out.Why = language.Say("wear.stop", language.With{"other": out.With})
			return out
		}
	}
	bad := findings.RestoreFacet{Number: w.Number, Do: doNot}
	for i := range f.Excursions {
		x := &f.Excursions[i]
		movement := findings.NameMovement(x.Movement)
		good, with, carries := onFacet(w, x, &movements[i], func(p findings.Pair, _ float64) bool {
			return movements[i].Place(p.Upper, p.Lower).Desired() && !slices.ContainsFunc(x.Findings, func(g findings.Finding) bool {
				return unwanted(g.Kind) && g.Upper == p.Upper && g.Lower == p.Lower
			})
		})
		if good {
			out.Movement, out.With = x.Movement, with
			out.Why = language.Say("wear.slides", language.With{"movement": movement, "other": with})
			if carries {
				out.Why = language.Say("wear.guides", language.With{"movement": movement, "other": with})
			}
			return out
		}
		k := -1
		_, with, _ = onFacet(w, x, &movements[i], func(p findings.Pair, travel float64) bool {
			j := slices.IndexFunc(x.Findings, func(g findings.Finding) bool {
				return unwanted(g.Kind) && g.Upper == p.Upper && g.Lower == p.Lower && g.FromMM <= travel && travel <= g.ToMM
			})
			if j >= 0 {
				k = j
			}
			return j >= 0
		})
		if k >= 0 && bad.Movement == "" {
			bad.Movement, bad.With = x.Movement, with
			bad.Why = language.Say("wear.unwanted", language.With{"other": with, "movement": movement, "why": why(x.Findings[k].Kind)})
		}
	}
	if bad.Movement != "" {
		return bad
	}
	out.Do, out.Why = doOpen, language.Say("wear.none")
	if len(w.GroundBy) > 0 {
		out.Movement, out.Why = w.GroundBy[0], language.Say("wear.untouched", language.With{"movement": findings.NameMovement(w.GroundBy[0])})
		guides := func(movement findings.Movement) bool {
			i := slices.IndexFunc(f.Excursions, func(x findings.Excursion) bool { return x.Movement == movement })
			return i >= 0 && movements[i].Place(w.Tooth, w.Tooth).Desired()
		}
		if !slices.ContainsFunc(w.GroundBy, guides) {
			out.Do, out.Why = doNot, language.Say("wear.only", language.With{"movement": findings.NameMovement(w.GroundBy[0]), "tooth": w.Tooth})
		}
	}
	return out
}

// onFacet looks for contacts of a movement on a facet, once it has begun and up to the
// edge-to-edge position, between teeth that a test wants: with what, and whether one
// of them carries.
func onFacet(w *findings.WearFacet, x *findings.Excursion, m *judge.Movement,
	want func(p findings.Pair, travel float64) bool) (found bool, with findings.Part, carries bool) {
	for i := range x.Frames[:m.End+1] {
		fr := &x.Frames[i]
		if fr.TravelMM < m.Limits.BegunMM {
			continue
		}
		on := func(p findings.Pair, at findings.Vec) bool {
			return (p.Upper == w.Tooth || p.Lower == w.Tooth) && bearsIn(w, at, fr.Pose.Pose) && want(p, fr.TravelMM)
		}
		if c := fr.Carrier; c != nil && on(findings.Pair{Upper: c.Upper, Lower: c.Lower}, c.PointMM) {
			return true, facetOpponent(w, c.Upper, c.Lower), true
		}
		_, contacts := m.Touching(fr)
		for _, c := range contacts {
			if p := (findings.Pair{Upper: c.Upper, Lower: c.Lower}); !found && on(p, c.PointMM) {
				found, with = true, facetOpponent(w, c.Upper, c.Lower)
			}
		}
	}
	return found, with, false
}

// facetOpponent is the other tooth of a pair.
func facetOpponent(f *findings.WearFacet, upper, lower findings.Part) findings.Part {
	if f.Tooth == upper {
		return lower
	}
	return upper
}

// bearsIn says whether a point on the upper surface lies on a facet while the lower
// arch is in a pose.
func bearsIn(w *findings.WearFacet, at findings.Vec, pose kinematics.Pose) bool {
	p := at.R3()
	if w.Tooth.Tooth().Jaw() == dentition.Lower {
		p = pose.Inverse().Apply(p)
	}
	return onFace(w, p)
}
