package judge

import (
	"math"
	"slices"
	"sort"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"gonum.org/v1/gonum/spatial/r3"
)

// shallowMM is how much less deep, in mm, the guidance of one side may take the
// incisal point than that of the other before it is told: 3 mm aside about 6° of
// inclination; less than half of what lateral guidances spread. shallowFromMM is the
// difference from which it begins. Both are our choice.
const (
	shallowMM     = 0.5
	shallowFromMM = 0.1
)

// CompareSides compares the lateral movements to both sides, each with the first one to
// the other side, and gives for every movement what that shows, nil for nothing.
func CompareSides(e *frames.Setup, xs []*findings.Excursion) ([]*findings.Finding, error) {
	out := make([]*findings.Finding, len(xs))
	movements := make([]Movement, len(xs))
	for i, x := range xs {
		var err error
		if movements[i], err = NewMovement(x, e.Case); err != nil {
			return nil, err
		}
	}
	for i := range movements {
		m := &movements[i]
		k := slices.IndexFunc(movements, func(n Movement) bool { return m.Working != 0 && n.Working != 0 && n.Working != m.Working })
		if k < 0 {
			continue
		}
		if f, ok := shallow(e, m, &movements[k]); ok {
			out[i] = &f
		}
	}
	return out, nil
}

// Sides adds to the movements what comparing them shows.
func Sides(e *frames.Setup, h *Shape, xs []findings.Excursion) error {
	all := make([]*findings.Excursion, len(xs))
	for i := range xs {
		all[i] = &xs[i]
	}
	compared, err := CompareSides(e, all)
	if err != nil {
		return err
	}
	for i, f := range compared {
		if f == nil {
			continue
		}
		locate(e, &xs[i], f)
		f.Causes = append(h.standing(f.Upper.Tooth()), h.standing(f.Lower.Tooth())...)
		if f.Causes == nil {
			f.Causes = []findings.Cause{}
		}
		explain(&xs[i], f)
		xs[i].Findings = append(xs[i].Findings, *f)
		slices.SortStableFunc(xs[i].Findings, func(a, b findings.Finding) int { return important(&a, &b, &xs[i], &xs[i]) })
	}
	return nil
}

// beforeMM is how far before guidance falls short a contact may begin that this explains;
// our choice.
const beforeMM = 0.5

// explain lists with a shallow guidance the pairs of the same movement that meet because of
// it: those that interfere or stay in contact from about where it falls short.
func explain(x *findings.Excursion, f *findings.Finding) {
	for i := range x.Findings {
		g := &x.Findings[i]
		switch g.Kind {
		case findings.KindNonworkingInterference, findings.KindWorkingInterference, findings.KindNonworkingContact,
			findings.KindWorkingContact, findings.KindLateDisclusion:
		default:
			continue
		}
		from := g.FromMM
		if g.Kind == findings.KindLateDisclusion {
			from = g.AtMM
		}
		if g.PastEdge || from < f.FromMM-beforeMM || g.Upper == 0 || g.Lower == 0 {
			continue
		}
		f.Explains = append(f.Explains, findings.Pair{Upper: g.Upper, Lower: g.Lower})
	}
}

// descent is how deep the incisal point goes while it goes aside, both from rest and
// mm, where nothing interferes.
type descent struct {
	aside, deep []float64
	frame       []int
}

// descend follows the first frames of a movement.
func (m *Movement) descend(rest r3.Vec, frames int) descent {
	var d descent
	for i := range m.x.Frames[:frames] {
		p := guidedPoint(&m.x.Frames[i])
		if p == nil {
			break
		}
		aside := math.Hypot(p[0]-rest.X, p[1]-rest.Y)
		if n := len(d.aside); n > 0 && aside <= d.aside[n-1] {
			continue
		}
		d.aside, d.deep, d.frame = append(d.aside, aside), append(d.deep, rest.Z-p[2]), append(d.frame, i)
	}
	return d
}

// at is the depth at a way aside, between samples along a line; ok is false beyond
// the last one.
func (d descent) at(aside float64) (deep float64, ok bool) {
	k := sort.SearchFloat64s(d.aside, aside)
	switch {
	case k == len(d.aside):
		return 0, false
	case k == 0:
		return d.deep[0], true
	}
	share := (aside - d.aside[k-1]) / (d.aside[k] - d.aside[k-1])
	return d.deep[k-1] + share*(d.deep[k]-d.deep[k-1]), true
}

// leads is the pair of teeth that carries in a frame, where it may; no pair where none does.
func (m *Movement) leads(e *frames.Setup, frame int) findings.Pair {
	f := &m.x.Frames[frame]
	c := f.Carrier
	if c == nil || c.Upper.Tooth() == dentition.NoTooth || c.Lower.Tooth() == dentition.NoTooth {
		return findings.Pair{}
	}
	if touch, _ := m.unwanted(e, f, c.Pair(), c.PointMM.R3()); touch != "" {
		return findings.Pair{}
	}
	return c.Pair()
}

// shallow is the finding that the guidance of a lateral movement takes the jaw less
// far down than that of the other side does, compared at the same ways of the
// incisal point aside, up to the edge-to-edge position of the other side.
func shallow(e *frames.Setup, m, n *Movement) (findings.Finding, bool) {
	own, other := m.x, n.x
	f := findings.Finding{Kind: findings.KindShallow, Unit: "mm", FoilUm: m.foil,
		Robustness: findings.Robustness{State: findings.NotTried}, Teeth: []findings.Part{}}
	rest := e.Casts.Incisal
	if own.Guidance == nil || other.Guidance == nil || rest == nil {
		return f, false
	}
	is, should := m.descend(*rest, len(own.Frames)), n.descend(*rest, n.End+1)
	var less []float64
	for i, a := range is.aside {
		deep, ok := should.at(a)
		if !ok {
			break
		}
		less = append(less, deep-is.deep[i])
	}
	from := len(less)
	for from > 0 && less[from-1] > shallowFromMM {
		from--
	}
	// The pair that leads there longest, and where it falls short most.
	short, frame := less[from:], is.frame[from:len(less)]
	leads := make([]findings.Pair, len(short))
	for i := range leads {
		leads[i] = m.leads(e, frame[i])
	}
	guide, at, most := mostly(leads), 0, 0.0
	for i, mm := range short {
		if leads[i] == guide && mm > most {
			at, most = i, mm
		}
	}
	if guide == (findings.Pair{}) || most < shallowMM {
		return f, false
	}
	best := &own.Frames[frame[at]]
	f.Upper, f.Lower, f.Value, f.PointMM = guide.Upper, guide.Lower, &most, &best.Carrier.PointMM
	f.FromMM, f.ToMM, f.AtMM = own.Frames[frame[0]].TravelMM, own.Frames[frame[len(frame)-1]].TravelMM, best.TravelMM
	k := should.frame[sort.SearchFloat64s(should.aside, is.aside[from+at])]
	against := findings.NameMovement(other.Movement)
	if p := n.leads(e, k); p != (findings.Pair{}) {
		against = language.Say("finding.shallow.pair", language.With{"pair": p, "movement": against})
	}
	f.Text = language.Say("finding.shallow", language.With{
		"pair": guide, "movement": findings.NameMovement(own.Movement), "mm": *f.Value, "other": against, "at": f.AtMM, "from": f.FromMM,
	})
	return f, true
}
