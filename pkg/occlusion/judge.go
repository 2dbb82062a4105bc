package occlusion

import (
	"cmp"
	"slices"

	"github.com/cusptrace/cusptrace/pkg/anatomy"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
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
	KindShallow           Kind = "shallow_guidance"        // one side guides less far down than the other
	KindKink              Kind = "kink"                    // a sudden change of the path
	KindGuidance          Kind = "guidance"                // who guides, for orientation
)

var kindOrder = [...]Kind{
	KindNonworkingCarries, KindBackCarries, KindLingualCarries, KindNonworkingTouches, KindBackTouches, KindLingualTouches,
	KindLateDisclusion, KindUneven, KindShallow, KindKink, KindGuidance,
}

// Finding is one judgement about a movement.
type Finding struct {
	Kind     Kind     `json:"kind" jsonschema:"enum=nonworking_carries,enum=protrusive_back_carries,enum=working_lingual_carries,enum=nonworking_touches,enum=protrusive_back_touches,enum=working_lingual_touches,enum=late_disclusion,enum=uneven_protrusion,enum=shallow_guidance,enum=kink,enum=guidance"`
	Severity int      `json:"severity" jsonschema_description:"plain order of importance over all movements, 1 first"`
	Text     Sentence `json:"text" jsonschema_description:"the finding in one sentence"`
	Upper    Part     `json:"upper"`
	Lower    Part     `json:"lower"`
	// Teeth are those of a finding about several, in rising order.
	Teeth   []Part  `json:"teeth" jsonschema_description:"back teeth that do not come clear in time; empty for other findings"`
	UpperAt string  `json:"upper_site,omitempty" jsonschema_description:"where on the upper tooth; absent off its features"`
	LowerAt string  `json:"lower_site,omitempty" jsonschema_description:"where on the lower tooth"`
	FromMM  float64 `json:"from_mm" jsonschema_description:"travel at which it begins"`
	ToMM    float64 `json:"to_mm" jsonschema_description:"travel at which it ends"`
	PointMM *Vec    `json:"point_mm" jsonschema_description:"where, at the travel at_mm; null where it has no place"`
	AtMM    float64 `json:"at_mm" jsonschema_description:"travel of the frame that shows it best"`
	// HeightUm is how much must go at that spot for the desired guidance to take
	// over: the way of the spot when the casts close on without the pairs that
	// interfere.
	HeightUm *float64 `json:"height_um" jsonschema_description:"height to be removed for the desired guidance to take over; null where nothing is held up"`
	Doubtful bool     `json:"doubtful" jsonschema_description:"the height is less than the scans can tell (scan_doubt_um): it counts for no more than a touch"`
	AreaMM2  *float64 `json:"area_mm2" jsonschema_description:"largest area of the contact within the movement's foil; null where it has none"`
	// Value and Unit are the size of what is no contact.
	Value    *float64     `json:"value" jsonschema_description:"size of a finding that is no contact, by kind; null for contacts and where it is not known"`
	Unit     string       `json:"unit,omitempty" jsonschema:"enum=um,enum=mm,enum=deg" jsonschema_description:"unit of the value; absent without one"`
	FoilUm   float64      `json:"foil_um" jsonschema_description:"tolerance within which teeth count as touching"`
	PastEdge bool         `json:"past_edge" jsonschema_description:"it begins only after the guiding teeth stand edge to edge"`
	Causes   []Cause      `json:"causes" jsonschema_description:"geometry that explains it"`
	Pattern  PatternClass `json:"pattern,omitempty" jsonschema_description:"of the guidance, for that kind; absent for others"`
	// Holds says whether the finding survives a change of the settings.
	Holds string `json:"holds" jsonschema_description:"holds, depends on …, or not tried"`
}

// Cause is a number of the casts' shape that explains a finding.
type Cause struct {
	Cause string   `json:"cause"`
	Value float64  `json:"value"`
	Unit  string   `json:"unit"`
	Text  Sentence `json:"text"`
}

