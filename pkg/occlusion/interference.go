package occlusion

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"gonum.org/v1/gonum/spatial/r3"
)

// Kind is what a finding is about. Kinds are stable; new ones may join them.
type Kind string

// The kinds, most important first: findings are listed in this order.
const (
	KindNonworkingCarries Kind = "nonworking_carries"      // the working side hangs
	KindBackCarries       Kind = "protrusive_back_carries" // back teeth carry after protrusion has begun
	KindLingualCarries    Kind = "working_lingual_carries" // lingual cusps of the working side carry
	KindNonworkingTouches Kind = "nonworking_touches"      // contact beside the guidance
	KindBackTouches       Kind = "protrusive_back_touches" //
	KindLingualTouches    Kind = "working_lingual_touches" //
	KindLateDisclusion    Kind = "late_disclusion"         // a back tooth that does not come clear
	KindUneven            Kind = "uneven_protrusion"       // one side's front teeth carry alone
	KindKink              Kind = "kink"                    // a sudden change of the path
	KindGuidance          Kind = "guidance"                // who guides, for orientation
)

var kindOrder = [...]Kind{
	KindNonworkingCarries, KindBackCarries, KindLingualCarries, KindNonworkingTouches, KindBackTouches, KindLingualTouches,
	KindLateDisclusion, KindUneven, KindKink, KindGuidance,
}

// Finding is one judgement about a movement.
type Finding struct {
	Kind     Kind    `json:"kind" jsonschema:"enum=nonworking_carries,enum=protrusive_back_carries,enum=working_lingual_carries,enum=nonworking_touches,enum=protrusive_back_touches,enum=working_lingual_touches,enum=late_disclusion,enum=uneven_protrusion,enum=kink,enum=guidance"`
	Severity int     `json:"severity" jsonschema_description:"plain order of importance over all movements, 1 first"`
	Text     string  `json:"text" jsonschema_description:"the finding in one sentence"`
	Upper    Part    `json:"upper"`
	Lower    Part    `json:"lower"`
	FromMM   float64 `json:"from_mm" jsonschema_description:"travel at which it begins"`
	ToMM     float64 `json:"to_mm" jsonschema_description:"travel at which it ends"`
	PointMM  *Vec    `json:"point_mm" jsonschema_description:"where, at the travel at_mm; null where it has no place"`
	AtMM     float64 `json:"at_mm" jsonschema_description:"travel of the frame that shows it best"`
	// HeightUm is how much must go at that spot for the desired guidance to take
	// over: the way of the spot when the casts close on without the pairs that
	// interfere.
	HeightUm *float64 `json:"height_um" jsonschema_description:"height to be removed for the desired guidance to take over; null where nothing is held up"`
	AreaMM2  *float64 `json:"area_mm2" jsonschema_description:"largest area of the contact within the movement's foil; null where it has none"`
	FoilUm   float64  `json:"foil_um" jsonschema_description:"tolerance within which teeth count as touching"`
	PastEdge bool     `json:"past_edge" jsonschema_description:"it begins only after the guiding teeth stand edge to edge"`
	Causes   []Cause  `json:"causes" jsonschema_description:"geometry that explains it"`
	// Holds says whether the finding survives a change of the settings.
	Holds string `json:"holds" jsonschema_description:"holds, depends on …, or not tried"`
}

// Cause is a number of the casts' shape that explains a finding.
type Cause struct {
	Cause string  `json:"cause"`
	Value float64 `json:"value"`
	Unit  string  `json:"unit"`
	Text  string  `json:"text"`
}

// spell is a run of frames in which one pair of teeth touches where it should
// not.
type spell struct {
	pair        pairOf
	touch       Kind
	carry       Kind
	first, last int // frames in which it touches
	from, to    int // frames in which it carries, from < 0 for none
	area        float64
	best        int // the frame that shows it best
	point       Vec
}

