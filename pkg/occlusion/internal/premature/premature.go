// Package premature says what the casts showed in the relation in which they were given,
// before they were settled: which pairs of teeth meet first, by how much they are high
// against what would meet next, and whether single pairs or a turn of the cast explain it.
package premature

import (
	"context"
	"math"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/staircase"
)

// limits bounds a staircase: pairs that would meet only after another millimetre of closing
// tell nothing of this relation.
var limits = staircase.Limits{Most: 28, Deep: 1}

// climb takes the closing of the upper cast and a lower one apart into steps.
func climb(c *casts.Casts, closer *contact.Closer, lower *casts.Cast) []staircase.Step {
	var s contact.CloserScratch
	side := func(c *casts.Cast) staircase.Cast {
		return staircase.Cast{Mesh: c.Mesh(), Tooth: c.Tooth, OfPart: c.OfPart}
	}
	return staircase.Climb(closer, kinematics.Pose{}, side(c.Upper), side(lower), labelled(c), limits, &s)
}

// labelled says whether the teeth of both casts are known.
func labelled(c *casts.Casts) bool { return c.Upper.Teeth != nil && c.Lower.Teeth != nil }

// Write adds to the findings what the casts showed before they were settled, the staircase
// of closing of the casts as examined, and the premature contacts of the given relation.
func Write(ctx context.Context, e *frames.Setup, f *findings.Findings) error {
	c := e.Casts
	closer := c.Closer
	var err error
	if c.Scanned != c.Lower {
		if closer, err = contact.NewCloser(ctx, c.Upper.Arch, c.Scanned.Arch, contact.Options{}); err != nil {
			return err
		}
	}
	steps := climb(c, closer, c.Scanned)
	f.Centric.Findings, f.Centric.Staircase = []findings.Finding{}, []findings.Step{}
	if labelled(c) {
		f.Centric.Staircase = written(steps)
		if c.Scanned != c.Lower {
			f.Centric.Staircase = written(climb(c, c.Closer, c.Lower))
		}
	}
	if len(steps) == 0 {
		return nil
	}
	doubt := e.Case.Thresholds.ScanDoubtUm / 1000
	g := &findings.Given{Staircase: written(steps)}
	first := g.Staircase[0]
	g.OpeningDeg, g.Upper, g.Lower, g.HeightUm = first.OpeningDeg, first.Upper, first.Lower, first.HeightUm
	at := &stairs{steps, staircase.Read(kinematics.Pose{}, steps, doubt), kinematics.Pose{}}
	d, back, err := displaced(ctx, e, at, f.Settling.Seat)
	if err != nil {
		return err
	}
	if d != nil {
		g.Displaced, at = d, back
	}
	describe(g, at)
	f.Settling.Given = g
	f.Centric.Findings = at.findings(e)
	tilt(f, e, at, doubt)
	return nil
}

// stairs is a staircase, what it looks like, and the motion of the scanned lower cast to
// where it was climbed.
type stairs struct {
	steps []staircase.Step
	staircase.Reading
	pose kinematics.Pose
}

// describe says what the given relation looks like.
func describe(g *findings.Given, at *stairs) {
	g.Shape, g.Within, g.Teeth = at.Shape, at.Within, at.Teeth
	if !math.IsNaN(at.Rest) {
		um := 1000 * at.Rest
		g.ResidualUm = &um
	}
	turn := findings.SmallTurn{RollDeg: at.Motion.Roll * 180 / math.Pi, PitchDeg: at.Motion.Pitch * 180 / math.Pi}
	if d := g.Displaced; d != nil {
		turn = findings.SmallTurn{RollDeg: d.RollDeg, PitchDeg: d.PitchDeg}
	}
	if math.Abs(turn.RollDeg) >= toldDeg || math.Abs(turn.PitchDeg) >= toldDeg {
		g.Turn = &turn
	}
	switch {
	case at.High > 0:
	case g.Displaced != nil && g.Turn != nil:
		g.Shape = findings.ShapeTilted
	case g.Displaced != nil:
		g.Shape = findings.ShapeShifted
	case g.Shape == findings.ShapeTilted && g.Turn == nil:
		g.Shape = findings.ShapeLevel
	}
	g.Text = givenWords(g)
}

