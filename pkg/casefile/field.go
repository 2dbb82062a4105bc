package casefile

import (
	"math"
	"reflect"
	"strconv"
	"strings"
)

// field is a key of the file: a struct field with what its tags say.
type field struct {
	index    int
	key      string
	optional bool // left out by the writer where it is zero
	rule     rule
}

// rule is what is allowed in a value.
type rule struct {
	required bool
	// min and max bound a number, inclusive but for openMin.
	min, max           float64
	openMin            bool
	usualMin, usualMax float64
	enum               []string
	minItems, maxItems int
	minLength, maxLen  int
}

// fields lists the keys of a struct type in the order of its fields.
func fields(t reflect.Type) []field {
	var out []field
	for i := range t.NumField() {
		f := t.Field(i)
		key, opts, _ := strings.Cut(f.Tag.Get("json"), ",")
		if key == "-" || key == "" {
			continue
		}
		out = append(out, field{index: i, key: key, optional: opts != "", rule: parseRule(f.Tag)})
	}
	return out
}

// keys lists the keys of a struct type.
func keys(t reflect.Type) []string {
	var out []string
	for _, f := range fields(t) {
		out = append(out, f.key)
	}
	return out
}

// parseRule reads the tags of a field. They are constants of this package;
// TestTags checks that all of them are understood.
func parseRule(tag reflect.StructTag) rule {
	r := rule{
		min: math.Inf(-1), max: math.Inf(1), usualMin: math.Inf(-1), usualMax: math.Inf(1),
		maxItems: math.MaxInt, maxLen: math.MaxInt,
	}
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			return math.NaN()
		}
		return v
	}
	for part := range strings.SplitSeq(tag.Get("jsonschema"), ",") {
		name, value, _ := strings.Cut(part, "=")
		switch name {
		case "required":
			r.required = true
		case "minimum":
			r.min = number(value)
		case "exclusiveMinimum":
			r.min, r.openMin = number(value), true
		case "maximum":
			r.max = number(value)
		case "enum":
			r.enum = append(r.enum, value)
		case "minItems":
			r.minItems = int(number(value))
		case "maxItems":
			r.maxItems = int(number(value))
		case "minLength":
			r.minLength = int(number(value))
		case "maxLength":
			r.maxLen = int(number(value))
		}
	}
	if lo, hi, ok := strings.Cut(tag.Get("usual"), ","); ok {
		r.usualMin, r.usualMax = number(lo), number(hi)
	}
	return r
}

// bounded reports whether the rule limits a number.
func (r rule) bounded() bool { return !math.IsInf(r.min, -1) || !math.IsInf(r.max, 1) }

// possible and usual are the ranges in words, with the unit of the key.
func (r rule) possible(key string) string {
	if r.openMin {
		return "above " + num(r.min) + " and at most " + num(r.max) + unit(key)
	}
	return num(r.min) + " to " + num(r.max) + unit(key)
}

func (r rule) usual(key string) string { return num(r.usualMin) + " to " + num(r.usualMax) + unit(key) }

// unit is the unit that a key ends in.
func unit(key string) string {
	key = strings.TrimRight(key, "[]0123456789")
	switch {
	case strings.HasSuffix(key, "_deg"):
		return " degrees"
	case strings.HasSuffix(key, "_mm"):
		return " mm"
	case strings.HasSuffix(key, "_um"):
		return " µm"
	case strings.HasSuffix(key, "_n"):
		return " N"
	}
	return ""
}

func num(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// fieldRule is the rule of one key of a struct.
func fieldRule[T any](key string) rule {
	for _, f := range fields(reflect.TypeFor[T]()) {
		if f.key == key {
			return f.rule
		}
	}
	panic("casefile: no key " + key)
}

// guidanceFields lists the keys that a guidance has.
func guidanceFields(by Guide) []field {
	all := fields(reflect.TypeFor[Guidance]())
	switch by {
	case ByTable:
		return all[:4]
	case ByNone:
		return []field{all[0], all[4]}
	}
	return all[:1]
}