// interferences finds the pairs that touch where they should not after the
// movement has begun.
func (m *movement) interferences(e *examination) []spell {
	var out []spell
	open := map[pairOf]int{} // pair → its latest spell
	for i := range m.x.Frames {
		f := &m.x.Frames[i]
		if f.TravelMM < m.limits.BegunMM {
			continue
		}
		_, contacts := m.touching(f)
		for _, c := range contacts {
			touch, carry := m.unwanted(e, f, c)
			if touch == "" {
				continue
			}
			p := pairOf{c.Upper, c.Lower}
			k, ok := open[p]
			// A gap of one sample is no end, the edge-to-edge position is one.
			if !ok || i-out[k].last > 2 || out[k].touch != touch || (i > m.end) != (out[k].first > m.end) {
				out = append(out, spell{pair: p, touch: touch, carry: carry, first: i, from: -1, area: -1})
				k = len(out) - 1
				open[p] = k
			}
			s := &out[k]
			s.last = i
			carries := f.Carrier != nil && f.Carrier.Upper == c.Upper && f.Carrier.Lower == c.Lower
			if carries {
				if s.from < 0 {
					s.from, s.area = i, -1 // what carries shows better than what touches
				}
				s.to = i
			}
			if (carries || s.from < 0) && c.AreaMM2 > s.area {
				s.area, s.best, s.point = c.AreaMM2, i, c.PointMM
			}
		}
	}
	return out
}

// unwanted says under which kinds a contact is reported, as touching and as
// carrying; empty where it is wanted.
func (m *movement) unwanted(e *examination, f *Frame, c *Contact) (touch, carry Kind) {
	switch m.place(c.Upper, c.Lower) {
	case otherSide:
		return KindNonworkingTouches, KindNonworkingCarries
	case back:
		return KindBackTouches, KindBackCarries
	case workingBack:
		if e.lingual(f, c) {
			return KindLingualTouches, KindLingualCarries
		}
	}
	return "", ""
}

// lingual says whether a contact lies on the lingual half of both teeth, where
// lingual cusps of the working side meet.
func (e *examination) lingual(f *Frame, c *Contact) bool {
	up, ok1 := e.casts.Upper.Frames[dentition.ToothID(c.Upper)]
	lo, ok2 := e.casts.Lower.Frames[dentition.ToothID(c.Lower)]
	if !ok1 || !ok2 {
		return false
	}
	pose, err := kinematics.FromMatrix(f.Pose)
	if err != nil {
		return false
	}
	p := r3.Vec{X: c.CentreMM[0], Y: c.CentreMM[1], Z: c.CentreMM[2]}
	_, upB, _ := up.Local(p)
	_, loB, _ := lo.Local(pose.Inverse().Apply(p))
	return upB < 0 && loB < 0
}

// height is how far the casts would close, in µm at the carrying spot of a
// frame, if no pair interfered there.
func (m *movement) height(e *examination, i int, s *contact.CloserScratch) float64 {
	f := &m.x.Frames[i]
	mv, err := kinematics.ParseMovement(m.x.Movement)
	if err != nil {
		return 0
	}
	st, err := e.set.Station(mv, f.TravelMM)
	if err != nil {
		return 0
	}
	up, lo := e.casts.Upper, e.casts.Lower
	touch, ok := e.casts.Closer.CloseWithout(st.Base(), func(u, l mesh.TriID) bool {
		w := m.place(Part(up.Tooth(u)), Part(lo.Tooth(l)))
		return w == otherSide || w == back
	}, s)
	if !ok || f.Carrier == nil {
		return 0
	}
	drop := degrees(f.OpeningDeg) - touch.Opening
	p := f.Carrier.PointMM
	q := st.Base().Inverse().Apply(r3.Vec{X: p[0], Y: p[1], Z: p[2]})
	return 2000 * math.Hypot(q.Y, q.Z) * math.Sin(max(0, drop.Radians())/2)
}

