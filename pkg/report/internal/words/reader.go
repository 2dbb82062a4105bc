// Package words says what the summary and the page say alike.
package words

import (
	"github.com/cusptrace/cusptrace/pkg/dentition"
	"github.com/cusptrace/cusptrace/pkg/language"
)

// Reader is for whom a report is written.
type Reader struct {
	Language *language.Language
	Notation dentition.Notation
}

// Say writes the sentence of a key.
func (r Reader) Say(key string, with ...language.With) string {
	return r.Write(language.Say(key, with...))
}

// Write writes a sentence.
func (r Reader) Write(s language.Sentence) string { return r.Language.Write(s, r.Notation) }

// Term writes a term that the findings keep in English, such as the name of a cusp.
func (r Reader) Term(word string) string { return r.Language.Term(word) }
