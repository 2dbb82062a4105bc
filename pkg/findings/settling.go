package findings

import (
	"strings"

	"github.com/cusptrace/cusptrace/pkg/language"
)

// PlayMost is the largest play that is measured, mm.
const PlayMost = 0.2

// Settling is how the casts were brought from the given relation to where they seat.
type Settling struct {
	// what the casts showed in the given relation, before settling; null where nothing meets there
	Given *Given `json:"given"`
	// what was done with the casts: lift also where they do not lock within the doubt of the given
	// relation
	How string `json:"how" jsonschema:"enum=seat,enum=lift,enum=none"`
	// motion of the lower arch in intercuspation, applied before that of a frame
	Pose Pose `json:"pose"`
	// largest displacement of the occlusal table by the pose
	MovedUm float64 `json:"moved_um"`
	// deepest overlap of the given relation, at vertices
	OverlapBeforeUm float64 `json:"overlap_before_um"`
	// deepest overlap left; 0 after a settling, which leaves no two triangles crossing
	LargestOverlapUm float64 `json:"largest_overlap_um"`
	// the same in words; absent where nothing was done
	Text Sentence `json:"text,omitzero"`
	// the least movement from the given relation that removes all overlap; absent where there was
	// none
	Lift *Move `json:"lift,omitempty"`
	// where a force brings the casts from there, counted from the given relation; absent unless
	// asked for
	Seat *Seat `json:"seat,omitempty"`
}

// Move is a movement of the lower arch from the given relation.
type Move struct {
	// rigid motion of the lower arch from the given relation, mm
	Pose Pose `json:"pose"`
	// largest displacement of the occlusal table
	MovedUm float64 `json:"moved_um"`
	// displacement of the middle of the occlusal table
	ShiftMM Vec `json:"shift_mm"`
	// rotation vector: about x the front goes down, about y the left side goes down, about z the
	// front goes to the left
	TurnDeg Vec `json:"turn_deg"`
	// the same in words
	Text Sentence `json:"text"`
}

// Seat is where the casts come to when pressed together.
type Seat struct {
	Move
	// the contacts hold the casts against the force
	Locked bool `json:"locked"`
	// the casts were brought there; not where it lies beyond the doubt of the given relation
	Taken bool `json:"taken"`
	// why the casts are not locked; absent where they are
	Reason Sentence `json:"reason,omitzero"`
	// how far from the given relation a seat is taken
	DoubtUm float64 `json:"doubt_um"`
	// largest displacement of any tooth from the given relation
	FarthestUm float64 `json:"farthest_um"`
	// the tooth that moves farthest; null for an arch without labels
	FarthestTooth Part `json:"farthest_tooth"`
	// point of the lower cast, as given, on which the force acts
	PressPointMM Vec `json:"press_point_mm"`
	// unit vector in which the lower cast is pressed
	PressDirection Vec `json:"press_direction"`
	// what the contact forces leave unbalanced, as a share of the force
	Residual float64 `json:"residual"`
	// how often a push of 10 µm made the casts slide on to a lower place
	Pushes int `json:"pushes"`
	// the places that carry the force, the largest share first
	Contacts []SeatContact `json:"contacts"`
	// how well the casts are held, direction by direction
	Play []Play `json:"play"`
}

// SeatContact is a place that carries part of the force. Force is what acts on
// the upper arch, Share its part along the pressing force; shares add up to 1.
type SeatContact struct {
	// the upper tooth; null off the labelled teeth
	Upper Part `json:"upper"`
	// the lower tooth; null off the labelled teeth
	Lower Part `json:"lower"`
	// where they touch
	PointMM Vec `json:"point_mm"`
	// force on the upper arch, in units of the pressing force
	Force Vec `json:"force"`
	// its part along the pressing force; all add up to 1
	Share float64 `json:"share"`
}

// Play is how far the lower cast can go in a direction when it is let rise by 10
// µm against the force; much play means badly held. It stops at PlayMost.
type Play struct {
	// the way of the push
	Direction Direction `json:"direction"`
	// how far the middle of the occlusal table goes, at most 200; for turns, root mean square over
	// the table
	Um float64 `json:"um"`
}

// Direction is a way in which the lower cast is pushed.
type Direction string

// The directions.
const (
	PlayRight     Direction = "right"
	PlayLeft      Direction = "left"
	PlayBack      Direction = "back"
	PlayForward   Direction = "forward"
	PlayTurnRight Direction = "turn right"
	PlayTurnLeft  Direction = "turn left"
)

// Name names the direction.
func (p Play) Name() Sentence {
	return language.Say("seat.direction." + strings.ReplaceAll(string(p.Direction), " ", "_"))
}
