// Package language holds every sentence that the summary, the page and the findings
// have in common, apart from the code that decides to say it.
//
// A language is one catalogue: a text file of keys and templates. Code names the key
// and what the sentence speaks of ([Say]); the sentence keeps teeth, numbers and other
// sentences as they are until it is written, so that it can be written in any language
// and in any notation of teeth. [English] is built in; [Parse] reads another.
package language

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"github.com/cusptrace/cusptrace/pkg/dentition"
)

//go:embed english.txt
var englishText string

var english = sync.OnceValue(func() *Language {
	l, err := parse("english.txt", englishText)
	if err != nil {
		panic("language: " + err.Error()) // a test reads it
	}
	return l
})

// English returns the built-in catalogue, in which every key has a template.
func English() *Language { return english() }

// Language is a catalogue that was read and checked. It does not change and may be
// used by any number of goroutines.
type Language struct {
	code    string
	decimal string
	entries map[string]entry
}

// entry is a template and the line where it stands.
type entry struct {
	parts []part
	line  int
}

// Code returns the language tag of the catalogue (BCP 47), such as "en".
func (l *Language) Code() string { return l.code }

// Has says whether the catalogue has a template for a key.
func (l *Language) Has(key string) bool {
	_, ok := l.entries[key]
	return ok
}

// Term returns a word that files keep in English, such as "mesial fossa", as the
// language has it: the template of "term.mesial_fossa". What the catalogue does not
// have stays as it is.
func (l *Language) Term(word string) string {
	if key := TermKey(word); l.Has(key) {
		return l.Write(Say(key), dentition.ISO)
	}
	return word
}

// TermKey returns the key under which a catalogue has a term.
func TermKey(word string) string { return "term." + strings.ReplaceAll(word, " ", "_") }

// Keys returns the keys of the catalogue in order.
func (l *Language) Keys() []string {
	keys := make([]string, 0, len(l.entries))
	for k := range l.entries {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// Placeholders returns the names that the template of a key may be given, without
// repeats, in order.
func (l *Language) Placeholders(key string) []string {
	var names []string
	var add func(parts []part)
	add = func(parts []part) {
		for _, p := range parts {
			if p.name != "" && !slices.Contains(names, p.name) {
				names = append(names, p.name)
			}
			add(p.optional)
		}
	}
	add(l.entries[key].parts)
	slices.Sort(names)
	return names
}

// Parse reads the catalogue of another language from its text; name names the file in
// errors. The catalogue must have every key that [English] has and no other, and may
// name only the placeholders that English names at the same key.
func Parse(name, text string) (*Language, error) {
	l, err := parse(name, text)
	if err != nil {
		return nil, err
	}
	en := English()
	var missing []string
	for _, k := range en.Keys() {
		if !l.Has(k) {
			missing = append(missing, k)
		}
	}
	if len(missing) > 0 {
		const named = 5
		more := ""
		if n := len(missing) - named; n > 0 {
			more = fmt.Sprintf(" and %d more", n)
			missing = missing[:named]
		}
		return nil, fmt.Errorf("%s: no template for %s%s", name, strings.Join(missing, ", "), more)
	}
	for _, k := range l.Keys() {
		line := l.entries[k].line
		if !en.Has(k) {
			return nil, fmt.Errorf("%s:%d: unknown key %s", name, line, k)
		}
		known := en.Placeholders(k)
		for _, p := range l.Placeholders(k) {
			if !slices.Contains(known, p) {
				return nil, fmt.Errorf("%s:%d: %s knows no {%s}, only %s", name, line, k, p, strings.Join(known, ", "))
			}
		}
	}
	return l, nil
}
