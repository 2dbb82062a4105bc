package casefile

import (
	"encoding"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strconv"

	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/kinematics"
	"github.com/cusptrace/cusptrace/pkg/mesh"
)

// decoder puts a YAML document into a Case and remembers where each key stands.
// It looks at types and keys only; ranges are the checker's matter.
//
// Aliases cannot make it read much more than the file holds: it goes down only
// where the types of a Case do, which is a few levels, and reads no list that is
// too long.
type decoder struct {
	file    string
	places  map[string]place
	faults  []*Fault
	anchors map[string]ast.Node
}

// decode reads the document into c, which holds the defaults.
func (d *decoder) decode(root ast.Node, c *Case) {
	d.anchors = map[string]ast.Node{}
	ast.Walk(anchors{d}, root)
	d.value(root, "", reflect.ValueOf(c).Elem(), rule{maxItems: 1})
}

// anchors collects the anchors of a document.
type anchors struct{ d *decoder }

// Visit implements [ast.Visitor].
func (a anchors) Visit(n ast.Node) ast.Visitor {
	if n, ok := n.(*ast.AnchorNode); ok {
		name := n.Name.GetToken().Value
		if _, twice := a.d.anchors[name]; twice {
			a.d.fault(n, "", fault(ErrDuplicate, "anchor &%s", short(name)))
		}
		a.d.anchors[name] = n.Value
	}
	return a
}

// fault keeps a fault at a node.
func (d *decoder) fault(n ast.Node, key string, f *Fault) {
	f.File, f.Key = d.file, key
	d.faults = append(d.faults, at(f, start(n)))
}

// start is the token with which a node begins.
func start(n ast.Node) *token.Token {
	if m, ok := n.(*ast.MappingNode); ok && !m.IsFlowStyle && len(m.Values) > 0 {
		return m.Values[0].Key.GetToken()
	}
	return n.GetToken()
}

// resolve is the node that n stands for; nil, with a fault, where there is
// none.
func (d *decoder) resolve(n ast.Node, key string) ast.Node {
	for range maxNesting {
		switch m := n.(type) {
		case *ast.AnchorNode:
			n = m.Value
		case *ast.AliasNode:
			name := m.Value.GetToken().Value
			value, ok := d.anchors[name]
			if !ok {
				d.fault(m, key, fault(ErrSyntax, "alias *%s, but there is no anchor &%s", short(name), short(name)))
				return nil
			}
			n = value
		case *ast.TagNode:
			d.fault(m, key, fault(ErrSyntax, "tag %s, a case file uses none", short(m.GetToken().Value)))
			return nil
		default:
			return n
		}
	}
	d.fault(n, key, fault(ErrSyntax, "aliases lead to aliases"))
	return nil
}

// value reads a node into v, which keeps its default where the node is wrong.
func (d *decoder) value(n ast.Node, key string, v reflect.Value, r rule) {
	if n = d.resolve(n, key); n == nil {
		return
	}
	if t := start(n); t != nil {
		d.places[key] = place{t.Position.Line, t.Position.Column}
	}
	if n.Type() == ast.NullType {
		d.fault(n, key, fault(ErrType, "no value, must be %s", wanted(v.Type(), key, r)))
		return
	}
	switch into := v.Addr().Interface().(type) {
	case *Settle:
		d.settle(n, key, into)
		return
	case *Guidance:
		d.guidance(n, key, into)
		return
	case encoding.TextUnmarshaler:
		s, ok := plain(n)
		if !ok {
			d.wrong(n, key, v.Type(), r)
			return
		}
		// What is long enough to be shortened is wrong anyhow.
		if err := into.UnmarshalText([]byte(short(s))); err != nil {
			d.fault(n, key, &Fault{Err: fmt.Errorf("%w: %w", ErrType, err)})
		}
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		p := reflect.New(v.Type().Elem())
		switch into := p.Interface().(type) {
		case *Average:
			*into = *defaultAverage()
		case *Record:
			into.FoilUm = defaultRecordFoil
		}
		d.value(n, key, p.Elem(), r)
		v.Set(p)
	case reflect.Struct:
		d.mapping(n, key, v, fields(v.Type()))
	case reflect.Map:
		d.teeth(n, key, v, r)
	case reflect.Slice, reflect.Array:
		d.list(n, key, v, r)
	case reflect.Float64:
		if x, ok := d.number(n, key, v.Type(), r); ok {
			v.SetFloat(x)
		}
	case reflect.String:
		s, ok := n.(*ast.StringNode)
		l, block := n.(*ast.LiteralNode)
		switch {
		case block:
			v.SetString(l.Value.Value)
		case ok && !isNumber(s):
			v.SetString(s.Value)
		default:
			d.wrong(n, key, v.Type(), r)
		}
	default:
		panic("casefile: no way to read a " + v.Type().String())
	}
}