// judge writes down what the movement shows, most important first.
func (m *movement) judge(e *examination) []Finding {
	out := []Finding{}
	var s contact.CloserScratch
	frames := m.x.Frames
	for _, sp := range m.interferences(e) {
		f := Finding{Kind: sp.touch, Upper: sp.pair.upper, Lower: sp.pair.lower, FromMM: frames[sp.first].TravelMM, ToMM: frames[sp.last].TravelMM,
			AtMM: frames[sp.best].TravelMM, PointMM: &sp.point, AreaMM2: &sp.area, PastEdge: sp.first > m.end}
		if sp.from >= 0 {
			f.PastEdge = sp.from > m.end
			f.Kind, f.FromMM, f.ToMM = sp.carry, frames[sp.from].TravelMM, frames[sp.to].TravelMM
			if sp.carry != KindLingualCarries {
				h, at := 0.0, sp.best
				for i := sp.from; i <= sp.to; i++ {
					if c := frames[i].Carrier; c == nil || c.Upper != sp.pair.upper || c.Lower != sp.pair.lower {
						continue
					}
					if x := m.height(e, i, &s); x > h {
						h, at = x, i
					}
				}
				p := frames[at].Carrier.PointMM
				f.HeightUm, f.AtMM, f.PointMM = &h, frames[at].TravelMM, &p
			}
		}
		f.Causes = m.causes(e, &f)
		out = append(out, f)
	}
	out = append(out, m.late()...)
	if u := m.x.Smoothness; u != nil {
		if u.Evenness != nil && *u.Evenness < 0.2 && m.working == 0 {
			out = append(out, m.uneven())
		}
		for _, k := range u.Kinks {
			if k.TravelMM < m.limits.BegunMM || k.TravelMM > frames[m.end].TravelMM || (k.From.Upper == k.To.Upper && k.From.Lower == k.To.Lower) {
				continue // told in the smoothness of the movement
			}
			p := k.From.PointMM
			out = append(out, Finding{Kind: KindKink, Upper: k.From.Upper, Lower: k.From.Lower, FromMM: k.TravelMM, ToMM: k.TravelMM, AtMM: k.TravelMM, PointMM: &p})
		}
	}
	if g, ok := m.guided(); ok {
		out = append(out, g)
	}
	for i := range out {
		out[i].FoilUm = m.foilUm
		if out[i].Causes == nil {
			out[i].Causes = []Cause{}
		}
		out[i].Holds = "not tried"
		out[i].Text = m.sentence(&out[i])
		if out[i].PastEdge {
			out[i].Text = strings.TrimSuffix(out[i].Text, ".") + ", past the edge-to-edge position."
		}
	}
	slices.SortStableFunc(out, func(a, b Finding) int { return important(&a, &b) })
	return out
}

// important orders findings: what begins before the edge-to-edge position first,
// then by kind, then by size.
func important(a, b *Finding) int {
	if a.PastEdge != b.PastEdge {
		if a.PastEdge {
			return 1
		}
		return -1
	}
	return cmp.Or(cmp.Compare(slices.Index(kindOrder[:], a.Kind), slices.Index(kindOrder[:], b.Kind)), cmp.Compare(size(b), size(a)))
}

// rank numbers the findings of all movements in their order of importance.
func rank(out []Excursion) {
	var all []*Finding
	for i := range out {
		for k := range out[i].Findings {
			all = append(all, &out[i].Findings[k])
		}
	}
	slices.SortStableFunc(all, important)
	for i, f := range all {
		f.Severity = i + 1
	}
}

// size orders findings of one kind.
func size(f *Finding) float64 {
	s := f.ToMM - f.FromMM
	if f.HeightUm != nil {
		s += *f.HeightUm
	}
	return s
}

// late is the finding that back teeth do not come clear, or only late.
func (m *movement) late() []Finding {
	end := m.x.Frames[m.end].TravelMM
	if len(m.lateTeeth()) == 0 {
		return nil
	}
	return []Finding{{Kind: KindLateDisclusion, FromMM: 0, ToMM: end, AtMM: min(m.limits.LateMM, end)}}
}

// lateTeeth names the back teeth that do not come clear, or when they do.
func (m *movement) lateTeeth() []string {
	var never, late []string
	for _, d := range m.x.Disclusion {
		switch {
		case d.ClearsMM == nil:
			never = append(never, d.Tooth.String())
		case *d.ClearsMM > m.limits.LateMM:
			late = append(late, fmt.Sprintf("%v only from %.1f mm on", d.Tooth, *d.ClearsMM))
		}
	}
	if len(never) > 0 {
		late = append([]string{fmt.Sprintf("%s not up to %.1f mm", strings.Join(never, ", "), m.x.Frames[m.end].TravelMM)}, late...)
	}
	return late
}

func (m *movement) uneven() Finding {
	f := Finding{Kind: KindUneven, FromMM: m.limits.BegunMM}
	for i := range m.x.Frames[:m.end+1] {
		c := m.x.Frames[i].Carrier
		if c == nil || m.x.Frames[i].TravelMM < m.limits.BegunMM || dentition.ToothID(c.Upper) == dentition.NoTooth || !dentition.ToothID(c.Upper).Type().Anterior() {
			continue
		}
		p := c.PointMM
		f.Upper, f.Lower, f.ToMM, f.AtMM, f.PointMM = c.Upper, c.Lower, m.x.Frames[i].TravelMM, m.x.Frames[i].TravelMM, &p
		break
	}
	for i := range m.x.Frames[:m.end+1] {
		c := m.x.Frames[i].Carrier
		if c != nil && c.Upper == f.Upper && c.Lower == f.Lower {
			f.ToMM = m.x.Frames[i].TravelMM
		}
	}
	return f
}

