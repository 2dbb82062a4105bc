package casefile

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// TrialStep is one step of a trial treatment. Exactly one of its fields is set.
type TrialStep struct {
	// take away from the casts what is in the way, as little as does it
	Adjust *Adjust `json:"adjust,omitempty"`
	// add wax to a tooth
	Wax *Wax `json:"wax,omitempty"`
}

// Obstacle is what an adjustment takes away.
type Obstacle string

// The obstacles, in the order in which they are taken away.
const (
	PrematureContact       Obstacle = "premature"
	NonworkingInterference Obstacle = "nonworking"
	WorkingInterference    Obstacle = "working"
	ProtrusiveInterference Obstacle = "protrusive"
)

// Keep is what an adjustment must not touch.
type Keep string

// KeepStops keeps the centric stops.
const KeepStops Keep = "stops"

// Adjust takes away from both casts as little as lets them close evenly and move as
// intended.
type Adjust struct {
	// obstacles to take away, whatever their order here: `premature`, `nonworking`, `working`,
	// `protrusive`
	//
	// Default: all that the examination finds
	What []Obstacle `json:"what,omitempty" jsonschema:"minItems=1,maxItems=4,enum=premature,enum=nonworking,enum=working,enum=protrusive"`
	// deepest removal anywhere (µm); places where enamel is thinner have limits of their own below
	// it
	//
	// Default: 600
	//
	// Source: an even removal of 0.6 mm exposed no dentine on 90 unworn first molars, one of 0.8
	// on fewer than 20 % (study of depths for occlusal veneers); possible: our choice
	AtMostUm float64 `json:"at_most_um,omitempty" jsonschema:"exclusiveMinimum=0,maximum=2000" usual:"50,600"`
	// what must stay: `stops`
	//
	// Default: stops
	Keep []Keep `json:"keep,omitempty" jsonschema:"maxItems=1,enum=stops"`
}

// MostUm is the deepest removal in effect, µm.
func (a *Adjust) MostUm() float64 {
	if a.AtMostUm == 0 {
		return adjustMostUm
	}
	return a.AtMostUm
}

// adjustMostUm is the deepest removal where the case names none.
const adjustMostUm = 600

// Wax adds to a tooth: it shares a guidance with another, leads a movement by itself, or
// takes the form of its twin. Exactly one of ShareWith, InclinationDeg, As and Form is
// given.
type Wax struct {
	// tooth that gets wax
	Tooth dentition.ToothID `json:"tooth" jsonschema:"required"`
	// movement in which it shall guide; not with a form
	Movement kinematics.Movement `json:"movement,omitempty"`
	// tooth of the same arch that guides already and shall share: the wax opens the casts nowhere
	ShareWith dentition.ToothID `json:"share_with,omitempty"`
	// inclination of the incisal point's path to the horizontal plane at which it shall guide
	//
	// Source: lateral guidance of natural teeth is 48 ± 10 in the frontal plane; possible: our
	// choice
	InclinationDeg float64 `json:"inclination_deg,omitempty" jsonschema:"minimum=5,maximum=75" usual:"20,60"`
	// tooth of the other side whose guidance it shall mirror
	As dentition.ToothID `json:"as,omitempty"`
	// form that it shall get
	Form *WaxForm `json:"form,omitempty"`
	// material of the restoration that the wax stands for: the plan says where opposing teeth leave
	// less room than it needs
	//
	// Source: thickness on guiding and on supporting cusps, in mm: metal 1.0 and 1.5, monolithic
	// ceramic 0.7 and 1.0, layered ceramic 1.5 and 2.0, composite 1.0 and 1.5; on anterior teeth 0.5,
	// 0.7, 1.0 and 1.0 (teaching values independent of makers, from memory)
	Material Material `json:"material,omitempty" jsonschema:"enum=metal,enum=monolithic_ceramic,enum=layered_ceramic,enum=composite"`
}

// Material is what a restoration is made of.
type Material string

// The materials.
const (
	Metal             Material = "metal"
	MonolithicCeramic Material = "monolithic_ceramic"
	LayeredCeramic    Material = "layered_ceramic"
	Composite         Material = "composite"
)

// WaxForm is the form of a crown.
type WaxForm struct {
	// tooth of the other side whose mirrored form it gets
	Mirror dentition.ToothID `json:"mirror" jsonschema:"required"`
}

// trial checks how the values of a trial treatment go together.
func (k *checker) trial(c *Case) {
	for i := range c.Trial {
		key, s := item("trial", i), &c.Trial[i]
		switch {
		case (s.Adjust == nil) == (s.Wax == nil):
			k.fault(key, ErrConflict, "must be exactly one of adjust or wax")
		case s.Wax != nil:
			k.wax(join(key, "wax"), s.Wax)
		}
	}
}

// wax checks a step of wax.
func (k *checker) wax(key string, w *Wax) {
	ways := 0
	for _, given := range []bool{w.ShareWith != 0, w.InclinationDeg != 0, w.As != 0, w.Form != nil} {
		if given {
			ways++
		}
	}
	switch {
	case ways != 1:
		k.fault(key, ErrConflict, "must have exactly one of share_with, inclination_deg, as or form")
	case w.Form != nil && w.Movement != 0:
		k.fault(join(key, "movement"), ErrConflict, "has no meaning with form")
	case w.Form != nil && w.Form.Mirror != w.Tooth.Mirror():
		k.fault(join(key, "form.mirror"), ErrConflict, "%v is not the tooth of the other side, which is %v", w.Form.Mirror, w.Tooth.Mirror())
	case w.As != 0 && w.As != w.Tooth.Mirror():
		k.fault(join(key, "as"), ErrConflict, "%v is not the tooth of the other side, which is %v", w.As, w.Tooth.Mirror())
	case w.Form == nil && w.Movement == 0:
		k.fault(join(key, "movement"), ErrMissing, "movement in which the tooth shall guide")
	case w.ShareWith != 0 && (w.ShareWith == w.Tooth || w.ShareWith.Jaw() != w.Tooth.Jaw()):
		k.fault(join(key, "share_with"), ErrConflict, "%v, must be another tooth of the same arch as %v", w.ShareWith, w.Tooth)
	}
}
