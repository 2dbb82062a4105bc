package findings

import (
	"fmt"

	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// Movement names what the jaw does: one of the movements of a case or, where a text
// speaks of all positions, the closing into intercuspation. The empty Movement is none. Unknown ones
// are errors in files, on reading and on writing.
type Movement string

// The movements, and the closing.
const (
	Right      Movement = "right"
	Left       Movement = "left"
	Protrusive Movement = "protrusive"
	Closed     Movement = "centric" // the closing into intercuspation
)

// MovementOf names a movement of the jaw; the empty Movement for none.
func MovementOf(m kinematics.Movement) Movement {
	if m == 0 {
		return ""
	}
	return Movement(m.String())
}

// Kinematic is the movement as package kinematics runs it; an error for the closing and
// for what is none.
func (m Movement) Kinematic() (kinematics.Movement, error) {
	return kinematics.ParseMovement(string(m))
}

// MarshalText implements encoding.TextMarshaler.
func (m Movement) MarshalText() ([]byte, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	return []byte(m), nil
}

// UnmarshalText implements encoding.TextUnmarshaler.
func (m *Movement) UnmarshalText(b []byte) error {
	read := Movement(b)
	if err := read.check(); err != nil {
		return err
	}
	*m = read
	return nil
}

func (m Movement) check() error {
	switch m {
	case "", Right, Left, Protrusive, Closed:
		return nil
	}
	return fmt.Errorf("movement is %q, must be right, left, protrusive or centric", string(m))
}
