package language

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Sentence is a key of the catalogue with what it speaks of. In files it is a string,
// in the language that it speaks and with the tooth codes of ISO 3950. The zero Sentence
// is empty.
type Sentence struct {
	key     string
	with    With
	literal string    // what was read from a file
	speaks  *Language // English where nil
}

// With names what a sentence speaks of: a [Namer], a [Sentence], a [List], a
// [Quantity], an int, a float64 or a pointer to one that may be nil, or a string.
type With map[string]any

// Namer is what a sentence writes in the notation of the reader: a tooth, a pair of
// teeth.
type Namer interface {
	In(n dentition.Notation) string
}

// Say returns the sentence of a key. What it speaks of must have the names that the
// template has.
func Say(key string, with ...With) Sentence {
	s := Sentence{key: key}
	for _, w := range with {
		s.with = w
	}
	return s
}

// Literal returns a sentence that is the same in every language, such as a note of the
// reader's own.
func Literal(text string) Sentence { return Sentence{literal: text} }

// Empty says that there is nothing to write.
func (s Sentence) Empty() bool { return s.key == "" && s.literal == "" }

// Key returns the key of the catalogue, empty for a literal.
func (s Sentence) Key() string { return s.key }

// Speaking returns the sentence as files hold it in a language.
func (s Sentence) Speaking(l *Language) Sentence {
	if !s.Empty() {
		s.speaks = l
	}
	return s
}

// IsZero tells package json that there is nothing to write.
func (s Sentence) IsZero() bool { return s.Empty() }

// In writes the sentence in the language that it speaks, with its teeth in a notation.
func (s Sentence) In(n dentition.Notation) string {
	l := s.speaks
	if l == nil {
		l = English()
	}
	return l.Write(s, n)
}

// String writes the sentence with the codes of ISO 3950.
func (s Sentence) String() string { return s.In(dentition.ISO) }

// MarshalJSON implements json.Marshaler.
func (s Sentence) MarshalJSON() ([]byte, error) { return json.Marshal(s.String()) }

// UnmarshalJSON implements json.Unmarshaler. What was read keeps the language and the
// notation in which it was written.
func (s *Sentence) UnmarshalJSON(b []byte) error {
	var text string
	err := json.Unmarshal(b, &text)
	*s = Literal(text)
	return err
}

// List is things one after the other, with the separators of the language.
type List struct {
	items     []any
	separator string // key
	last      string // key of the separator before the last
}

// Len returns the number of things.
func (l List) Len() int { return len(l.items) }

func list[T any](separator, last string, items []T) List {
	l := List{separator: separator, last: last}
	for _, x := range items {
		l.items = append(l.items, x)
	}
	return l
}

// Commas lists things as in "a, b, c".
func Commas[T any](items []T) List { return list("list.comma", "list.comma", items) }

// And lists things as in "a, b and c".
func And[T any](items []T) List { return list("list.comma", "list.and", items) }

// Semicolons lists things as in "a; b; c".
func Semicolons[T any](items []T) List { return list("list.semicolon", "list.semicolon", items) }

// Text lists whole sentences.
func Text[T any](items []T) List { return list("list.sentence", "list.sentence", items) }

// Join makes a list a sentence of its own.
func Join(l List) Sentence {
	if l.Len() == 0 {
		return Sentence{}
	}
	return Say("list", With{"items": l})
}

// Only makes a thing a sentence of its own.
func Only(n Namer) Sentence { return Join(Commas([]Namer{n})) }

// Write writes a sentence in the language, with its teeth in a notation. What was read
// from a file stays as it is.
func (l *Language) Write(s Sentence, n dentition.Notation) string {
	if s.key == "" {
		return s.literal
	}
	e, ok := l.entries[s.key]
	if !ok {
		return "{" + s.key + "}"
	}
	var b strings.Builder
	l.write(&b, e.parts, s.with, n)
	return b.String()
}

func (l *Language) write(b *strings.Builder, parts []part, with With, n dentition.Notation) {
	for _, p := range parts {
		switch {
		case p.optional != nil:
			if said(p.optional, with) {
				l.write(b, p.optional, with, n)
			}
		case p.name == "":
			b.WriteString(p.words)
		case p.one != nil || p.more != nil:
			l.choose(b, p, with[p.name])
		default:
			v, ok := with[p.name]
			if !ok {
				b.WriteString("{" + p.name + "}")
				continue
			}
			b.WriteString(l.value(p.verb, v, n))
		}
	}
}

// choose writes the form of a choice that belongs to a number.
func (l *Language) choose(b *strings.Builder, p part, v any) {
	form := p.more
	if count(v) == 1 {
		form = p.one
	}
	for _, f := range form {
		if f.count {
			fmt.Fprint(b, count(v))
		} else {
			b.WriteString(f.words)
		}
	}
}

// count is the number by which a choice chooses.
func count(v any) int {
	switch x := v.(type) {
	case int:
		return x
	case List:
		return x.Len()
	}
	return 0
}

// said tells whether everything that optional parts name has something to say.
func said(parts []part, with With) bool {
	for _, p := range parts {
		if p.name == "" {
			continue
		}
		switch v := with[p.name].(type) {
		case nil:
			return false
		case *float64:
			if v == nil {
				return false
			}
		case string:
			if v == "" {
				return false
			}
		case Sentence:
			if v.Empty() {
				return false
			}
		case List:
			if v.Len() == 0 {
				return false
			}
		}
	}
	return true
}

func (l *Language) value(verb string, v any, n dentition.Notation) string {
	switch x := v.(type) {
	case string:
		return l.Term(x)
	case Sentence:
		return l.Write(x, n)
	case List:
		var b strings.Builder
		for i, item := range x.items {
			switch {
			case i == 0:
			case i == len(x.items)-1:
				b.WriteString(l.Write(Say(x.last), n))
			default:
				b.WriteString(l.Write(Say(x.separator), n))
			}
			b.WriteString(l.value("", item, n))
		}
		return b.String()
	case Quantity:
		return l.Quantity(x)
	case *float64:
		if x == nil {
			return l.Write(Say("dash"), n)
		}
		return l.value(verb, *x, n)
	case Namer:
		return x.In(n)
	}
	if verb == "" {
		verb = "%.4g"
	}
	return l.number(verb, v)
}
