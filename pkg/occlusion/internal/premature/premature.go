// Package premature says what the casts showed in the relation in which they were given,
// before they were settled: which pairs of teeth meet first, by how much they are high
// against what would meet next, and whether single pairs or a turn of the cast explain it.
package premature

import (
	"context"
	"math"

	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/judge"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/staircase"
)

// stairs bounds a staircase: pairs that would meet only after another millimetre of closing
// tell nothing of this relation.
var stairs = staircase.Limits{Most: 28, Deep: 1}

// climb takes the closing of the upper cast and a lower one apart into steps.
func climb(c *casts.Casts, closer *contact.Closer, lower *casts.Cast) []staircase.Step {
	var s contact.CloserScratch
	side := func(c *casts.Cast) staircase.Cast {
		return staircase.Cast{Mesh: c.Mesh(), Tooth: func(t mesh.TriID) dentition.ToothID { return c.Tooth(t) }}
	}
	return staircase.Climb(closer, kinematics.Pose{}, side(c.Upper), side(lower), labelled(c), stairs, &s)
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
	r := staircase.Read(kinematics.Pose{}, steps, e.Case.Thresholds.ScanDoubtUm/1000)
	first := written(steps)[0]
	g := &findings.Given{OpeningDeg: first.OpeningDeg, Upper: first.Upper, Lower: first.Lower, HeightUm: first.HeightUm,
		Shape: r.Shape, Staircase: written(steps), Within: r.Within, Teeth: r.Teeth}
	if !math.IsNaN(r.Rest) {
		um := 1000 * r.Rest
		g.ResidualUm = &um
	}
	if r.Motion != (staircase.Motion{}) {
		g.Turn = &findings.SmallTurn{RollDeg: r.Motion.Roll * 180 / math.Pi, PitchDeg: r.Motion.Pitch * 180 / math.Pi}
	}
	g.Text = givenWords(g)
	f.Settling.Given = g
	for k := range r.High {
		if k < 2 { // what lies behind two shows when they are gone
			f.Centric.Findings = append(f.Centric.Findings, finding(e, steps, k))
		}
	}
	return nil
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
func finding(e *frames.Setup, steps []staircase.Step, k int) findings.Finding {
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
	g.UpperAt = judge.Site(e.Casts.Upper, s.Upper, s.Touch.Point)
	g.LowerAt = judge.Site(e.Casts.Scanned, s.Lower, s.Touch.Pose.Inverse().Apply(s.Touch.Point))
	g.Text = prematureWords(&g, k)
	return g
}

// adjustMost is the height, µm, above which a contact is beyond what is adjusted by
// grinding; common practice, no source.
const adjustMost = 300

// givenWords tell what the given relation showed.
func givenWords(g *findings.Given) findings.Sentence {
	with := language.With{"pair": findings.Pair{Upper: g.Upper, Lower: g.Lower}}
	if g.HeightUm != nil && len(g.Staircase) > 1 {
		next := &g.Staircase[1]
		with["um"], with["next"] = *g.HeightUm, findings.Pair{Upper: next.Upper, Lower: next.Lower}
	}
	first := language.Say("given.first", with)
	many := language.Say("given.many", language.With{"within": g.Within, "teeth": g.Teeth})
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
	var out []findings.Sentence
	add := func(deg float64, plus, minus string) {
		switch {
		case deg > 0:
			out = append(out, language.Say(plus, language.With{"deg": deg}))
		case deg < 0:
			out = append(out, language.Say(minus, language.With{"deg": -deg}))
		}
	}
	add(t.RollDeg, "tilt.up.left", "tilt.up.right")
	add(t.PitchDeg, "tilt.up.front", "tilt.up.back")
	return language.And(out)
}

func prematureWords(g *findings.Finding, k int) findings.Sentence {
	with := language.With{"pair": findings.Pair{Upper: g.Upper, Lower: g.Lower}}
	if g.HeightUm != nil {
		with["um"], with["next"] = *g.HeightUm, *g.Next
		if *g.HeightUm > adjustMost {
			with["end"] = language.Say("finding.premature.beyond")
		}
	}
	if k > 0 {
		return language.Say("finding.premature.next", with)
	}
	return language.Say("finding.premature.first", with)
}

// Renumber puts the premature contacts first and the findings of the movements behind them.
func Renumber(f *findings.Findings) {
	n := len(f.Centric.Findings)
	for i := range f.Centric.Findings {
		f.Centric.Findings[i].Severity = i + 1
	}
	for i := range f.Excursions {
		for k := range f.Excursions[i].Findings {
			f.Excursions[i].Findings[k].Severity += n
		}
	}
}