// findings are the premature contacts of a staircase.
func (s *stairs) findings(e *frames.Setup) []findings.Finding {
	out := []findings.Finding{}
	for k := range s.High {
		if len(out) < 2 && !told(s.steps, k) { // what lies behind two shows when they are gone
			out = append(out, finding(e, s, k))
		}
	}
	return out
}

// tilt puts into the verdict the tilt that explains the gaps of the casts as examined, and
// none where none does. Few teeth tell nothing: then that of the areas stands.
func tilt(f *findings.Findings, e *frames.Setup, given *stairs, doubt float64) {
	m := &f.Centric.Mounting
	if m.Verdict == findings.Acceptable {
		return
	}
	g := f.Settling.Given
	if seat := f.Settling.Seat; seat != nil && seat.Taken {
		steps := climb(e.Casts, e.Casts.Closer, e.Casts.Lower)
		g = &findings.Given{}
		describe(g, &stairs{steps, staircase.Read(kinematics.Pose{}, steps, doubt), kinematics.Pose{}})
	}
	if g.Shape == findings.ShapeUnknown {
		return
	}
	m.Tilt = nil
	if g.Turn == nil {
		return
	}
	m.Tilt = &findings.Tilt{RollDeg: -g.Turn.RollDeg, PitchDeg: -g.Turn.PitchDeg, Text: language.Say("tilt", language.With{
		"turns": downWords(g.Turn), "within": g.Within, "teeth": g.Teeth, "um": *g.ResidualUm,
	})}
}

// told says whether a step above step k has a tooth of it: a high tooth may meet two others.
func told(steps []staircase.Step, k int) bool {
	return slices.ContainsFunc(steps[:k], func(s staircase.Step) bool { return s.Upper == steps[k].Upper || s.Lower == steps[k].Lower })
}

// written is steps as the findings write them.
func written(steps []staircase.Step) []findings.Step {
	out := make([]findings.Step, len(steps))
	for i := range steps {
		s := &steps[i]
		out[i] = findings.Step{Upper: findings.Part(s.Upper), Lower: findings.Part(s.Lower),
			OpeningDeg: s.Touch.Opening.Degrees(), PointMM: findings.VecOf(s.Touch.Point)}
		if !math.IsNaN(s.Height) {
			um := 1000 * s.Height
			out[i].HeightUm = &um
		}
	}
	return out
}

// finding is the finding of step k: its height is to the next pair of other teeth, since
// one high tooth may meet two opposing ones.
func finding(e *frames.Setup, at *stairs, k int) findings.Finding {
	steps := at.steps
	s := &steps[k]
	p := findings.VecOf(s.Touch.Point)
	g := findings.Finding{
		Kind: findings.KindPremature, Upper: findings.Part(s.Upper), Lower: findings.Part(s.Lower), PointMM: &p,
		Robustness: findings.Robustness{State: findings.NotTried}, Teeth: []findings.Part{}, Causes: []findings.Cause{}, FoilUm: e.Foils[0],
	}
	for i := k + 1; i < len(steps); i++ {
		next := &steps[i]
		if next.Upper == s.Upper || next.Lower == s.Lower {
			continue
		}
		um := 1000 * staircase.Way(kinematics.Pose{}, &s.Touch, next.Touch.Opening)
		g.HeightUm, g.Next = &um, &findings.Pair{Upper: findings.Part(next.Upper), Lower: findings.Part(next.Lower)}
		break
	}
	g.Doubtful = g.HeightUm != nil && *g.HeightUm < relation(e)
	g.UpperAt = judge.Site(e.Casts.Upper, s.Upper, s.Touch.Point)
	g.LowerAt = judge.Site(e.Casts.Scanned, s.Lower, at.pose.Inverse().Apply(s.Touch.Pose.Inverse().Apply(s.Touch.Point)))
	g.Text = prematureWords(&g, k, relation(e))
	return g
}

