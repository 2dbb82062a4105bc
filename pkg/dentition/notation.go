package dentition

import (
	"fmt"
	"strconv"
	"strings"
)

// Notation is a way to write teeth for people. Files always use [ISO].
type Notation uint8

// The notations in common use.
const (
	// ISO is the two-digit code of ISO 3950: 16.
	ISO Notation = iota
	// Universal numbers the permanent teeth from 1 to 32, clockwise as one looks
	// at the patient, from the upper right third molar; deciduous teeth are A to
	// T. Its numbers 51 to 82 and letters AS to TS for supernumerary teeth have no
	// code in ISO 3950 and are refused.
	Universal
	// Quadrant gives the position with a corner symbol that shows the quadrant as
	// one looks at the patient: 6┘ └6 above, 6┐ ┌6 below. Deciduous teeth are A
	// to E instead of 1 to 5.
	Quadrant
)

// notationNames is in the order of the notations.
var notationNames = [...]string{ISO: "iso", Universal: "universal", Quadrant: "quadrant"}

// String is the word that [ParseNotation] reads.
func (n Notation) String() string {
	if int(n) >= len(notationNames) {
		return fmt.Sprintf("Notation(%d)", uint8(n))
	}
	return notationNames[n]
}

// ParseNotation reads iso, universal or quadrant.
func ParseNotation(s string) (Notation, error) {
	for i, name := range notationNames {
		if s == name {
			return Notation(i), nil
		}
	}
	return ISO, fmt.Errorf("notation %q, must be %s", shorten(s), strings.Join(notationNames[:], ", "))
}

// MarshalText is the word that [ParseNotation] reads.
func (n Notation) MarshalText() ([]byte, error) {
	_, err := ParseNotation(n.String())
	return []byte(n.String()), err
}

// UnmarshalText reads what MarshalText writes.
func (n *Notation) UnmarshalText(b []byte) (err error) {
	*n, err = ParseNotation(string(b))
	return err
}

// corners are the symbols of the quadrants upper right, upper left, lower left,
// lower right. The first are the ones written; the second are those that
// Unicode has for dentistry, which few fonts show; the third is for keyboards.
var corners = [4][3]string{{"┘", "⏌", "UR"}, {"└", "⎿", "UL"}, {"┌", "⎾", "LL"}, {"┐", "⏋", "LR"}}

// Format writes a tooth. What is no tooth is written as its digits in every
// notation.
func (n Notation) Format(t ToothID) string {
	if !t.Valid() {
		return t.String()
	}
	switch n {
	case Universal:
		return t.universal()
	case Quadrant:
		position := string(rune('0' + t.Position()))
		if t.Deciduous() {
			position = string(rune('A' + t.Position() - 1))
		}
		symbol := corners[t.quadrant()][0]
		if t.Side() == Right {
			return position + symbol
		}
		return symbol + position
	}
	return t.String()
}

// universal counts along the upper arch from the right and back along the lower
// one from the left.
func (t ToothID) universal() string {
	teeth := 8
	if t.Deciduous() {
		teeth = 5
	}
	place := t.Position() // from the midline
	if t.quadrant()%2 == 0 {
		place = teeth + 1 - place // from the back
	}
	n := t.quadrant()*teeth + place
	if t.Deciduous() {
		return string(rune('A' + n - 1))
	}
	return fmt.Sprint(n)
}

// supernumerary reports whether s stands for a supernumerary tooth in universal
// numbering: 50 above the number of the tooth beside it, or its letter with an S.
func supernumerary(s string) bool {
	if len(s) == 2 && s[1] == 'S' {
		return s[0] >= 'A' && s[0] <= 'T'
	}
	n, err := strconv.Atoi(s)
	return err == nil && n >= 51 && n <= 82
}

// Parse reads a tooth. The quadrant symbols may be corners (6┘, or the signs
// that Unicode has for dentistry) or letters in front: UR6, UL6, LL6, LR6. Errors
// wrap [ErrTooth].
func (n Notation) Parse(s string) (ToothID, error) {
	var example string
	switch n {
	case Universal:
		for t := range All {
			if t.universal() == s {
				return t, nil
			}
		}
		example = "1 to 32 or A to T (universal numbering)"
		if supernumerary(s) {
			example += "; supernumerary teeth have no code"
		}
	case Quadrant:
		for t := range All {
			position := strings.Trim(Quadrant.Format(t), "┘└┌┐")
			for i, symbol := range corners[t.quadrant()] {
				written := symbol + position
				if t.Side() == Right && i < 2 {
					written = position + symbol
				}
				if s == written {
					return t, nil
				}
			}
		}
		example = "a position with a corner such as 6┘, or UR6"
	default:
		return ParseTooth(s)
	}
	return NoTooth, fmt.Errorf("%w: %q, must be %s", ErrTooth, shorten(s), example)
}
