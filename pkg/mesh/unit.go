package mesh

import (
	"fmt"
	"strings"
)

// Unit is the unit of length a scan file is written in. STL, PLY and OBJ
// cannot say it, so it is asked for; the zero Unit stands for "not said" and
// is refused by package meshfile.
type Unit uint8

// The units a scan can be written in.
const (
	UnitUnknown Unit = iota
	Millimetre
	Centimetre
	Metre
	Inch
	Micrometre
)

// units holds name and length in mm of every known unit, by its number.
var units = [...]struct {
	name string
	mm   float64
}{
	Millimetre: {"mm", 1},
	Centimetre: {"cm", 10},
	Metre:      {"m", 1000},
	Inch:       {"inch", 25.4},
	Micrometre: {"um", 1e-3},
}

// Known says whether u is one of the units above and not [UnitUnknown].
func (u Unit) Known() bool { return u > UnitUnknown && int(u) < len(units) }

// MM is the length of the unit in mm; 0 for an unknown one.
func (u Unit) MM() float64 {
	if !u.Known() {
		return 0
	}
	return units[u].mm
}

// String is the name that [ParseUnit] reads.
func (u Unit) String() string {
	if !u.Known() {
		return fmt.Sprintf("unknown unit %d", uint8(u))
	}
	return units[u].name
}

// ParseUnit reads the name of a unit: mm, cm, m, inch (or in), um (or µm, with
// either of the two signs in use). Anything else is an error wrapping [ErrUnit].
func ParseUnit(s string) (Unit, error) {
	switch s {
	case "in":
		s = "inch"
	case "µm", "μm": // U+00B5 and U+03BC look the same
		s = "um"
	}
	for u := Millimetre; u.Known(); u++ {
		if s == units[u].name {
			return u, nil
		}
	}
	return UnitUnknown, fmt.Errorf("%w: found %q, expected %s", ErrUnit, s, UnitNames())
}

// MarshalText writes the name of the unit.
func (u Unit) MarshalText() ([]byte, error) {
	if !u.Known() {
		return nil, fmt.Errorf("%w: %v", ErrUnit, u)
	}
	return []byte(u.String()), nil
}

// UnmarshalText reads what [ParseUnit] reads.
func (u *Unit) UnmarshalText(b []byte) error {
	v, err := ParseUnit(string(b))
	if err == nil {
		*u = v
	}
	return err
}

// UnitNames lists the names of all units, for errors.
func UnitNames() string {
	var names []string
	for u := Millimetre; u.Known(); u++ {
		names = append(names, u.String())
	}
	return strings.Join(names, ", ")
}
