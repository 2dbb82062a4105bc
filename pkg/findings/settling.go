package findings

import (
	"strings"

	"github.com/cusptrace/cusptrace/pkg/language"
)

// PlayMost is the largest play that is measured, mm.
const PlayMost = 0.2

// Settling is how the casts were brought from the given relation to where they seat.
type Settling struct {
	// Given is nil where nothing meets in the given relation.
	Given            *Given   `json:"given" jsonschema_description:"what the casts showed in the given relation, before settling; null where nothing meets there"`
	How              string   `json:"how" jsonschema:"enum=seat,enum=lift,enum=none" jsonschema_description:"what was done with the casts: lift also where they do not lock within the doubt of the given relation"`
	Pose             Pose     `json:"pose" jsonschema_description:"motion of the lower arch in intercuspation, applied before that of a frame"`
	MovedUm          float64  `json:"moved_um" jsonschema_description:"largest displacement of the occlusal table by the pose"`
	OverlapBeforeUm  float64  `json:"overlap_before_um" jsonschema_description:"deepest overlap of the given relation, at vertices"`
	LargestOverlapUm float64  `json:"largest_overlap_um" jsonschema_description:"deepest overlap left; 0 after a settling, which leaves no two triangles crossing"`
	Text             Sentence `json:"text,omitzero"`
	// Lift is the least movement that removes all overlap, Seat where a force
	// brings the casts from there; both count from the given relation.
	Lift *Move `json:"lift,omitempty"`
	Seat *Seat `json:"seat,omitempty"`
}

// Move is a movement of the lower arch from the given relation.
type Move struct {
	Pose    Pose     `json:"pose"`
	MovedUm float64  `json:"moved_um" jsonschema_description:"largest displacement of the occlusal table"`
	ShiftMM Vec      `json:"shift_mm" jsonschema_description:"displacement of the middle of the occlusal table"`
	TurnDeg Vec      `json:"turn_deg" jsonschema_description:"rotation vector: about x the front goes down, about y the left side goes down, about z the front goes to the left"`
	Text    Sentence `json:"text"`
}

// Seat is where the casts come to when pressed together.
type Seat struct {
	Move
	Locked         bool     `json:"locked" jsonschema_description:"the contacts hold the casts against the force"`
	Taken          bool     `json:"taken" jsonschema_description:"the casts were brought there; not where it lies beyond the doubt of the given relation"`
	Reason         Sentence `json:"reason,omitzero" jsonschema_description:"why the casts are not locked"`
	DoubtUm        float64  `json:"doubt_um"`
	FarthestUm     float64  `json:"farthest_um" jsonschema_description:"largest displacement of any tooth from the given relation"`
	FarthestTooth  Part     `json:"farthest_tooth"`
	PressPointMM   Vec      `json:"press_point_mm" jsonschema_description:"point of the lower cast, as given, on which the force acts"`
	PressDirection Vec      `json:"press_direction"`
	Residual       float64  `json:"residual" jsonschema_description:"what the contact forces leave unbalanced, as a share of the force"`
	Pushes         int      `json:"pushes" jsonschema_description:"how often a push of 10 µm made the casts slide on to a lower place"`
	// Contacts carry the force, the largest share first.
	Contacts []SeatContact `json:"contacts"`
	// Play is how well the casts are held, direction by direction.
	Play []Play `json:"play"`
}

// SeatContact is a place that carries part of the force. Force is what acts on
// the upper arch, Share its part along the pressing force; shares add up to 1.
type SeatContact struct {
	Upper   Part    `json:"upper"`
	Lower   Part    `json:"lower"`
	PointMM Vec     `json:"point_mm"`
	Force   Vec     `json:"force" jsonschema_description:"on the upper arch, in units of the pressing force"`
	Share   float64 `json:"share" jsonschema_description:"part along the pressing force"`
}

// Play is how far the lower cast can go in a direction when it is let rise by 10
// µm against the force; much play means badly held. It stops at PlayMost.
type Play struct {
	Direction string  `json:"direction" jsonschema:"enum=right,enum=left,enum=back,enum=forward,enum=turn right,enum=turn left"`
	Um        float64 `json:"um" jsonschema_description:"way of the middle of the occlusal table; for turns, root mean square over it"`
}

// Name names the direction.
func (p Play) Name() Sentence {
	return language.Say("seat.direction." + strings.ReplaceAll(p.Direction, " ", "_"))
}
