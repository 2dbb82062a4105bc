package casefile

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"unicode/utf8"

	"github.com/cusptrace/cusptrace/internal/plaintext"
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// largest is the largest size of a coordinate or other number that has no
// range of its own (mm). Our choice: a kilometre, beyond which squares of
// distances lose the micrometres.
const largest = 1e6

// checker checks the values of a case.
type checker struct {
	file   string
	places map[string]place
	// whole says that every value could be read.
	whole bool
	// known holds the keys that are known to be wrong; neither they nor what is
	// under them is faulted again.
	known    map[string]bool
	faults   []*Fault
	warnings []Warning
}

func (k *checker) fault(key string, kind error, format string, args ...any) {
	for above := key; ; above = parent(above) {
		if k.known[above] {
			return
		}
		if above == "" {
			break
		}
	}
	f := fault(kind, format, args...)
	p := placeOf(k.places, key)
	f.File, f.Line, f.Column, f.Key = k.file, p.line, p.column, key
	k.faults = append(k.faults, f)
}

func (k *checker) warn(key, format string, args ...any) {
	p := placeOf(k.places, key)
	k.warnings = append(k.warnings, Warning{Line: p.line, Column: p.column, Key: key, Text: fmt.Sprintf(format, args...)})
}

// given reports whether the key stands in the file.
func (k *checker) given(key string) bool { _, ok := k.places[key]; return ok }

// check looks at every value by itself and, where all could be read, at how
// they go together.
func (k *checker) check(c *Case) {
	k.value("", reflect.ValueOf(c).Elem(), rule{})
	unlike(k, "foils_um", c.FoilsUm)
	unlike(k, "restore", c.Restore)
	unlike(k, "upper.again", c.Upper.Again)
	unlike(k, "lower.again", c.Lower.Again)
	if !k.whole || len(k.faults) > 0 {
		return
	}
	k.scans(c)
	k.mount(c)
	k.settings(c)
	k.record(c)
	k.thresholds(&c.Thresholds)
	k.support(&c.Support)
	if s := c.Doubt.Seed; s != math.Trunc(s) {
		k.fault("doubt.seed", ErrRange, "%g, must be a whole number", s)
	}
	k.trial(c)
	if len(k.faults) == 0 {
		k.excursions(c)
	}
}

// value checks a value against the rule of its field and goes down into it.
func (k *checker) value(key string, v reflect.Value, r rule) {
	switch x := v.Interface().(type) {
	case dentition.ToothID:
		if !x.Valid() {
			_, err := x.MarshalText()
			k.fault(key, ErrType, "%v", err)
		}
		return
	case mesh.Unit:
		if _, err := x.MarshalText(); err != nil {
			k.fault(key, ErrType, "%v", err)
		}
		return
	case dentition.Notation:
		if _, err := x.MarshalText(); err != nil {
			k.fault(key, ErrType, "%v", err)
		}
		return
	case Mark:
		if err := x.check(); err != nil {
			k.fault(key, ErrType, "%v", err)
		}
		return
	case Date:
		if err := x.check(); err != nil {
			k.fault(key, ErrType, "%v", err)
		}
		return
	case Settle:
		k.settle(key, x)
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			k.value(key, v.Elem(), r)
		}
	case reflect.Struct:
		k.fields(key, v)
	case reflect.Map:
		teeth := v.Interface().(map[dentition.ToothID]Hold)
		for _, t := range slices.Sorted(maps.Keys(teeth)) {
			under := join(key, t.String())
			k.value(under, reflect.ValueOf(t), r)
			k.value(under, reflect.ValueOf(teeth[t]), r)
		}
	case reflect.Array:
		for i := range v.Len() {
			k.value(item(key, i), v.Index(i), r)
		}
	case reflect.Slice:
		k.list(key, v, r)
	case reflect.Float64:
		k.number(key, v.Float(), r)
	case reflect.String:
		k.text(key, v.String(), r)
	}
}

func (k *checker) fields(key string, v reflect.Value) {
	all := fields(v.Type())
	if g, ok := v.Interface().(Guidance); ok {
		all = guidanceFields(g.By)
		if slices.Contains(all[0].rule.enum, string(g.By)) {
			k.otherGuidance(key, g)
		}
	}
	for _, f := range all {
		under := join(key, f.key)
		x := v.Field(f.index)
		if f.optional && x.IsZero() && !k.given(under) {
			continue
		}
		k.value(under, x, f.rule)
	}
}

