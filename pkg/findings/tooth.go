package findings

import (
	"encoding/json"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Part is a tooth, or none: a contact off the labelled teeth, or a whole arch
// without labels. It is written as the ISO 3950 code or null.
type Part dentition.ToothID

// Tooth is the tooth, [dentition.NoTooth] for none.
func (p Part) Tooth() dentition.ToothID { return dentition.ToothID(p) }

// MarshalJSON implements json.Marshaler.
func (p Part) MarshalJSON() ([]byte, error) {
	if p.Tooth() == dentition.NoTooth {
		return []byte("null"), nil
	}
	return json.Marshal(p.Tooth().String())
}

// UnmarshalJSON implements json.Unmarshaler.
func (p *Part) UnmarshalJSON(b []byte) error {
	*p = Part(dentition.NoTooth)
	if string(b) == "null" {
		return nil
	}
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	t, err := dentition.ParseTooth(s)
	*p = Part(t)
	return err
}

// String is the ISO 3950 code, or a dash for none.
func (p Part) String() string {
	if p.Tooth() == dentition.NoTooth {
		return "–"
	}
	return p.Tooth().String()
}

// Pair names two teeth.
type Pair struct {
	// the upper tooth; null for none
	Upper Part `json:"upper"`
	// the lower tooth; null for none
	Lower Part `json:"lower"`
}

// String names the pair with the codes of ISO 3950.
func (p Pair) String() string { return p.In(dentition.ISO) }

// In names the pair in a notation.
func (p Pair) In(n dentition.Notation) string { return PairIn(n, p.Upper, p.Lower) }

// PairIn names an upper and a lower tooth that meet in a notation, a dash for one that
// is none.
func PairIn(n dentition.Notation, upper, lower Part) string {
	if upper == 0 && lower == 0 {
		return "an unlabelled place"
	}
	return upper.In(n) + "/" + lower.In(n)
}

// In is the tooth in a notation, a dash for none.
func (p Part) In(n dentition.Notation) string {
	if p.Tooth() == dentition.NoTooth {
		return p.String()
	}
	return n.Format(p.Tooth())
}
