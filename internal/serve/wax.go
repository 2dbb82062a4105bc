package serve

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/mesh"
	"github.com/cusptrace/cusptrace/pkg/trial"
	"gonum.org/v1/gonum/spatial/r3"
)

// What a person may want of wax.
const (
	waxInclined = "inclination"
	waxShares   = "share"
	waxAs       = "as"
	waxMirrors  = "mirror"
)

// waxing is what the fields for wax hold, kept as they were entered.
type waxing struct{ tooth, movement, form, deg, other string }

// readWax takes over the fields for wax.
func readWax(form url.Values) waxing {
	get := func(name string) string { return strings.TrimSpace(form.Get("wax-" + name)) }
	return waxing{get("tooth"), get("movement"), get("form"), get("deg"), get("other")}
}

// wax is the step that a person has put together, checked as the case would be that holds it.
func (x *session) wax(f waxing) (offer, error) {
	t, err := dentition.ParseTooth(f.tooth)
	if err != nil {
		return offer{}, err
	}
	w := casefile.Wax{Tooth: t}
	if f.form != waxMirrors {
		if w.Movement, err = kinematics.ParseMovement(f.movement); err != nil {
			return offer{}, err
		}
	}
	with := language.With{"tooth": findings.Part(t)}
	switch f.form {
	case waxShares:
		if w.ShareWith, err = dentition.ParseTooth(f.other); err != nil {
			return offer{}, err
		}
		with["other"] = findings.Part(w.ShareWith)
	case waxAs:
		w.As = t.Mirror()
		with["other"] = findings.Part(w.As)
	case waxMirrors:
		w.Form = &casefile.WaxForm{Mirror: t.Mirror()}
		with["other"] = findings.Part(t.Mirror())
	default:
		f.form = waxInclined
		if w.InclinationDeg, err = x.parseNumber("serve.wax.deg", f.deg); err != nil {
			return offer{}, err
		}
		with["deg"] = w.InclinationDeg
	}
	if f.form != waxMirrors {
		with["movement"] = findings.NameMovement(findings.Movement(w.Movement.String()))
	}
	out := offer{step: casefile.TrialStep{Wax: &w}, says: language.Say("serve.wax.step."+f.form, with)}
	check := *x.c
	check.Upper.Scan, check.Lower.Scan, check.Units = "upper", "lower", x.unit
	check.Trial = []casefile.TrialStep{out.step}
	_, err = check.Check()
	return out, err
}

// parseNumber reads a number of a field, which a key names.
func (x *session) parseNumber(what, text string) (float64, error) {
	v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, x.sentence("serve.number.wrong", language.With{"what": language.Say(what), "found": text})
	}
	return v, nil
}

// addWax adds a step of wax to those that may be tried, chosen. The caller holds mu.
func (x *session) addWax(form url.Values) error {
	x.picked, x.waxing = form["step"], readWax(form)
	if err := x.readPin(form); err != nil {
		return err
	}
	o, err := x.wax(x.waxing)
	if err != nil {
		return err
	}
	x.offers, x.waxing = append(x.offers, o), waxing{}
	x.picked = append(slices.Clone(x.picked), strconv.Itoa(len(x.offers)-1))
	return nil
}

// pin is an incisal pin for which a guide table is made.
type pin struct {
	wanted bool
	tip    casefile.Point // of the scans, mm
	radius float64        // mm
}

// pinRadius is the radius of its ball that is offered, mm; that of the command.
const pinRadius = 1

// pinAhead is how far before the incisal point the tip is offered, mm: clear of the teeth in all movements; our choice.
const pinAhead = 15

// readPin takes over the fields of the pin.
func (x *session) readPin(form url.Values) error {
	p := pin{wanted: form.Get("table") != ""}
	at, err := x.parsePoint(form.Get("pin"))
	if err != nil {
		return err
	}
	if at != nil {
		p.tip = *at
	}
	if p.wanted && at == nil {
		return x.sentence("serve.pin.none", nil)
	}
	if p.radius, err = x.parseNumber("serve.pin.radius", form.Get("pin-radius")); p.wanted && err != nil {
		return err
	}
	x.pin = p
	return nil
}

// offeredPin is the pin that the page begins with: before the incisal point. The caller holds mu.
func (x *session) offeredPin() pin {
	at := x.foundPoints()
	if x.pin.radius != 0 || at == nil || !x.scans[1].shown.framed {
		return x.pin
	}
	ahead := x.scans[1].shown.fromScan.Inverse().Rotate(r3.Vec{Y: -pinAhead})
	return pin{tip: casefile.Point{at[0][0] + ahead.X, at[0][1] + ahead.Y, at[0][2] + ahead.Z}, radius: pinRadius}
}

// table makes the guide table of the casts afterwards; nil where none is wanted.
func (p *pin) table(ctx context.Context, x *session, after *trial.Examined) (*mesh.Mesh, error) {
	if !p.wanted {
		return nil, nil
	}
	m, err := trial.GuideTable(ctx, after, r3.Vec{X: p.tip[0], Y: p.tip[1], Z: p.tip[2]}, p.radius)
	if errors.Is(err, trial.ErrTable) {
		return nil, x.sentence("serve.try.refused", language.With{"why": err.Error()})
	}
	return m, err
}

// flags are those with which the command makes the same table; it takes them in the unit of the scans, the radius in mm.
func (p *pin) flags(u mesh.Unit) string {
	if !p.wanted {
		return ""
	}
	mm := u.MM()
	return fmt.Sprintf(" --pin=%v,%v,%v --pin-radius=%v", p.tip[0]/mm, p.tip[1]/mm, p.tip[2]/mm, p.radius)
}
