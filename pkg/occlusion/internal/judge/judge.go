package judge

import (
	"cmp"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/casts"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/occlusion/internal/frames"
	"gonum.org/v1/gonum/spatial/r3"
)

// Judge adds to a movement what it shows.
func Judge(e *frames.Setup, h *Shape, x *findings.Excursion) error {
	m, err := NewMovement(x, e.Case)
	if err != nil {
		return err
	}
	m.Measure(findings.Foils(e.Case.FoilsUm))
	x.Findings, err = m.weigh(e, h)
	return err
}

var kindOrder = [...]findings.Kind{
	findings.KindPremature,
	findings.KindNonworkingInterference, findings.KindProtrusiveInterference, findings.KindWorkingInterference, findings.KindNonworkingContact, findings.KindProtrusiveContact, findings.KindWorkingContact,
	findings.KindLateDisclusion, findings.KindUneven, findings.KindShallow, findings.KindKink, findings.KindGuidance,
}

// unevenBelow is the evenness of protrusion from which down one side carries alone;
// our choice.
const unevenBelow = 0.2

// Outlined is a finding and, for an interference, the frames behind it.
type Outlined struct {
	findings.Finding
	spell *spell
}

// Outline lists what the movement shows, without what only explains it.
func (m *Movement) Outline(e *frames.Setup) []Outlined {
	var out []Outlined
	frames := m.x.Frames
	if len(frames) == 0 {
		return out
	}
	spells := m.lasting(m.interferences(e))
	m.fold(spells)
	for _, sp := range spells {
		from, to := sp.frames()
		f := findings.Finding{Kind: sp.touch, Upper: sp.pair.Upper, Lower: sp.pair.Lower, FromMM: frames[from].TravelMM,
			ToMM: frames[to].TravelMM,
			AtMM: frames[sp.best].TravelMM, PointMM: &sp.point, AreaMM2: &sp.area, PastEdge: sp.first > m.End}
		if sp.carries() {
			f.Kind = sp.carry
		}
		if b := sp.beyond; b != nil {
			from, to := b.frames()
			f.Beyond = &findings.Beyond{FromMM: frames[from].TravelMM, ToMM: frames[to].TravelMM, Interferes: b.carries()}
		}
		out = append(out, Outlined{f, &sp})
	}
	if f, ok := m.late(); ok {
		out = append(out, Outlined{Finding: f})
	}
	if u := m.x.Smoothness; u != nil {
		if f, ok := m.uneven(); ok {
			out = append(out, Outlined{Finding: f})
		}
		for _, k := range u.Kinks {
			if !m.hinders(&k, spells) {
				continue // told in the smoothness of the movement
			}
			p := k.From.PointMM
			out = append(out, Outlined{Finding: findings.Finding{Kind: findings.KindKink, Upper: k.From.Upper,
				Lower: k.From.Lower, FromMM: k.TravelMM, ToMM: k.TravelMM, AtMM: k.TravelMM, PointMM: &p}})
		}
	}
	if f, ok := m.guided(); ok {
		out = append(out, Outlined{Finding: f})
	}
	return out
}

// fadesMM is how far beyond the beginning of a movement what only touches must go on to be
// told: teeth that leave intercuspation slide off each other at first. Our choice.
const fadesMM = 0.3

// lasting leaves out of spells those of pairs that only touch as they leave intercuspation.
func (m *Movement) lasting(spells []spell) []spell {
	return slices.DeleteFunc(spells, func(sp spell) bool {
		return !sp.carries() && sp.beyond == nil && m.x.Frames[sp.last].TravelMM < m.Limits.BegunMM+fadesMM-1e-9
	})
}

// fold remembers the teeth of spells up to the edge-to-edge position: that they disocclude
// late is told by their contacts.
func (m *Movement) fold(spells []spell) {
	m.folded = map[findings.Part]bool{}
	for _, sp := range spells {
		if sp.first <= m.End {
			m.folded[sp.pair.Upper], m.folded[sp.pair.Lower] = true, true
		}
	}
}

// hinders says whether a kink is a finding of its own: the guidance steepens or leaps where
// it passes to another pair. Where it becomes flatter nothing hinders the movement, and what
// interferes is told as such.
func (m *Movement) hinders(k *findings.Kink, spells []spell) bool {
	if k.TravelMM < m.Limits.BegunMM || k.TravelMM > m.x.Frames[m.End].TravelMM ||
		k.From.Pair() == k.To.Pair() {
		return false
	}
	if k.JumpMM == 0 && k.ChangeDeg <= 0 {
		return false
	}
	return !slices.ContainsFunc(spells, func(sp spell) bool {
		return sp.carries() && (sp.pair == k.From.Pair() || sp.pair == k.To.Pair())
	})
}

