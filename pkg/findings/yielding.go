package findings

import (
	"github.com/cusptrace/cusptrace/pkg/casefile"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Yielding is how contacts grow as the closing force rises.
type Yielding struct {
	// Support is the numbers by which the teeth give, each with its status.
	Support []casefile.SupportValue `json:"support" jsonschema_description:"the numbers by which the teeth give, as used, each with its status"`
	Steps   []YieldStep             `json:"steps"`
	// Order is the pairs of teeth in the order in which they begin to carry.
	Order []YieldStop `json:"order"`
	// OnlyYielding are the pairs of the mouth's record that the rigid casts do not
	// carry and the yielding teeth do.
	OnlyYielding []YieldStop `json:"only_yielding"`
}

// YieldStep is the casts under one closing force.
type YieldStep struct {
	ForceN    float64     `json:"force_n"`
	ClosingUm float64     `json:"closing_um" jsonschema_description:"way of the point of the press along the press, from first touch"`
	Teeth     []YieldLoad `json:"teeth"`
	Pairs     []YieldPair `json:"pairs"`
	Residual  float64     `json:"residual" jsonschema_description:"force left unbalanced on any tooth or cast, as a share of the closing force"`
}

// YieldLoad is the load and displacement of a tooth.
type YieldLoad struct {
	Tooth     Part    `json:"tooth"`
	ForceN    float64 `json:"force_n"`
	AxialUm   float64 `json:"axial_um" jsonschema_description:"into the socket"`
	LateralUm float64 `json:"lateral_um"`
}

// YieldPair is the force between two teeth.
type YieldPair struct {
	Upper  Part    `json:"upper"`
	Lower  Part    `json:"lower"`
	ForceN float64 `json:"force_n"`
}

// YieldStop is a pair of teeth and the least of the closing forces at which it
// carries.
type YieldStop struct {
	Upper Part    `json:"upper"`
	Lower Part    `json:"lower"`
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
	return language.Say("load.order", language.With{"pairs": language.Commas(out), "only": language.Commas(only)})
}
