package page

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
	"github.com/cusptrace/cusptrace/pkg/report/internal/words"
)

// The report shows what it does not know by name as it stands in the findings:
// labels and units come from the keys (height_um becomes "Height", in µm). So a
// new kind of finding appears on the page, with its numbers, without a change
// here.

// node is a JSON value that keeps the order of its keys.
type node struct {
	members []member // of an object
	items   []node   // of an array
	scalar  any      // string, float64, bool or nil
	kind    nodeKind
}

type member struct {
	key   string
	value node
}

type nodeKind uint8

const (
	scalarNode nodeKind = iota
	objectNode
	arrayNode
)

// toNode is any value as JSON shows it.
func toNode(v any) (node, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return node{}, err
	}
	return readNode(json.NewDecoder(bytes.NewReader(b)))
}

func readNode(d *json.Decoder) (node, error) {
	t, err := d.Token()
	if err != nil {
		return node{}, err
	}
	switch t {
	case json.Delim('{'):
		n := node{kind: objectNode}
		for d.More() {
			key, err := d.Token()
			if err != nil {
				return n, err
			}
			v, err := readNode(d)
			if err != nil {
				return n, err
			}
			n.members = append(n.members, member{key.(string), v}) // keys are strings
		}
		_, err := d.Token()
		return n, err
	case json.Delim('['):
		n := node{kind: arrayNode}
		for d.More() {
			v, err := readNode(d)
			if err != nil {
				return n, err
			}
			n.items = append(n.items, v)
		}
		_, err := d.Token()
		return n, err
	}
	return node{scalar: t}, nil
}

// write puts the codes of teeth into a notation, and sentences as they are written for
// the reader.
func (n *node) write(in dentition.Notation, said map[string]string) {
	if s, ok := n.scalar.(string); ok {
		if t, err := dentition.ParseTooth(s); err == nil {
			n.scalar = in.Format(t)
		} else if words, ok := said[s]; ok {
			n.scalar = words
		}
	}
	for i := range n.members {
		n.members[i].value.write(in, said)
	}
	for i := range n.items {
		n.items[i].write(in, said)
	}
}

// get is the member of a key.
func (n *node) get(key string) (*node, bool) {
	for i := range n.members {
		if n.members[i].key == key {
			return &n.members[i].value, true
		}
	}
	return nil, false
}

// without are the members with other keys.
func (n *node) without(keys ...string) []member {
	return slices.DeleteFunc(slices.Clone(n.members), func(m member) bool { return slices.Contains(keys, m.key) })
}

// units are the endings of keys that say a unit.
var units = [...]struct{ ending, unit string }{
	{"_um", "µm"}, {"_mm2", "mm²"}, {"_mm3", "mm³"}, {"_mm", "mm"}, {"_deg", "°"}, {"_n", "N"}, {"_percent", "%"}, {"_ms", "ms"}, {"_s", "s"},
}

// words turns a key into a label and its unit.
func label(key string) (label, unit string) {
	for _, u := range units {
		if s, ok := strings.CutSuffix(key, u.ending); ok {
			key, unit = s, u.unit
			break
		}
		// A map of like values: clearance_mm by travel.
		if s, rest, ok := strings.Cut(key, u.ending+"_"); ok {
			key, unit = s+" "+rest, u.unit
			break
		}
	}
	key = strings.ReplaceAll(key, "_", " ")
	if key != "" {
		key = strings.ToUpper(key[:1]) + key[1:]
	}
	return key, unit
}

// quantity writes a number as finely as its unit deserves.
func quantity(r words.Reader, v float64, unit string) string {
	return r.Language.Quantity(language.Quantity{Value: v, Unit: unit})
}

// text is a value on one line; ok is false for what needs a table and for points,
// directions and matrices, which tell a reader nothing.
func (n *node) text(r words.Reader, unit string) (s string, ok bool) {
	switch n.kind {
	case objectNode:
		return "", false
	case arrayNode:
		var parts []string
		numbers := 0
		for i := range n.items {
			if n.items[i].kind != scalarNode {
				return "", false
			}
			if _, ok := n.items[i].scalar.(float64); ok {
				numbers++
			}
			t, _ := n.items[i].text(r, unit)
			parts = append(parts, t)
		}
		return strings.Join(parts, ", "), numbers <= 2
	}
	switch v := n.scalar.(type) {
	case float64:
		return quantity(r, v, unit), true
	case bool:
		return yesNo(r, v), true
	case string:
		return strings.ReplaceAll(v, "_", " "), true
	}
	return r.Say("dash"), true
}

