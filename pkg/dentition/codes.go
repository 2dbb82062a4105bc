// Package dentition names teeth: their codes, areas and notations, and the labels
// that say which part of a scan belongs to which tooth.
package dentition

import (
	"errors"
	"fmt"
)

// ErrTooth says that something is not the code of a tooth.
var ErrTooth = errors.New("not a tooth")

// ToothID is a tooth by its two-digit code of ISO 3950. The first digit is the
// quadrant: 1 upper right, 2 upper left, 3 lower left, 4 lower right of the
// permanent teeth, 5 to 8 in the same order of the deciduous ones. The second
// counts from the midline: 1 to 8, or 1 to 5 of the deciduous teeth. What
// counts is which tooth it is, not where it stands. Supernumerary teeth have no
// code; those of an [Area] are no teeth. The zero ToothID is [NoTooth].
type ToothID uint8

// NoTooth stands for what belongs to no tooth, such as gingiva. It is not a
// valid code.
const NoTooth ToothID = 0

// Jaw is the upper or the lower jaw.
type Jaw uint8

// The jaws; the zero Jaw is neither.
const (
	Upper Jaw = iota + 1
	Lower
)

// String is the word that files use: upper or lower.
func (j Jaw) String() string {
	switch j {
	case Upper:
		return "upper"
	case Lower:
		return "lower"
	}
	return fmt.Sprintf("Jaw(%d)", uint8(j))
}

// Side is the patient's right or left.
type Side uint8

// The sides; the zero Side is neither.
const (
	Right Side = iota + 1
	Left
)

// String is the word that files use: right or left.
func (s Side) String() string {
	switch s {
	case Right:
		return "right"
	case Left:
		return "left"
	}
	return fmt.Sprintf("Side(%d)", uint8(s))
}

// Type is the kind of a tooth, counted from the midline.
type Type uint8

// The types. Behind the deciduous canine stand two molars, which are
// FirstMolar and SecondMolar here; there are no deciduous premolars.
const (
	CentralIncisor Type = iota + 1
	LateralIncisor
	Canine
	FirstPremolar
	SecondPremolar
	FirstMolar
	SecondMolar
	ThirdMolar
)

// typeNames is in the order of the types; 0 is none.
var typeNames = [...]string{"", "central incisor", "lateral incisor", "canine", "first premolar", "second premolar",
	"first molar", "second molar", "third molar"}

// String is the type in words, such as "first premolar".
func (t Type) String() string {
	if t == 0 || int(t) >= len(typeNames) {
		return fmt.Sprintf("Type(%d)", uint8(t))
	}
	return typeNames[t]
}

// Anterior reports whether it is an incisor or a canine.
func (t Type) Anterior() bool { return t >= CentralIncisor && t <= Canine }

// Incisor reports whether it is an incisor.
func (t Type) Incisor() bool { return t == CentralIncisor || t == LateralIncisor }

// Premolar reports whether it is a premolar.
func (t Type) Premolar() bool { return t == FirstPremolar || t == SecondPremolar }

// Molar reports whether it is a molar.
func (t Type) Molar() bool { return t >= FirstMolar && t <= ThirdMolar }

// Valid reports whether t is one of the 32 permanent and 20 deciduous codes.
func (t ToothID) Valid() bool { return t.check() == nil }

func (t ToothID) check() error {
	quadrant, position := t/10, t%10
	switch {
	case Area(t).Valid():
		return fmt.Errorf("%w: %02d is the %s", ErrTooth, uint8(t), Area(t).Name())
	case quadrant < 1 || quadrant > 8:
		return fmt.Errorf("%w: %02d, the first digit must be a quadrant from 1 to 8", ErrTooth, uint8(t))
	case position < 1:
		return fmt.Errorf("%w: %02d, the second digit must count the teeth from 1", ErrTooth, uint8(t))
	case quadrant <= 4 && position > 8:
		return fmt.Errorf("%w: %02d, the permanent teeth of a quadrant are %d1 to %d8", ErrTooth, uint8(t), quadrant, quadrant)
	case quadrant > 4 && position > 5:
		return fmt.Errorf("%w: %02d, the deciduous teeth of a quadrant are %d1 to %d5", ErrTooth, uint8(t), quadrant, quadrant)
	}
	return nil
}

