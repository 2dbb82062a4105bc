package occlusion

import (
	"context"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/internal/par"
	"github.com/cusptrace/cusptrace/pkg/contact"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/golang/geo/s1"
	"gonum.org/v1/gonum/spatial/r3"
)

// Settings are averages unless recorded, so every finding is tried with other
// ones: a condylar inclination and a side shift angle 5° less and more (less than
// half the spread of 12° found in 154 patients, Appl Sci 2025, 15:10231), and a
// hinge axis 5 mm off in each direction of the sagittal plane (the error of
// arbitrary axes that the studies quote).
const (
	otherAngle = 5 * s1.Degree
	otherAxis  = 5.0 // mm
)

// sameSpot is how far apart, in mm of travel, a finding and its twin under other
// settings may lie.
const sameSpot = 1.0

// variant is one other set of settings.
type variant struct {
	name  string // what it changes, for "depends on …"
	set   kinematics.Settings
	shift r3.Vec // of the hinge axis
}

func (e *examination) variants() []variant {
	var out []variant
	for _, sign := range [2]float64{-1, 1} {
		set := e.set
		by := s1.Angle(sign) * otherAngle
		set.Right.Path, set.Left.Path = kinematics.Tilt(set.Right.Path, by), kinematics.Tilt(set.Left.Path, by)
		out = append(out, variant{name: "condylar inclination", set: set})
	}
	for _, sign := range [2]float64{-1, 1} {
		set := e.set
		by := s1.Angle(sign) * otherAngle
		set.Right.SideShiftAngle += by
		set.Left.SideShiftAngle += by
		out = append(out, variant{name: "side shift angle", set: set})
	}
	for _, d := range [...]r3.Vec{{Y: -otherAxis}, {Y: otherAxis}, {Z: -otherAxis}, {Z: otherAxis}} {
		out = append(out, variant{name: "axis position", set: e.set, shift: d})
	}
	return out
}

// try says of every interference and guidance whether it survives other
// settings. The re-runs take every second sample and measure contacts only; the
// indexes are used again unless the axis moves.
func (e *examination) try(ctx context.Context, out []Excursion, workers int) error {
	if e.guide != nil || !slices.ContainsFunc(out, func(x Excursion) bool { return slices.ContainsFunc(x.Findings, tried) }) {
		return nil
	}
	lost := map[*Finding][]string{}
	for _, v := range e.variants() {
		other, err := e.vary(ctx, v)
		if err != nil {
			return err
		}
		twins := make([][]Finding, len(out))
		err = par.Chunks(ctx, len(out), 1, workers, func(_, i, _ int) error {
			x, err := other.contactsOnly(ctx, &out[i])
			if err != nil {
				return err
			}
			m := newMovement(x, e.c)
			if len(x.Frames) > 0 {
				x.Guidance, x.Smoothness = m.guidance(e.c.FoilsUm), m.smoothness()
				twins[i] = m.briefly(other)
			}
			return nil
		})
		if err != nil {
			return err
		}
		for i := range out {
			for k := range out[i].Findings {
				f := &out[i].Findings[k]
				if tried(*f) && !slices.ContainsFunc(twins[i], func(g Finding) bool { return twin(f, &g) }) && !slices.Contains(lost[f], v.name) {
					lost[f] = append(lost[f], v.name)
				}
			}
		}
	}
	for i := range out {
		for k := range out[i].Findings {
			f := &out[i].Findings[k]
			if tried(*f) {
				f.Holds = "holds"
				if names := lost[f]; len(names) > 0 {
					f.Holds = "depends on " + strings.Join(names, ", ")
				}
			}
		}
	}
	return nil
}

// tried says which findings are tried under other settings: those that can be
// told from contacts alone.
func tried(f Finding) bool {
	return f.Kind != KindLateDisclusion && f.Kind != KindKink
}

// twin says whether g is the same finding as f under other settings.
func twin(f, g *Finding) bool {
	return f.Kind == g.Kind && f.Upper == g.Upper && f.Lower == g.Lower && g.FromMM <= f.ToMM+sameSpot && g.ToMM >= f.FromMM-sameSpot
}

// briefly is judge without what only explains a finding.
func (m *movement) briefly(e *examination) []Finding {
	var out []Finding
	for _, sp := range m.interferences(e) {
		f := Finding{Kind: sp.touch, Upper: sp.pair.upper, Lower: sp.pair.lower, FromMM: m.x.Frames[sp.first].TravelMM, ToMM: m.x.Frames[sp.last].TravelMM}
		if sp.from >= 0 {
			f.Kind, f.FromMM, f.ToMM = sp.carry, m.x.Frames[sp.from].TravelMM, m.x.Frames[sp.to].TravelMM
		}
		out = append(out, f)
	}
	if u := m.x.Smoothness; u.Evenness != nil && *u.Evenness < 0.2 && m.working == 0 {
		out = append(out, m.uneven())
	}
	if g, ok := m.guided(); ok {
		out = append(out, g)
	}
	return out
}

// vary is the examination under other settings.
func (e *examination) vary(ctx context.Context, v variant) (*examination, error) {
	other := newExamination(e.c, e.casts, v.set, []float64{touchFoil(e.c)})
	if v.shift == (r3.Vec{}) {
		return other, nil
	}
	casts := *e.casts
	other.casts = &casts
	var err error
	casts.Closer, err = contact.NewCloserAbout(ctx, e.casts.Upper.Arch, e.casts.Lower.Arch, kinematics.Translation(r3.Scale(-1, v.shift)))
	return other, err
}

// contactsOnly takes the casts through a movement with half of its samples.
func (e *examination) contactsOnly(ctx context.Context, of *Excursion) (*Excursion, error) {
	x := &Excursion{Movement: of.Movement, Findings: []Finding{}}
	m, err := kinematics.ParseMovement(of.Movement)
	if err != nil {
		return nil, err
	}
	var s scratch
	for i := 0; i < len(of.Frames); i += 2 {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		travel := of.Frames[i].TravelMM
		st, err := e.set.Station(m, travel)
		if err != nil {
			return nil, err
		}
		touch, ok := e.casts.Closer.Close(st.Base(), &s.close)
		if !ok {
			break
		}
		carrier := e.touch(&touch)
		x.Frames = append(x.Frames, Frame{
			TravelMM: travel, OpeningDeg: touch.Opening.Degrees(), Pose: touch.Pose.Matrix(), IncisalPoint: e.incisal(touch.Pose),
			Contacts: e.contacts(touch.Pose, touch.AtLimit, &s), Carrier: &carrier,
		})
	}
	return x, nil
}