// fact is a labelled value.
type fact struct{ Label, Value string }

// facts are what a node says in words, tables apart. Directions and points are
// left out.
type facts struct {
	Title  string
	Text   string // a sentence that the findings hold
	Facts  []fact
	Tables []factTable
	Parts  []facts
}

// withoutPlaces takes the links into the 3D view away.
func (f *facts) withoutPlaces() {
	for i := range f.Tables {
		f.Tables[i].Go = nil
	}
	for i := range f.Parts {
		f.Parts[i].withoutPlaces()
	}
}

// fold leaves of the tables their titles, until they are opened.
func (f *facts) fold() {
	for i := range f.Tables {
		f.Tables[i].Folded = true
	}
	for i := range f.Parts {
		f.Parts[i].fold()
	}
}

// factTable is a list of like things.
type factTable struct {
	Title string
	Head  []string
	Rows  [][]string
	// Folded is for details that few will read.
	Folded bool
	// Note explains it.
	Note string
	// Go are the places of the rows in the 3D view; nil for a table without.
	Go []*place3D
	// More is the number of rows that are only in findings.json.
	More int
}

// newTable is an empty table, by the keys of its title and its columns; empty ones have
// none.
func newTable(r words.Reader, title string, head ...string) factTable {
	var t factTable
	if title != "" {
		t.Title = r.Say(title)
	}
	for _, key := range head {
		if key != "" {
			key = r.Say(key)
		}
		t.Head = append(t.Head, key)
	}
	return t
}

// tableRows is the number of rows of a table that a page has room for.
const tableRows = 80

// tell puts members into words.
func tell(r words.Reader, title string, members []member) facts {
	f := facts{Title: title}
	for _, m := range members {
		label, unit := label(m.key)
		if s, ok := m.value.scalar.(string); ok && m.key == "text" {
			f.Text = s
			continue
		}
		if s, ok := m.value.text(r, unit); ok {
			if s != "" {
				f.Facts = append(f.Facts, fact{label, s})
			}
			continue
		}
		switch {
		case m.value.kind == objectNode:
			if p := tell(r, label, m.value.members); !p.Empty() {
				f.Parts = append(f.Parts, p)
			}
		case len(m.value.items) > 0 && m.value.items[0].kind == objectNode:
			if t := tabulate(r, label, m.value.items); len(t.Rows) > 0 {
				f.Tables = append(f.Tables, t)
			}
		}
	}
	return f
}

// Empty says that there is nothing to tell.
func (f facts) Empty() bool { return f.Text == "" && len(f.Facts)+len(f.Tables)+len(f.Parts) == 0 }

// tabulate makes a table of like objects; objects inside them become columns.
func tabulate(r words.Reader, title string, items []node) factTable {
	t := factTable{Title: title}
	var keys []string
	var rows []map[string]string
	for i := range items {
		row := map[string]string{}
		flatten(r, "", &items[i], func(key, value string) {
			if !slices.Contains(keys, key) {
				keys = append(keys, key)
			}
			row[key] = value
		})
		rows = append(rows, row)
	}
	for _, k := range keys {
		label, _ := label(k)
		t.Head = append(t.Head, label)
	}
	if len(rows) > tableRows {
		t.More = len(rows) - tableRows
		rows = rows[:tableRows]
	}
	for _, row := range rows {
		line := make([]string, len(keys))
		for i, k := range keys {
			line[i] = row[k]
		}
		t.Rows = append(t.Rows, line)
	}
	return t
}

func flatten(r words.Reader, prefix string, n *node, put func(key, value string)) {
	for _, m := range n.members {
		key := m.key
		if prefix != "" {
			key = prefix + "_" + key
		}
		_, unit := label(key)
		if s, ok := m.value.text(r, unit); ok {
			put(key, s)
		} else if m.value.kind == objectNode {
			flatten(r, key, &m.value, put)
		}
	}
}