// tooLate says whether a posterior tooth disoccludes late or never, and no contact tells it.
func (m *Movement) tooLate(d *findings.Disclusion) bool {
	return (d.ClearsMM == nil || *d.ClearsMM > m.Limits.LateMM) && !m.folded[d.Tooth]
}

// weigh writes down what the movement shows, most important first.
func (m *Movement) weigh(e *frames.Setup, h *Shape) ([]findings.Finding, error) {
	out := []findings.Finding{}
	var s contact.CloserScratch
	for _, o := range m.Outline(e) {
		f := o.Finding
		if o.spell != nil && o.spell.carries() {
			if err := m.measureHeight(e, o.spell, &f, &s); err != nil {
				return nil, err
			}
			f.Doubtful = f.HeightUm != nil && *f.HeightUm < m.Limits.ScanDoubtUm
		}
		f.FoilUm, f.Robustness, f.Causes, f.Teeth = m.foil, findings.Robustness{State: findings.NotTried}, []findings.Cause{}, []findings.Part{}
		m.gauge(&f)
		locate(e, m.x, &f)
		if o.spell != nil {
			f.Causes = append(f.Causes, m.causes(e, h, &f)...)
		}
		if f.Kind == findings.KindLateDisclusion {
			f.Causes = append(f.Causes, m.lateCauses(e, h, &f)...)
		}
		f.Text = m.sentence(&f)
		if f.PastEdge {
			f.Text = language.Say("finding.beyond", language.With{"text": f.Text})
		}
		if b := f.Beyond; b != nil {
			key := "finding.on.touches"
			if b.Interferes {
				key = "finding.on.interferes"
			}
			f.Text = language.Say(key, language.With{"text": f.Text, "span": findings.Span(b.FromMM, b.ToMM)})
		}
		out = append(out, f)
	}
	slices.SortStableFunc(out, func(a, b findings.Finding) int { return important(&a, &b, m.x, m.x) })
	return out, nil
}

// locate names the features on which a finding lies.
func locate(e *frames.Setup, x *findings.Excursion, f *findings.Finding) {
	if f.PointMM == nil {
		return
	}
	i, _ := nearestFrame(x.Frames, f.AtMM)
	p := r3.Vec{X: f.PointMM[0], Y: f.PointMM[1], Z: f.PointMM[2]}
	f.UpperAt = Site(e.Casts.Upper, f.Upper.Tooth(), p)
	f.LowerAt = Site(e.Casts.Lower, f.Lower.Tooth(), x.Frames[i].Pose.Inverse().Apply(p))
}

// Site is where on a tooth a point of a cast lies, in words; empty off the teeth.
func Site(c *casts.Cast, t dentition.ToothID, p r3.Vec) string {
	f, ok := c.Frames[t]
	if !ok {
		return ""
	}
	chart := anatomy.NewChart(f, c.Landmarks)
	return chart.At(p).Words()
}

// kindRank is twice the place of a finding's kind in their order. What carries by less than
// the scans can tell stands with what only touches.
func kindRank(f *findings.Finding) int {
	kind := f.Kind
	if len(f.Explains) > 0 {
		return 1 // right behind premature contacts: the cause before what it brings about
	}
	if f.Doubtful {
		switch kind {
		case findings.KindPremature:
			kind = findings.KindNonworkingContact
		case findings.KindNonworkingInterference:
			kind = findings.KindNonworkingContact
		case findings.KindProtrusiveInterference:
			kind = findings.KindProtrusiveContact
		case findings.KindWorkingInterference:
			kind = findings.KindWorkingContact
		}
	}
	return 2 * slices.Index(kindOrder[:], kind)
}

// farMM is the travel from which what begins stands behind where the edge-to-edge position is
// not known: beyond it few guide before they stand edge to edge (an overbite and an overjet of 3
// mm); our choice.
const farMM = 3.0

// behind says whether a finding tells of what lies beyond what a movement is judged by: beyond
// the edge-to-edge position, or far along where no incisal point tells that position.
func behind(f *findings.Finding, x *findings.Excursion) bool {
	unknown := len(x.Frames) > 0 && x.Frames[0].IncisalPoint == nil
	return f.PastEdge || unknown && f.FromMM > farMM
}

// important orders findings of two movements: what lies behind comes last, then by kind, then
// by size.
func important(a, b *findings.Finding, ofA, ofB *findings.Excursion) int {
	if x, y := behind(a, ofA), behind(b, ofB); x != y {
		if x {
			return 1
		}
		return -1
	}
	return cmp.Or(cmp.Compare(kindRank(a), kindRank(b)), cmp.Compare(size(b), size(a)))
}