// otherGuidance checks that a guidance has no numbers of another kind.
func (k *checker) otherGuidance(key string, g Guidance) {
	own := guidanceFields(g.By)
	v := reflect.ValueOf(g)
	for _, f := range fields(v.Type()) {
		if !slices.ContainsFunc(own, func(o field) bool { return o.key == f.key }) && !v.Field(f.index).IsZero() {
			k.fault(join(key, f.key), ErrConflict, "has no meaning with by: %s, must be 0", g.By)
		}
	}
}

// settle checks a settling; where only its word stands in the file, that is at
// the key itself.
func (k *checker) settle(key string, s Settle) {
	v := reflect.ValueOf(s)
	for _, f := range fields(v.Type()) {
		under, x := join(key, f.key), v.Field(f.index)
		switch {
		case f.key == "how" && !k.given(under):
			k.value(key, x, f.rule)
		case s.How == SettleSeat || f.key == "how":
			if !f.optional || !x.IsZero() || k.given(under) {
				k.value(under, x, f.rule)
			}
		case slices.Contains([]SettleTo{SettleLift, SettleNone}, s.How) && !x.IsZero():
			k.fault(under, ErrConflict, "has no meaning with how: %s", s.How)
		}
	}
	if p := s.PressDirection; p != nil && *p == (Point{}) {
		k.fault(join(key, "press_direction"), ErrRange, "[0, 0, 0], must point somewhere")
	}
}

func (k *checker) list(key string, v reflect.Value, r rule) {
	if n := v.Len(); n < r.minItems || n > r.maxItems {
		if n == 0 {
			k.fault(key, ErrRange, "an empty list, must hold at least %d", r.minItems)
		} else {
			k.fault(key, ErrRange, "a list of %d, must hold %d to %d", n, r.minItems, r.maxItems)
		}
		return
	}
	for i := range v.Len() {
		k.value(item(key, i), v.Index(i), r)
	}
}

// unlike checks that no two of a list are alike, but for those that are wrong anyhow.
func unlike[T comparable](k *checker, key string, list []T) {
	seen := map[T]bool{}
	for i, x := range list {
		wrong := slices.ContainsFunc(k.faults, func(f *Fault) bool { return f.Key == item(key, i) })
		if seen[x] && !wrong {
			k.fault(item(key, i), ErrDuplicate, "%v", x)
		}
		seen[x] = true
	}
}

func (k *checker) number(key string, x float64, r rule) {
	switch {
	case !finite(x):
		k.fault(key, ErrRange, "%g, must be a finite number", x)
	case !r.bounded() && math.Abs(x) > largest:
		k.fault(key, ErrRange, "%g, must be within ±%g mm", x, largest)
	case x < r.min || x > r.max || r.openMin && x == r.min:
		k.fault(key, ErrRange, "%g, must be %s", x, r.possible(key))
	case x < r.usualMin || x > r.usualMax:
		k.warn(key, "%g is unusual, usual is %s", x, r.usual(key))
	}
}

// renamed are words of older case files and what stands for them now.
var renamed = map[string]string{"rest": "seat"}

func (k *checker) text(key, s string, r rule) {
	if len(r.enum) > 0 {
		if slices.Contains(r.enum, s) {
			return
		}
		if now := renamed[s]; slices.Contains(r.enum, now) {
			k.fault(key, ErrType, "%q, is called %s now (must be %s)", s, now, orList(r.enum))
		} else if near := nearest(s, r.enum); near != "" {
			k.fault(key, ErrType, "%q, must be %s; did you mean %s?", short(s), orList(r.enum), near)
		} else {
			k.fault(key, ErrType, "%q, must be %s", short(s), orList(r.enum))
		}
		return
	}
	n := utf8.RuneCountInString(s)
	switch {
	case n < r.minLength:
		k.fault(key, ErrType, "an empty text, must say something")
	case r.maxLen > 0 && n > r.maxLen:
		k.fault(key, ErrRange, "%d letters, must be at most %d", n, r.maxLen)
	case !utf8.ValidString(s):
		k.fault(key, ErrType, "%q is not UTF-8", short(s))
	}
	for _, c := range s {
		switch lines := key == "record.notes"; {
		case !plaintext.Steers(c), lines && (c == '\n' || c == '\t'):
		case c == '\n' && !lines:
			k.fault(key, ErrType, "%q has several lines, must be one", short(s))
			return
		default:
			k.fault(key, ErrType, "%q holds the control character %U, must be plain text", short(s), c)
			return
		}
	}
}

func errIs(err, kind error) bool { return errors.Is(err, kind) }
