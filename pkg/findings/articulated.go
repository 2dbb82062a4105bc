package findings

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"gonum.org/v1/gonum/spatial/r3"
)

// Articulated is two arches put together by hand.
type Articulated struct {
	// UpperFromLower takes a point of the lower scan into the frame of the upper
	// one, in the relation that was found.
	UpperFromLower kinematics.Pose
	// Mounting is the points of the lower arch for the average mounting, in the upper
	// scan's frame, found on its teeth; nil where its teeth are not known.
	Mounting *MountingPoints
	// Close is the area, in mm², over which the arches come close, as the search
	// counts it; Strength is it over the root of the area over which they face each
	// other, mm, by which right pairs are told from wrong ones.
	Close, Strength float64
	// RunnerUp is the area of the best place in another relation, 0 where there is
	// none, and Away how far it lies from the winner, mm at some tooth.
	RunnerUp, Away float64
	// OverlapUm is the deepest overlap in the relation that was found: 0 where the
	// arches are locked in it, and what the errors of the scans leave where they are
	// not.
	OverlapUm float64
	// Locked says that the relation is where the rigid arches lock; otherwise it is
	// that of best fit.
	Locked bool
	// ErrorFrontMM and ErrorMolarsMM are how far the relation may be off at the
	// incisors and at the molars, mm: as far as it is in two of three cases.
	ErrorFrontMM, ErrorMolarsMM float64
	// Settling is what pressing the arches together does, from the best fit on, in
	// the upper arch's own frame: x to the left, y back and z up from the front of its
	// midline. It is nil where the overlap that is left lies beyond the error of scans,
	// 60 µm: the arches cannot lock within it then.
	Settling *Settling
	// Relation is how the teeth stand to each other in it.
	Relation ToothRelation
	// FitText tells how clear the winner is, RelationText which relation was taken,
	// SeatText where the arches lock, ErrorText how far it may be off, and Notes what is
	// worth a second look.
	FitText, RelationText, SeatText, ErrorText string
	Notes                                      []string
}

// Lead is by what share of its area the winner is ahead of the best place in another
// relation, 0 to 1.
func (a *Articulated) Lead() float64 { return 1 - a.RunnerUp/a.Close }

// MountingPoints are the points of the average mounting.
type MountingPoints struct {
	Incisal, Right, Left r3.Vec
	// Guessed says that a tooth they should lie on is missing, so that the nearest one
	// stands for it.
	Guessed bool
}

// ToothRelation is how the teeth of two loose arches stand to each other, from the
// middles of their crowns; mm. Known says which of the numbers are.
type ToothRelation struct {
	// Ahead is how far the lower canines, premolars and first molars stand before
	// their place in class I, on the right and on the left; below 0 behind it.
	Ahead [2]float64
	// Midline is how far the lower midline stands to the patient's left of the upper.
	Midline float64
	// Overjet and Overbite are those of the central incisors: below 0 a reverse
	// overjet and an open bite.
	Overjet, Overbite float64
	// Crossed are the upper posterior teeth that stand inside the lower ones.
	Crossed []dentition.ToothID
	// Sides and Front say that the numbers of the sides and of the front are known.
	Sides, Front bool
}
