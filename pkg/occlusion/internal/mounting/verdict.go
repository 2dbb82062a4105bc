package mounting

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/stops"
	"gonum.org/v1/gonum/spatial/r3"
)

// Closeness is how near a tooth comes to the opposing arch and where.
type Closeness struct {
	Upper, Lower dentition.ToothID
	Gap          float64 // µm
	At           r3.Vec
	Toward       r3.Vec // unit vector along which the gap of the lower tooth closes
}

// steepest bounds the rise of teeth that pass each other on steep inclines: the
// cosine of the steepest incline that is reckoned with, 72°.
const steepest = 0.3

// smallUm is the gap, µm, up to which an area may be open by a small tilt of a cast;
// our choice.
const smallUm = 1000

// touching is the gap, mm, below which the nearest points tell no direction.
const touching = 1e-6

// Toward is the direction from the lower surface to the upper one at their nearest
// points, of which the upper one lies on a face of m.
func Toward(g *contact.Gap, m *mesh.Mesh) r3.Vec {
	d := r3.Sub(g.UpperPoint, g.LowerPoint)
	if g.Dist < touching {
		a, b, c := m.Corners(g.Upper)
		d = r3.Cross(r3.Sub(c, a), r3.Sub(b, a)) // into the upper cast
	}
	l := r3.Norm(d)
	if l == 0 {
		return r3.Vec{Z: 1}
	}
	d = r3.Scale(1/l, d)
	d.Z = max(steepest, d.Z)
	return r3.Unit(d)
}

// areaRule tells whether a pair of opposing teeth counts for an area.
type areaRule struct {
	name  string
	holds func(up, lo dentition.ToothID) bool
}

// areaTeeth are the areas.
var areaTeeth = [...]areaRule{
	{"right molars", func(up, lo dentition.ToothID) bool { return molars(up, lo) && up.Side() == dentition.Right }},
	{"anterior teeth", func(up, lo dentition.ToothID) bool { return up.Type().Anterior() && lo.Type().Anterior() }},
	{"left molars", func(up, lo dentition.ToothID) bool { return molars(up, lo) && up.Side() == dentition.Left }},
}

func molars(up, lo dentition.ToothID) bool { return up.Type().Molar() || lo.Type().Molar() }

// Judge judges the mounting from the nearest pairs of every tooth. Without
// labels nothing is known of areas and the verdict is undecided.
func Judge(pairs []Closeness, t *casefile.Thresholds) findings.Mounting {
	m := findings.Mounting{Reasons: []findings.Sentence{}, Areas: []findings.Area{}}
	if len(pairs) == 0 {
		m.Verdict = findings.Undecided
		m.Reasons = append(m.Reasons, language.Say("mounting.unlabelled"))
		return m
	}
	m.Verdict = findings.Acceptable
	var middles []Closeness
	for _, a := range areaTeeth {
		area := nameArea(a.name)
		best := findings.Area{Area: a.name, Class: findings.ClassPasses, GapUm: math.Inf(1)}
		var at Closeness
		for _, p := range pairs {
			if p.Upper == dentition.NoTooth || p.Lower == dentition.NoTooth || !a.holds(p.Upper, p.Lower) {
				continue
			}
			if p.Gap < best.GapUm {
				best.GapUm, best.Upper, best.Lower, at = p.Gap, findings.Part(p.Upper), findings.Part(p.Lower), p
			}
		}
		if math.IsInf(best.GapUm, 1) {
			if m.Verdict == findings.Acceptable {
				m.Verdict = findings.Undecided // where no teeth are labelled or left, another mounting brings none
			}
			m.Reasons = append(m.Reasons, language.Say("mounting.unknown", language.With{"area": area}))
			continue
		}
		best.Class = stops.Classify(best.GapUm, t)
		m.Areas = append(m.Areas, best)
		pair := findings.Pair{Upper: best.Upper, Lower: best.Lower}
		middles = append(middles, at)
		switch best.Class {
		case findings.ClassHolds, findings.ClassDrags:
			m.Reasons = append(m.Reasons, language.Say("mounting.contact", language.With{"area": area, "pair": pair}))
		case findings.ClassUndecided:
			if m.Verdict == findings.Acceptable {
				m.Verdict = findings.Undecided
			}
			m.Reasons = append(m.Reasons, language.Say("mounting.doubtful",
				language.With{"area": area, "pair": pair, "um": best.GapUm, "doubt": t.ScanDoubtUm}))
		default:
			m.Verdict = findings.Remount
			m.Reasons = append(m.Reasons, language.Say(apart, sayOpen(&best)))
		}
	}
	if onlyFrontOpen(&m) {
		m.Reasons = append(m.Reasons, language.Say(askFront))
	}
	if p, ok := onlyTouch(pairs, t); ok && m.Verdict == findings.Remount {
		m.Reasons = append(m.Reasons, language.Say(onlyPair, language.With{"pair": p}))
	}
	if len(middles) == len(areaTeeth) && m.Verdict != findings.Acceptable {
		m.Tilt = tilt(middles, t.ScanDoubtUm)
	}
	return m
}

