package mesh

import (
	"fmt"
	"math"
	"strings"
)

// Unit is the unit of length a scan file is written in. STL, PLY and OBJ
// cannot say it, so it is asked for; the zero Unit stands for "not said" and
// is refused by [Read].
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

func (u Unit) known() bool { return u > UnitUnknown && int(u) < len(units) }

// MM is the length of the unit in mm; 0 for an unknown one.
func (u Unit) MM() float64 {
	if !u.known() {
		return 0
	}
	return units[u].mm
}

// String is the name that [ParseUnit] reads.
func (u Unit) String() string {
	if !u.known() {
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
	for u := Millimetre; u.known(); u++ {
		if s == units[u].name {
			return u, nil
		}
	}
	return UnitUnknown, fmt.Errorf("%w: found %q, expected %s", ErrUnit, s, unitNames())
}

// MarshalText writes the name of the unit.
func (u Unit) MarshalText() ([]byte, error) {
	if !u.known() {
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

func unitNames() string {
	var names []string
	for u := Millimetre; u.known(); u++ {
		names = append(names, u.String())
	}
	return strings.Join(names, ", ")
}

// Sizes of a whole dental arch, by the largest side of its box in mm. Scans of
// 200 people average 65.9 (Bits2Bites data set); 50 to 90 is the usual range.
// Outside 20 to 150 it is no whole arch: a milk dentition is above 40, a
// plaster base below 120. Between the two the size is doubted only where
// another unit would bring it into the usual range; the closest mix-up, inch
// for cm, is off by 2.54, so of a usual arch every mix-up is found.
const (
	archUsualMin, archUsualMax       = 50, 90
	archPossibleMin, archPossibleMax = 20, 150
	archMean                         = 65.9
	archDoubtMin                     = archUsualMax / 2.54
	archDoubtMax                     = archUsualMin * 2.54
)

// SizeError says that a scan is not as large as a dental arch can be.
type SizeError struct {
	LargestMM float64 // largest side of the scan's box, mm
	Unit      Unit    // the unit it was read in
	Fits      Unit    // the unit in which it would be an arch; UnitUnknown where none would
}

func (e *SizeError) Error() string {
	s := fmt.Sprintf("%v: read in %v its largest side is %.4g mm, a dental arch has %d to %d mm", ErrSize, e.Unit, e.LargestMM, archUsualMin, archUsualMax)
	if e.Fits == UnitUnknown {
		return s + "; none of " + unitNames() + " would make it one"
	}
	return s + fmt.Sprintf("; in %v it would be %.4g mm", e.Fits, e.LargestMM/e.Unit.MM()*e.Fits.MM())
}

// Unwrap makes the error an [ErrSize].
func (e *SizeError) Unwrap() error { return ErrSize }

// CheckSize says with a [*SizeError] whether a scan, read in unit u, is too
// small or too large for a whole dental arch, and which unit would fit. Single
// teeth and parts of arches are too small by intent: do not call it for them.
func CheckSize(m *Mesh, u Unit) error {
	if !u.known() {
		return fmt.Errorf("%w: not given, expected one of %s", ErrUnit, unitNames())
	}
	size := surfaceBox(m).Size()
	mm := max(size.X, size.Y, size.Z)
	possible := mm >= archPossibleMin && mm <= archPossibleMax
	if possible && mm >= archDoubtMin && mm <= archDoubtMax {
		return nil
	}
	e := &SizeError{LargestMM: mm, Unit: u}
	lo, hi := float64(archPossibleMin), float64(archPossibleMax)
	if possible {
		lo, hi = archUsualMin, archUsualMax
	}
	best := math.Inf(1)
	for f := Millimetre; f.known(); f++ {
		s := mm / u.MM() * f.MM()
		if d := math.Abs(math.Log(s / archMean)); f != u && s >= lo && s <= hi && d < best {
			best, e.Fits = d, f
		}
	}
	if possible && e.Fits == UnitUnknown {
		return nil
	}
	return e
}
