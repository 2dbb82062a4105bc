package casefile

import (
	"reflect"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Support is how teeth give in their sockets: softly up to the end of a free phase,
// then firmly, along the axis and across it. Each phase is straight, through the
// displacements at two forces. Possible ranges are our choice; where the defaults come from
// tells [Support.Values].
type Support struct {
	// force at the end of the axial free phase
	AxialFreeN float64 `json:"axial_free_n" jsonschema:"minimum=0.5,maximum=20" usual:"3,4"`
	// force at the end of the lateral free phase
	LateralFreeN float64 `json:"lateral_free_n" jsonschema:"minimum=0.1,maximum=2.5" usual:"0.5,2"`
	// how incisors yield, deciduous ones too
	Incisor ToothSupport `json:"incisor"`
	// how canines yield, deciduous ones too
	Canine ToothSupport `json:"canine"`
	// how premolars yield
	Premolar ToothSupport `json:"premolar"`
	// how molars yield, deciduous ones too
	Molar ToothSupport `json:"molar"`
}

// ToothSupport is how one kind of tooth gives.
type ToothSupport struct {
	// displacement into the socket at the end of the axial free phase
	AxialFreeUm float64 `json:"axial_free_um" jsonschema:"minimum=1,maximum=500" usual:"10,30"`
	// displacement into the socket under a bite of 50 N on the tooth
	Axial50NUm float64 `json:"axial_50n_um" jsonschema:"minimum=2,maximum=2000" usual:"25,100"`
	// displacement across the axis at the end of the lateral free phase
	LateralFreeUm float64 `json:"lateral_free_um" jsonschema:"minimum=1,maximum=1000" usual:"20,80"`
	// mobility of the crown: displacement across the axis under 5 N
	Lateral5NUm float64 `json:"lateral_5n_um" jsonschema:"minimum=2,maximum=3000" usual:"50,150"`
}

// The forces, in N, at which the firm phase is given.
const (
	axialFirmN   = 50
	lateralFirmN = 5
)

// DefaultSupport is that of healthy teeth.
func DefaultSupport() Support {
	return Support{
		AxialFreeN: 3.5, LateralFreeN: 1,
		Incisor:  ToothSupport{AxialFreeUm: 28, Axial50NUm: 100, LateralFreeUm: 70, Lateral5NUm: 130},
		Canine:   ToothSupport{AxialFreeUm: 22, Axial50NUm: 74, LateralFreeUm: 50, Lateral5NUm: 90},
		Premolar: ToothSupport{AxialFreeUm: 20, Axial50NUm: 72, LateralFreeUm: 45, Lateral5NUm: 85},
		Molar:    ToothSupport{AxialFreeUm: 15, Axial50NUm: 46, LateralFreeUm: 25, Lateral5NUm: 50},
	}
}

// of is the support of a type of tooth.
func (s *Support) of(t dentition.Type) ToothSupport {
	switch {
	case t.Incisor():
		return s.Incisor
	case t == dentition.Canine:
		return s.Canine
	case t.Premolar():
		return s.Premolar
	}
	return s.Molar
}

// Spring is a support in one direction: stiffnesses (N/mm) before and beyond the end
// of the free phase (mm).
type Spring struct{ Soft, Firm, Free float64 }

// Springs are the springs of a type of tooth along its axis and across it.
func (s *Support) Springs(t dentition.Type) (axial, lateral Spring) {
	k := s.of(t)
	return spring(s.AxialFreeN, k.AxialFreeUm, axialFirmN, k.Axial50NUm), spring(s.LateralFreeN, k.LateralFreeUm, lateralFirmN, k.Lateral5NUm)
}

// spring goes through two displacements (µm) at two forces (N).
func spring(freeN, freeUm, firmN, firmUm float64) Spring {
	return Spring{Soft: 1000 * freeN / freeUm, Firm: 1000 * (firmN - freeN) / (firmUm - freeUm), Free: freeUm / 1000}
}

// The statuses of a value of the support.
const (
	FromLiterature = "literature"
	OurChoice      = "our_choice"
	FromCase       = "case"
)

// supportDefaults says of every number of the support where its defaults come from.
var supportDefaults = map[string]struct{ status, source string }{
	"axial_free_n":   {FromLiterature, "3 to 4: Picton 1963, Arch Oral Biol 8:109-118"},
	"lateral_free_n": {OurChoice, "no source"},
	"axial_free_um": {OurChoice, "within the 10 to 30 of the first 1 to 5 N, after the areas of the roots: " +
		"Parfitt 1960 and textbooks, from memory"},
	"axial_50n_um": {OurChoice, "within the 25 to 100 of a tooth under bite: textbooks, from memory; " +
		"that 50 N is such a bite: our choice"},
	"lateral_free_um": {OurChoice, "about half of the mobility at 5 N: no source"},
	"lateral_5n_um": {OurChoice, "within the 50 to 150 of healthy teeth, after the areas of the roots: " +
		"Mühlemann 1960, from memory"},
}

// SupportValue is a number of the support with where it comes from.
type SupportValue struct {
	// key in the case file, below `support`
	Key string `json:"key"`
	// its value, in the unit in which the key ends: N or µm
	Value float64 `json:"value"`
	// `literature` where the default is a published value, `our_choice`, or `case` where the case
	// sets another than the default
	Status string `json:"status" jsonschema:"enum=literature,enum=our_choice,enum=case"`
	// published range in which the default lies, or what it was chosen after
	Source string `json:"source"`
}

// Values lists the numbers of the support in the order of the case file.
func (s *Support) Values() []SupportValue {
	var out []SupportValue
	var add func(key string, v, standard reflect.Value)
	add = func(key string, v, standard reflect.Value) {
		for _, f := range fields(v.Type()) {
			under, x := join(key, f.key), v.Field(f.index)
			if x.Kind() == reflect.Struct {
				add(under, x, standard.Field(f.index))
				continue
			}
			from := supportDefaults[f.key]
			value := SupportValue{Key: under, Value: x.Float(), Status: from.status, Source: from.source}
			if value.Value != standard.Field(f.index).Float() {
				value.Status = FromCase
			}
			out = append(out, value)
		}
	}
	add("", reflect.ValueOf(*s), reflect.ValueOf(DefaultSupport()))
	return out
}

// support checks that no tooth gets softer beyond its free phase: only then is its
// equilibrium the one minimum of a convex program.
func (k *checker) support(s *Support) {
	for _, t := range []struct {
		key string
		ToothSupport
	}{{"incisor", s.Incisor}, {"canine", s.Canine}, {"premolar", s.Premolar}, {"molar", s.Molar}} {
		for _, d := range []struct {
			free, firm                   string
			freeN, freeUm, firmN, firmUm float64
		}{
			{"axial_free_um", "axial_50n_um", s.AxialFreeN, t.AxialFreeUm, axialFirmN, t.Axial50NUm},
			{"lateral_free_um", "lateral_5n_um", s.LateralFreeN, t.LateralFreeUm, lateralFirmN, t.Lateral5NUm},
		} {
			least, most := d.freeUm+1, d.freeUm*d.firmN/d.freeN
			if d.firmUm < least || d.firmUm > most*(1+same) {
				k.fault(join("support", join(t.key, d.firm)), ErrConflict,
					"%g µm, must be %.4g to %.4g µm: with %s %g, less would not give beyond the free phase and more would be "+
						"softer there", d.firmUm, least, most, d.free, d.freeUm)
			}
		}
	}
}