// guided says who guides at 1 mm, or at the last named distance before.
func (m *movement) guided() (Finding, bool) {
	g := m.x.Guidance
	if g == nil {
		return Finding{}, false
	}
	var at *Pattern
	for i := range g.Patterns {
		if p := &g.Patterns[i]; p.FoilUm == m.foilUm && p.AtMM <= 1 {
			at = p
		}
	}
	if at == nil || at.Pattern == NoContact || at.Pattern == NotLabelled {
		return Finding{}, false
	}
	f := Finding{Kind: KindGuidance, FromMM: at.TravelMM, ToMM: at.TravelMM, AtMM: at.TravelMM}
	if i := nearestFrame(m.x.Frames, at.TravelMM); i >= 0 && m.x.Frames[i].Carrier != nil {
		c := m.x.Frames[i].Carrier
		p := c.PointMM
		f.Upper, f.Lower, f.PointMM = c.Upper, c.Lower, &p
	}
	return f, true
}

// sentence says a finding as a dentist would write it.
func (m *movement) sentence(f *Finding) string {
	pair := pairOf{f.Upper, f.Lower}.String()
	span := fmt.Sprintf("from %.1f to %.1f mm", f.FromMM, f.ToMM)
	if f.FromMM == f.ToMM {
		span = fmt.Sprintf("at %.1f mm", f.FromMM)
	}
	side := "left"
	if m.working == dentition.Left {
		side = "right"
	}
	high := ""
	if f.HeightUm != nil {
		high = fmt.Sprintf("; about %.0f µm too high for the desired guidance", *f.HeightUm)
	}
	switch f.Kind {
	case KindNonworkingCarries:
		return fmt.Sprintf("%s, %s carries on the nonworking (%s) side %s and the working side hangs%s.", m.title(), pair, side, span, high)
	case KindNonworkingTouches:
		return fmt.Sprintf("%s, %s touches on the nonworking (%s) side %s without carrying.", m.title(), pair, side, span)
	case KindBackCarries:
		return fmt.Sprintf("%s, the back teeth %s carry %s instead of the front teeth%s.", m.title(), pair, span, high)
	case KindBackTouches:
		return fmt.Sprintf("%s, the back teeth %s touch %s beside the guiding ones.", m.title(), pair, span)
	case KindLingualCarries:
		return fmt.Sprintf("%s, the lingual cusps of %s carry on the working side %s.", m.title(), pair, span)
	case KindLingualTouches:
		return fmt.Sprintf("%s, the lingual cusps of %s touch on the working side %s.", m.title(), pair, span)
	case KindLateDisclusion:
		return fmt.Sprintf("%s, back teeth do not come clear in time: %s.", m.title(), strings.Join(m.lateTeeth(), "; "))
	case KindUneven:
		return fmt.Sprintf("%s, front teeth carry on one side only: %s %s.", m.title(), pair, span)
	case KindKink:
		for _, k := range m.x.Smoothness.Kinks {
			if k.TravelMM == f.FromMM {
				what := fmt.Sprintf("bends by %.0f°", k.ChangeDeg)
				if k.JumpMM != 0 {
					what = fmt.Sprintf("jumps by %.2f mm", k.JumpMM)
				}
				return fmt.Sprintf("%s, the path %s at %.1f mm, where %v/%v hands over to %v/%v.", m.title(), what, f.FromMM, k.From.Upper, k.From.Lower, k.To.Upper, k.To.Lower)
			}
		}
	case KindGuidance:
		for _, p := range m.x.Guidance.Patterns {
			if p.TravelMM == f.AtMM && p.FoilUm == m.foilUm {
				return fmt.Sprintf("%s, %s at %.2g mm (%s; foil %.0f µm).", m.title(), p.Pattern, p.AtMM, strings.Join(p.Pairs, ", "), p.FoilUm)
			}
		}
	}
	return fmt.Sprintf("%s, %s %s.", m.title(), pair, span)
}
