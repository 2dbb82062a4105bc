package findings

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Yielding is how contacts grow as the closing force rises.
type Yielding struct {
	// the numbers by which the teeth yield, as used, each with its status, in the order of the
	// case file
	Support []casefile.SupportValue `json:"support"`
	// the casts under each closing force, from a light touch of 0.5 N to a clench of 200 N
	Steps []YieldStep `json:"steps"`
	// the pairs in the order in which they begin to carry, with the force at which they do, to 2 %
	Order []YieldStop `json:"order"`
	// the first closing force at which a tooth carries more than teeth were measured with (50 N
	// along its axis, 5 N aside): beyond it springs are drawn out in a straight line; null where
	// none does
	BeyondN *float64 `json:"beyond_n"`
	// pairs of the mouth's record that carry only after the first step: rigid casts do not show
	// them
	OnlyYielding []YieldStop `json:"only_yielding"`
}

// YieldStep is the casts under one closing force.
type YieldStep struct {
	// the closing force
	ForceN float64 `json:"force_n"`
	// way of the point of the press along the press, from first touch
	ClosingUm float64 `json:"closing_um"`
	// the teeth that carry
	Teeth []YieldLoad `json:"teeth"`
	// the pairs that carry
	Pairs []YieldPair `json:"pairs"`
	// force left unbalanced on any tooth or cast, as a share of the closing force
	Residual float64 `json:"residual"`
}

// YieldLoad is the load and displacement of a tooth.
type YieldLoad struct {
	// the tooth
	Tooth Part `json:"tooth"`
	// force that it carries
	ForceN float64 `json:"force_n"`
	// displacement into the socket
	AxialUm float64 `json:"axial_um"`
	// displacement across the long axis
	LateralUm float64 `json:"lateral_um"`
}

// YieldPair is the force between two teeth.
type YieldPair struct {
	// the upper tooth; null off the labelled teeth
	Upper Part `json:"upper"`
	// the lower tooth; null off the labelled teeth
	Lower Part `json:"lower"`
	// force that it carries
	ForceN float64 `json:"force_n"`
}

// YieldStop is a pair of teeth and the least of the closing forces at which it
// carries.
type YieldStop struct {
	// the upper tooth; null off the labelled teeth
	Upper Part `json:"upper"`
	// the lower tooth; null off the labelled teeth
	Lower Part `json:"lower"`
	// least closing force at which it carries, to 2 %
	FromN float64 `json:"from_n"`
}

// Newtons is a force as finely as the model of the teeth's support deserves.
func Newtons(n float64) Sentence {
	if n < 9.95 {
		return language.Say("newtons.fine", language.With{"n": n})
	}
	return language.Say("newtons", language.With{"n": n})
}

// Text tells in words in which order stops appear as the teeth yield.
func (y *Yielding) Text() Sentence {
	var out []Sentence
	for i, s := range y.Order {
		pair := Pair{Upper: s.Upper, Lower: s.Lower}
		if i == 0 || s.FromN > y.Order[i-1].FromN {
			out = append(out, language.Say("load.from", language.With{"force": Newtons(s.FromN), "pair": pair}))
		} else {
			out = append(out, language.Only(pair))
		}
	}
	var only []Pair
	for _, s := range y.OnlyYielding {
		only = append(only, Pair{Upper: s.Upper, Lower: s.Lower})
	}
	with := language.With{"pairs": language.Commas(out), "only": language.Commas(only)}
	if y.BeyondN != nil {
		with["beyond"] = language.Say("load.beyond", language.With{"force": Newtons(*y.BeyondN)})
	}
	return language.Say("load.order", with)
}