// entries is the keys and values of a mapping; it is a fault if n is something
// else or a key is given twice.
func (d *decoder) entries(n ast.Node, key string, t reflect.Type) []*ast.MappingValueNode {
	m, ok := n.(*ast.MappingNode)
	if !ok {
		d.wrong(n, key, t, rule{})
		return nil
	}
	seen := map[string]int{}
	var out []*ast.MappingValueNode
	for _, e := range m.Values {
		k := e.Key.GetToken()
		if first := seen[k.Value]; first > 0 {
			d.fault(e.Key, join(key, short(k.Value)), fault(ErrDuplicate, "first on line %d", first))
			continue
		}
		seen[k.Value] = k.Position.Line
		out = append(out, e)
	}
	return out
}

// mapping reads a mapping into the given fields of a struct. A mapping with
// exactly one alternative (a mounting, a path) begins from nothing.
func (d *decoder) mapping(n ast.Node, key string, v reflect.Value, known []field) {
	if v.Type() == reflect.TypeFor[Mount]() {
		v.SetZero()
	}
	entries := d.entries(n, key, v.Type())
	if entries == nil && n.Type() != ast.MappingType {
		return
	}
	given := map[string]bool{}
	for _, e := range entries {
		name := e.Key.GetToken().Value
		given[name] = true
		i := slices.IndexFunc(known, func(f field) bool { return f.key == name })
		if i < 0 {
			d.unknown(e, key, names(known))
			continue
		}
		d.value(e.Value, join(key, name), v.Field(known[i].index), known[i].rule)
	}
	for _, f := range known {
		if f.rule.required && !given[f.key] {
			d.fault(n, join(key, f.key), fault(ErrMissing, "%s", description(v.Type(), f.key)))
		}
	}
}

func names(known []field) []string {
	var out []string
	for _, f := range known {
		out = append(out, f.key)
	}
	return out
}

// unknown keeps the fault of a key that is none of the known ones.
func (d *decoder) unknown(e *ast.MappingValueNode, above string, known []string) {
	name := e.Key.GetToken().Value
	f := fault(ErrUnknownKey, "here may stand %s", orList(known))
	if near := nearest(name, known); near != "" {
		f = fault(ErrUnknownKey, "did you mean %s?", near)
	}
	d.fault(e.Key, join(above, short(name)), f)
}

// guidance reads the guidance; which keys it may have depends on its by.
func (d *decoder) guidance(n ast.Node, key string, into *Guidance) {
	all := fields(reflect.TypeFor[Guidance]())
	by := all[0]
	*into = Guidance{}
	// A first look only for by; what is wrong is found again below.
	first := decoder{anchors: d.anchors, places: map[string]place{}}
	for _, e := range first.entries(n, key, reflect.TypeFor[Guidance]()) {
		if e.Key.GetToken().Value == by.key {
			first.value(e.Value, by.key, reflect.ValueOf(&into.By).Elem(), by.rule)
		}
	}
	*into = defaultGuidance(into.By)
	known := guidanceFields(into.By)
	if !slices.Contains(by.rule.enum, string(into.By)) {
		known = all // the kind is wrong: do not fault its numbers as well
	}
	before := len(d.faults)
	d.mapping(n, key, reflect.ValueOf(into).Elem(), known)
	for _, f := range d.faults[before:] {
		i := slices.IndexFunc(all, func(g field) bool { return f.Key == join(key, g.key) })
		if i >= 0 && errIs(f, ErrUnknownKey) {
			f.Err = fault(ErrConflict, "has no meaning with by: %s", into.By).Err
		}
	}
}

// settle reads a word, true or false, or a mapping.
func (d *decoder) settle(n ast.Node, key string, into *Settle) {
	switch n := n.(type) {
	case *ast.BoolNode:
		*into = defaultSettle(SettleNone)
		if n.Value {
			*into = defaultSettle(SettleSeat)
		}
		return
	case *ast.StringNode:
		*into = defaultSettle(SettleTo(n.Value))
		return
	case *ast.MappingNode:
	default:
		d.wrong(n, key, reflect.TypeFor[Settle](), rule{})
		return
	}
	*into = defaultSettle(SettleSeat)
	d.mapping(n, key, reflect.ValueOf(into).Elem(), fields(reflect.TypeFor[Settle]()))
	if doubt := join(key, "doubt_um"); into.How != SettleSeat && d.places[doubt] == (place{}) {
		into.DoubtUm = 0
	}
}

// teeth reads a mapping from tooth codes.
func (d *decoder) teeth(n ast.Node, key string, v reflect.Value, r rule) {
	v.Set(reflect.MakeMap(v.Type()))
	for _, e := range d.entries(n, key, v.Type()) {
		name := e.Key.GetToken().Value
		under := join(key, short(name))
		k := reflect.New(v.Type().Key())
		if err := k.Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(name)); err != nil {
			d.fault(e.Key, under, &Fault{Err: fmt.Errorf("%w: %w", ErrType, err)})
			continue
		}
		value := reflect.New(v.Type().Elem()).Elem()
		before := len(d.faults)
		d.value(e.Value, under, value, r)
		if len(d.faults) == before {
			v.SetMapIndex(k.Elem(), value)
		}
	}
}