// Rank numbers the findings of all movements in their order of importance.
func Rank(out []findings.Excursion) {
	type of struct {
		*findings.Finding
		x *findings.Excursion
	}
	var all []of
	for i := range out {
		for k := range out[i].Findings {
			all = append(all, of{&out[i].Findings[k], &out[i]})
		}
	}
	slices.SortStableFunc(all, func(a, b of) int { return important(a.Finding, b.Finding, a.x, b.x) })
	for i, f := range all {
		f.Severity = i + 1
	}
}

// size orders findings of one kind.
func size(f *findings.Finding) float64 {
	s := f.ToMM - f.FromMM
	if f.HeightUm != nil {
		s += *f.HeightUm
	}
	return s
}

// late is the finding that posterior teeth do not disocclude, or only late.
func (m *Movement) late() (findings.Finding, bool) {
	end := m.x.Frames[m.End].TravelMM
	return findings.Finding{Kind: findings.KindLateDisclusion, FromMM: 0, ToMM: end, AtMM: min(m.Limits.LateMM, end)}, len(m.lateTeeth()) > 0
}

// lateTeeth names the posterior teeth that do not disocclude, or when they do.
func (m *Movement) lateTeeth() []findings.Sentence {
	var never []findings.Part
	var late []findings.Sentence
	for i := range m.x.Disclusion {
		switch d := &m.x.Disclusion[i]; {
		case !m.tooLate(d):
		case d.ClearsMM == nil:
			never = append(never, d.Tooth)
		default:
			late = append(late, language.Say("finding.late.from", language.With{"tooth": d.Tooth, "from": *d.ClearsMM}))
		}
	}
	if len(never) > 0 {
		late = append([]findings.Sentence{language.Say("finding.late.never",
			language.With{"teeth": language.Commas(never), "to": m.x.Frames[m.End].TravelMM})}, late...)
	}
	return late
}

// uneven is the finding that anterior teeth of one side carry protrusion alone: the pair of
// them that carries longest.
func (m *Movement) uneven() (findings.Finding, bool) {
	f := findings.Finding{Kind: findings.KindUneven}
	if e := m.x.Smoothness.Evenness; m.Working != 0 || e == nil || *e >= unevenBelow {
		return f, false
	}
	carry := make([]findings.Pair, m.End+1) // by frame, of anterior teeth
	for i := range carry {
		fr := &m.x.Frames[i]
		if fr.Carrier != nil && fr.TravelMM >= m.Limits.BegunMM && m.Place(fr.Carrier.Upper, fr.Carrier.Lower) == frames.Front {
			carry[i] = fr.Carrier.Pair()
		}
	}
	longest := mostly(carry)
	if longest == (findings.Pair{}) {
		return f, false
	}
	first, last := slices.Index(carry, longest), len(carry)-1
	for carry[last] != longest {
		last--
	}
	at := &m.x.Frames[first]
	f.Upper, f.Lower, f.PointMM = longest.Upper, longest.Lower, &at.Carrier.PointMM
	f.FromMM, f.AtMM, f.ToMM = at.TravelMM, at.TravelMM, m.x.Frames[last].TravelMM
	return f, true
}

// mostly returns the pair that a list names most often, of equals the one that gets there first;
// no pair where it names none.
func mostly(list []findings.Pair) findings.Pair {
	var most findings.Pair
	count := map[findings.Pair]int{}
	for _, p := range list {
		if p == (findings.Pair{}) {
			continue
		}
		if count[p]++; count[p] > count[most] {
			most = p
		}
	}
	return most
}

// guided says who guides at 1 mm, or at the last named distance before.
func (m *Movement) guided() (findings.Finding, bool) {
	g := m.x.Guidance
	if g == nil {
		return findings.Finding{}, false
	}
	var at *findings.Pattern
	for i := range g.Patterns {
		if p := &g.Patterns[i]; p.FoilUm == m.foil && p.AtMM <= 1 {
			at = p
		}
	}
	if at == nil || at.Pattern == findings.NoContact || at.Pattern == findings.NotLabelled {
		return findings.Finding{}, false
	}
	f := findings.Finding{Kind: findings.KindGuidance, Pattern: at.Pattern, FromMM: at.TravelMM, ToMM: at.TravelMM, AtMM: at.TravelMM}
	i, _ := nearestFrame(m.x.Frames, at.TravelMM)
	if c := m.x.Frames[i].Carrier; c != nil {
		p := c.PointMM
		f.Upper, f.Lower, f.PointMM = c.Upper, c.Lower, &p
	}
	return f, true
}
