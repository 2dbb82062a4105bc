package casefile

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
)

// Record is what was seen in the mouth, to be compared with what the casts
// show.
type Record struct {
	// thickness of the foil that was used
	//
	// Source: as of `foils_um`
	FoilUm float64 `json:"foil_um" jsonschema:"exclusiveMinimum=0,maximum=1000" usual:"8,200"`
	// per tooth: it `holds` the foil when the teeth are closed, gives a `light_drag`, or the foil
	// `passes`. A tooth that is not listed was not tried
	//
	// Source: Harper & Setchell 2002, Int J Prosthodont 15:347
	Foil map[dentition.ToothID]Hold `json:"foil,omitzero" jsonschema:"enum=holds,enum=light_drag,enum=passes"`
	// marks seen on the teeth
	Marks Marks `json:"marks,omitzero"`
	// free text
	Notes string `json:"notes,omitempty" jsonschema:"maxLength=10000"`
}

// Hold is what a foil did when it was pulled between closed teeth.
type Hold string

// The three classes of a foil test (Harper & Setchell 2002, Int J Prosthodont
// 15:347).
const (
	Holds     Hold = "holds"
	LightDrag Hold = "light_drag"
	Passes    Hold = "passes"
)

// Marks lists the marks seen after closing and after each movement. A nil list
// means that nobody looked, an empty one that there was no mark.
type Marks struct {
	// marks of closing
	Centric []Mark `json:"centric,omitzero" jsonschema:"maxItems=1000"`
	// marks of the movement to the right
	Right []Mark `json:"right,omitzero" jsonschema:"maxItems=1000"`
	// marks of the movement to the left
	Left []Mark `json:"left,omitzero" jsonschema:"maxItems=1000"`
	// marks of the movement forwards
	Protrusive []Mark `json:"protrusive,omitzero" jsonschema:"maxItems=1000"`
}

// Mark is a mark on a pair of teeth, or on one where the other is not known.
type Mark struct {
	// Upper and Lower are the teeth; one of them may be
	// [dentition.NoTooth].
	Upper, Lower dentition.ToothID
}

// ErrMark says that a text is not a mark.
var ErrMark = errors.New("not a mark")

// ParseMark reads "13/43", the upper tooth first, or one tooth such as "13".
// Errors wrap [ErrMark] or [dentition.ErrTooth].
func ParseMark(s string) (Mark, error) {
	first, second, pair := strings.Cut(s, "/")
	a, err := dentition.ParseTooth(first)
	if err != nil {
		return Mark{}, err
	}
	if !pair {
		if a.Jaw() == dentition.Upper {
			return Mark{Upper: a}, nil
		}
		return Mark{Lower: a}, nil
	}
	b, err := dentition.ParseTooth(second)
	if err != nil {
		return Mark{}, err
	}
	m := Mark{Upper: a, Lower: b}
	return m, m.check()
}

func (m Mark) check() error {
	switch {
	case m.Upper == dentition.NoTooth && m.Lower == dentition.NoTooth:
		return fmt.Errorf("%w: no tooth", ErrMark)
	case m.Upper != dentition.NoTooth && (!m.Upper.Valid() || m.Upper.Jaw() != dentition.Upper),
		m.Lower != dentition.NoTooth && (!m.Lower.Valid() || m.Lower.Jaw() != dentition.Lower):
		return fmt.Errorf("%w: %v, must be an upper tooth and a lower one, such as 13/43", ErrMark, m)
	}
	return nil
}

// String is the text that [ParseMark] reads.
func (m Mark) String() string {
	switch {
	case m.Lower == dentition.NoTooth:
		return m.Upper.String()
	case m.Upper == dentition.NoTooth:
		return m.Lower.String()
	}
	return m.Upper.String() + "/" + m.Lower.String()
}

// MarshalText is the text that [ParseMark] reads; an impossible mark is an
// error.
func (m Mark) MarshalText() ([]byte, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	return []byte(m.String()), nil
}

// UnmarshalText reads what MarshalText writes.
func (m *Mark) UnmarshalText(b []byte) (err error) {
	*m, err = ParseMark(string(b))
	return err
}

// defaultRecordFoil is the thickness of the usual metal foil (µm).
const defaultRecordFoil = 8

// record warns of marks that cannot be compared.
func (k *checker) record(c *Case) {
	if c.Record == nil {
		return
	}
	m := &c.Record.Marks
	for _, of := range [...]struct {
		movement kinematics.Movement
		marks    []Mark
	}{{kinematics.Right, m.Right}, {kinematics.Left, m.Left}, {kinematics.Protrusive, m.Protrusive}} {
		if of.marks != nil && !slices.ContainsFunc(c.Excursions, func(e Excursion) bool { return e.Movement == of.movement }) {
			k.warn("record.marks."+of.movement.String(), "not compared: the movement is not among the excursions")
		}
	}
}
