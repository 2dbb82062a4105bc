package findings

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

// Sentence is text that keeps the teeth it names apart from its words, so that it
// can be written in any notation. In files it is a string with the codes of ISO
// 3950. The zero Sentence is empty.
type Sentence struct {
	format string
	args   []any
}

// namer is what a sentence writes in the notation of the reader.
type namer interface {
	In(n dentition.Notation) string
}

// Say makes a sentence in the manner of [fmt.Sprintf]. Teeth, pairs of teeth and
// sentences among the arguments are written with %s.
func Say(format string, args ...any) Sentence { return Sentence{format, args} }

// In is the sentence with its teeth in a notation.
func (s Sentence) In(n dentition.Notation) string {
	args := slices.Clone(s.args)
	for i, a := range args {
		if a, ok := a.(namer); ok {
			args[i] = a.In(n)
		}
	}
	return fmt.Sprintf(s.format, args...)
}

// String is the sentence with the codes of ISO 3950.
func (s Sentence) String() string { return s.In(dentition.ISO) }

// MarshalJSON implements json.Marshaler.
func (s Sentence) MarshalJSON() ([]byte, error) { return json.Marshal(s.String()) }

// UnmarshalJSON implements json.Unmarshaler. What was read keeps the notation in
// which it was written.
func (s *Sentence) UnmarshalJSON(b []byte) error {
	var text string
	err := json.Unmarshal(b, &text)
	*s = Say("%s", text)
	return err
}

// listed are things of a sentence one after the other.
type listed struct {
	items     []namer
	separator string
}

func (l listed) In(n dentition.Notation) string {
	out := make([]string, len(l.items))
	for i, x := range l.items {
		out[i] = x.In(n)
	}
	return strings.Join(out, l.separator)
}

// List makes a sentence of things between separators.
func List[T namer](separator string, items []T) Sentence {
	l := listed{separator: separator}
	for _, x := range items {
		l.items = append(l.items, x)
	}
	return Say("%s", l)
}
