package dentition

import "fmt"

// Area is a part of the mouth by its two-digit code of ISO 3950: 00 the whole
// mouth, 01 and 02 the upper and the lower jaw, 10 to 40 the quadrants, 03 to 08
// the sextants upper right, upper front, upper left, lower left, lower front and
// lower right. (The codes are as handbooks give them; the standard's own text
// was not at hand.)
type Area uint8

// areaNames is by code; between them are codes of no area.
var areaNames = [...]string{
	0: "whole mouth", 1: "upper jaw", 2: "lower jaw",
	3: "upper right sextant", 4: "upper front sextant", 5: "upper left sextant",
	6: "lower left sextant", 7: "lower front sextant", 8: "lower right sextant",
	10: "upper right quadrant", 20: "upper left quadrant", 30: "lower left quadrant", 40: "lower right quadrant",
}

// rearSextants are the sextants behind the canines, by quadrant.
var rearSextants = [...]Area{3, 5, 6, 8}

// ParseArea reads a two-digit area code.
func ParseArea(s string) (Area, error) {
	if len(s) == 2 && s[0] >= '0' && s[0] <= '9' && s[1] >= '0' && s[1] <= '9' {
		if a := Area(s[0]-'0')*10 + Area(s[1]-'0'); a.Valid() {
			return a, nil
		}
	}
	return 0, fmt.Errorf("area %q, must be 00 to 08, 10, 20, 30 or 40 (ISO 3950)", shorten(s))
}

// Valid reports whether a is an area.
func (a Area) Valid() bool { return int(a) < len(areaNames) && areaNames[a] != "" }

// String is the two-digit code.
func (a Area) String() string { return fmt.Sprintf("%02d", uint8(a)) }

// Name is the area in words.
func (a Area) Name() string {
	if !a.Valid() {
		return "no area"
	}
	return areaNames[a]
}

// Contains reports whether a tooth belongs to the area, deciduous teeth with
// the permanent ones that follow them. The front sextants reach from canine to
// canine.
func (a Area) Contains(t ToothID) bool {
	if !t.Valid() || !a.Valid() {
		return false
	}
	front := t.Type().Anterior()
	switch {
	case a == 0:
		return true
	case a <= 2:
		return t.Jaw() == Jaw(a)
	case a >= 10:
		return t.quadrant() == int(a/10)-1
	case a == 4:
		return front && t.Jaw() == Upper
	case a == 7:
		return front && t.Jaw() == Lower
	}
	return !front && a == rearSextants[t.quadrant()]
}
