package findings

import (
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// Articulated is two arches put together by hand.
type Articulated struct {
	// UpperFromLower takes a point of the lower scan into the frame of the upper
	// one, in the relation that was found.
	UpperFromLower kinematics.Pose
	// Incisal, Right and Left are points of the lower arch for the average
	// mounting, in the upper scan's frame: the highest at the front of the midline
	// and at its ends.
	Incisal, Right, Left r3.Vec
	// Close is the area, in mm², over which the arches come close, as the search
	// counts it; RunnerUp is that of the best place at least 1.2 mm away, 0 where
	// there is none.
	Close, RunnerUp float64
	// Away is how far from the winner the runner-up lies, mm at some place.
	Away float64
	// OverlapUm is the deepest overlap in the relation that was found: 0 where the
	// arches are at rest in it, and what the errors of the scans leave where they are
	// not.
	OverlapUm float64
	// AtRest says that the relation is where the rigid arches lock; otherwise it is
	// that of best fit.
	AtRest bool
	// Settling is what pressing the arches together does, from the best fit on, in
	// the upper arch's own frame: x to the left, y back and z up from the front of its
	// midline.
	Settling *Settling
	// FitText tells how clear the winner is, RelationText which relation was taken,
	// RestText where the arches rest, and Notes what is worth a second look.
	FitText, RelationText, RestText string
	Notes                           []string
}

// Lead is by what share of its area the winner is ahead of the runner-up, 0 to 1.
func (a *Articulated) Lead() float64 { return 1 - a.RunnerUp/a.Close }