// unevenBelow is the evenness of protrusion from which down one side carries alone;
// our choice.
const unevenBelow = 0.2

// notTried is said of findings that no other settings were tried with.
const notTried = "not tried"

// outlined is a finding and, for an interference, the frames behind it.
type outlined struct {
	Finding
	spell *spell
}

// outline lists what the movement shows, without what only explains it.
func (m *movement) outline(e *examination) []outlined {
	var out []outlined
	frames := m.x.Frames
	if len(frames) == 0 {
		return out
	}
	for _, sp := range m.interferences(e) {
		f := Finding{Kind: sp.touch, Upper: sp.pair.upper, Lower: sp.pair.lower, FromMM: frames[sp.first].TravelMM, ToMM: frames[sp.last].TravelMM,
			AtMM: frames[sp.best].TravelMM, PointMM: &sp.point, AreaMM2: &sp.area, PastEdge: sp.first > m.end}
		if sp.from >= 0 {
			f.PastEdge = sp.from > m.end
			f.Kind, f.FromMM, f.ToMM = sp.carry, frames[sp.from].TravelMM, frames[sp.to].TravelMM
		}
		out = append(out, outlined{f, &sp})
	}
	if f, ok := m.late(); ok {
		out = append(out, outlined{Finding: f})
	}
	if u := m.x.Smoothness; u != nil {
		if f, ok := m.uneven(); ok {
			out = append(out, outlined{Finding: f})
		}
		for _, k := range u.Kinks {
			if k.TravelMM < m.limits.BegunMM || k.TravelMM > frames[m.end].TravelMM || (k.From.Upper == k.To.Upper && k.From.Lower == k.To.Lower) {
				continue // told in the smoothness of the movement
			}
			p := k.From.PointMM
			out = append(out, outlined{Finding: Finding{Kind: KindKink, Upper: k.From.Upper, Lower: k.From.Lower, FromMM: k.TravelMM, ToMM: k.TravelMM, AtMM: k.TravelMM, PointMM: &p}})
		}
	}
	if f, ok := m.guided(); ok {
		out = append(out, outlined{Finding: f})
	}
	return out
}

// judge writes down what the movement shows, most important first.
func (m *movement) judge(e *examination) []Finding {
	out := []Finding{}
	var s contact.CloserScratch
	for _, o := range m.outline(e) {
		f := o.Finding
		if o.spell != nil && o.spell.from >= 0 {
			m.measureHeight(e, o.spell, &f, &s)
			f.Doubtful = f.HeightUm != nil && *f.HeightUm < m.limits.ScanDoubtUm
		}
		f.FoilUm, f.Holds, f.Causes, f.Teeth = m.foilUm, notTried, []Cause{}, []Part{}
		m.gauge(&f)
		e.locate(m.x, &f)
		if o.spell != nil {
			f.Causes = append(f.Causes, m.causes(e, &f)...)
		}
		if f.Kind == KindLateDisclusion {
			f.Causes = append(f.Causes, m.lateCauses(e, &f)...)
		}
		f.Text = m.sentence(&f)
		if f.PastEdge {
			f.Text = say("%s This is past the edge-to-edge position.", f.Text)
		}
		out = append(out, f)
	}
	slices.SortStableFunc(out, func(a, b Finding) int { return important(&a, &b) })
	return out
}

// locate names the features on which a finding lies.
func (e *examination) locate(x *Excursion, f *Finding) {
	i := nearestFrame(x.Frames, f.AtMM)
	if f.PointMM == nil || i < 0 {
		return
	}
	pose, err := kinematics.FromMatrix(x.Frames[i].Pose)
	if err != nil {
		return
	}
	p := r3.Vec{X: f.PointMM[0], Y: f.PointMM[1], Z: f.PointMM[2]}
	f.UpperAt = e.casts.Upper.site(dentition.ToothID(f.Upper), p)
	f.LowerAt = e.casts.Lower.site(dentition.ToothID(f.Lower), pose.Inverse().Apply(p))
}

