package main

import (
	"fmt"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// found is one numbered finding of an examination, or a facet or tilt that it reports.
type found struct {
	kind         findings.Kind
	movement     string // empty in intercuspation
	upper, lower dentition.ToothID
	teeth        []findings.Part
	travel       float64
	size         float64 // as the fault's, NaN for none
	value        float64 // of what has another size, NaN for none
	rank         int     // 0 for what is not numbered
	explains     []findings.Pair
	beyond       bool // only beyond the edge-to-edge position
}

func (g *found) String() string {
	return fmt.Sprintf("%s %s %v/%v at %.1f mm (%.3g)", g.kind, g.movement, g.upper, g.lower, g.travel, g.value)
}

// numbered lists the findings that an examination numbers, but for the guidance it
// describes.
func numbered(f *findings.Findings) []found {
	var out []found
	add := func(movement string, list []findings.Finding) {
		for i := range list {
			g := &list[i]
			if g.Kind == findings.KindGuidance {
				continue
			}
			size := math.NaN()
			if g.HeightUm != nil {
				size = *g.HeightUm
			}
			value := size
			if g.Value != nil {
				value = *g.Value
			}
			out = append(out, found{g.Kind, movement, g.Upper.Tooth(), g.Lower.Tooth(), g.Teeth, g.AtMM,
				size, value, g.Severity, g.Explains, g.PastEdge})
		}
	}
	add("", f.Centric.Findings)
	for i := range f.Excursions {
		add(string(f.Excursions[i].Movement), f.Excursions[i].Findings)
	}
	return out
}

// wanted is the kind of finding by which a fault shows, empty where it is not numbered.
var wanted = map[string]findings.Kind{
	highSpot: findings.KindPremature, nonworking: findings.KindNonworkingInterference, protrusive: findings.KindProtrusiveInterference,
	working: findings.KindWorkingInterference, wornCanine: findings.KindShallow,
}

// verdict is how one built fault came out.
type verdict struct {
	fault
	hit       bool
	rank      int     // of the finding, 0 where none is numbered
	travelOff float64 // mm, NaN where it has none
	sizeShare float64 // size found over size built, NaN where it has none
	note      string  // what was found instead
}

// judge looks for a fault in what was found.
func judge(f *fault, doc *findings.Findings, list []found) verdict {
	v := verdict{fault: *f, travelOff: math.NaN(), sizeShare: math.NaN()}
	switch f.kind {
	case facet:
		for i := range doc.Facets {
			w := &doc.Facets[i]
			if w.Tooth.Tooth() != f.lower {
				continue
			}
			v.note += fmt.Sprintf("%.2f mm² ground by %v %v; ", w.AreaMM2, w.GroundBy, w.Slides)
			if slices.Contains(w.GroundBy, findings.Movement(f.movement.String())) {
				v.hit = true
				if share := w.AreaMM2 / f.size; math.IsNaN(v.sizeShare) || math.Abs(share-1) < math.Abs(v.sizeShare-1) {
					v.sizeShare = share
				}
			}
		}
	case roll:
		// The cast that was rolled left side up stands too high there.
		if t := doc.Centric.Mounting.Tilt; t != nil && doc.Centric.Mounting.Verdict != findings.Acceptable && t.RollDeg*f.size < 0 {
			v.hit, v.sizeShare = true, -t.RollDeg/f.size
		}
	case shifted:
		v.note = fmt.Sprint("verdict ", doc.Centric.Mounting.Verdict, " ", doc.Centric.Mounting.Reasons)
		if g := doc.Settling.Given; g != nil && g.Displaced != nil {
			d := r3.Vec{X: g.Displaced.ShiftMM[0], Y: g.Displaced.ShiftMM[1]}
			v.hit = r3.Dot(d, f.way) > 0.9*r3.Norm(d)*r3.Norm(f.way) && math.Abs(g.Displaced.RollDeg)+math.Abs(g.Displaced.PitchDeg) < 0.1
			v.sizeShare = 1000 * r3.Norm(d) / f.size
			v.note = fmt.Sprintf("built %.3f, displaced by %+v", f.way, *g.Displaced)
		}
	default:
		for _, g := range list {
			if g.kind != wanted[f.kind] || g.lower != f.lower || g.upper != f.upper || (f.movement != 0 && g.movement != f.movement.String()) {
				continue
			}
			if v.hit && g.rank > v.rank {
				continue
			}
			v.hit, v.rank = true, g.rank
			if f.kind != wornCanine {
				v.sizeShare = g.size / f.size
			}
			if f.movement != 0 && f.kind != wornCanine {
				v.travelOff = math.Abs(g.travel - f.travel)
			}
		}
	}
	return v
}

// strays counts the numbered findings that name no tooth of a built fault: those up to the
// edge-to-edge position, those that a finding on such a tooth explains (a lost guidance lets
// others meet), and those beyond the edge-to-edge position.
func strays(list []found, faults []fault) (near, caused, beyond int, names []string) {
	var explained []found
	own := func(g *found) bool {
		for _, f := range faults {
			if f.upper != 0 && g.upper == f.upper || f.lower != 0 && g.lower == f.lower || f.kind == roll || f.kind == shifted {
				return true
			}
			for _, t := range g.teeth {
				if t.Tooth() == f.upper || t.Tooth() == f.lower {
					return true
				}
			}
		}
		return false
	}
	for i := range list {
		if own(&list[i]) {
			for _, p := range list[i].explains {
				explained = append(explained, found{movement: list[i].movement, upper: p.Upper.Tooth(), lower: p.Lower.Tooth()})
			}
		}
	}
	for i := range list {
		g := &list[i]
		switch {
		case own(g):
		case g.beyond:
			beyond++
		case slices.ContainsFunc(explained, func(x found) bool { return x.movement == g.movement && x.upper == g.upper && x.lower == g.lower }):
			caused++
		default:
			near++
			names = append(names, g.String())
		}
	}
	return near, caused, beyond, names
}

// movementName names a movement in the table.
func movementName(m kinematics.Movement) string {
	if m == 0 {
		return "intercuspation"
	}
	return m.String()
}
