package frames

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/findings"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// Region is the place of a pair of teeth in a movement.
type Region int

const (
	Nowhere         Region = iota // not a pair of teeth
	Front                         // incisors and canines
	WorkingBack                   // posterior teeth of the working side
	NonworkingBack                // posterior teeth of the nonworking side, and its canines
	Back                          // posterior teeth in protrusion
	NonworkingFront               // anterior teeth of the nonworking side
)

// RegionOf tells a pair's place by its upper tooth, by the lower one where there is
// no upper. working is the side to which the jaw goes, 0 in protrusion.
func RegionOf(working dentition.Side, up, lo findings.Part) Region {
	t := Known(up, lo)
	switch {
	case t == dentition.NoTooth:
		return Nowhere
	case t.Type().Anterior() && working != 0 && t.Side() != working:
		if t.Type() == dentition.Canine || lo.Tooth() != dentition.NoTooth && !lo.Tooth().Type().Anterior() {
			return NonworkingBack
		}
		return NonworkingFront
	case t.Type().Anterior():
		return Front
	case working == 0:
		return Back
	case t.Side() == working:
		return WorkingBack
	}
	return NonworkingBack
}

// Known is the upper tooth of a pair, or the lower one where there is no upper.
func Known(up, lo findings.Part) dentition.ToothID {
	if up != 0 {
		return up.Tooth()
	}
	return lo.Tooth()
}

// Desired says whether teeth there may guide: the anterior teeth, and in lateral
// movements the posterior teeth of the working side; without labels none is known not
// to.
func (w Region) Desired() bool { return w != NonworkingBack && w != Back }

// WorkingSide is the side to which the jaw goes, 0 in protrusion.
func WorkingSide(m kinematics.Movement) dentition.Side {
	switch m {
	case kinematics.Right:
		return dentition.Right
	case kinematics.Left:
		return dentition.Left
	}
	return 0
}