// site is where on a tooth a point of a cast lies, in words; empty off the teeth.
func (c *Cast) site(t dentition.ToothID, p r3.Vec) string {
	f, ok := c.Frames[t]
	if !ok {
		return ""
	}
	chart := anatomy.NewChart(f, c.Landmarks)
	return chart.At(p).Words()
}

// order is the place of a finding's kind in their order. What carries by less than
// the scans can tell stands with what only touches.
func (f *Finding) order() int {
	kind := f.Kind
	if f.Doubtful {
		switch kind {
		case KindNonworkingCarries:
			kind = KindNonworkingTouches
		case KindBackCarries:
			kind = KindBackTouches
		case KindLingualCarries:
			kind = KindLingualTouches
		}
	}
	return slices.Index(kindOrder[:], kind)
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
	return cmp.Or(cmp.Compare(a.order(), b.order()), cmp.Compare(size(b), size(a)))
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
func (m *movement) late() (Finding, bool) {
	end := m.x.Frames[m.end].TravelMM
	return Finding{Kind: KindLateDisclusion, FromMM: 0, ToMM: end, AtMM: min(m.limits.LateMM, end)}, len(m.lateTeeth()) > 0
}

// lateTeeth names the back teeth that do not come clear, or when they do.
func (m *movement) lateTeeth() []Sentence {
	var never []Part
	var late []Sentence
	for _, d := range m.x.Disclusion {
		switch {
		case d.ClearsMM == nil:
			never = append(never, d.Tooth)
		case *d.ClearsMM > m.limits.LateMM:
			late = append(late, say("%s only from %.1f mm on", d.Tooth, *d.ClearsMM))
		}
	}
	if len(never) > 0 {
		late = append([]Sentence{say("%s not up to %.1f mm", list(", ", never), m.x.Frames[m.end].TravelMM)}, late...)
	}
	return late
}

// uneven is the finding that front teeth of one side carry protrusion alone: the pair of
// them that carries longest.
func (m *movement) uneven() (Finding, bool) {
	f := Finding{Kind: KindUneven}
	if e := m.x.Smoothness.Evenness; m.working != 0 || e == nil || *e >= unevenBelow {
		return f, false
	}
	carries := func(i int) (pairOf, bool) {
		fr := &m.x.Frames[i]
		if fr.Carrier == nil || fr.TravelMM < m.limits.BegunMM {
			return pairOf{}, false
		}
		p := pairOf{fr.Carrier.Upper, fr.Carrier.Lower}
		return p, m.place(p.upper, p.lower) == front
	}
	long := map[pairOf]int{}
	var longest pairOf
	for i := range m.x.Frames[:m.end+1] {
		if p, ok := carries(i); ok {
			if long[p]++; long[p] > long[longest] {
				longest = p
			}
		}
	}
	for i := range m.x.Frames[:m.end+1] {
		if p, ok := carries(i); ok && p == longest {
			fr := &m.x.Frames[i]
			if f.PointMM == nil {
				at := fr.Carrier.PointMM
				f.Upper, f.Lower, f.FromMM, f.AtMM, f.PointMM = p.upper, p.lower, fr.TravelMM, fr.TravelMM, &at
			}
			f.ToMM = fr.TravelMM
		}
	}
	return f, f.PointMM != nil
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
	f := Finding{Kind: KindGuidance, Pattern: at.Pattern, FromMM: at.TravelMM, ToMM: at.TravelMM, AtMM: at.TravelMM}
	if i := nearestFrame(m.x.Frames, at.TravelMM); i >= 0 && m.x.Frames[i].Carrier != nil {
		c := m.x.Frames[i].Carrier
		p := c.PointMM
		f.Upper, f.Lower, f.PointMM = c.Upper, c.Lower, &p
	}
	return f, true
}