// givenWords tell what the given relation showed.
func givenWords(g *findings.Given) findings.Sentence {
	with := language.With{"pair": findings.Pair{Upper: g.Upper, Lower: g.Lower}}
	if g.HeightUm != nil && len(g.Staircase) > 1 && *g.HeightUm >= 0.5 {
		next := &g.Staircase[1]
		with["um"], with["next"] = *g.HeightUm, findings.Pair{Upper: next.Upper, Lower: next.Lower}
	}
	first := language.Say("given.first", with)
	many := language.Say("given.many", language.With{"within": g.Within, "teeth": g.Teeth})
	if g.Displaced != nil {
		return language.Say("given.displaced", language.With{"first": first, "where": g.Displaced.Text, "within": g.Within, "teeth": g.Teeth})
	}
	switch g.Shape {
	case findings.ShapeLevel:
		return language.Say("given.level", language.With{"many": many})
	case findings.ShapeHigh:
		if g.Turn != nil {
			return language.Say("given.high.tilted", language.With{"first": first, "turns": turnWords(g.Turn), "many": many})
		}
		return language.Say("given.high", language.With{"first": first, "many": many})
	case findings.ShapeTilted:
		return language.Say("given.tilted", language.With{"first": first, "turns": turnWords(g.Turn), "many": many})
	case findings.ShapeUneven:
		return language.Say("given.uneven", language.With{"first": first})
	}
	return first
}

// turnWords say how a cast stands that is turned a little.
func turnWords(t *findings.SmallTurn) language.List {
	return turnsIn(t, [2]string{"tilt.up.left", "tilt.up.right"}, [2]string{"tilt.up.front", "tilt.up.back"})
}

// downWords say the same by the sides that stand too low.
func downWords(t *findings.SmallTurn) language.List {
	return turnsIn(t, [2]string{"tilt.right", "tilt.left"}, [2]string{"tilt.back", "tilt.front"})
}

func turnsIn(t *findings.SmallTurn, roll, pitch [2]string) language.List {
	var out []findings.Sentence
	add := func(deg float64, keys [2]string) {
		switch {
		case deg >= toldDeg:
			out = append(out, language.Say(keys[0], language.With{"deg": deg}))
		case -deg >= toldDeg:
			out = append(out, language.Say(keys[1], language.With{"deg": -deg}))
		}
	}
	add(t.RollDeg, roll)
	add(t.PitchDeg, pitch)
	return language.And(out)
}

// relation is how well, in µm, the relation of the casts is known: as scans are, or what the
// case grants where it grants more than usual, as it does for casts put together by hand.
func relation(e *frames.Setup) float64 {
	if um := e.Case.Settle.DoubtUm; um > casefile.Default().Settle.DoubtUm {
		return um
	}
	return e.Case.Thresholds.ScanDoubtUm
}

func prematureWords(g *findings.Finding, k int, relation float64) findings.Sentence {
	with := language.With{"pair": findings.Pair{Upper: g.Upper, Lower: g.Lower}}
	if g.HeightUm != nil {
		with["um"], with["next"] = *g.HeightUm, *g.Next
		if g.Doubtful {
			with["doubt"] = language.Say("finding.premature.doubt", language.With{"um": relation})
		}
		if *g.HeightUm > judge.AdjustMostUm {
			with["end"] = language.Say("finding.premature.beyond")
		}
	}
	if k > 0 {
		return language.Say("finding.premature.next", with)
	}
	return language.Say("finding.premature.first", with)
}

// Renumber puts the premature contacts first and the findings of the movements behind them;
// last those whose height is below what the relation of the casts is known to.
func Renumber(f *findings.Findings) {
	sure := 0
	for i := range f.Centric.Findings {
		if g := &f.Centric.Findings[i]; !g.Doubtful {
			sure++
			g.Severity = sure
		}
	}
	last := sure
	for i := range f.Excursions {
		for k := range f.Excursions[i].Findings {
			g := &f.Excursions[i].Findings[k]
			g.Severity += sure
			last = max(last, g.Severity)
		}
	}
	for i := range f.Centric.Findings {
		if g := &f.Centric.Findings[i]; g.Doubtful {
			last++
			g.Severity = last
		}
	}
}
