package casefile

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"regexp"
	"strings"
)

// lineWidth is the width up to which the writer keeps a value on one line.
const lineWidth = 100

// Write writes the case as YAML that [Parse] reads back equal, with all values
// in effect, defaults too. Paths are written as they are, so the file belongs
// into the folder that they start from. A case with faults (see [Case.Check]) is
// not written.
func Write(w io.Writer, c *Case) error {
	if _, err := c.Check(); err != nil {
		return fmt.Errorf("the case is not fit to be written: %w", err)
	}
	// The JSON form has the keys, their order and the exact numbers; YAML is
	// only a friendlier layout of it.
	var text bytes.Buffer
	e := json.NewEncoder(&text)
	e.SetEscapeHTML(false)
	if err := e.Encode(c); err != nil {
		return err
	}
	d := json.NewDecoder(&text)
	d.UseNumber()
	root, err := tree(d)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(w)
	root.block(out, "", "")
	return out.Flush()
}

// node is a value of a JSON text with its keys in order.
type node struct {
	scalar string   // as YAML
	keys   []string // of a mapping, as YAML
	items  []*node  // of a mapping or a list
	kind   json.Delim
}

// tree reads one value.
func tree(d *json.Decoder) (*node, error) {
	t, err := d.Token()
	if err != nil {
		return nil, err
	}
	switch t := t.(type) {
	case json.Delim:
		n := &node{kind: t}
		for d.More() {
			if t == '{' {
				k, err := d.Token()
				if err != nil {
					return nil, err
				}
				n.keys = append(n.keys, word(fmt.Sprint(k)))
			}
			item, err := tree(d)
			if err != nil {
				return nil, err
			}
			n.items = append(n.items, item)
		}
		_, err := d.Token()
		return n, err
	case string:
		return &node{scalar: word(t)}, nil
	default:
		return &node{scalar: fmt.Sprint(t)}, nil
	}
}

// plainWord is text that is itself in YAML without quotes, whatever stands
// around it.
var plainWord = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_./-]*( [A-Za-z0-9_./-]+)*$`)

// word is text as YAML.
func word(s string) string {
	switch strings.ToLower(s) {
	case "true", "false", "null", "yes", "no", "on", "off", "y", "n":
	default:
		if plainWord.MatchString(s) {
			return s
		}
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(s); err != nil {
		panic("casefile: text without JSON form: " + err.Error()) // every string has one
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// flow is the value on one line.
func (n *node) flow() string {
	if n.kind == 0 {
		return n.scalar
	}
	var parts []string
	for i, item := range n.items {
		s := item.flow()
		if n.kind == '{' {
			s = n.keys[i] + ": " + s
		}
		parts = append(parts, s)
	}
	if n.kind == '{' {
		return "{" + strings.Join(parts, ", ") + "}"
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

// block writes a mapping or a list over several lines, each with the indent;
// the first line begins with first instead.
func (n *node) block(w *bufio.Writer, first, indent string) {
	for i, item := range n.items {
		w.WriteString(first)
		first = indent
		head := "-"
		if n.kind == '{' {
			head = n.keys[i] + ":"
		}
		w.WriteString(head)
		inner := indent + "  "
		switch line := item.flow(); {
		case item.kind == 0 || len(item.items) == 0 || len(indent)+len(head)+1+len(line) <= lineWidth:
			w.WriteString(" " + line + "\n")
		case n.kind == '[':
			item.block(w, " ", inner)
		default:
			w.WriteString("\n")
			item.block(w, inner, inner)
		}
	}
}
