package findings

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/casefile"
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
func Newtons(n float64) string {
	if n < 9.95 {
		return fmt.Sprintf("%.1f N", n)
	}
	return fmt.Sprintf("%.0f N", n)
}

// Text tells in words in which order stops appear as the teeth give.
func (y *Yielding) Text() Sentence {
	var out []Sentence
	for i, s := range y.Order {
		at := Say("%s", Pair{Upper: s.Upper, Lower: s.Lower})
		if i == 0 || s.FromN > y.Order[i-1].FromN {
			at = Say("from %s %s", Newtons(s.FromN), at)
		}
		out = append(out, at)
	}
	text := List(", ", out)
	if len(y.OnlyYielding) > 0 {
		var only []Pair
		for _, s := range y.OnlyYielding {
			only = append(only, Pair{Upper: s.Upper, Lower: s.Lower})
		}
		text = Say("%s; of the mouth's record only the yielding teeth show %s", text, List(", ", only))
	}
	return text
}
