package occlusion

import (
	"fmt"
	"math"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// Verdict says whether a mounting can be trusted.
type Verdict string

// The verdicts.
const (
	Acceptable Verdict = "acceptable"
	Remount    Verdict = "remount"
	Undecided  Verdict = "undecided"
)

// Mounting is the judgement of the mounting: it is acceptable when there is
// contact in the molar area on both sides and between at least two opposing
// front teeth (common practice, no source).
type Mounting struct {
	Verdict Verdict    `json:"verdict" jsonschema:"enum=acceptable,enum=remount,enum=undecided"`
	Reasons []Sentence `json:"reasons" jsonschema_description:"what the verdict rests on, in sentences"`
	Areas   []Area     `json:"areas" jsonschema_description:"right molars, front teeth, left molars"`
	Tilt    *Tilt      `json:"tilt" jsonschema_description:"the small tilt of the lower arch that would bring the areas into contact alike; null where the casts do not tell"`
}

// Area is one of the places where a mounting must have contact.
type Area struct {
	Area  string    `json:"area" jsonschema:"enum=right molars,enum=front teeth,enum=left molars"`
	Class HoldClass `json:"class" jsonschema:"enum=holds,enum=light_drag,enum=undecided,enum=passes"`
	GapUm float64   `json:"gap_um" jsonschema_description:"least gap of the teeth of the area"`
	Upper Part      `json:"upper" jsonschema_description:"the pair of teeth with the least gap"`
	Lower Part      `json:"lower"`
}

// Tilt turns the lower arch so that it closes where it is open.
type Tilt struct {
	RollDeg  float64 `json:"roll_deg" jsonschema_description:"turn about the long axis of the body; above 0 the left side rises"`
	PitchDeg float64 `json:"pitch_deg" jsonschema_description:"turn about the transverse axis; above 0 the front rises"`
	Words    string  `json:"words"`
}

// reach is how near a tooth comes to the opposing arch and where.
type reach struct {
	upper, lower dentition.ToothID
	gap          float64 // µm
	at           r3.Vec
	rise         float64 // mm by which the lower tooth must rise there to touch
}

// steepest bounds the rise of teeth that pass each other on steep inclines: the
// cosine of the steepest incline that is reckoned with, 72°.
const steepest = 0.3

// rise is how far the lower one of two surfaces must rise to touch, from their
// nearest points: on parallel inclines the gap over the cosine of the incline, mm.
func rise(g *contact.Gap) float64 {
	if g.Dist == 0 {
		return 0
	}
	return g.Dist / max(steepest, (g.UpperPoint.Z-g.LowerPoint.Z)/g.Dist)
}

// areaTeeth tells whether a pair of opposing teeth counts for an area.
var areaTeeth = [...]struct {
	name  string
	holds func(up, lo dentition.ToothID) bool
}{
	{"right molars", func(up, lo dentition.ToothID) bool { return molars(up, lo) && up.Side() == dentition.Right }},
	{"front teeth", func(up, lo dentition.ToothID) bool { return up.Type().Anterior() && lo.Type().Anterior() }},
	{"left molars", func(up, lo dentition.ToothID) bool { return molars(up, lo) && up.Side() == dentition.Left }},
}

func molars(up, lo dentition.ToothID) bool { return up.Type().Molar() || lo.Type().Molar() }

// judge judges the mounting from the nearest pairs of every tooth. Without
// labels nothing is known of areas and the verdict is undecided.
func judge(pairs []reach, t *casefile.Thresholds) Mounting {
	m := Mounting{Reasons: []Sentence{}, Areas: []Area{}}
	if len(pairs) == 0 {
		m.Verdict = Undecided
		m.Reasons = append(m.Reasons, say("The teeth are not labelled, so that areas of contact cannot be told apart."))
		return m
	}
	m.Verdict = Acceptable
	var middles []reach
	for _, a := range areaTeeth {
		best := Area{Area: a.name, Class: ClassPasses, GapUm: math.Inf(1)}
		var at reach
		for _, p := range pairs {
			if p.upper == dentition.NoTooth || p.lower == dentition.NoTooth || !a.holds(p.upper, p.lower) {
				continue
			}
			if p.gap < best.GapUm {
				best.GapUm, best.Upper, best.Lower, at = p.gap, Part(p.upper), Part(p.lower), p
			}
		}
		if math.IsInf(best.GapUm, 1) {
			m.Verdict = Remount
			m.Reasons = append(m.Reasons, say("No opposing teeth meet among the %s.", a.name))
			continue
		}
		best.Class = classify(best.GapUm, t)
		m.Areas = append(m.Areas, best)
		middles = append(middles, at)
		switch best.Class {
		case ClassHolds, ClassDrags:
			m.Reasons = append(m.Reasons, say("Contact at the %s (%s).", a.name, pairOf{best.Upper, best.Lower}))
		case ClassUndecided:
			if m.Verdict == Acceptable {
				m.Verdict = Undecided
			}
			m.Reasons = append(m.Reasons, say("The %s come within %.0f µm (%s), less than the scans can tell (%.0f µm).", a.name, best.GapUm, pairOf{best.Upper, best.Lower}, t.ScanDoubtUm))
		default:
			m.Verdict = Remount
			m.Reasons = append(m.Reasons, say("No contact at the %s: %s stay %.0f µm apart.", a.name, pairOf{best.Upper, best.Lower}, best.GapUm))
		}
	}
	if len(middles) == len(areaTeeth) && m.Verdict != Acceptable {
		m.Tilt = tilt(middles)
	}
	return m
}

// tilt is the tilt that would close three areas alike: the plane through their
// rises.
func tilt(p []reach) *Tilt {
	a := mat.NewDense(3, 3, nil)
	b := mat.NewVecDense(3, nil)
	for i, q := range p {
		a.SetRow(i, []float64{1, q.at.X, q.at.Y})
		b.SetVec(i, q.rise)
	}
	var x mat.VecDense
	if x.SolveVec(a, b) != nil {
		return nil // on one line: they tell no tilt
	}
	// The gap grows by x₁ per mm to the left and x₂ per mm to the back; rising
	// by as much closes it.
	t := &Tilt{RollDeg: math.Atan(x.AtVec(1)) * 180 / math.Pi, PitchDeg: -math.Atan(x.AtVec(2)) * 180 / math.Pi}
	side, end := "left", "front"
	if t.RollDeg < 0 {
		side = "right"
	}
	if t.PitchDeg < 0 {
		end = "back"
	}
	t.Words = fmt.Sprintf("the lower cast stands %.2f° too low on the %s and %.2f° too low at the %s", math.Abs(t.RollDeg), side, math.Abs(t.PitchDeg), end)
	return t
}