// list reads a list into a slice, or into an array of exactly that length.
func (d *decoder) list(n ast.Node, key string, v reflect.Value, r rule) {
	s, ok := n.(*ast.SequenceNode)
	if !ok {
		d.wrong(n, key, v.Type(), r)
		return
	}
	if v.Kind() == reflect.Array {
		if len(s.Values) != v.Len() {
			d.fault(n, key, fault(ErrType, "a list of %d, must be %s", len(s.Values), wanted(v.Type(), key, r)))
			return
		}
	} else {
		if len(s.Values) > r.maxItems {
			d.fault(n, key, fault(ErrRange, "a list of %d, must hold at most %d", len(s.Values), r.maxItems))
			return
		}
		v.Set(reflect.MakeSlice(v.Type(), len(s.Values), len(s.Values)))
	}
	for i, e := range s.Values {
		if x, ok := v.Index(i).Addr().Interface().(*Excursion); ok {
			*x = defaultExcursion(0)
		}
		d.value(e, item(key, i), v.Index(i), r)
	}
}

// coreNumber is a number of the YAML 1.2 core schema in decimal, which is also
// every number of JSON.
var coreNumber = regexp.MustCompile(`^[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?$`)

// plain is the text of a scalar, be it a word or a number.
func plain(n ast.Node) (string, bool) {
	switch n := n.(type) {
	case *ast.StringNode:
		return n.Value, true
	case *ast.IntegerNode, *ast.FloatNode:
		return n.GetToken().Value, true
	}
	return "", false
}

// isNumber reports whether a text without quotes is a number, which the YAML
// library does not always see (1e3).
func isNumber(s *ast.StringNode) bool {
	return s.Token.Type == token.StringType && coreNumber.MatchString(s.Value)
}

// number reads a finite number.
func (d *decoder) number(n ast.Node, key string, t reflect.Type, r rule) (float64, bool) {
	var s string
	switch m := n.(type) {
	case *ast.IntegerNode, *ast.FloatNode:
		s = m.GetToken().Value
	case *ast.StringNode:
		if isNumber(m) {
			s = m.Value
		}
	}
	if !coreNumber.MatchString(s) {
		d.wrong(n, key, t, r)
		return 0, false
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		d.fault(n, key, fault(ErrRange, "%s is too large", short(s)))
		return 0, false
	}
	return x, true
}

// wrong keeps the fault of a value of the wrong type.
func (d *decoder) wrong(n ast.Node, key string, t reflect.Type, r rule) {
	d.fault(n, key, fault(ErrType, "%s, must be %s", found(n), wanted(t, key, r)))
}

// found says what a node is.
func found(n ast.Node) string {
	switch m := n.(type) {
	case *ast.MappingNode:
		return "a mapping"
	case *ast.SequenceNode:
		return "a list"
	case *ast.StringNode:
		if isNumber(m) {
			return "the number " + short(m.Value)
		}
		return fmt.Sprintf("the text %q", short(m.Value))
	case *ast.LiteralNode:
		return "a block of text"
	case *ast.BoolNode:
		return "the word " + m.GetToken().Value
	case *ast.NullNode:
		return "no value"
	case *ast.InfinityNode, *ast.NanNode:
		return short(n.GetToken().Value) + ", which is not finite"
	}
	return "the number " + short(n.GetToken().Value)
}

// wanted says what a value of the type is in a file.
func wanted(t reflect.Type, key string, r rule) string {
	if len(r.enum) > 0 && t.Kind() == reflect.String {
		return orList(r.enum)
	}
	switch t {
	case reflect.TypeFor[Settle]():
		return "seat, lift or none, or a mapping such as {how: seat, doubt_um: 150}"
	case reflect.TypeFor[Point]():
		return "three numbers [x, y, z]"
	case reflect.TypeFor[[2]float64]():
		return "two numbers [forward, down]"
	case reflect.TypeFor[[16]float64]():
		return "16 numbers"
	case reflect.TypeFor[Date]():
		return "a date such as 2026-03-17"
	}
	if reflect.PointerTo(t).Implements(reflect.TypeFor[encoding.TextUnmarshaler]()) {
		switch t {
		case reflect.TypeFor[Mark]():
			return `teeth such as "13/43"`
		case reflect.TypeFor[mesh.Unit]():
			return "a unit such as mm"
		case reflect.TypeFor[dentition.Notation]():
			return "iso, universal or quadrant"
		case reflect.TypeFor[kinematics.Movement]():
			return "right, left or protrusive"
		}
		return `a tooth such as "16"`
	}
	switch t.Kind() {
	case reflect.Pointer:
		return wanted(t.Elem(), key, r)
	case reflect.Float64:
		if r.bounded() {
			return "a decimal number, " + r.possible(key)
		}
		return "a decimal number"
	case reflect.String:
		return "text (in quotes, if it looks like something else)"
	case reflect.Slice:
		return "a list"
	case reflect.Map:
		return `a mapping of teeth such as {"16": holds}`
	}
	if t.Kind() == reflect.Struct {
		return "a mapping of " + orList(keys(t))
	}
	return "a mapping"
}
