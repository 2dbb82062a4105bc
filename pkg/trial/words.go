package trial

import (
	"math"

	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/treatment"
	"github.com/golang/geo/s1"
)

// stairs lists the levels of closing of the given relation: for each pair that would meet
// next, by how much those above must be lowered along the arc of closing.
func stairs(x *Examined) []treatment.Stair {
	out := []treatment.Stair{}
	g := x.Findings.Settling.Given
	if g == nil {
		return out
	}
	const most = 4
	for k := 1; k < len(g.Staircase) && k <= most; k++ {
		s := &g.Staircase[k]
		st := treatment.Stair{Upper: s.Upper, Lower: s.Lower, LowerUm: []treatment.Lowered{}}
		for _, above := range g.Staircase[:k] {
			p := above.PointMM.R3()
			turn := s1.Angle(above.OpeningDeg-s.OpeningDeg) * s1.Degree
			st.LowerUm = append(st.LowerUm, treatment.Lowered{Upper: above.Upper, Lower: above.Lower, Um: 2000 * math.Hypot(p.Y,
				p.Z) * math.Sin(turn.Radians()/2)})
		}
		if i := x.Casts.Incisal; i != nil {
			at := func(deg float64) float64 {
				return kinematics.RotationX(s1.Angle(deg) * s1.Degree).Apply(x.Casts.Settling.Pose.Pose.Inverse().Apply(*i)).Z
			}
			drop := at(s.OpeningDeg) - at(g.OpeningDeg)
			st.IncisalDropMM = &drop
		}
		out = append(out, st)
	}
	return out
}

// words fills in the sentences of the document.
func words(d *treatment.Treatment, before, after *findings.Findings) {
	teeth := map[findings.Part]bool{}
	spots, wax, refused := 0, 0, 0
	deepest := 0.0
	for i := range d.Steps {
		s := &d.Steps[i]
		switch {
		case !s.Refused.Empty():
			refused++
			continue
		case s.Kind == treatment.Wax:
			wax++
		default:
			spots++
		}
		teeth[s.Tooth] = true
		deepest = max(deepest, s.DeepestUm)
	}
	kept := len(d.Stops.Kept)
	with := language.With{"kept": kept, "all": kept + len(d.Stops.Lost), "teeth": len(teeth), "spots": spots, "waxed": wax,
		"deepest": deepest}
	key := "trial.sum"
	switch {
	case spots+wax == 0:
		key = "trial.sum.none"
	case spots == 0:
		key = "trial.sum.wax"
	case wax > 0:
		key = "trial.sum.both"
	}
	d.Summary = language.Say(key, with)
	d.Consequences = consequences(d, before, after)
	d.Cautions = []findings.Sentence{language.Say("trial.caution.first"), language.Say("caution")}
	for i := range d.Steps {
		if d.Steps[i].Kind == treatment.Wax && d.Steps[i].Refused.Empty() {
			d.Cautions = append([]findings.Sentence{language.Say("trial.caution.wax")}, d.Cautions...)
			break
		}
	}
}

// consequences say what follows for the bite.
func consequences(d *treatment.Treatment, before, after *findings.Findings) []findings.Sentence {
	out := []findings.Sentence{}
	say := func(key string, with language.With) { out = append(out, language.Say(key, with)) }
	if drop := d.IncisalDropMM; drop != nil && math.Abs(*drop) >= 0.005 {
		say("trial.incisal", language.With{"mm": *drop})
	}
	if a, b := overbite(before), overbite(after); a != nil && b != nil && math.Abs(*a-*b) >= 0.05 {
		say("trial.overbite", language.With{"before": *a, "after": *b})
	}
	if s := after.Centric.Staircase; len(s) > 0 {
		say("trial.first", language.With{"pair": findings.Pair{Upper: s[0].Upper, Lower: s[0].Lower}})
	}
	out = append(out, after.Centric.StopsText)
	return out
}

// overbite is the mean overbite of the incisors, mm; nil where it is not known.
func overbite(f *findings.Findings) *float64 {
	if f.Arches == nil || len(f.Arches.Incisors) == 0 {
		return nil
	}
	sum := 0.0
	for _, i := range f.Arches.Incisors {
		sum += i.OverbiteMM
	}
	sum /= float64(len(f.Arches.Incisors))
	return &sum
}