// askFront is what is said where the casts alone cannot tell an open bite from a tilt.
const askFront = "mounting.bite"

// onlyPair is what is said where the areas alone cannot tell a high pair from a tilt.
const onlyPair = "mounting.only"

// onlyFrontOpen says whether the anterior teeth alone are out of contact.
func onlyFrontOpen(m *findings.Mounting) bool {
	touches := func(a *findings.Area) bool { return a.Class == findings.ClassHolds || a.Class == findings.ClassDrags }
	return len(m.Areas) == len(areaTeeth) && touches(&m.Areas[0]) && m.Areas[1].Class == findings.ClassPasses && touches(&m.Areas[2])
}

// onlyTouch is the one pair of teeth that touches, ok where there is just one. A high
// spot of a tooth and a tilt of a cast then look alike.
func onlyTouch(pairs []Closeness, t *casefile.Thresholds) (only findings.Pair, ok bool) {
	for _, p := range pairs {
		if p.Gap > t.DragsUm {
			continue
		}
		q := findings.Pair{Upper: findings.Part(p.Upper), Lower: findings.Part(p.Lower)}
		if ok && q != only {
			return only, false
		}
		only, ok = q, true
	}
	return only, ok
}

// tilt is the tilt that would close three areas alike: the roll and the pitch, about
// axes through the middle of the areas, that close their gaps together with a turn
// about the hinge. The casts were closed on the hinge until the highest area touched,
// so that how far they are open there tells nothing of the mounting. Turns are small:
// p moves by ω × (p − c), and a gap shrinks by the part of that along its direction.
// Turns that move the areas by less than the doubt of a gap are not put into words;
// where both are, the areas lie on one line, or one of them is farther apart than a
// small turn explains, there is no tilt.
func tilt(p []Closeness, doubtUm float64) *findings.Tilt {
	var c r3.Vec
	for _, q := range p {
		if q.Gap > smallUm {
			return nil
		}
		c = r3.Add(c, r3.Scale(1/float64(len(p)), q.At))
	}
	var rows [3]r3.Vec
	var gaps [3]float64
	for i, q := range p {
		arm := r3.Sub(q.At, c)
		// The left rises about −y, the front about −x.
		rows[i] = r3.Vec{
			X: r3.Dot(q.Toward, r3.Cross(r3.Vec{Y: -1}, arm)), Y: r3.Dot(q.Toward, r3.Cross(r3.Vec{X: -1}, arm)),
			Z: r3.Dot(q.Toward, r3.Cross(r3.Vec{X: -1}, q.At)),
		}
		gaps[i] = q.Gap / 1000
	}
	x, ok := solve3(rows, gaps)
	if !ok {
		return nil // on one line: they tell no tilt
	}
	t := &findings.Tilt{RollDeg: x.X * 180 / math.Pi, PitchDeg: x.Y * 180 / math.Pi}
	wide, long := math.Abs(p[2].At.X-p[0].At.X), math.Abs(p[1].At.Y-(p[0].At.Y+p[2].At.Y)/2)
	told := *t
	if math.Abs(x.X)*wide < doubtUm/1000 { // mutants: same, a measured length never is the border
		told.RollDeg = 0
	}
	if math.Abs(x.Y)*long < doubtUm/1000 { // mutants: same, likewise
		told.PitchDeg = 0
	}
	if told.RollDeg == 0 && told.PitchDeg == 0 {
		return nil
	}
	t.Text = language.Say("tilt", language.With{"turns": tilted(&told)})
	return t
}

// tilted says how a lower cast is tilted that a tilt would level; nothing of what is 0.
func tilted(t *findings.Tilt) language.List {
	var out []findings.Sentence
	if t.RollDeg != 0 {
		side := "tilt.left"
		if t.RollDeg < 0 { // mutants: same, it is not 0
			side = "tilt.right"
		}
		out = append(out, language.Say(side, language.With{"deg": math.Abs(t.RollDeg)}))
	}
	if t.PitchDeg != 0 {
		end := "tilt.front"
		if t.PitchDeg < 0 { // mutants: same, it is not 0
			end = "tilt.back"
		}
		out = append(out, language.Say(end, language.With{"deg": math.Abs(t.PitchDeg)}))
	}
	return language.And(out)
}

// solve3 solves three rows·x = b by Cramer's rule; ok is false where the rows lie in a
// plane.
func solve3(rows [3]r3.Vec, b [3]float64) (x r3.Vec, ok bool) {
	across := [3]r3.Vec{r3.Cross(rows[1], rows[2]), r3.Cross(rows[2], rows[0]), r3.Cross(rows[0], rows[1])}
	det := r3.Dot(rows[0], across[0])
	if !(math.Abs(det) > 1e-12*r3.Norm(rows[0])*r3.Norm(rows[1])*r3.Norm(rows[2])) { // mutants: same, rounding decides
		return x, false
	}
	for i, v := range across {
		x = r3.Add(x, r3.Scale(b[i]/det, v))
	}
	return x, true
}