// ParseTooth reads a two-digit code, such as "16". Errors wrap [ErrTooth] and
// say which digit is wrong.
func ParseTooth(s string) (ToothID, error) {
	if len(s) != 2 || s[0] < '0' || s[0] > '9' || s[1] < '0' || s[1] > '9' {
		return NoTooth, fmt.Errorf("%w: %q, must be two digits such as 16 (ISO 3950)", ErrTooth, shorten(s))
	}
	t := ToothID(s[0]-'0')*10 + ToothID(s[1]-'0')
	if err := t.check(); err != nil {
		return NoTooth, err
	}
	return t, nil
}

// shorten keeps an error message readable whatever was found.
func shorten(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}

// All yields the 32 permanent codes and then the 20 deciduous ones, in rising
// order.
func All(yield func(ToothID) bool) {
	for t := ToothID(11); t <= 85; t++ {
		if t.Valid() && !yield(t) {
			return
		}
	}
}

// String is the two-digit code, such as "16"; "00" for [NoTooth].
func (t ToothID) String() string { return fmt.Sprintf("%02d", uint8(t)) }

// MarshalText is the two-digit code; an invalid one is an error.
func (t ToothID) MarshalText() ([]byte, error) {
	if err := t.check(); err != nil {
		return nil, err
	}
	return []byte(t.String()), nil
}

// UnmarshalText reads what MarshalText writes.
func (t *ToothID) UnmarshalText(b []byte) (err error) {
	*t, err = ParseTooth(string(b))
	return err
}

// Quadrant is the first digit, 1 to 8.
func (t ToothID) Quadrant() int { return int(t / 10) }

// Position is the second digit: 1 for the tooth at the midline, rising to the
// back.
func (t ToothID) Position() int { return int(t % 10) }

// Deciduous reports whether it is a milk tooth.
func (t ToothID) Deciduous() bool { return t.Quadrant() > 4 }

// quadrant is the quadrant from 0, deciduous ones as the permanent ones.
func (t ToothID) quadrant() int { return (t.Quadrant() - 1) % 4 }

// Jaw is the jaw of a valid code.
func (t ToothID) Jaw() Jaw {
	if t.quadrant() < 2 {
		return Upper
	}
	return Lower
}

// Side is the patient's side of a valid code.
func (t ToothID) Side() Side {
	if q := t.quadrant(); q == 0 || q == 3 {
		return Right
	}
	return Left
}

// Type is the kind of tooth of a valid code.
func (t ToothID) Type() Type {
	if t.Deciduous() && t.Position() > 3 {
		return FirstMolar + Type(t.Position()-4)
	}
	return Type(t.Position())
}

// Name is the tooth in words, such as "upper right first molar" or "lower left
// deciduous canine".
func (t ToothID) Name() string {
	if err := t.check(); err != nil {
		return "no tooth"
	}
	milk := ""
	if t.Deciduous() {
		milk = "deciduous "
	}
	return fmt.Sprintf("%v %v %s%v", t.Jaw(), t.Side(), milk, t.Type())
}

// Mirror is the same tooth of the other side. Mirroring a valid code twice
// gives it back.
func (t ToothID) Mirror() ToothID {
	// Quadrants pair 1–2, 3–4, 5–6, 7–8.
	if t.Quadrant()%2 == 1 {
		return t + 10
	}
	return t - 10
}

// Counterpart is the deciduous tooth of the place of a permanent one or the permanent
// one of that of a deciduous one, [NoTooth] for molars behind the deciduous ones and
// for an invalid code.
func (t ToothID) Counterpart() ToothID {
	const between = 40 // quadrants 1 to 4 and 5 to 8
	switch {
	case !t.Valid() || t.Position() > 5:
		return NoTooth
	case t.Deciduous():
		return t - between
	}
	return t + between
}

// Opposing is the teeth that a tooth meets in normal occlusion, in rising
// order: its namesake of the other jaw and, for an upper tooth, the one behind
// that or, for a lower one, the one in front of that. So the lower central
// incisor and the rearmost upper tooth have one antagonist, all others two
// (handbooks of dental anatomy). It stays within the permanent or the deciduous
// teeth. It is nil for an invalid code.
func (t ToothID) Opposing() []ToothID {
	if !t.Valid() {
		return nil
	}
	// Quadrants face each other 1–4, 2–3, 5–8, 6–7.
	base := t.Quadrant() - t.quadrant()
	facing := ToothID((base+3-t.quadrant())*10 + t.Position())
	if t.Jaw() == Lower {
		if front := facing - 1; front.Valid() {
			return []ToothID{front, facing}
		}
		return []ToothID{facing}
	}
	if behind := facing + 1; behind.Valid() {
		return []ToothID{facing, behind}
	}
	return []ToothID{facing}
}
