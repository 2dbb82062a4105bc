package findings

import (
	"encoding/json"
	"fmt"

	"strconv"
)

// Foil is the thickness of a foil (µm): a number in files, and a key of an object. Foils of one
// document are those of its case; two of them are the same or not, with nothing between.
type Foil float64

// Foils are thicknesses (µm) as foils.
func Foils(um []float64) []Foil {
	out := make([]Foil, len(um))
	for i, x := range um {
		out[i] = Foil(x)
	}
	return out
}

// Um is the thickness, µm.
func (f Foil) Um() float64 { return float64(f) }

// MM is the thickness, mm.
func (f Foil) MM() float64 { return float64(f) / 1000 }

// String is the thickness in micrometres, without the unit, so that it reads back exactly.
func (f Foil) String() string { return strconv.FormatFloat(float64(f), 'g', -1, 64) }

// MarshalJSON implements json.Marshaler.
func (f Foil) MarshalJSON() ([]byte, error) { return json.Marshal(float64(f)) }

// UnmarshalJSON implements json.Unmarshaler. It takes text too, as which package json hands it
// the keys of objects.
func (f *Foil) UnmarshalJSON(b []byte) error {
	var key string
	if json.Unmarshal(b, &key) == nil {
		return f.UnmarshalText([]byte(key))
	}
	return json.Unmarshal(b, (*float64)(f))
}

// MarshalText implements encoding.TextMarshaler.
func (f Foil) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler.
func (f *Foil) UnmarshalText(b []byte) error {
	um, err := strconv.ParseFloat(string(b), 64)
	if err != nil {
		return fmt.Errorf("foil %q: %w", b, err)
	}
	*f = Foil(um)
	return nil
}
